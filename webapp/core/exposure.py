"""Exposure: what a person's shift adds up to, and how that stands to limits in print.

Concentrations are in one unit throughout (mg/m3 where limits of the library are compared), times in hours or minutes
as named. The average is E = (C1 T1 + ... + Cn Tn) / 8 by 29 CFR 1910.1000(d)(1)(i): always by 8, however long the
shift. A time that was not measured is never filled in: the answer is then "not measured", with what to measure.
Twin: static/src/core/exposure.js, tests/vectors/exposure.json.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from webapp.core.numbers import is_number, say, tidy
from webapp.core.problems import HygieneError

BELOW, OVER, ACTION, UNMEASURED = "below the limit", "at or over the limit", "over the action level", "not measured"
DAY = 24
BASE_HOURS = 8
WINDOW_MINUTES = 15
TWA_SOURCE = "29 CFR 1910.1000(d)(1)(i)"
MIXTURE_SOURCE = "29 CFR 1910.1000(d)(2)(i)"
LEAD_SOURCE = "29 CFR 1910.1025(c)(2): 400 / hours worked, for a day of more than 8 hours"
SHIFT_SOURCE = "R. S. Brief and R. A. Scala, Am. Ind. Hyg. Assoc. J. 36 (1975) 467: advice, no law"
UNADJUSTED = "OSHA adjusts no limit for a long shift but that of lead; the figure beside it is advice."
# Sums of binary fractions miss a limit that they meet on paper by some parts in 10^16.
_EDGE = 1e-9
_MOST = 1_000_000


@dataclass(frozen=True)
class Average:
    """A shift: `eight_hours` is E with the time not measured left out; `over_shift` the mean over the hours worked,
    None while part of them is not measured. Hours `measured` and `unmeasured`."""

    eight_hours: float
    over_shift: float | None
    shift: float
    measured: float
    unmeasured: float
    why: str
    source: str


@dataclass(frozen=True)
class Compared:
    """A measured value beside a limit: `word` is one of the four above, `share` % of the limit."""

    word: str
    share: float | None
    why: str


@dataclass(frozen=True)
class Window:
    """The highest mean over so many minutes together; `whole` is False when less than that was measured (`highest` is
    then the least that it can have been) and when a reading is longer (taken as even, a peak in it is unseen)."""

    highest: float
    minutes: float
    whole: bool
    why: str


@dataclass(frozen=True)
class Mixture:
    """C1/L1 + ... + Cn/Ln of substances that harm alike; `parts` are the terms."""

    index: float
    word: str
    parts: tuple[float, ...]
    why: str
    source: str


@dataclass(frozen=True)
class Shift:
    """A limit for an unusual day or week; `factor` is what it was multiplied by. `law`: whether it binds as such."""

    limit: float
    factor: float
    law: bool
    why: str
    source: str


def figure(value: float) -> str:
    """A number for a sentence with three significant digits and no exponent, the same in both languages."""
    places, scaled = 0, abs(value)
    while 0 < scaled < 100 and places < 9:
        places, scaled = places + 1, scaled * 10
    text = f"{tidy(value, places):.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def average(periods: Sequence[Sequence[float]], shift: float | None = None) -> Average:
    """The eight-hour average of `periods`, each [concentration, hours], within a shift of so many hours.

    Without `shift` the periods are the whole of it. HygieneError for no periods, a concentration or an hour below
    nought, more than 24 hours, and periods that are longer than the shift.
    """
    if not periods:
        raise HygieneError("periods", "There are none.", "Give each as a concentration and its hours.")
    pairs = [_pair(one, place) for place, one in enumerate(periods)]
    measured = sum(hours for _, hours in pairs)
    _within_day(measured, "periods")
    whole = measured if shift is None else _hours(shift, "shift")
    if measured > whole * (1 + _EDGE):
        raise HygieneError(
            "shift", f"It has {say(whole)} h, the periods {say(measured)} h.", "Give the hours that were worked."
        )
    total, missing = sum(level * hours for level, hours in pairs), max(whole - measured, 0)
    missing = 0 if missing <= _EDGE else missing
    why = f"{say(measured)} h measured of {say(whole)} h, divided by 8."
    if missing:
        why += f" {say(missing)} h were not measured and are left out."
    mean = None if missing else tidy(total / whole, 9)
    return Average(tidy(total / BASE_HOURS, 9), mean, tidy(whole), tidy(measured), tidy(missing), why, TWA_SOURCE)


def compare(value: float | None, limit: float, unit: str, action: float | None = None) -> Compared:
    """A measured value beside a limit and, where there is one, an action level, all in `unit`.

    None is "not measured". HygieneError for a limit that is no number above zero.
    """
    bound = _above_zero(limit, "limit")
    early = None if action is None else _above_zero(action, "action")
    if value is None:
        return Compared(UNMEASURED, None, "Nothing was measured, so nothing can be said.")
    level = _level(value, "value")
    share = tidy(level / bound * 100, 1)
    why = f"{figure(level)} {unit} is {say(share)} % of {figure(bound)} {unit}."
    if reaches(level, bound):
        return Compared(OVER, share, why)
    if early is not None and reaches(level, early):
        return Compared(ACTION, share, f"{why} The action level is {figure(early)} {unit}.")
    return Compared(BELOW, share, why)


def reaches(value: float, limit: float) -> bool:
    """Whether a value is at or over a limit, with room for binary fractions."""
    return value >= limit * (1 - _EDGE)


def short_term(readings: Sequence[Sequence[float]], minutes: float = WINDOW_MINUTES) -> Window:
    """The highest mean over any `minutes` together of readings in a row, each [concentration, minutes].

    With less measured than that, the rest of the window is left out: such a mean can be over a limit, but cannot
    show that the air was below it. A reading longer than the window is its own mean, and hides what it holds.
    """
    window = _above_zero(minutes, "minutes")
    if not readings:
        raise HygieneError("readings", "There are none.", "Give each as a concentration and its minutes.")
    pairs = [_pair(one, place, "readings", "minutes", DAY * 60) for place, one in enumerate(readings)]
    edges = [0.0]
    for _, length in pairs:
        edges.append(edges[-1] + length)
    covered = edges[-1]
    whole = covered >= window * (1 - _EDGE)
    starts = [edge for edge in [*edges, *(edge - window for edge in edges)] if 0 <= edge <= max(covered - window, 0)]
    highest = max(_mass(pairs, edges, start, start + window) for start in [0.0, *starts]) / window
    coarse = any(length > window * (1 + _EDGE) for _, length in pairs)
    why = f"Highest mean over {say(window)} min of {say(covered)} min measured."
    if not whole:
        why = f"Only {say(covered)} of {say(window)} min were measured: it was at least this."
    elif coarse:
        why += " A reading is longer than that: a peak within it is not seen."
    return Window(tidy(highest, 9), tidy(covered), whole and not coarse, why)


def ceiling(readings: Sequence[Sequence[float]], at_once: bool) -> Window:
    """What is held against a ceiling: the highest of readings that an instrument shows at once; where that cannot be
    measured, the highest mean over 15 minutes (29 CFR 1910.1000(a)(1)). Each is [concentration, minutes]."""
    if not at_once:
        found = short_term(readings)
        return replace(found, why=f"{found.why} Not read at once, so held against the ceiling as a 15 min mean.")
    minutes = short_term(readings).minutes
    highest = max(_two(one, "readings")[0] for one in readings)
    return Window(tidy(highest, 9), minutes, True, f"The highest of {len(readings)} readings at once.")


def mixture(parts: Sequence[Sequence[float]], effect: str) -> Mixture:
    """The index of substances breathed together, each [concentration, limit] in its own unit.

    Only for substances that harm alike: `effect` names what they have in common. HygieneError without it, and for
    fewer than two.
    """
    if not isinstance(effect, str) or not effect.strip():
        raise HygieneError(
            "effect", "It is not said what they harm alike.", "Name the effect they share, or judge each by itself."
        )
    if len(parts) < 2:
        raise HygieneError("parts", f"There are {len(parts)}.", "A mixture has two or more.")
    shares = []
    for place, one in enumerate(parts):
        level, limit = _two(one, f"parts[{place}]")
        shares.append(_level(level, f"parts[{place}].value") / _above_zero(limit, f"parts[{place}].limit"))
    index = sum(shares)
    word = OVER if reaches(index, 1) else BELOW
    why = f"The shares of their limits make {figure(index)}; 1 is the limit. All harm alike: {effect.strip()}."
    return Mixture(tidy(index), word, tuple(tidy(one) for one in shares), why, MIXTURE_SOURCE)


def lead_shift(limit: float, hours: float) -> Shift:
    """The limit of lead for a day of so many hours: 400 / hours ug/m3 for more than 8, as the rule has it for its 50.

    It is compared with the mean over the hours worked, not with E: both together would count the long day twice.
    """
    bound, day = _above_zero(limit, "limit"), _hours(hours, "hours")
    factor = BASE_HOURS / day if day > BASE_HOURS else 1.0
    why = f"{say(day)} h: the mean over them is held to {figure(bound * factor)}."
    return Shift(tidy(bound * factor, 9), tidy(factor), True, why, LEAD_SOURCE)


def long_day(limit: float, hours: float) -> Shift:
    """A limit made for 8 hours on a longer day, by Brief and Scala: (8 / h) ((24 - h) / 16). Never raised for a
    shorter one. Compared with the mean over the hours worked. HygieneError for 24 hours, which leave no rest."""
    bound, day = _above_zero(limit, "limit"), _hours(hours, "hours")
    if day >= DAY:
        raise HygieneError("hours", "A day of 24 h leaves no rest.", "Give the hours that were worked.")
    return _reduced(bound, min(BASE_HOURS / day * (DAY - day) / 16, 1.0), f"{say(day)} h a day")


def long_week(limit: float, hours: float) -> Shift:
    """A limit made for 40 hours on a longer week, by Brief and Scala: (40 / h) ((168 - h) / 128); never raised."""
    bound = _above_zero(limit, "limit")
    week = _above_zero(hours, "hours")
    if week >= 168:
        raise HygieneError("hours", f"{say(week)} h are no week's work.", "Give the hours worked in a week.")
    return _reduced(bound, min(40 / week * (168 - week) / 128, 1.0), f"{say(week)} h a week")


def _reduced(limit: float, factor: float, over: str) -> Shift:
    why = f"{over}: {figure(limit)} x {figure(factor)}. {UNADJUSTED}"
    return Shift(tidy(limit * factor, 9), tidy(factor), False, why, SHIFT_SOURCE)


def _mass(pairs: Sequence[tuple[float, float]], edges: Sequence[float], start: float, end: float) -> float:
    """Concentration x minutes between two moments of a row of readings."""
    return sum(
        level * max(min(edges[place + 1], end) - max(edges[place], start), 0.0)
        for place, (level, _) in enumerate(pairs)
    )


def _two(one: Sequence[float], field: str) -> tuple[float, float]:
    if not isinstance(one, list | tuple) or len(one) != 2:
        raise HygieneError(field, "It is not a pair.", "Give two numbers.")
    return one[0], one[1]


def _pair(
    one: Sequence[float], place: int, name: str = "periods", of: str = "hours", most: float = DAY
) -> tuple[float, float]:
    level, length = _two(one, f"{name}[{place}]")
    _level(level, f"{name}[{place}].value")
    field = f"{name}[{place}].{of}"
    if not is_number(length) or length <= 0:
        raise HygieneError(field, "It is not a number above zero.", "Give how long it lasted, or leave it out.")
    if length > most:
        raise HygieneError(field, f"It is more than {most}.", "A day has 24 h: check it and its unit.")
    return level, length


def _hours(value: float, field: str) -> float:
    if not is_number(value) or value <= 0:
        raise HygieneError(field, "It is not a number above zero.", "Give the hours that were worked.")
    return _within_day(value, field)


def _within_day(value: float, field: str) -> float:
    if value > DAY * (1 + _EDGE):
        raise HygieneError(field, f"{say(value)} h are more than a day has.", "Give at most 24 h; check each time.")
    return value


def _level(value: float, field: str) -> float:
    if not is_number(value) or value < 0:
        raise HygieneError(field, "It is not a number of 0 or more.", "Give what was measured.")
    if value > _MOST:
        raise HygieneError(field, f"It is more than {_MOST}.", "Check the figure and its unit.")
    return value


def _above_zero(value: float, field: str) -> float:
    if not is_number(value) or value <= 0:
        raise HygieneError(field, "It is not a number above zero.", "Take it from its print.")
    return value
