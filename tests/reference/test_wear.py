"""Wearing parts against published figures: each row of a table is a check, with its source beside it.

Tolerances are half the last place that the source prints. "Seen" means read at the source, "from memory" that it was
not; figures marked "recomputed" follow from the source's own formula.
"""

from __future__ import annotations

import math
from itertools import pairwise

import pytest

from webapp.core.replacement import cost_rate, least_cost
from webapp.core.stock import Use, days_left, demand_quantile
from webapp.core.trend import at_most, trend
from webapp.core.wear import mean_range
from webapp.core.weibull import Weibull, fit, kaplan_meier

NIST_TEST = ([54, 187, 216, 240, 244, 335, 361, 373, 375, 386], [500] * 10)
FANS_FAILED = [450, 1150, 1150, 1600, 2070, 2070, 2080, 3100, 3450, 4600, 6100, 8750]
FANS_RUNNING = [
    460, 1560, 1660, *[1850] * 5, *[2030] * 3, 2200, *[3000] * 4, 3200, 3750, 3750, *[4150] * 4, *[4300] * 4,
    *[4850] * 4, *[5000] * 3, *[6100] * 3, 6300, 6450, 6450, 6700, 7450, 7800, 7800, 8100, 8100, 8200,
    *[8500] * 3, 8750, 8750, 9400, 9900, *[10100] * 3, 11500,
]  # fmt: skip
FANS = ([hours / 1000 for hours in FANS_FAILED], [hours / 1000 for hours in FANS_RUNNING])
LECTURE = ([3, 5, 8, 15, 22, 23, 29, 32, 35, 40, 26, 28, 21], [6, 10, 11, 20, 27, 33, 24])
RELIEF = ([1.1, 1.4, 1.3, 1.7, 1.9, 1.8, 1.6, 2.2, 1.7, 2.7, 4.1, 1.8, 1.5, 1.2, 1.4, 3.0, 1.7, 2.3, 1.6, 2.0], [])
FIVE = ([10, 20, 30, 40, 50], [])
REMISSION = ([6, 6, 6, 7, 10, 13, 16, 22, 23], [6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35])

NIST_8413 = "NIST/SEMATECH e-Handbook 8.4.1.3, Weibull analysis of censored life test data (seen)"
SAS_FANS = "SAS/QC RELIABILITY procedure, 70 diesel fans of Nelson 1982 (data seen; figures as in SciPy's own tests)"
ZHU = "Stony Brook AMS 588, lecture 3, likelihood (as quoted in SciPy's own tests, seen)"
NAG = "NAG Library g07be, example results (seen): f = lambda gamma x^(gamma-1) exp(-lambda x^gamma), Beta = ln lambda"
RELIAWIKI_BOUNDS = "ReliaWiki, Confidence Bounds, likelihood ratio example: failures at 10, 20, 30, 40, 50 h (seen)"
LAWLESS = "6-MP remissions (Freireich 1963, data seen), Weibull as in Lawless, Statistical Models (from memory)"

