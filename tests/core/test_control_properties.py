"""What must hold of every chart and every line through readings."""

from __future__ import annotations

import math
from random import Random
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from webapp.core import control, drift
from webapp.core.control import ChartError
from webapp.core.drift import DriftError

readings = st.lists(st.floats(0, 20), min_size=8, max_size=40)


@given(readings, st.floats(-100, 100), st.floats(0.1, 50))
def test_a_chart_knows_no_unit(values: list[float], shift: float, scale: float) -> None:
    """The same readings in another unit break the same rules at the same places."""
    limits = control.individuals(values)
    assume(limits.sigma > 1e-3)
    moved = [shift + scale * value for value in values]
    other = control.individuals(moved)
    assert other.centre == pytest.approx(shift + scale * limits.centre, abs=1e-6)
    assert other.sigma == pytest.approx(scale * limits.sigma, rel=1e-6)
    # Whole places are compared where no score lies on a line, where rounding would decide.
    scores = [abs((value - limits.centre) / limits.sigma) for value in values]
    assume(all(min(abs(score - line) for line in (0, 1, 2, 3)) > 1e-6 for score in scores))
    here = control.western_electric(values, limits.centre, limits.sigma)
    there = control.western_electric(moved, other.centre, other.sigma)
    assert [(one.index, one.rule, one.side) for one in here] == [(one.index, one.rule, one.side) for one in there]


@given(readings)
def test_upside_down_the_sides_change(values: list[float]) -> None:
    limits = control.individuals(values)
    assume(limits.sigma > 1e-3)
    swap = {"high": "low", "low": "high", "": ""}
    for run in (control.western_electric, control.nelson):
        here = {(one.index, one.rule, swap[one.side]) for one in run(values, limits.centre, limits.sigma)}
        there = {
            (one.index, one.rule, one.side) for one in run([-value for value in values], -limits.centre, limits.sigma)
        }
        assert here == there


@given(readings, st.floats(0.05, 1))
def test_smoothed_values_stay_among_the_readings(values: list[float], weight: float) -> None:
    chart = control.ewma(values, values[0], 1, weight)
    assert all(min(values) - 1e-9 <= value <= max(values) + 1e-9 for value in chart.values)
    assert all(low <= chart.uppers[0] and chart.lower - 1e-9 <= low for low in chart.lowers)


@given(readings)
def test_full_weight_smooths_nothing(values: list[float]) -> None:
    assert control.ewma(values, 10, 1, 1).values == tuple(values)


@given(readings, st.floats(0, 3))
def test_sums_are_never_below_nought(values: list[float], slack: float) -> None:
    sums = control.cusum(values, 10, slack, 5)
    assert min(sums.high + sums.low) >= 0
    calmer = control.cusum(values, 10, slack + 1, 5)
    assert all(a >= b for a, b in zip(sums.high, calmer.high, strict=True))


def test_a_shift_is_found_by_every_chart() -> None:
    rng = Random(8)
    values = [8 + rng.gauss(0, 0.2) for _ in range(20)] + [7.2 + rng.gauss(0, 0.2) for _ in range(10)]
    limits = control.individuals(values[:20])
    after = {one.rule for one in control.western_electric(values, limits.centre, limits.sigma) if one.index >= 20}
    assert {"we1", "we2", "we3", "we4"} & after
    assert any(
        one.index >= 20 and one.side == "low" for one in control.ewma(values, limits.centre, limits.sigma).signals
    )
    sums = control.cusum(values, limits.centre, limits.sigma / 2, 5 * limits.sigma)
    assert sums.signals and sums.signals[0].index >= 20


def test_a_saw_tooth_is_said_to_follow_itself() -> None:
    teeth = [8 + (number % 10) * 0.2 for number in range(30)]
    assert control.follows_itself(teeth)
    rng = Random(3)
    assert not control.follows_itself([8 + rng.gauss(0, 0.3) for _ in range(30)])


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: control.individuals([8]), "values"),
        (lambda: control.individuals([8, math.nan]), "values"),
        (lambda: control.western_electric([8, 9], 8, 0), "sigma"),
        (lambda: control.nelson([], 8, 1), "values"),
        (lambda: control.ewma([8], 8, 1, 0), "weight"),
        (lambda: control.ewma([8], 8, 1, 1.5), "weight"),
        (lambda: control.ewma([8], 8, 1, 0.3, -1), "width"),
        (lambda: control.cusum([8], 8, -1, 5), "slack"),
        (lambda: control.cusum([8], 8, 1, 0), "limit"),
    ],
)
def test_a_chart_that_cannot_be_is_refused_by_name(call: Any, field: str) -> None:
    with pytest.raises(ChartError) as refused:
        call()
    assert refused.value.field == field


