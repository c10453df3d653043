"""Control charts: whether a series of readings still behaves as it did, or something has changed.

Formulas: NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2 (Shewhart rules), 6.3.2.2 (individuals and moving
range), 6.3.2.3 (CUSUM), 6.3.2.4 (EWMA); rules 5 to 8 by L. S. Nelson, Journal of Quality Technology 16 (1984).
A signal says "something has changed", never what. The charts presume readings that do not follow each other;
`autocorrelation` says whether they do.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from itertools import pairwise

from webapp.core.numbers import is_number, tidy
from webapp.core.problems import Problem

D2, D4 = 1.128, 3.267
"""Constants of a moving range of two (NIST 6.3.2.2)."""
FEWEST = 8
"""Readings below which no limits are given: the scatter is not known from fewer (common practice, no source)."""


class ChartError(Problem):
    """Readings or settings from which no chart can be made."""


@dataclass(frozen=True)
class Signal:
    """A rule that broke at the reading with that index; `side` is "high", "low" or "" where sides do not matter."""

    index: int
    rule: str
    side: str
    says: str

    def to_dict(self) -> dict[str, object]:
        """The signal as JSON carries it."""
        return asdict(self)


@dataclass(frozen=True)
class Individuals:
    """Limits of an individuals chart: centre -/+ 2.66 mean moving ranges; `sigma` is the scatter they rest on."""

    centre: float
    sigma: float
    lower: float
    upper: float
    mean_range: float
    range_upper: float
    count: int

    def to_dict(self) -> dict[str, float]:
        """The limits as JSON carries them."""
        return {name: tidy(value) for name, value in asdict(self).items()}


@dataclass(frozen=True)
class Ewma:
    """An EWMA chart: the smoothed values, their limits one by one (narrow at first) and in the long run."""

    values: tuple[float, ...]
    lowers: tuple[float, ...]
    uppers: tuple[float, ...]
    lower: float
    upper: float
    signals: tuple[Signal, ...]


@dataclass(frozen=True)
class Cusum:
    """A two-sided tabular CUSUM: the sums above and below the target, and where either passes the limit."""

    high: tuple[float, ...]
    low: tuple[float, ...]
    signals: tuple[Signal, ...]


def individuals(values: Sequence[float]) -> Individuals:
    """Limits from readings in order: centre = mean, sigma = mean moving range / 1.128, limits at 3 sigma."""
    _numbers(values, least=2)
    ranges = [abs(b - a) for a, b in pairwise(values)]
    centre, mean_range = math.fsum(values) / len(values), math.fsum(ranges) / len(ranges)
    sigma = mean_range / D2
    return Individuals(centre, sigma, centre - 3 * sigma, centre + 3 * sigma, mean_range, D4 * mean_range, len(values))


def western_electric(values: Sequence[float], centre: float, sigma: float) -> list[Signal]:
    """The four Western Electric rules (1956), each marked at the reading that completes it."""
    scores = _scores(values, centre, sigma)
    rules: list[tuple[str, str, _Test]] = [
        ("we1", "beyond 3 sigma", _part_of(1, 1, 3)),
        ("we2", "2 of 3 in a row beyond 2 sigma", _part_of(2, 3, 2)),
        ("we3", "4 of 5 in a row beyond 1 sigma", _part_of(4, 5, 1)),
        ("we4", "8 in a row on one side of the centre", _part_of(8, 8, 0)),
    ]
    return _run(scores, rules)


def nelson(values: Sequence[float], centre: float, sigma: float) -> list[Signal]:
    """Nelson's eight tests, each marked at the reading that completes it."""
    scores = _scores(values, centre, sigma)
    rules: list[tuple[str, str, _Test]] = [
        ("nelson1", "beyond 3 sigma", _part_of(1, 1, 3)),
        ("nelson2", "9 in a row on one side of the centre", _part_of(9, 9, 0)),
        ("nelson3", "6 in a row rising or falling", _steady),
        ("nelson4", "14 in a row up and down in turn", _in_turn),
        ("nelson5", "2 of 3 in a row beyond 2 sigma", _part_of(2, 3, 2)),
        ("nelson6", "4 of 5 in a row beyond 1 sigma", _part_of(4, 5, 1)),
        ("nelson7", "15 in a row within 1 sigma", _close),
        ("nelson8", "8 in a row beyond 1 sigma, on both sides", _apart),
    ]
    return _run(scores, rules)


