"""When to replace a wearing part: the age at which planned and unplanned changes cost least together.

Age replacement: change at age T or at failure, whichever comes first. The cost for each unit of use is
(planned R(T) + unplanned F(T)) / (integral of R from 0 to T), with R the share that survives and F the share that does
not (Barlow & Proschan, Mathematical Theory of Reliability, 1965, from memory; ReliaWiki, System Analysis Reference,
"Optimum Replacement Time"). For a Weibull the integral is closed, an incomplete gamma function; the least lies where
the hazard times that integral, less F, equals planned / (unplanned - planned). Costs are in one currency.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from webapp.core.gammas import lower_gamma
from webapp.core.numbers import is_number
from webapp.core.problems import WearError
from webapp.core.roots import crossing
from webapp.core.weibull import Fit, Range, Weibull

# An age that saves less than this is not worth the watching (our judgement, no source).
LEAST_SAVING = 0.01
_SHAPES_TRIED = 9


@dataclass(frozen=True)
class Replacement:
    """`age`: replace then; None: run until it is worn or broken, for the reason in `why`.

    `rate` is the cost for each unit of use when that is done, `run_rate` when the part runs to its end; `saving` the
    share of cost saved; `unplanned_share` the share of the parts that still fail before the age.
    """

    age: float | None
    rate: float
    run_rate: float
    saving: float
    unplanned_share: float
    why: str


def use_before(life: Weibull, age: float) -> float:
    """The mean use that a part gives when it is changed at `age` or at failure: the integral of R from 0 to `age`."""
    return life.mean * lower_gamma(1 / life.shape, (age / life.scale) ** life.shape)


def cost_rate(life: Weibull, age: float, planned: float, unplanned: float) -> float:
    """The cost for each unit of use when parts are replaced at `age`. WearError for a cost or an age not above zero."""
    _check(planned, unplanned)
    if not is_number(age) or age <= 0:
        raise WearError("age", "It is not a number above zero.", "Give an age in the meter's unit.")
    failing = 1 - life.surviving(age)
    return (planned * (1 - failing) + unplanned * failing) / use_before(life, age)


def least_cost(life: Weibull, planned: float, unplanned: float) -> Replacement:
    """The age of least cost, or that running to the end is cheaper. WearError for a cost that is not above zero."""
    _check(planned, unplanned)
    run_rate = unplanned / life.mean
    if life.shape <= 1:
        why = "These parts do not fail more often with age, so changing one early buys nothing."
        return Replacement(None, run_rate, run_rate, 0.0, 1.0, why)
    if unplanned <= planned:
        why = "An unplanned change costs no more than a planned one."
        return Replacement(None, run_rate, run_rate, 0.0, 1.0, why)
    age = _least(life, planned / (unplanned - planned))
    saving = 0.0 if age is None else 1 - cost_rate(life, age, planned, unplanned) / run_rate
    if age is None or saving < LEAST_SAVING:
        why = "Changing early at the best age saves less than 1 % of the cost."
        return Replacement(None, run_rate, run_rate, 0.0, 1.0, why)
    why = "Wear makes an early change cheaper than a failure at work."
    return Replacement(age, run_rate * (1 - saving), run_rate, saving, 1 - life.surviving(age), why)


def least_cost_range(fitted: Fit, planned: float, unplanned: float, level: float = 0.9) -> Range:
    """How far the age of least cost moves over the shape's interval, each shape with the scale most likely with it.

    A bound is None where some shape of the interval makes running to the end cheaper.
    """
    shapes = fitted.shape_range(level)
    low, high = (math.log(bound or fitted.shape) for bound in (shapes.low, shapes.high))
    tried = [math.exp(low + (high - low) * step / (_SHAPES_TRIED - 1)) for step in range(_SHAPES_TRIED)]
    ages = [least_cost(Weibull(shape, fitted.scale_at(shape)), planned, unplanned).age for shape in tried]
    known = [age for age in ages if age is not None]
    return Range(min(known, default=None), None if None in ages else max(known))


def _least(life: Weibull, ratio: float) -> float | None:
    """Where hazard x use - failing = ratio; None where hardly a part would live to see it."""
    unit = Weibull(life.shape, 1.0)

    def excess(log_age: float) -> float:
        age = math.exp(log_age)
        hazard = life.shape * math.pow(age, life.shape - 1)
        return hazard * use_before(unit, age) - 1 + unit.surviving(age) - ratio

    oldest = math.log(unit.life(1 - 1e-9))
    if excess(oldest) < 0:
        return None
    found = crossing(excess, oldest, -0.5, 200)
    return None if found is None else math.exp(found) * life.scale


def _check(planned: float, unplanned: float) -> None:
    for name, cost in (("planned_cost", planned), ("unplanned_cost", unplanned)):
        if not is_number(cost) or cost <= 0:
            raise WearError(
                name, "It is not an amount above zero.", "Give the part, the work and the lost time as money."
            )
