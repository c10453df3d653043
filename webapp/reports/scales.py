"""The axes of a printed chart: round figures up the side, and days, months or years along the foot."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_STEPS = (1, 2, 2.5, 5, 10)


@dataclass(frozen=True)
class Scale:
    """Values from `low` to `high`, with ticks as (value, its words)."""

    low: float
    high: float
    ticks: tuple[tuple[float, str], ...]

    def share(self, value: float) -> float:
        """Where a value lies, from 0 at the low end to 1 at the high end."""
        return (value - self.low) / (self.high - self.low)


def upright(values: Sequence[float], *, from_zero: bool = False) -> Scale:
    """A scale that holds all values, with four to seven ticks at round figures; from nought where that is near."""
    low, high = (min(values), max(values)) if values else (0.0, 1.0)
    if high == low and not from_zero:  # a flat line lies in the middle
        low, high = low - (abs(low) or 1) * 0.1, high + (abs(high) or 1) * 0.1
    spread = high - low or abs(high) or 1.0
    if from_zero:
        low, high = min(0.0, low), max(0.0, high)
    elif 0 <= low < spread:
        low = 0.0
    step = _round_step((high - low or spread) / 5)
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    last = max(last, first + 1)
    places = max(0, -math.floor(math.log10(step) + 1e-9) + (step * 10 ** -math.floor(math.log10(step)) == 2.5))
    ticks = tuple((number * step, f"{number * step:,.{places}f}") for number in range(first, last + 1))
    return Scale(first * step, last * step, ticks)


def _round_step(rough: float) -> float:
    size: float = 10.0 ** math.floor(math.log10(rough))
    return next(one * size for one in _STEPS if one * size >= rough * (1 - 1e-9))


def along(first: date, last: date, zone: str) -> Scale:
    """A scale over days of the shop, both included, in ms: at most nine ticks, at midnights, months or years."""
    low, high = _midnight(first, zone), _midnight(last + timedelta(days=1), zone)
    for days, months in ((1, 0), (2, 0), (7, 0), (14, 0), (0, 1), (0, 2), (0, 3), (0, 6), (0, 12), (0, 24), (0, 60)):
        marks = list(_days(first, last, days) if days else _firsts(first, last, months))
        if len(marks) <= 9:
            break
    ticks, year = [], None
    for day in marks:
        ticks.append((_midnight(day, zone), _said(day, year, days, months)))
        year = day.year
    return Scale(low, high, tuple(ticks))


def _said(day: date, year: int | None, days: int, months: int) -> str:
    if months >= 12:
        return str(day.year)
    told = f"{_MONTHS[day.month - 1]} {day.day}" if days else _MONTHS[day.month - 1]
    return told if day.year == year else f"{told}, {day.year}" if days else f"{told} {day.year}"


def _days(first: date, last: date, step: int) -> Iterator[date]:
    day = first + timedelta(days=-first.weekday() % 7) if step >= 7 else first
    while day <= last:
        yield day
        day += timedelta(days=step)


def _firsts(first: date, last: date, step: int) -> Iterator[date]:
    """First days of months, every `step` counted from January."""
    month = first.year * 12 + first.month - 1 + (first.day > 1)
    month += -month % step
    while (day := date(month // 12, month % 12 + 1, 1)) <= last:
        yield day
        month += step


def _midnight(day: date, zone: str) -> float:
    return datetime.combine(day, time(), ZoneInfo(zone)).timestamp() * 1000
