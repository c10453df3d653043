"""The shop's working days: short Fridays, some Saturdays, public holidays and a two-week summer stop."""

from __future__ import annotations

import calendar
from dataclasses import dataclass
from datetime import date, timedelta
from random import Random

WEEKS = 53
"""How many weeks of history lie behind today."""
OPENING = 7 * 60
"""Minutes after midnight when the machines may be started."""


@dataclass(frozen=True)
class WorkDay:
    """One day on which the shop works; `first` and `last` are minutes after midnight."""

    date: date
    first: int
    last: int

    @property
    def minutes(self) -> int:
        return self.last - self.first


def beginning(today: date) -> date:
    """The Monday on which the history begins."""
    return today - timedelta(days=today.weekday(), weeks=WEEKS)


def working_days(today: date, seed: int) -> list[WorkDay]:
    """Every day worked from the beginning up to, and not including, today."""
    closed, rng = set(holidays(today)), Random(f"calendar {seed}")
    day, days = beginning(today), []
    while day < today:
        hours = _hours(day, rng)
        if hours and day not in closed:
            days.append(WorkDay(day, *hours))
        day += timedelta(days=1)
    return days


def holidays(today: date) -> list[date]:
    """Days on which the shop is closed, from the beginning until a year from today.

    Today is never among them: the demo is looked at on a morning on which the shop is about to start.
    """
    first, last = beginning(today), today + timedelta(days=365)
    days = {day for year in range(first.year, last.year + 1) for day in _public(year)}
    for year in range(first.year, last.year + 1):
        stop = _summer_stop(year, today)
        days |= {stop + timedelta(days=n) for n in range(13) if n != 6}
    return sorted(day for day in days if first <= day <= last and day != today)


def _hours(day: date, rng: Random) -> tuple[int, int] | None:
    weekday = day.weekday()
    if weekday < 4:
        return OPENING, 15 * 60 + 30
    if weekday == 4:
        return OPENING, 12 * 60 + 30
    if weekday == 5 and rng.random() < 0.16:
        return OPENING + 60, 12 * 60
    return None


def _public(year: int) -> set[date]:
    thanks = _nth_weekday(year, 11, calendar.THURSDAY, 4)
    return {
        date(year, 1, 1),
        _last_monday(year, 5),
        date(year, 7, 4),
        _nth_weekday(year, 9, calendar.MONDAY, 1),
        thanks,
        thanks + timedelta(days=1),
        *(date(year, 12, day) for day in (24, 25, 26, 31)),
    }


def _nth_weekday(year: int, month: int, weekday: int, nth: int) -> date:
    first = date(year, month, 1)
    return first + timedelta(days=(weekday - first.weekday()) % 7 + 7 * (nth - 1))


def _last_monday(year: int, month: int) -> date:
    last = date(year, month, calendar.monthrange(year, month)[1])
    return last - timedelta(days=last.weekday())


def _summer_stop(year: int, today: date) -> date:
    """The Monday of the two weeks: the last of July, or late August when today would fall in them."""
    july = _last_monday(today.year, 7)
    if july - timedelta(days=3) <= today <= july + timedelta(days=21):
        late = date(year, 8, 24)
        return late + timedelta(days=-late.weekday() % 7)
    return _last_monday(year, 7)