FITS = [
    ("eta", lambda: fit(*NIST_TEST).scale, 606.5280, 1e-3, NIST_8413),
    ("beta", lambda: fit(*NIST_TEST).shape, 1.7208, 5e-5, NIST_8413),
    ("log likelihood", lambda: fit(*NIST_TEST).loglik, -75.135, 5e-4, NIST_8413),
    ("AIC", lambda: fit(*NIST_TEST).aic, 154.27, 5e-3, NIST_8413),
    ("mean life", lambda: fit(*NIST_TEST).mean, 540.737, 5e-4, NIST_8413),
    ("standard deviation", lambda: fit(*NIST_TEST).deviation, 323.806, 5e-4, NIST_8413),
    ("B10", lambda: fit(*NIST_TEST).life(0.1), 164.02, 5e-3, NIST_8413 + ", recomputed from its data"),
    ("B50", lambda: fit(*NIST_TEST).life(0.5), 490.17, 5e-3, NIST_8413 + ", recomputed from its data"),
    ("fans, shape", lambda: fit(*FANS).shape, 1.0584, 5e-5, SAS_FANS),
    ("fans, scale", lambda: fit(*FANS).scale, 26.2968, 5e-5, SAS_FANS),
    ("lecture, shape", lambda: fit(*LECTURE).shape, 2.149, 5e-4, ZHU),
    ("lecture, scale", lambda: fit(*LECTURE).scale, 28.99, 1e-2, ZHU + ", which cuts off 28.996"),
    ("relief times, gamma", lambda: fit(*RELIEF).shape, 2.7870, 5e-5, NAG),
    ("relief times, ln lambda", lambda: -fit(*RELIEF).shape * math.log(fit(*RELIEF).scale), -2.1073, 5e-5, NAG),
    ("five units, beta", lambda: fit(*FIVE).shape, 2.2938, 5e-5, RELIAWIKI_BOUNDS),
    ("five units, eta", lambda: fit(*FIVE).scale, 33.9428, 2e-4, RELIAWIKI_BOUNDS),
    (
        "five units, lower 90 % bound of beta",
        lambda: fit(*FIVE).shape_range(0.9).low,
        1.142,
        5e-4,
        RELIAWIKI_BOUNDS + ", the bound from memory",
    ),
    ("remissions, shape", lambda: fit(*REMISSION).shape, 1.35, 5e-3, LAWLESS),
    ("remissions, scale", lambda: fit(*REMISSION).scale, 33.8, 0.05, LAWLESS),
]


@pytest.mark.parametrize(("what", "found", "printed", "within", "source"), FITS, ids=[row[0] for row in FITS])
def test_fits(what: str, found, printed: float, within: float, source: str) -> None:
    assert found() == pytest.approx(printed, abs=within), source


def test_the_tables_data_are_whole() -> None:
    """Nelson's 70 fans, 12 of them failed; twenty lives each in the lecture, the relief times and the remissions."""
    assert (len(FANS_FAILED), len(FANS_RUNNING)) == (12, 58)
    assert [len(data[0]) + len(data[1]) for data in (LECTURE, RELIEF, NIST_TEST, REMISSION)] == [20, 20, 20, 21]


KM = "6-MP remissions (Freireich 1963), product-limit estimates as in every course on survival (data seen, from memory)"
SURVIVING = [
    (6, 0.857, KM),
    (7, 0.807, KM),
    (10, 0.753, KM),
    (13, 0.690, KM),
    (16, 0.627, KM),
    (22, 0.538, KM),
    (23, 0.448, KM),
]


@pytest.mark.parametrize(("age", "share", "source"), SURVIVING)
def test_product_limit(age: float, share: float, source: str) -> None:
    assert dict(kaplan_meier(*REMISSION))[age] == pytest.approx(share, abs=5e-4), source


NIST_8451 = "NIST/SEMATECH e-Handbook 8.4.5.1, factors of T/r for the MTBF (formula seen, factors recomputed)"
LEVELS = (0.6, 0.8, 0.9, 0.95)
# failures: (lower, upper) for each level
FACTORS = {
    1: ((0.3340, 4.4814), (0.2571, 9.4912), (0.2108, 19.4957), (0.1795, 39.4979)),
    2: ((0.4674, 2.4260), (0.3758, 3.7607), (0.3177, 5.6281), (0.2768, 8.2573)),
    3: ((0.5440, 1.9543), (0.4490, 2.7222), (0.3869, 3.6689), (0.3422, 4.8491)),
    5: ((0.6324, 1.6184), (0.5391, 2.0554), (0.4756, 2.5379), (0.4285, 3.0798)),
    7: ((0.6841, 1.4788), (0.5947, 1.7973), (0.5324, 2.1307), (0.4853, 2.4872)),
    10: ((0.7326, 1.3719), (0.6491, 1.6074), (0.5895, 1.8432), (0.5438, 2.0853)),
}
MEANS = [
    (failed, level, side, factor, NIST_8451)
    for failed, pairs in FACTORS.items()
    for level, pair in zip(LEVELS, pairs, strict=True)
    for side, factor in zip(("low", "high"), pair, strict=True)
]
NO_FAILURE = [
    (0.60, 1.0914, NIST_8451),
    (0.80, 0.6213, NIST_8451),
    (0.90, 0.4343, NIST_8451),
    (0.95, 0.3338, NIST_8451),
]


