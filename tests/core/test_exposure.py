"""Exposure and sampling: what must hold of every shift, window and sample, and how refusals name their field."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import chi2

from tests.core.outcomes import refused
from webapp.core import exposure, rates, sampling
from webapp.core.exposure import ACTION, BELOW, OVER, UNMEASURED
from webapp.library.alloys import alloys
from webapp.library.limits import limits

LEVELS = st.floats(0, 1000)
PERIODS = st.lists(st.tuples(LEVELS, st.floats(0.01, 2)), min_size=1, max_size=10)
READINGS = st.lists(st.tuples(LEVELS, st.floats(0.1, 20)), min_size=1, max_size=12)
ODD = [math.nan, math.inf, -math.inf, -1, "1", None, True, 10**400]


@given(PERIODS)
def test_a_shift_of_eight_hours_averages_to_its_mean(periods: list[tuple[float, float]]) -> None:
    hours = sum(length for _, length in periods)
    found = exposure.average([(level, length * 8 / hours) for level, length in periods])
    assert found.over_shift is not None
    assert found.eight_hours == pytest.approx(found.over_shift, abs=1e-6)
    assert min(level for level, _ in periods) - 1e-6 <= found.eight_hours <= max(level for level, _ in periods) + 1e-6


@given(PERIODS, st.floats(0.01, 4))
def test_a_shift_measured_in_part_is_never_below_a_limit(periods: list[tuple[float, float]], missing: float) -> None:
    hours = sum(length for _, length in periods)
    part = exposure.average(periods, hours + missing)
    assert part.over_shift is None and part.unmeasured == pytest.approx(missing, abs=1e-5)
    assert exposure.compare(part.over_shift, 1, "mg/m3").word == UNMEASURED
    assert part.eight_hours == exposure.average(periods).eight_hours


@given(READINGS, st.floats(1, 30))
def test_as_many_windows_as_cover_the_readings_hold_them_all(
    readings: list[tuple[float, float]], minutes: float
) -> None:
    """None is higher than the peak, and laid side by side the highest holds at least what was measured."""
    found = exposure.short_term(readings, minutes)
    windows = math.ceil(sum(length for _, length in readings) / minutes)
    held = sum(level * length for level, length in readings)
    assert held <= found.highest * minutes * windows + 1e-4
    assert found.highest <= max(level for level, _ in readings) + 1e-6


@given(READINGS)
def test_no_window_of_a_minutes_grid_is_higher(readings: list[tuple[float, float]]) -> None:
    """The highest is sought at the ends of readings only: no other start may beat it."""
    found = exposure.short_term(readings)
    edges = [sum(length for _, length in readings[:n]) for n in range(len(readings) + 1)]
    for step in range(int(edges[-1]) + 1):
        held = sum(
            level * max(min(edges[n + 1], step + 15) - max(edges[n], step), 0) for n, (level, _) in enumerate(readings)
        )
        assert held / 15 <= found.highest + 1e-6


@given(st.floats(0.0001, 100), st.floats(0, 200), st.floats(0.0001, 100))
def test_words_go_by_the_figures(limit: float, value: float, action: float) -> None:
    found = exposure.compare(value, limit, "mg/m3", action)
    wanted = OVER if value >= limit * (1 - 1e-9) else ACTION if value >= action * (1 - 1e-9) else BELOW
    assert found.word == wanted
    assert not {"safe", "compliant"} & set(found.why.lower().split())


@given(st.lists(st.tuples(st.floats(0, 10), st.floats(0.1, 10)), min_size=2, max_size=6))
def test_a_mixture_is_never_better_than_its_worst_part(parts: list[tuple[float, float]]) -> None:
    found = exposure.mixture(parts, "the same organ")
    assert found.index >= max(found.parts) - 1e-6
    if any(value >= limit for value, limit in parts):
        assert found.word == OVER


@given(st.floats(0.001, 100), st.floats(8.01, 23.9))
def test_long_days_only_ever_lower_a_limit(limit: float, hours: float) -> None:
    lead, model = exposure.lead_shift(limit, hours), exposure.long_day(limit, hours)
    assert model.limit <= lead.limit < limit
    assert lead.law and not model.law
    assert "OSHA adjusts no limit" in model.why


@given(st.floats(0.1, 8))
def test_short_days_never_raise_a_limit(hours: float) -> None:
    assert exposure.lead_shift(50, hours).limit == exposure.long_day(50, hours).limit == 50


@given(st.floats(0.03, 0.09), st.floats(8.5, 16))
def test_lead_counts_a_long_day_once(level: float, hours: float) -> None:
    """The mean against 400 / h and E against 50 are the same comparison; E against 400 / h would count it twice."""
    found = exposure.average([[level, hours]])
    assert found.over_shift is not None
    by_mean = exposure.reaches(found.over_shift, exposure.lead_shift(0.05, hours).limit)
    assert by_mean == exposure.reaches(found.eight_hours, 0.05) or abs(found.eight_hours - 0.05) < 1e-7


@pytest.mark.parametrize("value", ODD)
def test_what_cannot_be_is_refused_by_name(value: Any) -> None:
    assert refused(exposure.average, {"periods": [[value, 8]]}) == "periods[0].value"
    assert refused(exposure.average, {"periods": [[1, 4], [1, value]]}) == "periods[1].hours"
    assert refused(exposure.compare, {"value": 1, "limit": value, "unit": "mg/m3"}) == "limit"
    assert refused(exposure.short_term, {"readings": [[1, value]]}) == "readings[0].minutes"
    assert refused(exposure.lead_shift, {"limit": 50, "hours": value}) == "hours"
    assert refused(exposure.long_week, {"limit": value, "hours": 50}) == "limit"
    assert refused(sampling.air_volume, {"before": value, "after": 2, "minutes": 480}) == "before"
    assert refused(sampling.concentration, {"micrograms": value, "litres": 960}) == "micrograms"
    assert refused(sampling.below_detection, {"detection": 1, "litres": value}) == "litres"
    assert refused(rates.rate, {"cases": value, "hours": 2000}) == "cases"
    assert refused(rates.rate, {"cases": 1, "hours": value}) == "hours"


def test_the_range_of_every_count_is_scipys() -> None:
    """Half the chi-square quantiles of 2 n and 2 n + 2 degrees of freedom, at the base of 200 000 h."""
    for count in range(501):
        found = rates.rate(count, rates.BASE_HOURS)
        low = chi2.ppf(0.025, 2 * count) / 2 if count else 0
        assert found.low == pytest.approx(low, abs=0.0051)
        assert found.high == pytest.approx(chi2.ppf(0.975, 2 * count + 2) / 2, abs=0.0051)


def test_a_day_has_24_hours() -> None:
    assert refused(exposure.average, {"periods": [[1, 20], [1, 10]]}) == "periods"
    assert refused(exposure.average, {"periods": [[1, 8]], "shift": 30}) == "shift"
    assert refused(exposure.average, {"periods": [[1, 8]], "shift": 6}) == "shift"


@given(st.floats(0.5, 10), st.floats(0.9, 1.1), st.floats(1, 600))
def test_a_pump_that_drifts_voids_its_sample(flow: float, change: float, minutes: float) -> None:
    found = sampling.air_volume(flow, flow * change, minutes)
    assert found.holds == (abs(found.drift) <= 5 + 1e-6)
    assert (found.litres is None) != found.holds


@given(st.floats(0.01, 50), st.floats(10, 2000), st.floats(0.0001, 5), st.floats(0.5, 5))
def test_sampled_long_enough_a_share_of_the_limit_is_told(
    detection: float, litres: float, limit: float, flow: float
) -> None:
    minutes = sampling.least_minutes(detection, limit, flow)
    assert detection / (minutes * flow) <= 0.1 * limit * (1 + 1e-6)
    assert sampling.below_detection(detection, litres).value < sampling.below_detection(detection, litres).below


@given(st.floats(0, 1), st.floats(0, 1), st.floats(0.0001, 1))
def test_a_balance_is_judged_by_its_upper_end(low: float, more: float, limit: float) -> None:
    found = sampling.by_balance(low, low + more, limit)
    assert found.word == exposure.compare(low + more, limit, "mg/m3").word
    assert "counts before it" in found.why


def test_every_limit_of_the_library_can_be_compared_with() -> None:
    for one in limits():
        assert exposure.compare(one.value, one.value, one.unit).word == OVER
        assert exposure.compare(0, one.value, one.unit).word == BELOW
        assert exposure.compare(None, one.value, one.unit).word == UNMEASURED
        assert exposure.figure(one.value) == f"{one.value:g}"


def test_beryllium_decides_over_copper_in_every_alloy_that_names_enough_of_it() -> None:
    """A dust at copper's own limit of 1 mg/m3 would hold beryllium above 0.2 ug/m3 from 0.02 % on."""
    for alloy in alloys().values():
        part = next((one for one in alloy.composition if one.element == "Be" and one.high), None)
        if part is not None and part.high is not None and part.high >= 0.02:
            assert sampling.dust_for(0.0002, part.high) <= 1


@given(st.integers(0, 50), st.floats(100, 1e6))
def test_one_more_case_moves_the_rate_by_one_share(cases: int, hours: float) -> None:
    found = rates.rate(cases, hours)
    assert found.one_more - found.rate == pytest.approx(200_000 / hours, abs=0.011)


def test_cases_with_days_away_are_within_all_cases() -> None:
    both = rates.rates(3, 1, 1, 20_000)
    assert (both.recordable.rate, both.dart.rate) == (30, 20)
    assert refused(rates.rates, {"recordable": 1, "away": 1, "restricted": 1, "hours": 20_000}) == "recordable"
    assert refused(rates.rates, {"recordable": 1.5, "away": 0, "restricted": 0, "hours": 20_000}) == "recordable"
