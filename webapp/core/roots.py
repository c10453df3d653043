"""Where a function crosses nought: all the root finding that the fits need, without SciPy's second of start."""

from __future__ import annotations

from collections.abc import Callable

_STEPS = 200


def root(f: Callable[[float], float], low: float, high: float, within: float = 1e-11) -> float:
    """The place between `low` and `high`, where `f` has opposite signs, at which it is nought.

    Regula falsi with the Anderson-Björck step (BIT 13, 1973, from memory), bisecting when it stalls. `within` is
    relative to the size of the root. ValueError when both ends have the same sign.
    """
    at_low, at_high = f(low), f(high)
    if at_low * at_high > 0:
        raise ValueError(f"no change of sign between {low} and {high}")
    wide = abs(high - low)
    for step in range(_STEPS):
        if at_high == 0 or abs(high - low) <= within * max(abs(low), abs(high), 1e-300):
            return high
        stalled = step % 8 == 7 and abs(high - low) > wide / 4
        middle = (low + high) / 2 if stalled else high - at_high * (high - low) / (at_high - at_low)
        wide = abs(high - low) if step % 8 == 7 else wide
        here = f(middle)
        if here * at_high < 0:
            low, at_low = high, at_high
        else:
            rest = 1 - here / at_high
            at_low *= rest if rest > 0 else 0.5
        high, at_high = middle, here
    return high


def crossing(f: Callable[[float], float], start: float, step: float, farthest: float) -> float | None:
    """The nearest root from `start` in the direction of `step`, which doubles; None when none lies within `farthest`.

    `f(start)` must not be nought.
    """
    here, at_here = start, f(start)
    while abs(here - start) < farthest:
        there = here + step
        if at_here * f(there) <= 0:
            return root(f, here, there)
        here, step = there, step * 2
    return None
