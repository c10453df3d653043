"""A small MTConnect agent for the tests: probe, current and sample over HTTP, with a buffer that forgets.

Its streams documents validate against the standard's schema (test_schema.py).
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any
from urllib.parse import parse_qs, unquote, urlsplit
from xml.sax.saxutils import escape, quoteattr

from webapp.core.instants import instant_text
from webapp.setup.ids import now_ms

# Three days ago: the record takes no entries from the future, and what people log in these tests is at its time.
START = now_ms() // 60_000 * 60_000 - 3 * 86_400_000
STREAMS, DEVICES, ERRORS = (f"urn:mtconnect.org:MTConnect{what}:1.7" for what in ("Streams", "Devices", "Error"))


@dataclass(frozen=True)
class DataItem:
    """An item of the device, and the element its observations are in."""

    id: str
    name: str
    type: str
    element: str
    category: str = "SAMPLE"
    units: str | None = None
    sub_type: str | None = None


ITEMS = (
    DataItem("total", "spindle_total", "ACCUMULATED_TIME", "AccumulatedTime", units="SECOND", sub_type="x:TOTAL"),
    DataItem("working", "work_time", "EQUIPMENT_TIMER", "EquipmentTimer", units="SECOND", sub_type="WORKING"),
    DataItem("hours", "panel_hours", "ACCUMULATED_TIME", "AccumulatedTime", units="HOUR", sub_type="x:PANEL"),
    DataItem("exec", "execution", "EXECUTION", "Execution", category="EVENT"),
    DataItem("rpm", "S1speed", "ROTARY_VELOCITY", "RotaryVelocity", units="REVOLUTION/MINUTE", sub_type="ACTUAL"),
    DataItem("load", "S1load", "LOAD", "Load", units="PERCENT"),
)


@dataclass
class Agent:
    """What the agent holds. `size` is its buffer; `clock_ms` its own clock."""

    size: int = 1000
    instance: int = 1_700_000_000
    clock_ms: int = START
    buffer: list[tuple[int, str, int, str, str]] = field(default_factory=list)
    newest: dict[str, tuple[int, str, int, str, str]] = field(default_factory=dict)
    next: int = 1
    asked: list[str] = field(default_factory=list)
    answers: dict[str, tuple[int, bytes]] = field(default_factory=dict)
    """Path without its query -> what is answered instead: status and body."""

    def __post_init__(self) -> None:
        for item in ITEMS:
            self.put(item.id, "UNAVAILABLE", START - 60_000)

    def put(self, item: str, value: object, at_ms: int | None = None, more: str = "") -> None:
        """Observe a value. `more` is further attributes, such as resetTriggered="LIFE"."""
        at = self.clock_ms if at_ms is None else at_ms
        row = (self.next, item, at, str(value), more)
        self.next += 1
        self.newest[item] = row
        self.buffer = [*self.buffer, row][-self.size :]

    def restart(self, keep: bool = True) -> None:
        """A new run of the agent: sequences begin at 1, and the adapter tells again where everything stands."""
        before, self.buffer, self.newest, self.next = dict(self.newest), [], {}, 1
        self.instance += 1
        for item in ITEMS:
            _, _, at, value, _ = before[item.id]
            self.put(item.id, value if keep else "UNAVAILABLE", at)

    def answer(self, path: str) -> tuple[int, bytes]:
        """Status and body for a request."""
        self.asked.append(path)
        parts = urlsplit(path)
        which, query = parts.path.rpartition("/")[2], parse_qs(parts.query)
        if which in self.answers:
            return self.answers[which]
        if which == "probe":
            return 200, self.probe()
        wanted = unquote(query["path"][0]).split('@id="')[1].rstrip('"]') if "path" in query else None
        if which == "current":
            return 200, self.streams([row for row in self.newest.values() if wanted in (None, row[1])])
        start, count = int(query["from"][0]), int(query["count"][0])
        first = self.buffer[0][0]
        if not first <= start <= self.next or count > self.size:
            return 404, self.error("OUT_OF_RANGE", f"'from' must be between {first} and {self.next}")
        # A real agent stops after so many observations of the path, and says where to go on.
        chosen = [row for row in self.buffer if row[0] >= start and wanted in (None, row[1])][:count]
        ended = len(chosen) < count
        return 200, self.streams(chosen, self.next if ended else chosen[-1][0] + 1)

    def header(self, more: str) -> str:
        """The header every document has."""
        made = instant_text(self.clock_ms)
        return f'<Header version="1.7" creationTime="{made}" instanceId="{self.instance}" sender="bench" {more}/>'

    def probe(self) -> bytes:
        """The devices document."""
        items = "".join(
            f'<DataItem id="{i.id}" name="{i.name}" category="{i.category}" type="{i.type}"'
            + (f' units="{i.units}"' if i.units else "")
            + (f' subType="{i.sub_type}"' if i.sub_type else "")
            + "/>"
            for i in ITEMS
        )
        body = f'<Devices><Device id="d" name="mill" uuid="m-1"><DataItems>{items}</DataItems></Device></Devices>'
        header = self.header(f'bufferSize="{self.size}" assetBufferSize="8" assetCount="0"')
        return f'<?xml version="1.0"?><MTConnectDevices xmlns="{DEVICES}">{header}{body}</MTConnectDevices>'.encode()

    def streams(self, rows: list[tuple[int, str, int, str, str]], following: int | None = None) -> bytes:
        """A streams document of these observations."""
        by = {item.id: item for item in ITEMS}
        parts: dict[str, str] = {"SAMPLE": "", "EVENT": ""}
        for sequence, id_, at, value, more in rows:
            item = by[id_]
            kind = f" subType={quoteattr(item.sub_type)}" if item.sub_type else ""
            parts[item.category] += (
                f'<{item.element} dataItemId="{id_}" name="{item.name}" sequence="{sequence}" '
                f'timestamp="{instant_text(at)}"{kind}{" " + more if more else ""}>{escape(value)}</{item.element}>'
            )
        inner = (f"<Samples>{parts['SAMPLE']}</Samples>" if parts["SAMPLE"] else "") + (
            f"<Events>{parts['EVENT']}</Events>" if parts["EVENT"] else ""
        )
        stream = f'<ComponentStream component="Path" componentId="p" name="path">{inner}</ComponentStream>'
        device = f'<DeviceStream name="mill" uuid="m-1">{stream if inner else ""}</DeviceStream>'
        header = self.header(
            f'bufferSize="{self.size}" firstSequence="{self.buffer[0][0]}" lastSequence="{self.next - 1}" '
            f'nextSequence="{following or self.next}" deviceModelChangeTime="2027-03-01T00:00:00Z"'
        )
        root = f'<MTConnectStreams xmlns="{STREAMS}" xmlns:x="urn:bench">{header}<Streams>{device}</Streams>'
        return f'<?xml version="1.0" encoding="UTF-8"?>{root}</MTConnectStreams>'.encode()

    def error(self, code: str, text: str) -> bytes:
        """An error document."""
        error = f'<Errors><Error errorCode="{code}">{escape(text)}</Error></Errors>'
        header = self.header(f'bufferSize="{self.size}"')
        return f'<?xml version="1.0"?><MTConnectError xmlns="{ERRORS}">{header}{error}</MTConnectError>'.encode()


@contextmanager
def serving(agent: Agent) -> Iterator[str]:
    """The agent over HTTP on this machine; its address."""

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            status, body = agent.answer(self.path)
            self.send_response(status)
            self.send_header("Content-Type", "text/xml" if status != 302 else "text/plain")
            if status == 302:
                self.send_header("Location", body.decode())
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, *_: Any) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}"
    finally:
        server.shutdown()
        server.server_close()
        thread.join()
