"""Protective equipment and sign-offs: what is current on a day, what falls due, and who may not start a machine alone.

Dates are without time, in the shop's zone. A thing holds through its last day. Twin: static/src/core/ppe.js,
tests/vectors/ppe.json.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date

from webapp.core.dates import add_interval, say_date, say_days
from webapp.core.numbers import is_number
from webapp.core.problems import HygieneError

UNITS = ("days", "weeks", "months", "years")
NEAR_DAYS = 30
"""Days before the last one from which a thing is near its end (own choice)."""
_ORDER = ("current", "near its end", "lapsed", "not yet")


@dataclass(frozen=True)
class Standing:
    """`word`: "never", "not yet", "current", "near its end" or "lapsed"; `until` the last day it holds, `days` from
    today to it (below nought when it is past)."""

    word: str
    until: date | None
    days: int | None
    why: str


@dataclass(frozen=True)
class SignOff:
    """Somebody found able to run a machine: who, which, when, by whom, and the last day it holds (None: no end)."""

    person: str
    machine: str
    on: date
    by: str
    until: date | None = None


@dataclass(frozen=True)
class Lacking:
    """A person without a current sign-off for a machine, and why."""

    person: str
    word: str
    why: str


def next_due(last: date, unit: str, count: int) -> date:
    """The day on which something is due again: a day that the month lacks becomes its last."""
    if unit not in UNITS:
        raise HygieneError("unit", f'"{unit}" is not known.', f"Give one of: {', '.join(UNITS)}.")
    if not is_number(count) or count != int(count) or not 1 <= count <= 600:
        raise HygieneError("count", "It is not a whole number from 1 to 600.", "Give how many.")
    return add_interval(last, unit, int(count))


def standing(done: date | None, until: date | None, today: date, near: int = NEAR_DAYS) -> Standing:
    """How something that was done on a day and holds until another stands today; without `until` it has no end."""
    if done is None:
        return Standing("never", None, None, "It was never done.")
    if until is not None and until < done:
        raise HygieneError("until", "It lies before the day it was done.", "Read both dates again.")
    if done > today:
        return Standing("not yet", until, None, f"It is dated {say_date(done)}, after today.")
    if until is None:
        return Standing("current", None, None, f"Done {say_date(done)}, without an end.")
    left = (until - today).days
    if left < 0:
        return Standing("lapsed", until, left, f"It held until {say_date(until)}, {say_days(-left)} ago.")
    word = "near its end" if left <= near else "current"
    return Standing(word, until, left, f"It holds through {say_date(until)}.")


def renewed(done: date | None, unit: str, count: int, today: date, near: int = NEAR_DAYS) -> Standing:
    """How something that must be done again every so often stands: a fit test every 12 months, for example. On the
    day it falls due it still holds."""
    return standing(done, None if done is None else next_due(done, unit, count), today, near)


def sign_off(signed: Iterable[SignOff], person: str, machine: str, today: date) -> Standing:
    """The best standing that any sign-off of a person for a machine gives; one by the person themselves counts last
    among equals, and the answer says so."""
    own = [one for one in signed if one.person == person and one.machine == machine]
    if not own:
        return Standing("never", None, None, "Nobody signed them off for this machine.")
    found = [(standing(one.on, one.until, today), one.by == person) for one in own]
    best, by_self = min(found, key=lambda pair: (_ORDER.index(pair[0].word), pair[1], -_end(pair[0].until)))
    return replace(best, why=f"{best.why} Signed by themselves.") if by_self else best


def lacking(signed: Sequence[SignOff], people: Iterable[str], machine: str, today: date) -> list[Lacking]:
    """Those among `people` who have no sign-off for a machine that holds today."""
    found = [(person, sign_off(signed, person, machine, today)) for person in people]
    return [Lacking(person, one.word, one.why) for person, one in found if one.word not in ("current", "near its end")]


def _end(until: date | None) -> int:
    return (until or date.max).toordinal()
