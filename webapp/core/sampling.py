"""From a filter to a concentration: air drawn, mass found, results below detection, and an element's share of dust.

Mass in ug or mg as named, air in litres, concentrations in mg/m3 (mg in 1000 L). A mass balance reckons an element
from the whole dust and what the alloy permits: a range, and no measurement of that element.
Twin: static/src/core/sampling.js, tests/vectors/sampling.json.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from webapp.core.exposure import BELOW, OVER, figure, reaches
from webapp.core.numbers import is_number, say, tidy
from webapp.core.problems import HygieneError

PUMP_TOLERANCE = 0.05
PUMP_SOURCE = "within 5 % before and after: OSHA Technical Manual and NIOSH practice, from memory"
DETECTION_SOURCE = "R. W. Hornung and L. D. Reed, Appl. Occup. Environ. Hyg. 5 (1990) 46"
SKEWED = 3.0
"""Geometric standard deviation from which data are highly skewed (Hornung and Reed, from memory)."""
BALANCE_WHY = (
    "Reckoned from the dust as if it were the alloy and nothing else; a sample of the element itself counts before it."
)
_EDGE = 1e-9


@dataclass(frozen=True)
class Volume:
    """Air drawn through a filter. `drift` is the pump's change in % of its first flow; `holds` False beyond 5 %:
    then the sample is void, and `litres` None."""

    litres: float | None
    flow: float
    drift: float
    holds: bool
    why: str
    source: str


@dataclass(frozen=True)
class NotFound:
    """What to put in place of a result below the limit of detection; `below` is what can be said for sure (mg/m3)."""

    value: float
    below: float
    by: str
    why: str
    source: str


@dataclass(frozen=True)
class Balanced:
    """An element reckoned from dust beside its limit; `share` of the limit in % at the upper end."""

    word: str
    share: float
    why: str


@dataclass(frozen=True)
class Plan:
    """How long to draw so that a tenth of a limit can be told: whole `minutes`, `litres`; `fits` within the time that
    the limit is an average of, and `least`, the share of the limit in % that can be told when all of that time is
    drawn."""

    minutes: int
    litres: float
    fits: bool
    least: float
    why: str


def air_volume(before: float, after: float, minutes: float) -> Volume:
    """Litres drawn in so many minutes, at the mean of the flow before and after (L/min)."""
    first, last = _flow(before, "before"), _flow(after, "after")
    if not is_number(minutes) or not 0 < minutes <= 24 * 60:
        raise HygieneError("minutes", "It is not above 0 and up to 1440.", "Give the minutes that the pump ran.")
    drift, mean = last / first - 1, (first + last) / 2
    holds = abs(drift) <= PUMP_TOLERANCE + _EDGE
    why = f"{say(mean)} L/min over {say(minutes)} min; the pump changed by {say(tidy(drift * 100, 1))} %."
    if not holds:
        why += " More than 5 %: the sample is void, take another."
    litres = tidy(mean * minutes, 3) if holds else None
    return Volume(litres, tidy(mean, 4), tidy(drift * 100, 2), holds, why, PUMP_SOURCE)


def concentration(micrograms: float, litres: float, blank: float = 0) -> float:
    """mg/m3 from the mass on a filter and on its blank (ug): 1 ug in 1 L is 1 mg/m3. Never below nought."""
    found, clean = _mass(micrograms, "micrograms"), _mass(blank, "blank")
    return tidy(max(found - clean, 0) / _litres(litres), 9)


def below_detection(detection: float, litres: float, spread: float | None = None) -> NotFound:
    """A result below the laboratory's limit of detection (ug): it is below that, and in an average it stands as
    detection / sqrt 2, or detection / 2 where the data's geometric standard deviation (`spread`) is 3 or more.

    Both mislead where more than about half of the results are like that.
    """
    least = _mass(detection, "detection")
    if least == 0:
        raise HygieneError("detection", "It is 0.", "Ask the laboratory for its limit of detection.")
    if spread is not None and (not is_number(spread) or spread < 1):
        raise HygieneError("spread", "It is not a number of 1 or more.", "Leave it out where there are few results.")
    skewed = spread is not None and spread >= SKEWED
    by, divisor = ("LOD / 2", 2.0) if skewed else ("LOD / sqrt 2", math.sqrt(2))
    bound = least / _litres(litres)
    told = "highly skewed (geometric standard deviation 3 or more)" if skewed else "not known to be highly skewed"
    why = f"Below {figure(bound)} mg/m3. In an average {by}, for data that are {told}; no use where half are like it."
    return NotFound(tidy(bound / divisor, 9), tidy(bound, 9), by, why, DETECTION_SOURCE)


def least_minutes(detection: float, limit: float, flow: float, share: float = 0.1) -> int:
    """Minutes to draw so that a laboratory that finds `detection` ug can tell `share` of a limit (mg/m3) at a flow in
    L/min: rounded up, so that a result below detection says something."""
    least, bound = _mass(detection, "detection"), _above_zero(limit, "limit")
    if not is_number(share) or not 0 < share <= 1:
        raise HygieneError("share", "It is not above 0 and up to 1.", "Give 0.1 for a tenth of the limit.")
    return math.ceil(tidy(least / (share * bound) / _flow(flow, "flow"), 6))


def plan(detection: float, limit: float, flow: float, window: float) -> Plan:
    """What to draw at a flow (L/min) for a limit (mg/m3) that is an average of `window` minutes, where the laboratory
    finds `detection` ug and more."""
    if not is_number(window) or not 0 < window <= 24 * 60:
        raise HygieneError("window", "It is not above 0 and up to 1440.", "Give the minutes that the limit averages.")
    minutes = least_minutes(detection, limit, flow)
    least = tidy(detection / (limit * flow * window) * 100, 1)
    litres, fits = tidy(minutes * flow, 1), minutes <= window
    why = f"A tenth of {figure(limit)} mg/m3 takes {say(minutes)} min, {say(litres)} L."
    if not fits:
        why += f" That is more than {say(window)} min: ask for a method that finds less, or a faster pump."
    elif window <= 15:
        why += f" Draw the whole {say(window)} min."
    else:
        why += " Draw the whole shift all the same: it is what the limit is an average of."
    return Plan(minutes, litres, fits, least, why)


def by_balance(low: float, high: float, limit: float) -> Balanced:
    """An element's share of measured dust (mg/m3, as `alloys.in_dust` reckons it) beside its limit: judged by its
    upper end, because nobody knows where in the range it lies."""
    if not is_number(low) or low < 0:
        raise HygieneError("low", "It is not a number of 0 or more.", "Reckon it from the measured dust.")
    if not is_number(high) or high < low:
        raise HygieneError("high", "It is not a number from the least on.", "Reckon it from the measured dust.")
    bound = _above_zero(limit, "limit")
    word = OVER if reaches(high, bound) else BELOW
    span = f"{figure(low)} to {figure(high)} mg/m3 beside {figure(bound)} mg/m3"
    if word == OVER and not reaches(low, bound):
        span += ", so it may be at or over it"
    return Balanced(word, tidy(high / bound * 100, 1), f"{span}. {BALANCE_WHY}")


def dust_for(limit: float, high: float) -> float:
    """The dust (mg/m3) at which an element of at most `high` weight % comes to its own limit: when that is less than
    the limit of the dust itself, the element decides."""
    bound, most = _above_zero(limit, "limit"), _percent(high, "high")
    if most == 0:
        raise HygieneError("high", "The alloy has none of it.", "Leave the element out.")
    return tidy(bound * 100 / most, 9)


def _percent(value: float, field: str) -> float:
    if not is_number(value) or not 0 <= value <= 100:
        raise HygieneError(field, "It is not between 0 and 100 %.", "Take it from the alloy's composition.")
    return value


def _flow(value: float, field: str) -> float:
    if not is_number(value) or not 0 < value <= 100:
        raise HygieneError(field, "It is not above 0 and up to 100 L/min.", "Check the pump against a calibrator.")
    return value


def _litres(value: float) -> float:
    if not is_number(value) or not 0 < value <= 200_000:
        raise HygieneError("litres", "It is not above 0.", "Give the air that was drawn.")
    return value


def _mass(value: float, field: str) -> float:
    if not is_number(value) or value < 0:
        raise HygieneError(field, "It is not a number of 0 or more.", "Copy it from the laboratory's report.")
    return value


def _above_zero(value: float, field: str) -> float:
    if not is_number(value) or value <= 0:
        raise HygieneError(field, "It is not a number above zero.", "Take it from its print.")
    return value
