"""When people may be told something: the shop's shifts and holidays, and a person's own quiet hours. Pure.

Wall-clock times are `HH:MM` in the shop's zone; a shift or a quiet time that ends before it begins goes past midnight.
Days are judged by the wall clock, so a night with 23 or 25 hours needs nothing of its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
# Where a shop has set no shifts (common practice, no source).
USUAL = ({"days": list(WEEKDAYS[:5]), "begins": "06:00", "ends": "18:00"},)
_MINUTE = timedelta(minutes=1)


def wall(at_ms: int, zone: str) -> datetime:
    """The shop's wall clock at an instant, without its offset."""
    return datetime.fromtimestamp(at_ms / 1000, UTC).astimezone(ZoneInfo(zone)).replace(tzinfo=None)


def instant(day: date, at: time, zone: str) -> int:
    """Ms since 1970 of a time on the shop's wall. One that the clocks leap over counts with the offset before (RFC
    5545, 3.3.5), the first of one that comes twice is taken."""
    return int(datetime.combine(day, at, ZoneInfo(zone)).timestamp() * 1000)


def clock(text: str) -> time:
    """`HH:MM` as a time; raises ValueError for anything else."""
    if len(text) != 5:
        raise ValueError(text)
    return datetime.strptime(text, "%H:%M").time()


@dataclass(frozen=True)
class Shift:
    """Working hours on some days of the week (0: Monday)."""

    days: frozenset[int]
    begins: time
    ends: time

    def covers(self, at: datetime, closed: frozenset[date]) -> bool:
        """Whether the shift runs at a wall-clock time; a night shift belongs to the day on which it begins."""
        today, before = at.date(), at.date() - timedelta(days=1)
        if self.begins < self.ends:
            return self._on(today, closed) and self.begins <= at.time() < self.ends
        return (self._on(today, closed) and at.time() >= self.begins) or (
            self._on(before, closed) and at.time() < self.ends
        )

    def _on(self, day: date, closed: frozenset[date]) -> bool:
        return day.weekday() in self.days and day not in closed


@dataclass(frozen=True)
class Hours:
    """The working time of a shop."""

    zone: str
    shifts: tuple[Shift, ...]
    holidays: frozenset[date] = field(default_factory=frozenset)

    def works_on(self, day: date) -> bool:
        """Whether a shift begins on a day."""
        return day not in self.holidays and any(day.weekday() in shift.days for shift in self.shifts)

    def next_working_day(self, day: date) -> date:
        """The first working day after one; a year on at the latest."""
        for ahead in range(1, 366):
            if self.works_on(day + timedelta(days=ahead)):
                return day + timedelta(days=ahead)
        return day + timedelta(days=366)

    def first_begins(self) -> time:
        """When the earliest shift of the week begins."""
        return min((shift.begins for shift in self.shifts), default=time(6))

    def may_tell(self, at_ms: int, quiet: Mapping[str, str] | None) -> bool:
        """Whether a person may be told something now: within a shift, or, with quiet hours of their own, on a
        working day outside those."""
        at = wall(at_ms, self.zone)
        if quiet is None:
            return any(shift.covers(at, self.holidays) for shift in self.shifts)
        return self.works_on(at.date()) and not _within(at.time(), clock(quiet["begins"]), clock(quiet["ends"]))


def _within(at: time, begins: time, ends: time) -> bool:
    return begins <= at < ends if begins <= ends else at >= begins or at < ends


def hours_of(shop: Mapping[str, Any]) -> Hours:
    """The working time that a shop's definition says, or the usual one."""
    rows: Iterable[Mapping[str, Any]] = shop.get("shifts") or USUAL
    shifts = tuple(
        Shift(frozenset(WEEKDAYS.index(day) for day in row["days"]), clock(row["begins"]), clock(row["ends"]))
        for row in rows
    )
    holidays = frozenset(date.fromisoformat(day) for day in shop.get("holidays", ()))
    return Hours(str(shop.get("time_zone", "UTC")), shifts, holidays)
