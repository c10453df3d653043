"""What cheroot answers by itself, before the app is asked: in the same error shape as the app's."""

from __future__ import annotations

import json
from contextlib import suppress

from cheroot.server import HTTPRequest

from webapp.api.problems import document
from webapp.records.faults import Fault

_MENDS = {
    408: "send the whole request without a pause",
    413: "send less at once",
    414: "use a shorter address",
    503: "try again in a few seconds",
}


class Request(HTTPRequest):
    """Answers broken and oversized requests with RFC 9457 problem documents, and closes the connection."""

    def simple_response(self, status: str | int, msg: str | bytes = "") -> None:
        code, _, title = str(status).partition(" ")
        said = msg.decode("latin-1") if isinstance(msg, bytes) else msg
        mend = _MENDS.get(int(code), "send a request of HTTP/1.1 as the API describes it")
        fault = Fault("request", said.rstrip(".") or title, mend)
        body = json.dumps(document(int(code), title or "Refused", errors=[fault])).encode()
        head = (
            f"{self.server.protocol} {code} {title}\r\n"
            f"Content-Type: application/problem+json\r\n"
            f"Content-Length: {len(body)}\r\n"
            f"Connection: close\r\n\r\n"
        )
        self.close_connection = True
        with suppress(OSError):  # the client did not wait for it
            self.conn.wfile.write(head.encode("latin-1") + body)
