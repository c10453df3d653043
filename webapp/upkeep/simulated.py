"""Invented shops whose meters run by a known pattern, to try the forecast on: steady, bursty, seasonal, new.

Every figure here is invented; each meter draws its own level, week, scatter and way of being recorded.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from random import Random

from webapp.core.usage import Movement
from webapp.upkeep.trial import Story

FIRST = date(2023, 1, 2)
WEEKS = 182
HOURS_A_WEEK = 40.0
KINDS = (("spindle_hours", "h", 0.4), ("run_hours", "h", 0.3), ("belt_minutes", "min", 6.0), ("cut_area", "sq in", 8.0))
"""Kind of meter, unit, and the use an open hour that meters of the kind are drawn about."""

Level = Callable[[int], float]
"""Day number -> how busy the shop is then, about 1."""


def holidays() -> frozenset[date]:
    """Closed days: New Year, three single days, a summer stop of two weeks, and the last days of the year."""
    last = FIRST + timedelta(weeks=WEEKS)
    days = set[date]()
    for year in range(FIRST.year, last.year + 1):
        days |= {date(year, 1, 1), date(year, 5, 27), date(year, 7, 4), date(year, 9, 2)}
        days |= {date(year, 8, 7) + timedelta(days=n) for n in range(13)}
        days |= {date(year, 12, 24) + timedelta(days=n) for n in range(8)}
    return frozenset(days)


def stories(pattern: str, count: int, seed: int) -> list[Story]:
    """`count` meters of one pattern; the same for the same arguments."""
    closed = holidays()
    return [_story(pattern, Random(f"{pattern} {seed} {number}"), closed) for number in range(count)]  # noqa: S311


def _story(pattern: str, rng: Random, closed: frozenset[date]) -> Story:
    kind, unit, an_hour = rng.choice(KINDS)
    level = _PATTERNS[pattern](rng)
    usual = an_hour * HOURS_A_WEEK / 5 * rng.lognormvariate(0, 0.5)
    week = _week(rng)
    idle, scatter = rng.uniform(0, 0.12), rng.uniform(0.2, 0.55)
    use: list[float] = []
    mood = 0.0
    for number in range(WEEKS * 7):
        day = FIRST + timedelta(days=number)
        if number % 7 == 0:
            mood = 0.5 * mood + rng.gauss(0, 0.1)
        busy = level(number) * math.exp(mood) * week[day.weekday()]
        rests = rng.random() < (0.75 if day.weekday() == 5 else idle)
        if rests or busy <= 0 or day in closed:
            use.append(0.0)
        else:
            use.append(round(usual * busy * rng.gammavariate(scatter**-2, scatter**2), 2))
    counted = rng.random() < 0.5
    told = _counted(use) if counted else _read(use, rng.uniform(0, 4000))
    return Story(kind, unit, FIRST, use, list(told), closed, HOURS_A_WEEK)


def _week(rng: Random) -> list[float]:
    """Five days about alike, a short Friday in half the shops, Saturdays in a quarter."""
    days = [rng.uniform(0.85, 1.15) for _ in range(5)]
    if rng.random() < 0.5:
        days[4] *= 0.6
    return [*days, 0.6 if rng.random() < 0.25 else 0.0, 0.0]


def _steady(_rng: Random) -> Level:
    return lambda _day: 1.0


def _bursty(rng: Random) -> Level:
    """Campaigns: days of work and days of nothing, of random length."""
    on, off = rng.uniform(4, 15), rng.uniform(3, 15)
    states: list[float] = []
    while len(states) < WEEKS * 7:
        states += [(on + off) / on] * max(1, round(rng.expovariate(1 / on)))
        states += [0.0] * max(1, round(rng.expovariate(1 / off)))
    return lambda day: states[day]


def _seasonal(rng: Random) -> Level:
    swing, phase = rng.uniform(0.25, 0.6), rng.uniform(0, 2 * math.pi)
    return lambda day: 1 + swing * math.sin(2 * math.pi * day / 365.25 + phase)


def _new(rng: Random) -> Level:
    """A machine that people learn to use, or try on everything at first: toward its level in some weeks."""
    start, weeks = rng.uniform(0.5, 1.2), rng.uniform(2, 8)
    return lambda day: start + (1 - start) * min(1.0, day / (7 * weeks))


_PATTERNS: dict[str, Callable[[Random], Level]] = {
    "steady": _steady,
    "bursty": _bursty,
    "seasonal": _seasonal,
    "new machine": _new,
}
PATTERNS = tuple(_PATTERNS)


def _counted(use: list[float]) -> Iterator[Movement]:
    for number, amount in enumerate(use):
        if amount:
            yield Movement(FIRST + timedelta(days=number), amount=amount)


def _read(use: list[float], face: float) -> Iterator[Movement]:
    """The counter is read at the end of every Friday; the first time on the first day, before work."""
    yield Movement(FIRST, face=face, early=True)
    for number, amount in enumerate(use):
        face += amount
        if (FIRST + timedelta(days=number)).weekday() == 4:
            yield Movement(FIRST + timedelta(days=number), face=round(face, 2))