@pytest.mark.parametrize(("failed", "level", "side", "factor", "source"), MEANS)
def test_bounds_of_the_mean(failed: int, level: float, side: str, factor: float, source: str) -> None:
    use = 1000.0
    assert getattr(mean_range(use, failed, level), side) == pytest.approx(factor * use / failed, rel=3e-4), source


@pytest.mark.parametrize(("level", "factor", "source"), NO_FAILURE)
def test_bound_of_the_mean_without_a_failure(level: float, factor: float, source: str) -> None:
    found = mean_range(1.0, 0, level)
    assert found.low == pytest.approx(factor, abs=5e-5), source
    assert found.high is None


def test_worked_bounds_of_the_mean() -> None:
    """800 h and 2 failures: a mean of 400 h, 90 % two-sided 127 to 2251 h (NIST/SEMATECH 8.4.5.1, from memory)."""
    found = mean_range(800, 2, 0.9)
    assert (round(found.low), round(found.high)) == (127, 2251)


RELIAWIKI_AGE = (
    "ReliaWiki, Optimum Replacement Time example: beta 2.5, eta 1000 h, $1 and $5 (problem seen, from memory)"
)
PACKAGE = "documentation of the Python package reliability, optimal replacement time, least cost (from memory)"
EXACT_AGE = "h(T) x integral of R - F = cp/(cu - cp), solved for a straight hazard by the error function (recomputed)"
ONE = Weibull(2.5, 1000)
RAYLEIGH = Weibull(2, 100)


def _rayleigh_residue(age: float, planned: float, unplanned: float) -> float:
    """The optimum's equation for shape 2, where the integral of R is an error function."""
    unit = age / 100
    use = math.sqrt(math.pi) / 2 * math.erf(unit)
    return 2 * unit * use - 1 + math.exp(-unit * unit) - planned / (unplanned - planned)


AGES = [
    ("age of least cost", lambda: least_cost(ONE, 1, 5).age, 493.0470, 5e-5, RELIAWIKI_AGE),
    ("cost for each hour", lambda: least_cost(ONE, 1, 5).rate, 0.0035, 5e-5, PACKAGE),
    ("cost run to the end is cu / mean", lambda: least_cost(ONE, 1, 5).run_rate, 5 / 887.26, 1e-6, "mean = eta gamma(1.4), tables of the gamma function: 0.88726"),
    ("Rayleigh, costs 1 and 2", lambda: _rayleigh_residue(least_cost(RAYLEIGH, 1, 2).age, 1, 2), 0, 1e-9, EXACT_AGE),
    ("Rayleigh, costs 1 and 10", lambda: _rayleigh_residue(least_cost(RAYLEIGH, 1, 10).age, 1, 10), 0, 1e-9, EXACT_AGE),
    ("Rayleigh, costs 3 and 7", lambda: _rayleigh_residue(least_cost(RAYLEIGH, 3, 7).age, 3, 7), 0, 1e-9, EXACT_AGE),
    ("exponential, cost at 50", lambda: cost_rate(Weibull(1, 100), 50, 1, 5), (math.exp(-0.5) + 5 * (1 - math.exp(-0.5))) / (100 * (1 - math.exp(-0.5))), 1e-12, "integral of exp(-t/100) by hand"),
    ("Rayleigh, cost at 100", lambda: cost_rate(RAYLEIGH, 100, 1, 5), (1 + 4 * (1 - math.exp(-1))) / (50 * math.sqrt(math.pi) * 0.84270079295), 1e-10, "erf(1) = 0.84270079295, tables of the error function"),
]  # fmt: skip


