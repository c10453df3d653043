"""Air, filters and the purge timer: what must hold of every hood, wait and clock."""

from __future__ import annotations

import json
import math
from dataclasses import asdict
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.core.outcomes import refused
from webapp.core import filters, purge, ventilation
from webapp.core.problems import HygieneError

UNITS = st.sampled_from(["us", "metric"])
ODD = [math.nan, math.inf, -math.inf, -1, "1", None, True]
START = 1_800_000_000_000


@given(st.floats(1, 250), st.floats(0.01, 1000), UNITS)
def test_flow_and_velocity_undo_each_other(speed: float, area: float, units: str) -> None:
    air = ventilation.flow(speed, area, units)
    if air > 0:
        assert ventilation.velocity(air, area, units) == pytest.approx(speed, rel=1e-6, abs=0.006 / area + 1e-4)


@given(st.floats(10, 5000), st.floats(0, 60), st.floats(0.05, 10), st.booleans())
def test_capture_flow_gives_its_velocity_back(speed: float, away: float, area: float, flanged: bool) -> None:
    air = ventilation.capture_flow(speed, away, area, "us", flanged)
    assert ventilation.capture_velocity(air, away, area, "us", flanged) == pytest.approx(
        speed, rel=1e-3, abs=0.008 / area
    )
    assert ventilation.capture_velocity(air, away + 1, area, "us", flanged) < speed


@given(st.floats(10, 5000), st.floats(0, 60), st.floats(0.05, 10))
def test_both_units_say_the_same_capture(air: float, away: float, area: float) -> None:
    us = ventilation.capture_velocity(air, away, area, "us")
    metric = ventilation.capture_velocity(air * 1.69901082, away * 25.4, area * 0.09290304, "metric")
    assert metric == pytest.approx(us * 0.00508, rel=1e-3, abs=2e-4)


@given(st.lists(st.floats(0, 5), min_size=1, max_size=20))
def test_the_mean_of_the_roots_is_at_most_the_root_of_the_mean(pressures: list[float]) -> None:
    found = ventilation.traverse(pressures, "us")
    assert found.velocity <= 4005 * math.sqrt(sum(pressures) / len(pressures)) + 0.01
    assert found.lowest <= found.velocity + 0.01 and found.velocity <= found.highest + 0.01


@pytest.mark.parametrize(
    ("points", "rule"), [(6, "log-linear"), (10, "log-linear"), (2, "equal areas"), (24, "equal areas")]
)
def test_points_of_a_traverse_mirror_each_other(points: int, rule: str) -> None:
    found = ventilation.traverse_points(points, rule)
    assert len(found) == points and found == sorted(found)
    assert [1 - one for one in reversed(found)] == pytest.approx(found, abs=1e-9)


@given(st.floats(1, 5000), st.floats(0.1, 5000), UNITS, st.floats(50, 99.99), st.floats(1, 10))
def test_after_the_wait_no_more_is_left_than_was_asked(
    air: float, volume: float, units: str, removed: float, mixing: float
) -> None:
    found = ventilation.purge_time(air, volume, units, removed, mixing)
    rate = air / volume / (60 if units == "us" else 3600) / mixing
    assert math.exp(-found.seconds * rate) * 100 <= (100 - removed) * (1 + 1e-3 * rate + 1e-6)
    assert isinstance(found.seconds, int) and found.seconds < found.exact + 1


@given(st.floats(1, 100), st.floats(1, 1000), st.floats(1, 9.9))
def test_worse_mixing_or_less_air_is_a_longer_wait(air: float, volume: float, mixing: float) -> None:
    here = ventilation.purge_time(air, volume, "us", 99.9, mixing).exact
    assert ventilation.purge_time(air, volume, "us", 99.9, mixing + 0.1).exact >= here
    assert ventilation.purge_time(air * 1.1, volume, "us", 99.9, mixing).exact <= here


