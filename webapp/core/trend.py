"""Whether lives grow shorter or longer: the reverse arrangement test, which asks for no model and works from four.

NIST/SEMATECH e-Handbook 8.2.3.4: a reversal is a later life that is longer than an earlier one. Without a trend every
order of the lives is as likely as any other, so the chance of each count is exact.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate

FEWEST = 4
_SIGNIFICANT = 0.05


@dataclass(frozen=True)
class Trend:
    """Reversals among the pairs, the one-sided chance of so few or so many, and in a word what that says."""

    reversals: int
    pairs: int
    chance: float
    word: str


def trend(lives: Sequence[float]) -> Trend | None:
    """The trend of lives in the order they ended: "shorter", "longer" or "none seen"; None below four lives.

    Equal lives are no reversal, but count against either finding. One-sided 5 %, a column of NIST's table.
    """
    count = len(lives)
    if count < FEWEST:
        return None
    pairs = count * (count - 1) // 2
    later = [(one, two) for place, one in enumerate(lives) for two in lives[place + 1 :]]
    found = sum(one < two for one, two in later)
    equal = sum(one == two for one, two in later)
    few, many = at_most(found + equal, count), at_most(pairs - found, count)
    word = "shorter" if few <= _SIGNIFICANT else "longer" if many <= _SIGNIFICANT else "none seen"
    return Trend(found, pairs, min(few, many), word)


def at_most(reversals: int, count: int) -> float:
    """The chance of at most so many reversals among `count` lives without a trend; by symmetry, of so few missing."""
    chances = [1.0]
    for place in range(2, count + 1):
        # The place-th life makes 0 to place - 1 new reversals, each as likely.
        sums = [0.0, *accumulate(chances)]
        last = len(chances)
        chances = [(sums[min(at + 1, last)] - sums[max(0, at - place + 1)]) / place for at in range(last + place - 1)]
    return min(max(math.fsum(chances[: reversals + 1]), 0.0), 1.0)
