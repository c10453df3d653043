"""Weibull lives from few and censored data: maximum likelihood, likelihood-ratio intervals, how well it follows.

Formulas: likelihood of right-censored data, NIST/SEMATECH e-Handbook 8.4.1.2 and 8.4.1.3; the scale at a given
shape, and the shape's own equation, follow from its derivatives. Intervals are the profile likelihood's: every value
whose likelihood ratio to the best stays under the chi-square quantile with one degree of freedom (Meeker & Escobar,
Statistical Methods for Reliability Data, chapter 8, from memory); they hold for few lives better than a normal
approximation. Lives are in any one unit. Plain Python: a dozen lives are fitted before NumPy would be imported.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from statistics import NormalDist

from webapp.core.numbers import is_number
from webapp.core.problems import WearError
from webapp.core.roots import crossing

# The search for a bound ends here: in factors of e on the scale, and on the shape.
_FARTHEST = 60.0
_LARGEST_EXPONENT = 700.0
# Lives that differ by less than a millionth were not measured apart.
_LEAST_SCATTER = 1e-6
# A shop asks for the same fits again after each entry, and one entry changes one part's lives at most. What was worked
# out is kept by its inputs: some hundred parts and groups, each with a handful of intervals.
_kept = lru_cache(maxsize=4096)


@dataclass(frozen=True)
class Range:
    """A confidence interval; None: the lives set no bound on that side."""

    low: float | None
    high: float | None


@dataclass(frozen=True)
class Weibull:
    """Lives: `shape` is beta (1: they end by chance, above 1: by wear), `scale` is eta (63.2 % have ended by then)."""

    shape: float
    scale: float

    def __post_init__(self) -> None:
        for name in ("shape", "scale"):
            value = getattr(self, name)
            if not is_number(value) or value <= 0:
                raise WearError(name, "It is not a number above zero.", "Fit it to lives, or give a number above 0.")

    def surviving(self, age: float) -> float:
        """The share of parts that reach an age."""
        return math.exp(-((age / self.scale) ** self.shape)) if age > 0 else 1.0

    def life(self, share: float) -> float:
        """The age by which a share of the parts has failed; 0.1 gives B10."""
        return self.scale * math.pow(-math.log1p(-_share(share)), 1 / self.shape)

    def left(self, age: float, share: float) -> float:
        """For a part that has reached `age`: how much longer until a share of such parts has failed."""
        spent = (age / self.scale) ** self.shape
        return self.scale * math.pow(spent - math.log1p(-_share(share)), 1 / self.shape) - age

    @property
    def mean(self) -> float:
        """The mean life."""
        return self.scale * math.gamma(1 + 1 / self.shape)

    @property
    def deviation(self) -> float:
        """The standard deviation of the lives."""
        first, second = math.gamma(1 + 1 / self.shape), math.gamma(1 + 2 / self.shape)
        return self.scale * math.sqrt(second - first * first)


@dataclass(frozen=True)
class Fit(Weibull):
    """Fitted to lives, which it keeps: `failed` ended worn or broken, of `censored` only a least length is known."""

    failed: tuple[float, ...]
    censored: tuple[float, ...]

    @cached_property
    def _sample(self) -> _Sample:
        return _Sample(self.failed, self.censored)

    @property
    def loglik(self) -> float:
        """The logarithm of the likelihood, natural, of densities in the unit of the lives."""
        return self._sample.by_shape(self.shape) - len(self.failed) * math.log(self._sample.unit)

    @property
    def aic(self) -> float:
        """Akaike's information criterion with two parameters."""
        return 4 - 2 * self.loglik

    @_kept
    def shape_range(self, level: float = 0.9) -> Range:
        """The shape's interval by profile likelihood."""
        sample, drop = self._sample, _half_chi_square(level)
        best, start = sample.by_shape(self.shape), math.log(self.shape)

        def excess(log_shape: float) -> float:
            return sample.by_shape(math.exp(log_shape)) - best + drop

        step = 1 / math.sqrt(len(self.failed))
        low, high = (crossing(excess, start, way * step, 12) for way in (-1, 1))
        return Range(_exp(low), _exp(high))

    @_kept
    def life_range(self, share: float, level: float = 0.9) -> Range:
        """The interval of `life(share)` by profile likelihood. The scale is the life of the share 1 - 1/e."""
        sample, drop = self._sample, _half_chi_square(level)
        risk, best = -math.log1p(-_share(share)), sample.by_shape(self.shape)
        start = math.log(self.life(share) / sample.unit)

        def excess(log_life: float) -> float:
            return sample.by_life(log_life, risk, self.shape) - best + drop

        step = 1 / (self.shape * math.sqrt(len(self.failed)))
        bounds = (crossing(excess, start, way * step, _FARTHEST) for way in (-1, 1))
        low, high = (None if bound is None else math.exp(bound) * sample.unit for bound in bounds)
        return Range(low, high)

    def scale_range(self, level: float = 0.9) -> Range:
        """The scale's interval by profile likelihood."""
        return self.life_range(-math.expm1(-1), level)

    def scale_at(self, shape: float) -> float:
        """The most likely scale if the shape were this."""
        return self._sample.scale(shape) * self._sample.unit


