"""The entries as the people's devices made them: ids, times, numbers without gaps, and one lying clock."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, timezone
from random import Random
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

MINUTE_MS = 60_000

Entry = dict[str, Any]


def uuid7(ms: int, rng: Random) -> str:
    """A UUIDv7 (RFC 9562, 5.7): 48 bits of time, the rest from the seeded generator."""
    stamp = (ms & (2**48 - 1)) << 80 | 0x7 << 76
    value = stamp | rng.getrandbits(12) << 64 | 0b10 << 62 | rng.getrandbits(62)
    return str(UUID(int=value))


@dataclass(frozen=True)
class WrongClock:
    """A device whose clock was off by `skew_ms` from one day to another, both included."""

    device: str
    first: date
    last: date
    skew_ms: int


@dataclass(frozen=True)
class Made:
    """An entry, the device that made it, when that truly was, and how far its clock was off then."""

    device: str
    true_ms: int
    skew_ms: int
    entry: Entry


class Log:
    """Takes entries in any order of time and gives them out in the order in which they were made."""

    def __init__(self, rng: Random, zone: str, wrong_clock: WrongClock) -> None:
        self._rng, self._zone, self._wrong = rng, ZoneInfo(zone), wrong_clock
        self._made: list[Made] = []
        self._taken: set[int] = set()
        self._offsets: dict[date, timedelta] = {}

    def at(self, day: date, minute: float) -> int:
        """Ms since 1970 of a moment on the shop's wall clock, no two alike."""
        noon = datetime(day.year, day.month, day.day, 12, tzinfo=self._zone)
        offset = self._offsets.setdefault(day, noon.utcoffset() or timedelta())
        midnight = datetime(day.year, day.month, day.day, tzinfo=UTC) - offset
        ms = int(midnight.timestamp()) * 1000 + int(minute * MINUTE_MS) + self._rng.randrange(1000)
        while ms in self._taken:
            ms += 1
        self._taken.add(ms)
        return ms

    def text(self, day: date, ms: int) -> str:
        """RFC 3339 with the shop's offset on that day."""
        moment = datetime.fromtimestamp(ms // 1000, timezone(self._offsets[day]))
        return moment.replace(microsecond=ms % 1000 * 1000).isoformat(timespec="milliseconds")

    def stamp(self, day: date, minute: float, device: str) -> str:
        """RFC 3339 of a moment as the device's own clock showed it."""
        ms = self.at(day, minute)
        return self.text(day, ms + self._skew(device, day))

    def add(
        self,
        day: date,
        minute: float,
        device: str,
        by: str,
        kind: str,
        machine: str | None,
        body: dict[str, Any],
    ) -> str:
        """Make an entry on a device; returns its id."""
        true_ms = self.at(day, minute)
        skew = self._skew(device, day)
        key = uuid7(true_ms + skew, self._rng)
        entry = {
            "id": key,
            "kind": kind,
            "machine": machine,
            "by": by,
            "at": self.text(day, true_ms + skew),
            "seq": 0,
            "body": body,
        }
        self._made.append(Made(device, true_ms, skew, entry))
        return key

    def _skew(self, device: str, day: date) -> int:
        wrong = self._wrong
        if wrong.device == device and wrong.first <= day <= wrong.last:
            return wrong.skew_ms
        return 0

    def made(self) -> Iterator[Made]:
        """All entries in true order, each device's numbered from 1 without gaps."""
        counts: dict[str, int] = {}
        for made in sorted(self._made, key=lambda one: one.true_ms):
            counts[made.device] = counts.get(made.device, 0) + 1
            made.entry["seq"] = counts[made.device]
            yield made