@pytest.mark.parametrize(("what", "found", "printed", "within", "source"), AGES, ids=[row[0] for row in AGES])
def test_age_replacement(what: str, found, printed: float, within: float, source: str) -> None:
    assert found() == pytest.approx(printed, abs=within), source


CHANCE = "exponential law by hand: life(p) = -ln(1 - p) scale, memoryless (recomputed)"
CHANCES = [
    ("B10 of a chance failure", lambda: Weibull(1, 1000).life(0.1), 105.3605, 5e-5, CHANCE),
    ("B50 of a chance failure", lambda: Weibull(1, 1000).life(0.5), 693.1472, 5e-5, CHANCE),
    ("mean of a chance failure is its scale", lambda: Weibull(1, 1000).mean, 1000, 1e-9, CHANCE),
    ("deviation of a chance failure is its scale", lambda: Weibull(1, 1000).deviation, 1000, 1e-9, CHANCE),
    ("an old one has as much left as a new one", lambda: Weibull(1, 1000).left(5000, 0.5), 693.1472, 5e-5, CHANCE),
    ("36.8 % reach the scale", lambda: Weibull(3.7, 80).surviving(80), 0.3679, 5e-5, "1/e, whatever the shape"),
    ("Rayleigh mean", lambda: Weibull(2, 1).mean, 0.8862, 5e-5, "gamma(1.5) = 0.8862, tables of the gamma function"),
]


@pytest.mark.parametrize(("what", "found", "printed", "within", "source"), CHANCES, ids=[row[0] for row in CHANCES])
def test_special_cases(what: str, found, printed: float, within: float, source: str) -> None:
    assert found() == pytest.approx(printed, abs=within), source


GRAPHPAD = "GraphPad, confidence interval of a count of 25, Garwood's method (seen)"
EPITOOLS = "R package epitools, pois.exact of a count of 0 (seen)"
GARWOOD = "Garwood, Biometrika 28, 1936 (from memory)"
COUNTS = [
    (25, 0.90, 17.38, 34.92, 5e-3, GRAPHPAD),
    (25, 0.95, 16.18, 36.90, 5e-3, GRAPHPAD),
    (25, 0.99, 14.00, 41.00, 5e-3, GRAPHPAD),
    (0, 0.95, 0.0, 3.689, 5e-4, EPITOOLS),
    (5, 0.95, 1.62, 11.67, 5e-3, GARWOOD),
    (10, 0.95, 4.80, 18.39, 5e-3, GARWOOD),
]


@pytest.mark.parametrize(("count", "level", "low", "high", "within", "source"), COUNTS)
def test_use_rate_interval(count: float, level: float, low: float, high: float, within: float, source: str) -> None:
    assert Use(count, 1).a_day_range(level) == pytest.approx((low, high), abs=within), source


POISSON = (
    "tables of the cumulative Poisson distribution (from memory): P(X <= {0}) = {1}, P(X <= {2}) = {3} at mean {4}"
)
BY_HAND = (
    "negative binomial of mean 2 and variance 4 is that of r 2, p 1/2: 1/4, 1/4, 3/16, 1/8, 5/64, 3/64, 7/256 by hand"
)
DEMANDS = [
    (0.5, 1, 0.95, 2, POISSON.format(1, 0.9098, 2, 0.9856, 0.5)),
    (1.0, 1, 0.95, 3, POISSON.format(2, 0.9197, 3, 0.9810, 1)),
    (1.0, 1, 0.90, 2, POISSON.format(1, 0.7358, 2, 0.9197, 1)),
    (2.0, 1, 0.95, 5, POISSON.format(4, 0.9473, 5, 0.9834, 2)),
    (4.0, 1, 0.95, 8, POISSON.format(7, 0.9489, 8, 0.9786, 4)),
    (4.0, 1, 0.90, 7, POISSON.format(6, 0.8893, 7, 0.9489, 4)),
    (9.0, 1, 0.95, 14, POISSON.format(13, 0.9261, 14, 0.9585, 9)),
    (10.0, 1, 0.99, 18, POISSON.format(17, 0.9857, 18, 0.9928, 10)),
    (2.0, 2, 0.25, 0, BY_HAND),
    (2.0, 2, 0.80, 3, BY_HAND),
    (2.0, 2, 0.95, 6, BY_HAND),
]


