"""A push service of our own: takes messages over HTTP, checks who sent them, and reads them as a browser would.

The reading is written from RFC 8188, section 2, and RFC 8291, section 3.4, with HMAC alone, not from the sender's code.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import os
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any

from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.utils import encode_dss_signature
from cryptography.hazmat.primitives.ciphers.aead import AESGCM

from webapp.reminders.channels.encryption import b64, public_bytes, unb64


def private(text: str) -> ec.EllipticCurvePrivateKey:
    """A private key from the number that standards print."""
    return ec.derive_private_key(int.from_bytes(unb64(text)), ec.SECP256R1())


def _hkdf(salt: bytes, ikm: bytes, info: bytes, length: int) -> bytes:
    """RFC 5869 for at most one block."""
    extracted = hmac.new(salt, ikm, hashlib.sha256).digest()
    return hmac.new(extracted, info + b"\x01", hashlib.sha256).digest()[:length]


def decrypt(body: bytes, key: ec.EllipticCurvePrivateKey, auth: bytes) -> bytes:
    """What a browser's subscription reads out of a message of one record."""
    salt, record, length = body[:16], int.from_bytes(body[16:20]), body[20]
    sender, sealed = body[21 : 21 + length], body[21 + length :]
    assert len(sealed) <= record and length == 65
    secret = key.exchange(ec.ECDH(), ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), sender))
    ikm = _hkdf(auth, secret, b"WebPush: info\x00" + public_bytes(key.public_key()) + sender, 32)
    opened = AESGCM(_hkdf(salt, ikm, b"Content-Encoding: aes128gcm\x00", 16)).decrypt(
        _hkdf(salt, ikm, b"Content-Encoding: nonce\x00", 12), sealed, None
    )
    plain = opened.rstrip(b"\x00")
    assert plain[-1:] == b"\x02"  # the last record's mark
    return plain[:-1]


@dataclass
class Browser:
    """A browser with its keys: what it signed up with, and what it has read."""

    endpoint: str
    key: ec.EllipticCurvePrivateKey = field(default_factory=lambda: ec.generate_private_key(ec.SECP256R1()))
    auth: bytes = field(default_factory=lambda: os.urandom(16))

    def subscription(self, person: str) -> dict[str, Any]:
        """As `PushSubscription.toJSON()` gives it, with whose it is."""
        keys = {"p256dh": b64(public_bytes(self.key.public_key())), "auth": b64(self.auth)}
        return {"endpoint": self.endpoint, "expirationTime": None, "keys": keys, "person": person}


@dataclass
class Service:
    """The service: what came, what it answers next (a status and headers), and who it answers for."""

    address: str = ""
    browsers: dict[str, Browser] = field(default_factory=dict)
    answers: list[tuple[int, dict[str, str]]] = field(default_factory=list)
    headers: list[dict[str, str]] = field(default_factory=list)
    read: list[dict[str, Any]] = field(default_factory=list)

    def browser(self, name: str) -> Browser:
        """A browser that is signed up here."""
        return self.browsers.setdefault(f"/push/{name}", Browser(f"{self.address}/push/{name}"))

    def take(self, path: str, headers: dict[str, str], body: bytes) -> tuple[int, dict[str, str]]:
        """One message."""
        self.headers.append(headers)
        if self.answers:
            return self.answers.pop(0)
        browser = self.browsers.get(path)
        if browser is None:
            return 404, {}
        if not self._signed(headers["Authorization"]):
            return 403, {}
        self.read.append(json.loads(decrypt(body, browser.key, browser.auth)))
        return 201, {"Location": f"{self.address}/message/1"}

    def _signed(self, header: str) -> bool:
        """RFC 8292, 4.2: the token is for us, not over, at most a day ahead, and signed by the key beside it."""
        fields = dict(part.split("=", 1) for part in header.removeprefix("vapid ").split(", "))
        head, claims, signature = fields["t"].split(".")
        raw, public = unb64(signature), ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), unb64(fields["k"]))
        signed = encode_dss_signature(int.from_bytes(raw[:32]), int.from_bytes(raw[32:]))
        public.verify(signed, f"{head}.{claims}".encode(), ec.ECDSA(hashes.SHA256()))
        return bool(json.loads(unb64(claims))["aud"] == self.address)


@contextmanager
def serving() -> Iterator[Service]:
    """The service on a port of this machine."""
    service = Service()

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["Content-Length"]))
            status, headers = service.take(self.path, dict(self.headers.items()), body)
            self.send_response(status)
            for name, value in headers.items():
                self.send_header(name, value)
            self.send_header("Content-Length", "0")
            self.end_headers()

        def log_message(self, *_: Any) -> None:
            """Quiet."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    service.address = f"http://127.0.0.1:{server.server_port}"
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02}, daemon=True)
    thread.start()
    try:
        yield service
    finally:
        server.shutdown()
        server.server_close()
        thread.join()
