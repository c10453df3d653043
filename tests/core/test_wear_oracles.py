"""Wearing parts against other people's programs: SciPy, lifelines and reliability, on lives drawn at random."""

from __future__ import annotations

import math
from random import Random

import matplotlib
import pytest
from lifelines import KaplanMeierFitter, WeibullFitter
from scipy import integrate, optimize, stats

from webapp.core.replacement import cost_rate, least_cost, use_before
from webapp.core.stock import Use, days_left, demand_quantile
from webapp.core.trend import at_most
from webapp.core.wear import mean_range
from webapp.core.weibull import Fit, Weibull, fit, kaplan_meier

matplotlib.use("Agg")  # reliability draws as soon as it is imported

from reliability.Fitters import Fit_Weibull_2P
from reliability.Repairable_systems import optimal_replacement_time

Sample = tuple[list[float], list[float]]


def drawn(seed: int) -> Sample:
    """Eight to forty lives of a made-up part, some of them changed early at random."""
    rng = Random(f"lives {seed}")
    shape, scale, count = rng.uniform(0.7, 5), rng.choice([0.8, 40, 2300, 9e4]), rng.randint(8, 40)
    failed: list[float] = []
    censored: list[float] = []
    for _ in range(count):
        life, early = rng.weibullvariate(scale, shape), rng.weibullvariate(1.6 * scale, 1.5)
        (failed if life <= early else censored).append(min(life, early))
    return failed, censored


SAMPLES = [drawn(seed) for seed in range(12)]
samples = pytest.mark.parametrize("sample", SAMPLES, ids=range(len(SAMPLES)))


@samples
def test_fit_is_that_of_scipy(sample: Sample) -> None:
    failed, censored = sample
    data = stats.CensoredData(uncensored=failed, right=censored)
    shape, _, scale = stats.weibull_min.fit(data, floc=0, scale=max(failed))
    found = fit(failed, censored)
    # SciPy's own search stops at about four figures.
    assert (found.shape, found.scale) == pytest.approx((shape, scale), rel=1e-3)
    theirs = stats.weibull_min.logpdf(failed, shape, 0, scale).sum() + sum(
        stats.weibull_min.logsf(life, shape, 0, scale) for life in censored
    )
    assert found.loglik >= theirs - 1e-9


@samples
def test_fit_is_that_of_lifelines(sample: Sample) -> None:
    failed, censored = sample
    theirs = WeibullFitter().fit([*failed, *censored], [1] * len(failed) + [0] * len(censored))
    found = fit(failed, censored)
    assert (found.shape, found.scale) == pytest.approx((theirs.rho_, theirs.lambda_), rel=1e-4)
    assert found.loglik == pytest.approx(theirs.log_likelihood_, rel=1e-6)
    assert found.life(0.5) == pytest.approx(theirs.median_survival_time_, rel=1e-4)


@samples
def test_fit_is_that_of_reliability(sample: Sample) -> None:
    failed, censored = sample
    theirs = Fit_Weibull_2P(
        failures=failed, right_censored=censored or None, show_probability_plot=False, print_results=False
    )
    found = fit(failed, censored)
    assert (found.shape, found.scale) == pytest.approx((theirs.beta, theirs.alpha), rel=1e-4)


@samples
def test_steps_are_those_of_lifelines(sample: Sample) -> None:
    failed, censored = sample
    theirs = KaplanMeierFitter().fit([*failed, *censored], [1] * len(failed) + [0] * len(censored))
    for age, share in kaplan_meier(failed, censored):
        assert share == pytest.approx(float(theirs.predict(age)), abs=1e-9)


def _deviance(found: Fit, shape: float, scale: float) -> float:
    failed = stats.weibull_min.logpdf(found.failed, shape, 0, scale).sum()
    running = sum(stats.weibull_min.logsf(life, shape, 0, scale) for life in found.censored)
    return 2 * (found.loglik - failed - running)


@pytest.mark.parametrize("level", [0.8, 0.95])
@pytest.mark.parametrize("sample", SAMPLES[:6], ids=range(6))
def test_bounds_lie_where_the_likelihood_ratio_says(sample: Sample, level: float) -> None:
    """At each bound the best that SciPy's search can do costs exactly the chi-square quantile."""
    found, allowed = fit(*sample), stats.chi2.ppf(level, 1)
    for shape in vars(found.shape_range(level)).values():
        least = optimize.minimize_scalar(
            lambda log, shape=shape: _deviance(found, shape, math.exp(log)),
            bracket=(math.log(found.scale) - 0.5, math.log(found.scale) + 0.5),
        ).fun
        assert least == pytest.approx(allowed, rel=1e-5)
    for b10 in vars(found.life_range(0.1, level)).values():
        least = optimize.minimize_scalar(
            lambda log, b10=b10: _deviance(found, math.exp(log), b10 * (-math.log(0.9)) ** (-1 / math.exp(log))),
            bracket=(math.log(found.shape) - 0.2, math.log(found.shape) + 0.2),
        ).fun
        assert least == pytest.approx(allowed, rel=1e-5)