class _Sample:
    """Lives as shares of the longest, so that no power overflows, and the likelihoods of them."""

    def __init__(self, failed: Sequence[float], censored: Sequence[float]) -> None:
        self.unit = max(*failed, *censored)
        self.logs = [math.log(life / self.unit) for life in (*failed, *censored)]
        self.failures = len(failed)
        self.mean_log = math.fsum(self.logs[: self.failures]) / self.failures

    def slope(self, shape: float) -> float:
        """Nought at the most likely shape, rising with the shape (NIST 8.4.1.2)."""
        powers = [math.exp(shape * log) for log in self.logs]
        weighted = sum(power * log for power, log in zip(powers, self.logs, strict=True))
        return weighted / sum(powers) - 1 / shape - self.mean_log

    def scale(self, shape: float) -> float:
        """The most likely scale at a shape, as a share of the longest life."""
        return math.pow(sum(math.exp(shape * log) for log in self.logs) / self.failures, 1 / shape)

    def by_shape(self, shape: float) -> float:
        """The log likelihood at a shape, with the scale that suits it best."""
        total = sum(math.exp(shape * log) for log in self.logs)
        powers = math.log(total / self.failures) + 1
        return self.failures * (math.log(shape) - powers + (shape - 1) * self.mean_log)

    def by_life(self, log_life: float, risk: float, guess: float) -> float:
        """The log likelihood when `risk` (the hazard summed up) is reached at a life, with the best shape for it."""
        logs = [log - log_life for log in self.logs]

        def rising(log_shape: float) -> float:
            shape = math.exp(log_shape)
            spent = sum(_power(shape * log) * log for log in logs)
            return self.failures * (self.mean_log - log_life) - risk * spent + self.failures / shape

        start = math.log(guess)
        bound = crossing(rising, start, 0.3 if rising(start) > 0 else -0.3, 40)
        shape = math.exp(bound if bound is not None else start)
        spent = risk * sum(_power(shape * log) for log in logs)
        heights = math.log(shape * risk) - log_life + (shape - 1) * (self.mean_log - log_life)
        return self.failures * heights - spent


def fit(failed: Sequence[float], censored: Sequence[float] = ()) -> Fit:
    """The most likely Weibull for lives that ended (`failed`) and lives known only to be longer (`censored`).

    WearError for a life that is not above zero, for fewer than two failures, and for failures without any scatter.
    """
    for name, lives in (("failed", failed), ("censored", censored)):
        _all_above_nought(name, lives)
    return _fit(tuple(failed), tuple(censored))


@_kept
def _fit(failed: tuple[float, ...], censored: tuple[float, ...]) -> Fit:
    if len(failed) < 2:
        problem = "Fewer than two lives ended by wear or breakage."
        raise WearError("failed", problem, "Wait for more: one life shows no scatter.")
    sample = _Sample(failed, censored)
    if sample.mean_log > -_LEAST_SCATTER:
        problem = "The lives that ended show no scatter."
        raise WearError("failed", problem, "Check that they were counted, not copied; or wait for more.")
    bound = crossing(lambda log: sample.slope(math.exp(log)), 0.0, 0.5 if sample.slope(1.0) < 0 else -0.5, 40)
    shape = math.exp(bound) if bound is not None else math.nan
    return Fit(shape, sample.scale(shape) * sample.unit, failed, censored)


def forget() -> None:
    """Forget every fit and interval that was kept: for measuring what one costs."""
    for kept in (_fit, Fit.shape_range, Fit.life_range, gap):
        kept.cache_clear()


def kaplan_meier(failed: Sequence[float], censored: Sequence[float] = ()) -> list[tuple[float, float]]:
    """(age, share surviving it) at each age at which something failed: the lives without any curve laid over them.

    The product-limit estimate, NIST/SEMATECH e-Handbook 8.2.1.5; a life censored at the age of a failure was at risk.
    """
    steps, surviving = [], 1.0
    lives = sorted((*failed, *censored))
    for age, count in sorted(Counter(failed).items()):
        at_risk = len(lives) - bisect_left(lives, age)
        surviving *= 1 - count / at_risk
        steps.append((age, surviving))
    return steps


# How wide a gap, times the root of the failures, samples of a true Weibull show: in nine of ten at most the first, in
# ninety-nine of a hundred the second. Recomputed: 3000 samples each of 5 to 50 lives, whole and censored; the published
# limits for large whole samples are 0.803 and 1.007 (Stephens, Biometrika 64, 1977, from memory).
_USUAL_GAP, _RARE_GAP = 0.8, 1.0


def follows(fitted: Fit) -> str:
    """How the lives follow their curve: "well", "roughly" or "poorly" (a gap that one sample in a hundred shows)."""
    wide = gap(fitted) * math.sqrt(len(fitted.failed))
    return "well" if wide <= _USUAL_GAP else "roughly" if wide <= _RARE_GAP else "poorly"


@_kept
def gap(fitted: Fit) -> float:
    """The widest gap between the fitted curve and the lives' own steps, as a share of all parts."""
    widest, before = 0.0, 1.0
    for age, after in kaplan_meier(fitted.failed, fitted.censored):
        surviving = fitted.surviving(age)
        widest = max(widest, abs(before - surviving), abs(after - surviving))
        before = after
    return widest


def _half_chi_square(level: float) -> float:
    """Half the chi-square quantile with one degree of freedom: how far a log likelihood may drop."""
    if not is_number(level) or not 0 < level < 1:
        raise WearError("level", "It is not a number between 0 and 1.", "Give a confidence such as 0.9.")
    return NormalDist().inv_cdf((1 + level) / 2) ** 2 / 2


def _all_above_nought(name: str, lives: Sequence[float]) -> None:
    for life in lives:
        if not is_number(life) or life <= 0:
            raise WearError(name, f"A life of {life} is no length above zero.", "Correct the entry, or leave it out.")


def _share(share: float) -> float:
    if not is_number(share) or not 0 < share < 1:
        raise WearError("share", "It is not a number between 0 and 1.", "Give a share of the parts such as 0.1.")
    return share


def _power(exponent: float) -> float:
    return math.exp(min(exponent, _LARGEST_EXPONENT))


def _exp(log: float | None) -> float | None:
    return None if log is None else math.exp(log)
