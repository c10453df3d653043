"""Noise: what must hold of every day and every protector, and how refusals name their field."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.core.outcomes import refused
from webapp.core import noise, noise_daily
from webapp.core.exposure import BELOW, OVER, UNMEASURED

LEVELS = st.floats(60, 120)
DAYS = st.lists(st.tuples(LEVELS, st.floats(0.01, 2)), min_size=1, max_size=8)


@given(LEVELS)
def test_five_or_three_decibels_halve_the_time(level: float) -> None:
    assert noise.allowed_hours(level + 5, "osha") == pytest.approx(noise.allowed_hours(level, "osha") / 2, abs=1e-5)
    assert noise.allowed_hours(level + 3, "niosh") == pytest.approx(noise.allowed_hours(level, "niosh") / 2, abs=1e-5)


@given(DAYS)
def test_a_lower_threshold_never_counts_less(periods: list[tuple[float, float]]) -> None:
    day = noise.day(periods)
    assert day.action.dose >= day.limit.dose
    assert day.niosh.dose >= day.action.dose - 0.02 or max(level for level, _ in periods) < 82.5


@given(DAYS, st.floats(0.01, 5))
def test_louder_or_longer_is_never_better(periods: list[tuple[float, float]], more: float) -> None:
    order = [BELOW, "over the action level", OVER]
    louder = [(min(level + more, 160), hours) for level, hours in periods]
    assert order.index(noise.day(louder).word) >= order.index(noise.day(periods).word)


@given(DAYS, st.floats(0.01, 5))
def test_a_shift_measured_in_part_is_never_below(periods: list[tuple[float, float]], missing: float) -> None:
    hours = sum(length for _, length in periods)
    part = noise.day(periods, hours + missing)
    assert part.word != BELOW
    assert part.unmeasured == pytest.approx(missing, abs=1e-5)
    assert (part.word == UNMEASURED) == (noise.day(periods).word == BELOW)


@given(st.floats(90, 110), st.floats(0.1, 8))
def test_the_average_gives_back_a_steady_level(level: float, hours: float) -> None:
    found = noise.dose([[level, 8]], "osha", 80)
    assert found.twa == pytest.approx(level, abs=0.01)
    assert noise.dose([[level, hours]], "osha", 80).dose <= found.dose


@given(st.floats(60, 130), st.floats(0, 40), st.sampled_from(sorted(noise.DERATING)), st.sampled_from("AC"))
def test_protectors_never_make_it_louder(level: float, nrr: float, kind: str, weighting: str) -> None:
    one, two = (noise.protected(level, nrr, kind, weighting, second) for second in (False, True))
    assert max(one.label.level, one.field.level, one.derated.level) == one.level <= level + 0.005
    assert one.label.level <= one.field.level + 1e-9
    assert two.level == pytest.approx(one.level - 5)


@pytest.mark.parametrize("value", [math.nan, math.inf, -1, 0, 300, "90", None, True])
def test_a_level_that_cannot_be_is_refused_by_name(value: Any) -> None:
    assert refused(noise.allowed_hours, {"level": value, "rule": "osha"}) == "level"
    assert refused(noise.dose, {"periods": [[value, 8]], "rule": "osha", "threshold": 80}) == "periods[0].level"
    assert refused(noise.day, {"periods": [[90, 1], [90, value]]}) == ("periods[1].hours")
    assert refused(noise.impulse, {"peak": value}) == "peak"
    assert refused(noise.action_level, {"hours": value}) == "hours"


@pytest.mark.parametrize("value", [math.nan, -1, 41, "20", None, True])
def test_a_rating_that_cannot_be_is_refused_by_name(value: Any) -> None:
    assert refused(noise.protected, {"level": 100, "nrr": value, "kind": "muffs"}) == "nrr"


def test_a_day_has_24_hours() -> None:
    assert refused(noise.day, {"periods": [[80, 20], [80, 10]]}) == "periods"
    assert refused(noise.day, {"periods": [[80, 8]], "shift": 4}) == "shift"


@given(DAYS)
def test_a_day_by_energy_is_nioshs_without_its_threshold(periods: list[tuple[float, float]]) -> None:
    """Both exchange at 3 dB (10 log10 2 = 3.01): where all is loud enough to count they differ by a tenth at most."""
    loud = [(max(level, 80), hours) for level, hours in periods]
    niosh = noise.dose(loud, "niosh", 80).twa
    assert niosh is not None
    assert noise_daily.daily(loud).level == pytest.approx(niosh, abs=0.2)


@given(st.floats(60, 120), st.floats(60, 150), st.floats(0, 30))
def test_protectors_never_make_it_worse(level: float, peak: float, off: float) -> None:
    order = [None, "lower action value", "upper action value", "limit value"]
    bare, worn = noise_daily.stands(level, peak), noise_daily.stands(level, peak, max(level - off, 20))
    assert order.index(worn.value) <= order.index(bare.value)
    assert (worn.value is None) == (bare.value is None)


@given(st.lists(st.floats(60, 110), min_size=1, max_size=7))
def test_a_week_is_at_most_its_loudest_day_on_all_seven(days: list[float]) -> None:
    assert noise_daily.weekly(days).level <= max(days) + 1.47