@pytest.mark.parametrize(("count", "least", "most"), [(6, 0.79, 0.88), (20, 0.85, 0.93)])
def test_intervals_hold_the_truth_about_as_often_as_is_said(count: int, least: float, most: float) -> None:
    """500 drawers of lives, some changed early, and the 90 % interval of B10 in each.

    The likelihood ratio falls a little short of its level at few lives (Jeng & Meeker, Technometrics 42, 2000, in its
    abstract), which the page says; the binomial's own scatter over 500 is 1.6 points.
    """
    rng, held, asked = Random(f"coverage {count}"), 0, 0
    truth = Weibull(2.2, 100).life(0.1)
    while asked < 500:
        lives = [(rng.weibullvariate(100, 2.2), rng.weibullvariate(180, 2)) for _ in range(count)]
        failed = [one for one, early in lives if one <= early]
        if len(failed) < 2:
            continue
        bounds = fit(failed, [early for one, early in lives if one > early]).life_range(0.1, 0.9)
        held += (bounds.low or 0) <= truth <= (bounds.high or math.inf)
        asked += 1
    assert least <= held / asked <= most


CASES = [(1.5, 40.0, 1.0, 8.0), (2.5, 1000.0, 1.0, 5.0), (3.4, 2300.0, 35.0, 120.0), (6.0, 0.5, 2.0, 3.0)]


@pytest.mark.parametrize(("shape", "scale", "planned", "unplanned"), CASES)
def test_least_cost_is_that_of_a_plain_search(shape: float, scale: float, planned: float, unplanned: float) -> None:
    life = Weibull(shape, scale)
    whole, _ = integrate.quad(life.surviving, 0, 0.7 * scale)
    assert use_before(life, 0.7 * scale) == pytest.approx(whole, rel=1e-9)
    theirs = optimize.minimize_scalar(
        lambda age: cost_rate(life, age, planned, unplanned), bounds=(0.01 * scale, 3 * scale), method="bounded",
        options={"xatol": 1e-9 * scale},
    )  # fmt: skip
    found = least_cost(life, planned, unplanned)
    assert found.age == pytest.approx(theirs.x, rel=1e-4)
    assert found.rate == pytest.approx(theirs.fun, rel=1e-9)


def test_least_cost_is_that_of_reliability() -> None:
    """It looks on a grid of 10,000 ages up to three scales."""
    theirs = optimal_replacement_time(
        cost_PM=1, cost_CM=5, weibull_alpha=1000, weibull_beta=2.5,
        show_time_plot=False, show_ratio_plot=False, print_results=False,
    )  # fmt: skip
    found = least_cost(Weibull(2.5, 1000), 1, 5)
    assert found.age == pytest.approx(theirs.ORT, abs=0.3)
    assert found.rate == pytest.approx(theirs.min_cost, rel=1e-6)


@pytest.mark.parametrize("mean", [0.05, 0.7, 3, 17.5, 240, 9000])
@pytest.mark.parametrize("service", [0.5, 0.9, 0.95, 0.999])
def test_reorder_quantiles_are_those_of_scipy(mean: float, service: float) -> None:
    assert demand_quantile(mean, 1, service) == stats.poisson.ppf(service, mean)
    for scatter in (1.2, 2, 7.5):
        theirs = stats.nbinom.ppf(service, mean / (scatter - 1), 1 / scatter)
        assert demand_quantile(mean, scatter, service) == theirs


def test_how_long_a_stock_lasts_is_a_gamma_of_scipys() -> None:
    found = days_left(Use(52, 365, 1.0), 6, (0.1, 0.5, 0.9))
    assert found == pytest.approx(stats.gamma.ppf([0.1, 0.5, 0.9], 6, scale=365 / 52))


@pytest.mark.parametrize(("failed", "level"), [(1, 0.8), (4, 0.9), (30, 0.95)])
def test_bounds_of_the_mean_are_chi_square(failed: int, level: float) -> None:
    found, beyond = mean_range(5000, failed, level), (1 - level) / 2
    assert found.low == pytest.approx(10000 / stats.chi2.ppf(1 - beyond, 2 * failed + 2))
    assert found.high == pytest.approx(10000 / stats.chi2.ppf(beyond, 2 * failed))


@pytest.mark.parametrize("seed", range(5))
def test_chance_of_reversals_is_kendalls(seed: int) -> None:
    """Without ties the exact one-sided chance is that of Kendall's tau against time."""
    lives = [Random(f"trend {seed} {place}").random() for place in range(9)]
    reversals = sum(one < two for place, one in enumerate(lives) for two in lives[place + 1 :])
    theirs = stats.kendalltau(range(9), lives, method="exact", alternative="less")
    assert at_most(reversals, 9) == pytest.approx(theirs.pvalue)
