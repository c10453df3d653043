"""Pressures of an exhaust over time: a filter's drop in its band, and static pressure beside its commissioning value.

Pressures in one unit, whichever the gauge has. A drop that falls without a change of filter tells of a torn one, of
a leak or of less air. The bands' ends are the maker's or the shop's own; the fall that counts is said with them.
Twin: static/src/core/filters.js, tests/vectors/filters.json.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from webapp.core.drift import Leaving, leaving
from webapp.core.exposure import figure
from webapp.core.figures import above_zero, from_zero
from webapp.core.numbers import say, tidy
from webapp.core.problems import HygieneError

_MOST = 100_000
_EDGE = 1e-9
FALL = 0.25
"""Share by which a drop may fall from one reading to the next before it is called a fall (own choice, no source)."""
STATIC_CHANGE = 0.20
STATIC_SOURCE = "29 CFR 1910.94(a)(4)(i)(b), more than 20 %: commonly cited, confirm"
BAND_SOURCE = "the maker's or the shop's own figures; what counts as a fall is our choice"


@dataclass(frozen=True)
class Drop:
    """A filter's pressure drop: `word` is "no air", "fallen", "clean", "working" or "loaded"; `stop`: do not blast or
    sand until it is settled; `used` is the share of the way from clean to change, %."""

    word: str
    stop: bool
    used: float
    why: str
    todo: str
    source: str


@dataclass(frozen=True)
class Static:
    """Static pressure now beside commissioning: `change` in % (down is less suction), `flow` the share of the air that
    it stands for, %, by the square root; None where it rose, because a hood that clogs draws less at more suction."""

    word: str
    stop: bool
    change: float
    flow: float | None
    why: str
    todo: str
    source: str


def filter_drop(now: float, clean: float, change_at: float, before: float | None = None) -> Drop:
    """A drop beside that of the clean filter and the one at which to change; `before` is the reading before it, unless
    the filter was changed or pulsed in between. HygieneError when change lies at or below clean."""
    here = from_zero(now, "now", _MOST)
    start, end = above_zero(clean, "clean", _MOST), above_zero(change_at, "change_at", _MOST)
    if end <= start:
        raise HygieneError("change_at", "It is not above the clean filter's drop.", "Take both from the maker.")
    last = None if before is None else from_zero(before, "before", _MOST)
    used = tidy((here - start) / (end - start) * 100, 1)
    word, why = _drop_word(here, start, end, last)
    return Drop(word, word in ("no air", "fallen", "loaded"), used, why, _TODO[word], BAND_SOURCE)


def drop_trend(days: Sequence[float], drops: Sequence[float], change_at: float) -> Leaving:
    """When the drop reaches the one at which to change, from readings since the filter was new (`days`: 0 is now,
    the past below 0)."""
    return leaving(days, drops, None, above_zero(change_at, "change_at", _MOST))


def static_pressure(now: float, commissioned: float) -> Static:
    """Static pressure at a tap beside its commissioning value, both as amounts, the sign left out.

    A change of more than 20 % either way asks for cleaning or repair; exactly 20 % does not.
    """
    here, then = from_zero(now, "now", _MOST), above_zero(commissioned, "commissioned", _MOST)
    change = here / then - 1
    less, more = change < -STATIC_CHANGE - _EDGE, change > STATIC_CHANGE + _EDGE
    word = "no suction" if here == 0 else "less suction" if less else "more suction" if more else "as commissioned"
    why = f"{figure(here)} beside {figure(then)} at commissioning: {say(tidy(change * 100, 1))} %."
    share = tidy(math.sqrt(here / then) * 100, 1) if change <= _EDGE else None
    return Static(word, word != "as commissioned", tidy(change * 100, 1), share, why, _STATIC_TODO[word], STATIC_SOURCE)


def _drop_word(here: float, clean: float, change_at: float, before: float | None) -> tuple[str, str]:
    if here == 0:
        return "no air", "The gauge shows nothing: no air moves, or its tubes are off."
    if before is not None and here < before * (1 - FALL) - _EDGE * before:
        return "fallen", f"It fell from {figure(before)} to {figure(here)} without a new or cleaned filter."
    if here < clean * (1 - FALL) - _EDGE * clean:
        return "fallen", f"{figure(here)} is far under the clean filter's {figure(clean)}."
    if here >= change_at * (1 - _EDGE):
        return "loaded", f"{figure(here)} is at or over {figure(change_at)}, where it is to be changed."
    word = "clean" if here <= clean * (1 + _EDGE) else "working"
    return word, f"{figure(here)} between {figure(clean)} clean and {figure(change_at)} to change."


_TODO = {
    "no air": "Do not start. Look at the fan, its direction and belt, the damper and the gauge's tubes.",
    "fallen": "Stop: dust may be blowing past. Look for a torn or loose filter, an open door, a leak, a slow fan.",
    "clean": "Nothing to do.",
    "working": "Nothing to do; read it again before the next use.",
    "loaded": "Stop: clean or change the filter, with the dust kept in and a respirator on. Then read it again.",
}
_STATIC_TODO = {
    "no suction": "Do not start. Look at the fan, the damper and the tap.",
    "less suction": "Clean or repair before use. After the tap: a loaded filter, a loose belt, a leak, a shut damper.",
    "more suction": "Clean or repair before use. Before the tap: a blocked hood or baffle, dust settled in the duct.",
    "as commissioned": "Nothing to do; read it again at the next check.",
}
