"""A straight line through readings over days, and the date at which it leaves a band.

Ordinary least squares; bounds of the line by Student's t with n - 2 degrees of freedom (NIST/SEMATECH e-Handbook
of Statistical Methods, 4.4.3 and 4.5.1; checked against the NIST StRD set Norris).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass

from webapp.core.numbers import is_number, tidy
from webapp.core.problems import Problem

FEWEST = 4
"""Readings below which no date is given: three hardly show the scatter about their line."""
HORIZON = 120
"""Days ahead beyond which a line through a few weeks says nothing (common practice, no source)."""
_STEP = 0.25
_LEVELS = (0.1, 0.5, 0.9)

Quantiles = tuple[float | None, float | None, float | None]


class DriftError(Problem):
    """Readings through which no line can be drawn."""


@dataclass(frozen=True)
class Line:
    """y = intercept + slope x; `scatter` is the residual standard deviation with n - 2 degrees of freedom (n - 1 for
    a line through nought); `squares` the sum of squared distances from `mean_x`."""

    count: int
    slope: float
    intercept: float
    scatter: float
    mean_x: float
    squares: float

    @property
    def slope_sd(self) -> float:
        """Standard deviation of the slope."""
        return self.scatter / math.sqrt(self.squares)

    def at(self, x: float) -> float:
        """The line's height."""
        return self.intercept + self.slope * x

    def sd_at(self, x: float) -> float:
        """Standard deviation of the line's height (not of a single reading)."""
        return self.scatter * math.sqrt(1 / self.count + (x - self.mean_x) ** 2 / self.squares)


@dataclass(frozen=True)
class Leaving:
    """When readings leave their band, in days from now (0 is now).

    `side` is "high", "low", or "" when no limit is reached within the horizon. `p10`, `p50`, `p90`: the days by
    which the line lies beyond the limit with 10, 50, 90 % confidence; None: not within the horizon. `slope` is
    the change a day with its 80 % bounds. `enough` is False with too few readings; `why` says what there is.
    """

    enough: bool
    side: str
    limit: float | None
    p10: float | None
    p50: float | None
    p90: float | None
    slope: float | None
    slope_low: float | None
    slope_high: float | None
    count: int
    why: str

    def to_dict(self) -> dict[str, object]:
        """As JSON carries it."""
        return {name: tidy(value) if isinstance(value, float) else value for name, value in asdict(self).items()}


def fit(xs: Sequence[float], ys: Sequence[float]) -> Line:
    """The least-squares line; DriftError for fewer than three points or points of a single x."""
    if len(xs) != len(ys) or not all(map(is_number, [*xs, *ys])):
        raise DriftError("readings", "They are no pairs of numbers.", "Give each reading with its day.")
    count = len(xs)
    if count < 3:
        raise DriftError("readings", f"There are {count}.", "Three are the fewest for a line with its scatter.")
    mean_x, mean_y = math.fsum(xs) / count, math.fsum(ys) / count
    squares = math.fsum((x - mean_x) ** 2 for x in xs)
    if squares <= 0:
        raise DriftError("readings", "They are all of one moment.", "Read again on another day.")
    slope = math.fsum((x - mean_x) * (y - mean_y) for x, y in zip(xs, ys, strict=True)) / squares
    intercept = mean_y - slope * mean_x
    left = math.fsum((y - intercept - slope * x) ** 2 for x, y in zip(xs, ys, strict=True))
    return Line(count, slope, intercept, math.sqrt(left / (count - 2)), mean_x, squares)


def through_nought(xs: Sequence[float], ys: Sequence[float]) -> Line:
    """The least-squares line through the origin, with n - 1 degrees of freedom in its `scatter`.

    NIST/SEMATECH e-Handbook 4.4.3; checked against the NIST StRD set NoInt1. DriftError for fewer than two points.
    """
    if len(xs) != len(ys) or not all(map(is_number, [*xs, *ys])):
        raise DriftError("readings", "They are no pairs of numbers.", "Give each use with its hours.")
    squares = math.fsum(x * x for x in xs)
    if len(xs) < 2 or squares <= 0:
        raise DriftError("readings", f"There are {len(xs)}.", "Two are the fewest for a rate with its scatter.")
    slope = math.fsum(x * y for x, y in zip(xs, ys, strict=True)) / squares
    left = math.fsum((y - slope * x) ** 2 for x, y in zip(xs, ys, strict=True))
    return Line(len(xs), slope, 0.0, math.sqrt(left / (len(xs) - 1)), 0.0, squares)


def leaving(days: Sequence[float], values: Sequence[float], low: float | None, high: float | None) -> Leaving:
    """When readings taken at `days` (0 is now, the past below 0) leave the band between `low` and `high`.

    DriftError when they are no pairs of numbers; too few readings are no error, the answer says so.
    """
    count = len(days)
    if low is None and high is None:
        return _nothing(count, "The band has no limit to leave.")
    if count < FEWEST or max(days) - min(days) < 1:
        there = f"There {'is' if count == 1 else 'are'} {count} reading{'' if count == 1 else 's'} to go by"
        return _nothing(count, f"{there}; {FEWEST} over more than a day are the fewest.")
    line = fit(days, values)
    from scipy.special import stdtrit

    reach = float(stdtrit(count - 2, 0.9)) * line.slope_sd
    slopes = (line.slope, line.slope - reach, line.slope + reach)
    limits = [("high", high, 1), ("low", low, -1)]
    found = [(side, limit, _crossings(line, limit, sign)) for side, limit, sign in limits if limit is not None]
    # The limit that the line comes to first; when it comes to neither, the one that its edge may.
    side, limit, (p10, p50, p90) = min(found, key=lambda one: _soonest(one[2]))
    if p10 is None:
        return Leaving(True, "", None, None, None, None, *slopes, count, f"Not within {HORIZON} days as it goes.")
    return Leaving(True, side, limit, p10, p50, p90, *slopes, count, f"A line through {count} readings.")


def _soonest(quantiles: Quantiles) -> tuple[float, float]:
    p10, p50, _ = (math.inf if day is None else day for day in quantiles)
    return p50, p10


def _nothing(count: int, why: str) -> Leaving:
    return Leaving(False, "", None, None, None, None, None, None, None, count, why)


def _crossings(line: Line, limit: float, sign: int) -> Quantiles:
    """The days by which the line lies beyond the limit with 10, 50 and 90 % confidence."""
    from scipy.special import stdtr

    found: list[float | None] = [None, None, None]
    for step in range(int(HORIZON / _STEP) + 1):
        day = step * _STEP
        beyond, sd = (line.at(day) - limit) * sign, line.sd_at(day)
        sure = float(stdtr(line.count - 2, beyond / sd)) if sd > 0 else float(beyond > 0)
        found = [day if have is None and sure >= level else have for have, level in zip(found, _LEVELS, strict=True)]
        if found[2] is not None:
            break
    return found[0], found[1], found[2]