def ewma(values: Sequence[float], centre: float, sigma: float, weight: float = 0.3, width: float = 3) -> Ewma:
    """EWMA chart from the first reading on: z = weight x + (1 - weight) z, begun at the centre.

    Limits: centre -/+ width sigma sqrt(weight / (2 - weight) (1 - (1 - weight)^2t)).
    """
    _numbers(values, least=1)
    _positive(sigma, "sigma")
    _positive(width, "width")
    if not is_number(weight) or not 0 < weight <= 1:
        raise ChartError("weight", "It is not above 0 and up to 1.", "Give 0.2 to 0.3 as is usual.")
    run = width * sigma * math.sqrt(weight / (2 - weight))
    smoothed, lowers, uppers, signals, z = [], [], [], [], centre
    for index, value in enumerate(values):
        z = weight * value + (1 - weight) * z
        room = run * math.sqrt(1 - (1 - weight) ** (2 * (index + 1)))
        smoothed.append(z)
        lowers.append(centre - room)
        uppers.append(centre + room)
        if abs(z - centre) > room:
            side = "high" if z > centre else "low"
            signals.append(Signal(index, "ewma", side, "the smoothed value is beyond its limit"))
    return Ewma(tuple(smoothed), tuple(lowers), tuple(uppers), centre - run, centre + run, tuple(signals))


def cusum(values: Sequence[float], target: float, slack: float, limit: float) -> Cusum:
    """Tabular CUSUM in the readings' unit: S+ = max(0, S+ + x - target - slack), S- likewise below.

    `slack` is half the shift to be found (k), `limit` the decision interval (h).
    """
    _numbers(values, least=1)
    _positive(limit, "limit")
    if not is_number(slack) or slack < 0:
        raise ChartError("slack", "It is not a number of 0 or more.", "Give half the shift that is to be found.")
    high, low, signals, above, below = [], [], [], 0.0, 0.0
    for index, value in enumerate(values):
        above = max(0.0, above + value - target - slack)
        below = max(0.0, below + target - slack - value)
        high.append(above)
        low.append(below)
        for total, side in ((above, "high"), (below, "low")):
            if total > limit:
                signals.append(Signal(index, "cusum", side, f"readings have crept {side} for a while"))
    return Cusum(tuple(high), tuple(low), tuple(signals))


def autocorrelation(values: Sequence[float]) -> float:
    """How far each reading follows the one before (lag 1): r1 of NIST 1.3.5.12, -1 to 1; 0 when all are alike."""
    _numbers(values, least=2)
    mean = math.fsum(values) / len(values)
    total = math.fsum((value - mean) ** 2 for value in values)
    return math.fsum((a - mean) * (b - mean) for a, b in pairwise(values)) / total if total > 0 else 0.0


def follows_itself(values: Sequence[float]) -> bool:
    """Whether readings follow each other more than chance would make them: |r1| beyond 2 / sqrt(n)."""
    return abs(autocorrelation(values)) > 2 / math.sqrt(len(values))


_Test = Callable[[Sequence[float], int], str | None]
"""Given the scores (in sigma) and an index: the side on which the rule breaks there, or None."""


def _run(scores: Sequence[float], rules: Sequence[tuple[str, str, _Test]]) -> list[Signal]:
    found = []
    for index in range(len(scores)):
        for rule, says, test in rules:
            side = test(scores, index)
            if side is not None:
                found.append(Signal(index, rule, side, says))
    return found


def _part_of(need: int, window: int, beyond: float) -> _Test:
    """`need` of the last `window` beyond so many sigma on one side, this one among them."""

    def test(scores: Sequence[float], index: int) -> str | None:
        last = scores[max(0, index - window + 1) : index + 1]
        for side, sign in (("high", 1), ("low", -1)):
            if scores[index] * sign > beyond and sum(score * sign > beyond for score in last) >= need:
                return side
        return None

    return test


def _steady(scores: Sequence[float], index: int) -> str | None:
    last = scores[index - 5 : index + 1] if index >= 5 else ()
    steps = [b - a for a, b in pairwise(last)]
    if steps and all(step > 0 for step in steps):
        return "high"
    return "low" if steps and all(step < 0 for step in steps) else None


def _in_turn(scores: Sequence[float], index: int) -> str | None:
    last = scores[index - 13 : index + 1] if index >= 13 else ()
    steps = [b - a for a, b in pairwise(last)]
    return "" if steps and all(a * b < 0 for a, b in pairwise(steps)) else None


def _close(scores: Sequence[float], index: int) -> str | None:
    return "" if index >= 14 and all(abs(score) <= 1 for score in scores[index - 14 : index + 1]) else None


def _apart(scores: Sequence[float], index: int) -> str | None:
    last = scores[index - 7 : index + 1] if index >= 7 else ()
    both = any(score > 1 for score in last) and any(score < -1 for score in last)
    return "" if both and all(abs(score) > 1 for score in last) else None


def _scores(values: Sequence[float], centre: float, sigma: float) -> list[float]:
    _numbers(values, least=1)
    _positive(sigma, "sigma")
    return [(value - centre) / sigma for value in values]


def _numbers(values: Sequence[float], least: int) -> None:
    if len(values) < least:
        raise ChartError("values", f"There are {len(values)}.", f"Give at least {least}.")
    if not all(map(is_number, values)):
        raise ChartError("values", "One of them is not a number.", "Leave it out, or read it again.")


def _positive(value: float, field: str) -> None:
    if not is_number(value) or value <= 0:
        raise ChartError(field, "It is not a number above zero.", "Give readings that differ from each other.")
