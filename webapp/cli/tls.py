"""TLS for cheroot in its workers' threads, so that one silent phone does not hold up the others.

As it comes, cheroot shakes hands in the thread that accepts connections, and gives a connection that has sent
nothing yet to a worker: a phone that walks out of reach at the wrong moment then stops everybody for as long as
the timeout. Here a new connection waits, without a thread, until it has sent something.
"""

from __future__ import annotations

import re
import socket
import ssl
from contextlib import suppress
from typing import Any

from cheroot.server import HTTPConnection
from cheroot.ssl.builtin import BuiltinSSLAdapter
from cheroot.wsgi import Server

from webapp.cli.answers import Request

HANDSHAKE_SECONDS = 10.0
_TLS_HANDSHAKE = b"\x16"  # the first byte a client sends (RFC 8446, section 5.1)
_PLAIN_REQUEST = re.compile(
    rb"(?:GET|HEAD) (/[!-~]*) HTTP/1\.[01]\r\n.*?^Host: *([\w.:\[\]-]+)\r\n", re.S | re.M | re.I
)


class LateAdapter(BuiltinSSLAdapter):
    """Holds the certificate; leaves the handshake to the connection."""

    def wrap(self, sock: socket.socket) -> tuple[socket.socket, dict[str, str]]:
        return sock, {}

    def reload(self, certificate: str, key: str) -> None:
        """Use a new certificate for connections from now on."""
        self.context.load_cert_chain(certificate, key)


class Connection(HTTPConnection):
    """A connection that shakes hands when a worker first takes it up."""

    RequestHandlerClass = Request

    def communicate(self) -> bool:
        """Answer what was asked. Returns whether the connection stays open."""
        late = self.server.ssl_adapter is not None and not isinstance(self.socket, ssl.SSLSocket)
        if late and not self._secured():
            return False
        return bool(super().communicate())

    def close(self) -> None:
        """Close the connection. What goes wrong in that must not reach cheroot, which would end the server."""
        with suppress(OSError):
            super().close()

    def _secured(self) -> bool:
        plain = self.socket
        plain.settimeout(HANDSHAKE_SECONDS)
        try:
            if plain.recv(1, socket.MSG_PEEK) != _TLS_HANDSHAKE:
                self._lead_to_https(plain)
                return False
            # Wrapped first, shaken after: when the handshake fails, there is still a socket to close.
            self.socket = self.server.ssl_adapter.context.wrap_socket(
                plain, server_side=True, do_handshake_on_connect=False
            )
            self.socket.do_handshake()
        except OSError:  # TLS errors too: the client went away, or does not trust the certificate yet
            return False
        self.socket.settimeout(self.server.timeout)
        self.rfile = self.server.ssl_adapter.makefile(self.socket, "rb", self.rbufsize)
        self.wfile = self.server.ssl_adapter.makefile(self.socket, "wb", self.wbufsize)
        return True

    def _lead_to_https(self, plain: socket.socket) -> None:
        """Whoever types the address without https:// is led there."""
        asked = _PLAIN_REQUEST.match(plain.recv(4096))
        if asked is None:
            plain.sendall(b"HTTP/1.1 400 Bad Request\r\nConnection: close\r\nContent-Length: 0\r\n\r\n")
            return
        path, host = asked.groups()
        where = b"Location: https://" + host + path
        head = (b"HTTP/1.1 302 Found", where, b"Connection: close", b"Content-Length: 0", b"", b"")
        plain.sendall(b"\r\n".join(head))


class PatientServer(Server):
    """Gives a connection to a worker only once it has something to say."""

    ConnectionClass = Connection

    def process_conn(self, conn: Any) -> None:
        """A fresh connection is watched for its first bytes, and closed when they do not come in time."""
        if conn.last_used is None:
            self._connections.put(conn)
        else:
            super().process_conn(conn)
