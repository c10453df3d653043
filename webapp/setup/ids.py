"""New ids and the time now, by the server's clock."""

from __future__ import annotations

import os
import threading
import time

_lock = threading.Lock()
_last = 0


def now_ms() -> int:
    """Ms since 1970 by the server's clock."""
    return time.time_ns() // 1_000_000


def new_id() -> str:
    """A UUIDv7 (RFC 9562) whose sub-ms bits are a counter, so that the ids of one process ascend."""
    global _last
    with _lock:
        _last = stamp = max(now_ms() << 12, _last + 1)
    return uuid7(stamp >> 12, stamp & 0xFFF)


def uuid7(ms: int, sub: int) -> str:
    """Assemble a UUIDv7 from ms since 1970, 12 bits that order within the ms, and 62 random bits."""
    value = ms << 80 | 0x7 << 76 | sub << 64 | 0b10 << 62 | int.from_bytes(os.urandom(8)) >> 2
    text = f"{value:032x}"
    return f"{text[:8]}-{text[8:12]}-{text[12:16]}-{text[16:20]}-{text[20:]}"
