"""Rates of recordable cases: N x 200 000 / hours worked, the cases of 100 people in a year of full-time work.

29 CFR 1904 says what is recordable; the formula is the Bureau of Labor Statistics' ("How to compute a firm's incidence
rate"). In a small shop one case moves the rate by leaps, so the answer says what one more would make of it, and within
what range chance alone would leave it. Twin: static/src/core/rates.js, tests/vectors/rates.json.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from webapp.core.numbers import is_number, say, tidy
from webapp.core.problems import HygieneError

BASE_HOURS = 200_000
"""100 people x 40 hours x 50 weeks."""
SOURCE = "29 CFR 1904; Bureau of Labor Statistics, how to compute a firm's incidence rate: N x 200 000 / hours worked"
RANGE_SOURCE = "F. Garwood, Biometrika 28 (1936) 437: exact 95 % limits of a Poisson count"
LEVEL = 0.95
_MOST_HOURS = 100_000_000
_MOST_CASES = 500
_STEPS = 100


@dataclass(frozen=True)
class Rate:
    """Cases for 100 full-time people in a year; `one_more` is what one further case makes of it. `low` and `high`: the
    rates between which it would lie in 95 of 100 such times if nothing but chance made the count."""

    rate: float
    low: float
    high: float
    one_more: float
    years: float
    why: str
    source: str


@dataclass(frozen=True)
class Rates:
    """All recordable cases, those with days away, restricted work or another job (DART), and those with days away."""

    recordable: Rate
    dart: Rate
    away: Rate


def rate(cases: int, hours: float) -> Rate:
    """The incidence rate of so many cases in so many hours that people really worked (no holidays, no sick leave)."""
    count = _count(cases, "cases")
    if not is_number(hours) or not 0 < hours <= _MOST_HOURS:
        raise HygieneError("hours", "It is not above 0.", "Add up the hours that all people worked in the time.")
    people = hours / 2000
    why = f"{count} in {say(hours)} h, the work of {say(people)} full-time people in a year."
    if people < 100:
        why += " In a shop so small one case moves it far: look at each case, not at the rate."
    scale, source = BASE_HOURS / hours, f"{SOURCE}; {RANGE_SOURCE}"
    low, high = (tidy(each * scale, 2) for each in _expected(count))
    return Rate(tidy(count * scale, 2), low, high, tidy((count + 1) * scale, 2), tidy(people, 2), why, source)


def rates(recordable: int, away: int, restricted: int, hours: float) -> Rates:
    """The rates of a log: all recordable cases, and of them those with days away and those with restricted work or
    a transfer (a case counts once). HygieneError when the parts are more than the whole."""
    total = _count(recordable, "recordable")
    absent, parts = _count(away, "away"), _count(away, "away") + _count(restricted, "restricted")
    if parts > total:
        raise HygieneError("recordable", f"It is {total}, the cases within it {parts}.", "Count each case once.")
    return Rates(rate(total, hours), rate(parts, hours), rate(absent, hours))


def _expected(count: int) -> tuple[float, float]:
    """The means between which a Poisson count came about: at the lower so many or more, at the upper so many or fewer
    come about in 2.5 of 100 times."""
    tail = (1 - LEVEL) / 2
    low = _mean(count - 1, 1 - tail) if count else 0.0
    return low, _mean(count, tail)


def _mean(count: int, share: float) -> float:
    """The Poisson mean at which `share` of all counts are at most `count`."""
    low, high = 0.0, count + 4 * math.sqrt(count + 1) + 5
    for _ in range(_STEPS):
        middle = (low + high) / 2
        if _at_most(count, middle) > share:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _at_most(count: int, mean: float) -> float:
    """The share of Poisson counts that are at most `count`."""
    term = total = math.exp(-mean)
    for each in range(1, count + 1):
        term *= mean / each
        total += term
    return total


def _count(value: int, field: str) -> int:
    if not is_number(value) or value != int(value) or value < 0:
        raise HygieneError(field, "It is not a whole number of 0 or more.", "Count the lines of the log.")
    if value > _MOST_CASES:
        raise HygieneError(field, f"It is more than {_MOST_CASES}.", "Check it: such a log is no small shop's.")
    return int(value)
