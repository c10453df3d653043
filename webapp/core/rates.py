"""Rates of recordable cases: N x 200 000 / hours worked, the cases of 100 people in a year of full-time work.

29 CFR 1904 says what is recordable; the formula is the Bureau of Labor Statistics' ("How to compute a firm's incidence
rate"). In a small shop one case moves the rate by leaps, so the answer says what one more would make of it.
"""

from __future__ import annotations

from dataclasses import dataclass

from webapp.core.numbers import is_number, say, tidy
from webapp.core.problems import HygieneError

BASE_HOURS = 200_000
"""100 people x 40 hours x 50 weeks."""
SOURCE = "29 CFR 1904; Bureau of Labor Statistics, how to compute a firm's incidence rate: N x 200 000 / hours worked"
_MOST_HOURS = 100_000_000


@dataclass(frozen=True)
class Rate:
    """Cases for 100 full-time people in a year; `one_more` is what one further case makes of it."""

    rate: float
    one_more: float
    years: float
    why: str
    source: str


@dataclass(frozen=True)
class Rates:
    """All recordable cases, and those with days away, restricted work or another job (DART)."""

    recordable: Rate
    dart: Rate


def rate(cases: int, hours: float) -> Rate:
    """The incidence rate of so many cases in so many hours that people really worked (no holidays, no sick leave)."""
    count = _count(cases, "cases")
    if not is_number(hours) or not 0 < hours <= _MOST_HOURS:
        raise HygieneError("hours", "It is not above 0.", "Add up the hours that all people worked in the time.")
    people = hours / 2000
    why = f"{count} in {say(hours)} h, the work of {say(people)} full-time people in a year."
    if people < 100:
        why += " In a shop so small one case moves it far: look at each case, not at the rate."
    scale = BASE_HOURS / hours
    return Rate(tidy(count * scale, 2), tidy((count + 1) * scale, 2), tidy(people, 2), why, SOURCE)


def rates(recordable: int, away: int, restricted: int, hours: float) -> Rates:
    """Both rates from a log: all recordable cases, and of them those with days away and those with restricted work or
    a transfer (a case counts once). HygieneError when the parts are more than the whole."""
    total = _count(recordable, "recordable")
    parts = _count(away, "away") + _count(restricted, "restricted")
    if parts > total:
        raise HygieneError("recordable", f"It is {total}, the cases within it {parts}.", "Count each case once.")
    return Rates(rate(total, hours), rate(parts, hours))


def _count(value: int, field: str) -> int:
    if not is_number(value) or value != int(value) or value < 0:
        raise HygieneError(field, "It is not a whole number of 0 or more.", "Count the lines of the log.")
    return int(value)
