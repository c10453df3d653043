"""Wearing parts: what must hold of every set of lives, what few data give, and what bad input is told."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from webapp.core.problems import WearError
from webapp.core.replacement import LEAST_SAVING, cost_rate, least_cost, least_cost_range, use_before
from webapp.core.roots import crossing, root
from webapp.core.stock import Use, days_left, demand_quantile, observe, reorder_point
from webapp.core.trend import at_most, trend
from webapp.core.wear import Life, groups, how_ended, listed, mean_range, study
from webapp.core.weibull import Weibull, fit, follows, gap, kaplan_meier

LENGTHS = st.floats(0.5, 5000).map(lambda value: round(value, 2))
SAMPLES = st.tuples(st.lists(LENGTHS, min_size=2, max_size=15), st.lists(LENGTHS, max_size=10))
SHAPES, SCALES = st.floats(0.3, 12), st.floats(0.1, 1e5)
WORN = [310.0, 480.0, 455.0, 620.0, 390.0, 540.0]


def scattered(sample: tuple[list[float], list[float]]) -> bool:
    """Lives that differ enough to be worth a curve."""
    failed, censored = sample
    return max(*failed, *censored) > 1.05 * min(failed)


@given(SAMPLES)
@settings(deadline=None)
def test_no_neighbour_is_more_likely_than_the_fit(sample: tuple[list[float], list[float]]) -> None:
    assume(scattered(sample))
    found = fit(*sample)
    failed, censored = sample

    def loglik(shape: float, scale: float) -> float:
        densities = [math.log(shape / scale) + (shape - 1) * math.log(life / scale) for life in failed]
        return math.fsum(densities) - math.fsum((life / scale) ** shape for life in (*failed, *censored))

    best = loglik(found.shape, found.scale)
    assert found.loglik == pytest.approx(best, rel=1e-9, abs=1e-7)
    for up, side in ((1.01, 1), (0.99, 1), (1, 1.01), (1, 0.99), (1.01, 1.01), (0.99, 1.01)):
        assert loglik(found.shape * up, found.scale * side) <= best + 1e-9 * abs(best)


@given(SAMPLES, st.floats(0.001, 1000))
@settings(deadline=None)
def test_the_unit_of_the_meter_changes_nothing_but_the_unit(
    sample: tuple[list[float], list[float]], factor: float
) -> None:
    assume(scattered(sample))
    one = fit(*sample)
    other = fit(*([life * factor for life in lives] for lives in sample))
    assert other.shape == pytest.approx(one.shape, rel=1e-7)
    assert other.scale == pytest.approx(one.scale * factor, rel=1e-7)
    assert other.life_range(0.1).low == pytest.approx((one.life_range(0.1).low or 0) * factor, rel=1e-5)


@given(SAMPLES, st.sampled_from([0.05, 0.1, 0.5]))
@settings(deadline=None)
def test_intervals_hold_the_estimate_and_widen_with_confidence(
    sample: tuple[list[float], list[float]], share: float
) -> None:
    assume(scattered(sample))
    found = fit(*sample)
    for estimate, interval in (
        (found.shape, found.shape_range),
        (found.scale, found.scale_range),
        (found.life(share), lambda level: found.life_range(share, level)),
    ):
        narrow, wide = interval(0.8), interval(0.95)
        lows = [bound if bound is not None else 0 for bound in (wide.low, narrow.low)]
        highs = [bound if bound is not None else math.inf for bound in (narrow.high, wide.high)]
        assert lows[0] <= lows[1] <= estimate <= highs[0] <= highs[1]


@given(SHAPES, SCALES, st.floats(0.001, 0.999), st.floats(0, 3))
def test_a_curve_and_its_inverse_agree(shape: float, scale: float, share: float, age: float) -> None:
    life = Weibull(shape, scale)
    assert life.surviving(life.life(share)) == pytest.approx(1 - share, abs=1e-9)
    reached = age * scale
    assume(life.surviving(reached) > 1e-6)
    later = life.surviving(reached + life.left(reached, share)) / life.surviving(reached)
    assert later == pytest.approx(1 - share, abs=1e-6)


@given(st.floats(1.05, 10), SCALES, st.floats(0.1, 100), st.floats(1.05, 200))
@settings(deadline=None)
def test_no_other_age_costs_less(shape: float, scale: float, planned: float, ratio: float) -> None:
    life = Weibull(shape, scale)
    best = least_cost(life, planned, planned * ratio)
    for share in (0.001, 0.01, 0.1, 0.3, 0.5, 0.8, 0.99):
        other = cost_rate(life, life.life(share), planned, planned * ratio)
        assert other >= best.rate * (1 - (LEAST_SAVING if best.age is None else 1e-9))
    assert best.rate <= best.run_rate
    assert 0 <= best.saving < 1


@given(st.floats(0.3, 1), SCALES, st.floats(0.1, 100), st.floats(1, 200))
def test_parts_that_do_not_wear_are_run_to_the_end(shape: float, scale: float, planned: float, ratio: float) -> None:
    best = least_cost(Weibull(shape, scale), planned, planned * ratio)
    assert (best.age, best.saving) == (None, 0)
    assert best.rate == pytest.approx(planned * ratio / Weibull(shape, scale).mean)


def test_what_makes_an_early_change_useless_is_said() -> None:
    assert "do not fail more often with age" in least_cost(Weibull(0.9, 100), 1, 9).why
    assert "costs no more than a planned one" in least_cost(Weibull(3, 100), 5, 5).why
    assert "less than 1 %" in least_cost(Weibull(1.05, 100), 1, 5).why


def test_use_before_an_age_never_passes_age_or_mean() -> None:
    life = Weibull(2.4, 2300)
    assert use_before(life, 1) == pytest.approx(1, rel=1e-6)
    assert use_before(life, 1e6) == pytest.approx(life.mean)


def test_the_age_of_least_cost_has_a_range_and_says_when_it_is_open() -> None:
    clear, doubtful = fit(WORN), fit([20, 300, 900, 1500, 90])
    known = least_cost_range(clear, 10, 100)
    best = least_cost(clear, 10, 100).age
    assert known.low is not None and known.high is not None and best is not None
    assert known.low < best < known.high
    assert doubtful.shape_range().low < 1 and least_cost_range(doubtful, 10, 100).high is None


@pytest.mark.parametrize(
    ("reason", "ended"),
    [
        ("Worn out", "failed"),
        ("Broken", "failed"),
        ("dull", "failed"),
        ("teeth stripped", "failed"),
        ("broke before lunch", "failed"),
        ("hole at the thumb", "failed"),
        ("By the interval", "early"),
        ("Wrong for this work", "early"),
        ("not worn yet", "early"),
        ("changed before it broke", "early"),
        ("no wear", "early"),
        ("Fitted new, book begun", "early"),
        ("stripes on the cut", "early"),
    ],
)
def test_reasons_that_say_worn_or_broken(reason: str, ended: str) -> None:
    assert how_ended(reason) == ended


def lives(*lengths: float, ended: Any = "failed", **noted: Any) -> list[Life]:
    return [Life(length, ended, **noted) for length in lengths]


def test_few_lives_give_the_list_and_say_so() -> None:
    four = study(lives(*WORN[:4]))
    assert four.fit is None
    assert four.said == ("4 lives so far, too few for a curve: it takes 5. The list is all there is to go by.",)
    assert (four.listed.ended, four.listed.shortest, four.listed.longest) == (4, 310, 620)
    assert study([]).said[0].startswith("No lives so far")


def test_a_running_part_is_no_fifth_life() -> None:
    assert study([*lives(*WORN[:4]), *lives(900, ended="running")]).fit is None
    assert study([*lives(*WORN[:5]), *lives(900, ended="running")]).fit is not None


def test_many_lives_changed_early_are_no_curve_either() -> None:
    found = study([*lives(*WORN[:1]), *lives(100, 200, 300, 400, 500, ended="early")])
    assert found.fit is None
    assert "1 life ended by wear or breakage so far, too few" in found.said[0]


def test_lives_without_scatter_are_no_curve() -> None:
    found = study(lives(*[400.0] * 6))
    assert found.fit is None
    assert "no scatter" in found.said[0]


def test_changing_early_lengthens_what_the_curve_expects() -> None:
    """Left out, or taken for failures, lives changed early would make parts look worse than they are."""
    told = study([*lives(*WORN), *lives(500, 550, 600, ended="early")]).fit
    blind = study(lives(*WORN, 500, 550, 600)).fit
    assert told is not None and blind is not None
    assert told.mean > blind.mean
    assert (told.failed, told.censored) == (tuple(WORN), (500, 550, 600))


def test_a_part_that_broke_at_once_is_said_and_left_out() -> None:
    found = study([*lives(*WORN), *lives(0)])
    assert found.fit is not None and found.fit.failed == tuple(WORN)
    assert "before the meter moved" in found.said[0]
    assert found.listed.ended == 7


def test_grades_and_materials_are_told_apart_where_two_are_noted() -> None:
    mixed = [*lives(*WORN, grade="M42"), *lives(900, 950, grade="carbide"), *lives(10, ended="running")]
    found = groups(mixed, "grade")
    assert list(found) == ["M42", "carbide"]
    assert found["M42"].fit is not None and found["carbide"].fit is None
    assert groups(lives(*WORN, grade="M42"), "grade") == {}
    assert groups(mixed, "material") == {}


def test_the_mean_counts_all_use_and_only_failures() -> None:
    found = listed([*lives(100, 200), *lives(300, ended="early"), *lives(400, ended="running")])
    assert (found.use, found.failed, found.early, found.mean) == (1000, 2, 1, 500)
    assert found.median == 200


def test_lives_from_two_causes_do_not_follow_one_curve() -> None:
    """Half break at once, half wear out late: no Weibull has two humps."""
    mixed = fit([1, 1.1, 1.2, 1.3, 1.4, 1.5, 1.6, 1.7, 900, 905, 910, 915, 920, 925, 930, 935])
    assert follows(mixed) == "poorly" and gap(mixed) > 0.3
    assert follows(fit(WORN)) == "well"


def test_steps_fall_at_failures_alone_and_reach_nought_with_the_last() -> None:
    assert kaplan_meier([3, 5, 5], [4, 9]) == [(3, 0.8), (5, pytest.approx(0.8 / 3))]
    assert kaplan_meier([7], [])[-1][1] == 0


@pytest.mark.parametrize(
    ("lengths", "word"), [((9, 8, 7, 6, 5), "shorter"), ((5, 6, 7, 8, 9), "longer"), ((5, 9, 6, 8, 7), "none seen")]
)
def test_trend_of_lives(lengths: tuple[float, ...], word: str) -> None:
    found = trend(lengths)
    assert found is not None and found.word == word


def test_equal_lives_show_no_trend_and_three_say_nothing() -> None:
    found = trend([5, 5, 5, 5, 5])
    assert found is not None and (found.word, found.reversals) == ("none seen", 0)
    assert trend([9, 8, 7]) is None


@pytest.mark.parametrize("count", [2, 3, 5, 9, 20, 40])
def test_chances_of_reversals_are_a_distribution(count: int) -> None:
    pairs = count * (count - 1) // 2
    chances = [at_most(reversals, count) for reversals in range(pairs + 1)]
    assert chances == sorted(chances) and chances[-1] == pytest.approx(1)
    assert chances[0] == pytest.approx(1 / math.factorial(count), abs=1e-15)
    assert at_most(pairs // 2, count) >= 0.5 - 1e-12


@given(st.floats(0, 500), st.floats(1, 8), st.floats(0.5, 0.999))
def test_more_demand_scatter_or_service_never_asks_for_less(mean: float, scatter: float, service: float) -> None:
    found = demand_quantile(mean, scatter, service)
    assert demand_quantile(mean * 1.1, scatter, service) >= found
    assert demand_quantile(mean, scatter, service + (1 - service) / 2) >= found
    assert found >= math.floor(mean * 0.3) if service > 0.5 and scatter == 1 else found >= 0


def test_scatter_is_taken_only_when_the_record_shows_it() -> None:
    steady = [(day + 0.5, 1.0) for day in range(0, 280, 7)]
    bursts = [(day + 0.5, 8.0) for day in range(0, 280, 56)]
    assert observe(steady, 280, 14).scatter == 1
    assert observe(bursts, 280, 14).scatter == pytest.approx(8 * 15 / 19, rel=1e-9)
    assert observe(bursts[:1], 70, 14).scatter == 1, "five spans tell nothing"
    assert reorder_point(observe(bursts, 280, 14), 14, 0.95) > reorder_point(observe(steady, 280, 14), 14, 0.95)


def test_nothing_used_asks_for_nothing_and_lasts_nobody_knows_how_long() -> None:
    idle = observe([], 365, 14)
    assert reorder_point(idle, 14, 0.95) == 0
    assert days_left(idle, 4) is None
    assert idle.a_day_range(0.9)[0] == 0 < idle.a_day_range(0.9)[1]


def test_an_empty_drawer_lasts_no_days() -> None:
    assert days_left(Use(10, 100), 0) == [0, 0, 0]


BAD: list[tuple[Callable[[], object], str]] = [
    (lambda: Life(-3, "failed"), "lived"),
    (lambda: Life(math.nan, "failed"), "lived"),
    (lambda: fit([5, -2, 7]), "failed"),
    (lambda: fit([5, 0, 7]), "failed"),
    (lambda: fit([5, 6, 7], [-1]), "censored"),
    (lambda: fit([5]), "failed"),
    (lambda: fit([5, 5, 5]), "failed"),
    (lambda: fit(WORN).shape_range(1.0), "level"),
    (lambda: fit(WORN).life_range(0.1, 0), "level"),
    (lambda: fit(WORN).life(1), "share"),
    (lambda: Weibull(0, 5), "shape"),
    (lambda: Weibull(2, -5), "scale"),
    (lambda: least_cost(fit(WORN), 0, 5), "planned_cost"),
    (lambda: least_cost(fit(WORN), 1, 0), "unplanned_cost"),
    (lambda: cost_rate(fit(WORN), 0, 1, 5), "age"),
    (lambda: mean_range(-1, 2), "use"),
    (lambda: mean_range(1, -2), "failed"),
    (lambda: mean_range(1, 2, 1.5), "level"),
    (lambda: reorder_point(Use(3, 90), 0, 0.95), "lead_days"),
    (lambda: reorder_point(Use(3, 90), 14, 1), "service"),
    (lambda: reorder_point(Use(3, 90), 14, 0), "service"),
    (lambda: demand_quantile(-1, 1, 0.9), "mean"),
    (lambda: demand_quantile(1, 0.5, 0.9), "scatter"),
    (lambda: demand_quantile(1e9, 1, 0.9), "mean"),
    (lambda: days_left(Use(3, 90), -1), "stock"),
    (lambda: days_left(Use(3, 90), 1, (1.2,)), "shares"),
    (lambda: observe([(400, 1)], 365, 14), "uses"),
    (lambda: observe([(4, -1)], 365, 14), "uses"),
    (lambda: observe([], 0, 14), "days"),
    (lambda: observe([], 10, 0), "span"),
    (lambda: Use(3, 90).a_day_range(2), "level"),
]


@pytest.mark.parametrize(("call", "field"), BAD, ids=[f"{field} {number}" for number, (_, field) in enumerate(BAD)])
def test_bad_figures_name_the_field_and_the_mend(call: Callable[[], object], field: str) -> None:
    with pytest.raises(WearError) as raised:
        call()
    assert raised.value.field == field
    assert raised.value.problem.endswith(".") and raised.value.mend.endswith(".")


@given(st.floats(-50, 50), st.floats(0.1, 5))
def test_roots_are_found(place: float, steep: float) -> None:
    found = root(lambda x: math.expm1(steep * (x - place)), place - 7, place + 11)
    assert found == pytest.approx(place, abs=1e-6)


def test_a_root_out_of_reach_is_said() -> None:
    assert crossing(lambda x: x * x + 1, 0, 1, 100) is None
    with pytest.raises(ValueError, match="no change of sign"):
        root(lambda x: x * x + 1, -1, 1)
