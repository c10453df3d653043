"""The numbered objects of a PDF file (ISO 32000-1, 7.5): written as they are finished, found again by their places."""

from __future__ import annotations

import zlib
from array import array
from typing import IO

_PER_STREAM = 200
_IN_STREAM = 1 << 63


class Objects:
    """The file's numbered objects: streams stand by themselves, everything else goes into compressed object streams."""

    def __init__(self, out: IO[bytes]) -> None:
        self.out, self.at = out, 0
        self.places = array("Q", [0])
        self.waiting: list[tuple[int, bytes]] = []
        # The binary comment says to transports that this is no text (7.5.2).
        self.raw(b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n")

    def raw(self, data: bytes | bytearray) -> None:
        self.out.write(data)
        self.at += len(data)

    def reserve(self) -> int:
        """A number for an object that is written later."""
        self.places.append(0)
        return len(self.places) - 1

    def stream(self, data: bytes, about: bytes = b"", at: int | None = None) -> int:
        """Write a stream, compressed. Returns its number."""
        return self._write(zlib.compress(data, 6), b"/Filter/FlateDecode" + about, at or self.reserve())

    def jpeg(self, data: bytes, about: bytes) -> int:
        """Write a JPEG file as it is (7.4.8). Returns its number."""
        return self._write(data, b"/Filter/DCTDecode" + about, self.reserve())

    def _write(self, packed: bytes, about: bytes, at: int) -> int:
        self.places[at] = self.at
        self.raw(b"%d 0 obj\n<</Length %d%s>>\nstream\n" % (at, len(packed), about))
        self.raw(packed)
        self.raw(b"\nendstream\nendobj\n")
        return at

    def put(self, body: bytes | str, at: int | None = None) -> int:
        """Write an object that is no stream. Returns its number."""
        at = at or self.reserve()
        self.waiting.append((at, body.encode("latin-1") if isinstance(body, str) else body))
        if len(self.waiting) == _PER_STREAM:
            self.pack()
        return at

    def pack(self) -> None:
        """Write what waits as one object stream (7.5.7)."""
        if not self.waiting:
            return
        rows, self.waiting = self.waiting, []
        heads, offset, own = [], 0, self.reserve()
        for index, (at, body) in enumerate(rows):
            heads.append(f"{at} {offset}")
            offset += len(body) + 1
            self.places[at] = _IN_STREAM | own << 16 | index
        head = " ".join(heads).encode() + b"\n"
        data = head + b"\n".join(body for _, body in rows)
        self.stream(data, b"/Type/ObjStm/N %d/First %d" % (len(rows), len(head)), own)

    def finish(self, root: int, info: int, identity: bytes) -> None:
        """The cross-reference stream (7.5.8) and the end of the file."""
        self.pack()
        own, start = self.reserve(), self.at
        self.places[own] = start
        packer, data = zlib.compressobj(6), bytearray()
        data += packer.compress(b"\0" + bytes(8) + b"\xff\xff")
        for first in range(1, len(self.places), _PER_STREAM):
            data += packer.compress(b"".join(map(_place, self.places[first : first + _PER_STREAM])))
        data += packer.flush()
        mark = identity.hex().encode()
        about = b"/Type/XRef/Size %d/W[1 8 2]/Root %d 0 R/Info %d 0 R/ID[<%s><%s>]" % (
            len(self.places), root, info, mark, mark,
        )  # fmt: skip
        self.raw(b"%d 0 obj\n<</Filter/FlateDecode/Length %d%s>>\nstream\n" % (own, len(data), about))
        self.raw(data)
        self.raw(b"\nendstream\nendobj\nstartxref\n%d\n%%%%EOF\n" % start)


def _place(place: int) -> bytes:
    """A row of the cross-reference stream: in which object stream and where in it, or at which byte of the file."""
    if place & _IN_STREAM:
        return b"\2" + ((place >> 16) & 0xFFFFFFFF).to_bytes(8) + (place & 0xFFFF).to_bytes(2)
    return b"\1" + place.to_bytes(8) + b"\0\0"