lines = st.tuples(st.floats(-0.5, 0.5), st.floats(4, 12), st.integers(0, 1000))


def scattered(slope: float, now: float, chance: int | Random, count: int = 12) -> tuple[list[float], list[float]]:
    rng = Random(chance) if isinstance(chance, int) else chance
    days = [-float(number) * 2 for number in range(count)][::-1]
    return days, [now + slope * day + rng.gauss(0, 0.1) for day in days]


@settings(deadline=None)  # the first call pays for importing SciPy
@given(lines)
def test_dates_come_in_order(line: tuple[float, float, int]) -> None:
    days, values = scattered(*line)
    found = drift.leaving(days, values, 6, 10)
    dates = [day for day in (found.p10, found.p50, found.p90) if day is not None]
    assert dates == sorted(dates)
    if found.p90 is not None:
        assert found.p10 is not None and found.p50 is not None
    assert found.slope_low is not None and found.slope is not None and found.slope_high is not None
    assert found.slope_low <= found.slope <= found.slope_high


def test_a_straight_fall_leaves_when_it_must() -> None:
    """8 % falling by a tenth a day leaves 6 % in 20 days, on a perfect line with no doubt at all."""
    days = [-float(number) for number in range(10)][::-1]
    found = drift.leaving(days, [8 - 0.1 * day for day in days], 6, 10)
    assert (found.side, found.limit) == ("low", 6)
    assert found.p50 == pytest.approx(20, abs=0.3)
    assert found.p10 == pytest.approx(20, abs=0.3)
    assert found.p90 == pytest.approx(20, abs=0.3)


def test_the_range_holds_as_often_as_it_says() -> None:
    """Of 600 charges that rise by a known line, 80 % leave between the early and the late date, and a little more
    since both are told to a quarter of a day, rounded up."""
    inside = tried = 0
    rng = Random(600)
    for _ in range(600):
        days, values = scattered(0.08, 8.6, rng)
        found = drift.leaving(days, values, 6, 10)
        true = (10 - 8.6) / 0.08
        assert found.p10 is not None
        tried += 1
        inside += found.p10 <= true <= (found.p90 if found.p90 is not None else math.inf)
    assert 0.77 <= inside / tried <= 0.86


@pytest.mark.parametrize(
    ("days", "values", "says"),
    [
        ([], [], "There are 0 readings to go by; 4 over more than a day are the fewest."),
        ([-1.0], [8.0], "There is 1 reading to go by; 4 over more than a day are the fewest."),
        ([-0.3, -0.2, -0.1, 0.0], [8.0] * 4, "There are 4 readings to go by; 4 over more than a day are the fewest."),
    ],
)
def test_too_few_readings_are_said(days: list[float], values: list[float], says: str) -> None:
    found = drift.leaving(days, values, 6, 10)
    assert (found.enough, found.p50, found.why) == (False, None, says)


def test_level_readings_leave_nothing() -> None:
    days, values = scattered(0, 8, 1)
    found = drift.leaving(days, values, 2, 30)
    assert found.enough
    assert (found.side, found.p10) == ("", None)


def test_a_strength_outside_already_is_outside_now() -> None:
    days, values = scattered(0.1, 11, 2)
    found = drift.leaving(days, values, 6, 10)
    assert (found.side, found.p10, found.p50) == ("high", 0, 0)


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: drift.fit([1, 2], [1, 2]), "readings"),
        (lambda: drift.fit([1, 1, 1], [1, 2, 3]), "readings"),
        (lambda: drift.fit([1, 2, 3], [1, 2]), "readings"),
        (lambda: drift.fit([1, 2, 3], [1, 2, math.nan]), "readings"),
        (lambda: drift.through_nought([1], [1]), "readings"),
        (lambda: drift.through_nought([0, 0], [1, 2]), "readings"),
    ],
)
def test_a_line_that_cannot_be_is_refused(call: Any, field: str) -> None:
    with pytest.raises(DriftError) as refused:
        call()
    assert refused.value.field == field