@pytest.mark.parametrize(("mean", "scatter", "service", "pieces", "source"), DEMANDS)
def test_reorder_quantiles(mean: float, scatter: float, service: float, pieces: int, source: str) -> None:
    assert demand_quantile(mean, scatter, service) == pieces, source


ERLANG = "the last of one piece is exponential, of two Erlang: 1 - e^-x (1 + x), by hand (recomputed)"
LASTING = [
    (1, 0.5, math.log(2) * 10, ERLANG),
    (1, 0.9, math.log(10) * 10, ERLANG),
    (2, 0.5, 16.7835, ERLANG),
    (2, 0.9, 38.8972, ERLANG),
]


@pytest.mark.parametrize(("stock", "share", "days", "source"), LASTING)
def test_days_that_a_stock_lasts(stock: float, share: float, days: float, source: str) -> None:
    found = days_left(Use(36.5, 365), stock, (share,))
    assert found == pytest.approx([days], abs=5e-4), source
    if stock == 2:
        assert 1 - math.exp(-days / 10) * (1 + days / 10) == pytest.approx(share, abs=1e-5)


NIST_8234 = (
    "NIST/SEMATECH e-Handbook 8.2.3.4, reverse arrangement test, least reversals that show improvement (from memory)"
)
# lives: least reversals at 90, 95 and 99 %; None where no count is as rare
REVERSALS = {
    4: (6, 6, None),
    5: (9, 9, 10),
    6: (12, 13, 14),
    7: (16, 17, 19),
    8: (20, 22, 24),
    9: (25, 27, 30),
    10: (31, 33, 36),
    11: (37, 39, 43),
}
RARE = [
    (count, level, least, NIST_8234)
    for count, row in REVERSALS.items()
    for level, least in zip((0.90, 0.95, 0.99), row, strict=True)
]


@pytest.mark.parametrize(("count", "level", "least", "source"), RARE)
def test_reversals_that_are_rare(count: int, level: float, least: int | None, source: str) -> None:
    pairs = count * (count - 1) // 2
    rare = [reversals for reversals in range(pairs + 1) if at_most(pairs - reversals, count) <= 1 - level + 1e-12]
    assert min(rare, default=None) == least, source


def test_reversals_of_the_handbooks_repairs() -> None:
    """NIST/SEMATECH 8.2.3.4: repairs at 5, 40, 43, 175, 389, 712, 747, 795, 1299 and 1478 h give 33 reversals of 45,
    which is improvement at 95 % (its table: 33 of ten repairs)."""
    times = (0, 5, 40, 43, 175, 389, 712, 747, 795, 1299, 1478)
    found = trend([late - early for early, late in pairwise(times)])
    assert (found.reversals, found.pairs) == (33, 45)
    assert at_most(45 - 33, 10) <= 0.05


def test_every_row_names_its_source() -> None:
    tables = (FITS, SURVIVING, MEANS, NO_FAILURE, AGES, CHANCES, COUNTS, DEMANDS, LASTING, RARE)
    assert all(str(row[-1]).strip() for table in tables for row in table)
    assert sum(len(table) for table in tables) >= 45
