"""A series of readings in bounded memory: what a chart's width can show of it, and its months or years in figures."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, datetime, time
from zoneinfo import ZoneInfo

from webapp.core.instants import shop_date
from webapp.reports.entries import Span

COLUMNS = 400
"""Columns of a printed chart: of each the first, the lowest, the highest and the last reading are drawn, as the eye
sees no more of it."""
LONG_DAYS = 800
"""Beyond so many days a table has a row a year, else a row a month."""
MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
          "November", "December")  # fmt: skip


@dataclass
class Period:
    """A month or year of readings."""

    count: int = 0
    total: float = 0.0
    low: float = float("inf")
    high: float = float("-inf")
    outside: int = 0

    def add(self, value: float, outside: bool) -> None:
        self.count += 1
        self.total += value
        self.low, self.high = min(self.low, value), max(self.high, value)
        self.outside += outside


@dataclass
class Trace:
    """Readings of one quantity, oldest first, of a span; `outside`: beyond the band that it had then."""

    span: Span
    unit: str
    columns: dict[int, list[tuple[int, float, bool]]] = field(default_factory=dict)
    periods: dict[tuple[int, int], Period] = field(default_factory=dict)
    whole: Period = field(default_factory=Period)

    def add(self, ms: int, value: float, outside: bool = False) -> None:
        """Count a reading in."""
        column = (ms - self.span.start_ms) * COLUMNS // (self.span.end_ms - self.span.start_ms)
        kept = self.columns.setdefault(column, [])
        kept.append((ms, value, outside))
        if len(kept) > 4:
            self.columns[column] = sorted({kept[0], kept[-1], min(kept, key=_value), max(kept, key=_value)})
        self.whole.add(value, outside)
        self.periods.setdefault(period(self.span, ms), Period()).add(value, outside)

    def points(self) -> Iterator[tuple[int, float, bool]]:
        """What is drawn: (ms, value, outside), oldest first."""
        for column in sorted(self.columns):
            yield from self.columns[column]


def _value(row: tuple[int, float, bool]) -> float:
    return row[1]


def period(span: Span, ms: int) -> tuple[int, int]:
    """Year and month of an instant; the month is 0 where the span is so long that years are told."""
    day = shop_date(ms, span.zone)
    return day.year, 0 if (span.last - span.first).days > LONG_DAYS else day.month


def midnight(day: date, zone: str) -> int:
    """When a day of the shop begins, in ms."""
    return int(datetime.combine(day, time(), ZoneInfo(zone)).timestamp() * 1000)


def said(key: tuple[int, int]) -> str:
    """ "March 2026", or "2026"."""
    year, month = key
    return f"{MONTHS[month - 1]} {year}" if month else str(year)