@pytest.mark.parametrize("value", ODD)
def test_what_cannot_be_is_refused_by_name(value: Any) -> None:
    assert refused(ventilation.flow, {"velocity": 100, "area": value, "units": "us"}) == "area"
    assert refused(ventilation.pitot_velocity, {"pressure": value, "units": "us"}) == "pressure"
    assert refused(ventilation.purge_time, {"air": 300, "volume": value, "units": "us"}) == "volume"
    assert refused(ventilation.purge_time, {"air": value, "volume": 12, "units": "us"}) == "air"
    assert refused(ventilation.traverse, {"pressures": [0.1, value], "units": "us"}) == "pressures[1]"
    assert refused(ventilation.face, {"readings": [value], "units": "us"}) == "readings[0]"
    assert refused(filters.filter_drop, {"now": value, "clean": 1, "change_at": 4}) == "now"
    assert refused(filters.static_pressure, {"now": 1, "commissioned": value}) == "commissioned"
    assert refused(purge.blast, {"seconds": value, "now": 0}) == "seconds"


@given(st.floats(0.01, 5), st.floats(1.1, 5), st.floats(0, 30))
def test_every_drop_has_a_word_and_something_to_do(clean: float, ratio: float, now: float) -> None:
    found = filters.filter_drop(now, clean, clean * ratio)
    assert found.todo and found.why
    assert found.stop == (found.word in ("no air", "fallen", "loaded"))
    if found.word == "working":
        assert clean < now < clean * ratio


def test_a_torn_filter_shows_as_a_fall() -> None:
    """From 3.1 to 0.6 in of water without a new filter, though 0.6 lies in the clean filter's neighbourhood."""
    assert filters.filter_drop(0.6, 0.5, 4, 3.1).word == "fallen"
    assert filters.filter_drop(0.6, 0.5, 4).word == "working"


def test_the_trend_of_a_drop_says_when_to_change() -> None:
    days = [-40, -30, -20, -10, 0]
    found = filters.drop_trend(days, [1.0, 1.5, 2.1, 2.4, 3.0], 4.0)
    assert found.side == "high" and found.p50 is not None
    assert found.p50 == pytest.approx(20, abs=2)  # a twentieth a day from 3 to 4
    assert not filters.drop_trend([-1, 0], [1, 2], 4.0).enough


MOVES = st.lists(
    st.tuples(st.sampled_from(["look", "reload", "start"]), st.integers(-100_000, 100_000)), min_size=1, max_size=25
)


@given(st.integers(1, 120), MOVES)
def test_no_clock_shortens_the_wait(seconds: int, moves: list[tuple[str, int]]) -> None:
    """The door is free only when the steps forward together make the wait; steps back take nothing and give nothing."""
    now = START
    state = purge.start(purge.blast(seconds, now), now)
    passed = 0
    for move, step in moves:
        now += step
        passed += max(step, 0)
        if move == "reload":
            kept = purge.from_stored(json.loads(json.dumps(asdict(state))))
            assert kept is not None
            state = kept
        state = purge.start(state, now) if move == "start" else purge.look(state, now)
        left = purge.seconds_left(state)
        assert purge.holds(state) == (passed < seconds * 1000)
        assert left == max(math.ceil((seconds * 1000 - passed) / 1000), 0)
        assert state.hold_until is None or state.hold_until == now + seconds * 1000 - passed


def test_blasting_and_a_still_fan_begin_the_wait_anew() -> None:
    state = purge.start(purge.blast(60, START), START)
    near = purge.look(state, START + 59_000)
    assert purge.seconds_left(near) == 1
    again = purge.start(purge.blast(60, START + 59_500), START + 70_000)
    assert purge.holds(purge.look(again, START + 129_999))
    assert not purge.holds(purge.look(again, START + 130_000))
    still = purge.exhaust_off(near, START + 59_500)
    assert still.phase == purge.NO_EXHAUST and purge.seconds_left(still) is None
    assert purge.holds(purge.look(still, START + 10_000_000))
    anew = purge.start(still, START + 10_000_000)
    assert purge.seconds_left(anew) == 60
    assert (still.counted, still.started_at, still.hold_until) == (0, None, None)


def test_nothing_known_holds_the_door() -> None:
    assert purge.holds(None)
    assert purge.holds(purge.blast(60, START))
    for stored in (
        None,
        {},
        [],
        "over",
        {"phase": "over"},
        {"phase": "over", "seconds": 5, "counted": 1, "seen_at": 0},
    ):
        assert purge.from_stored(stored) is None


def test_a_wait_beyond_reason_is_a_mistyped_one() -> None:
    with pytest.raises(HygieneError):
        purge.blast(4 * 3600 + 1, START)
