"""What must hold of every tank: nothing negative, order kept, alarms rare when all is well and soon when it is not."""

from __future__ import annotations

import math
from random import Random
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.core import lubrication
from webapp.core.lubrication import Event, OilError, Stretch, Tank

MARK = 0.5
RATE = 0.012


def played(rng: Random, hours: float, dose: float = 1.0, start: float = 0.0) -> list[Event]:
    """A tank kept up by people: filled to about the mark when about half is gone, read off the glass to a hundredth."""
    events, at, level = [], start, MARK
    while at < start + hours:
        run = rng.uniform(3, 6)
        at += run
        level -= RATE * dose * run * rng.gauss(1, 0.1)
        if level < rng.uniform(0.4, 0.55) * MARK:
            poured = round(MARK * rng.gauss(1, 0.015) - level, 2)
            level += poured
            events.append(Event(int(at * 1000), at, "fill", poured))
    return events


def test_use_is_found_within_its_bounds() -> None:
    """The true use lies inside the 95 % bounds about 95 times in 100."""
    inside = 0
    for seed in range(200):
        known, _, faults = lubrication.stretches(played(Random(seed), 400), MARK)
        use = lubrication.usual_use(known, MARK)
        assert use is not None and not faults
        inside += use.low <= RATE <= use.high
    assert inside >= 184


def test_a_tank_in_order_raises_no_alarm() -> None:
    """40 shops over 1200 hours, about a year each: hardly a stretch out of the ordinary, not one look asked for."""
    alarms = looks = count = 0
    for seed in range(40):
        events = played(Random(1000 + seed), 1200)
        known, _, _ = lubrication.stretches(events, MARK)
        verdicts, _ = lubrication.judge(known, MARK)
        alarms += sum(one.state in ("little", "much") for one in verdicts)
        count += len(verdicts)
        for number, event in enumerate(events[:-1]):
            so_far, tank, _ = lubrication.stretches(events[: number + 1], MARK)
            _, use = lubrication.judge(so_far, MARK)
            assert tank is not None
            looks += lubrication.since_last(use, tank, events[number + 1].hours - 0.01).state == "look"
            assert event.hours <= events[number + 1].hours
    assert alarms <= count / 500
    assert looks == 0


@pytest.mark.parametrize("dose", [0.0, 0.1, 0.3])
def test_a_pump_that_starves_is_found_before_a_second_tank_should_be_gone(dose: float) -> None:
    """After 300 hours in order the dose falls; nothing is filled because the glass stands high."""
    for seed in range(40):
        events = played(Random(seed), 300)
        known, tank, _ = lubrication.stretches(events, MARK)
        _, use = lubrication.judge(known, MARK)
        assert use is not None and tank is not None
        found = next(h for h in range(1, 200) if lubrication.since_last(use, tank, tank.hours + h).state == "look")
        assert found * RATE < 2 * MARK
        # The fill that comes late in the end shows the same.
        used = RATE * dose * 60
        assert lubrication.compare(use, 60, used).state == "little"


def test_a_leak_is_found_at_the_next_fill() -> None:
    for seed in range(40):
        _, use = lubrication.judge(lubrication.stretches(played(Random(seed), 300), MARK)[0], MARK)
        verdict = lubrication.compare(use, 10, RATE * 10 * 2.5)
        assert verdict.state == "much"
        assert verdict.sure is not None and verdict.sure > 0.99
        assert verdict.ratio is not None and verdict.ratio > 1.6


def test_a_starved_stretch_does_not_become_the_yardstick() -> None:
    known = [Stretch(n, n + 1, 25, 0.3 + 0.002 * (n % 3)) for n in range(6)]
    _, before = lubrication.judge(known, MARK)
    verdicts, after = lubrication.judge([*known, Stretch(6, 7, 80, 0.1), Stretch(7, 8, 60, 0.08)], MARK)
    assert [one.state for one in verdicts[-2:]] == ["little", "little"]
    assert before == after


@pytest.mark.parametrize(("share", "state"), [(0.85, "little"), (1.2, "much")])
def test_a_small_change_is_found_by_its_run(share: float, state: str) -> None:
    """A blocked metering unit, or a small leak: too little for any one fill, found within eight."""
    found = 0
    for seed in range(40):
        events = played(Random(seed), 500)
        changed = played(Random(500 + seed), 300, dose=share, start=events[-1].hours)
        verdicts, _ = lubrication.judge(lubrication.stretches(events + changed, MARK)[0], MARK)
        after = verdicts[len(events) - 1 :]
        found += any(one.state == state for one in after[:8])
    assert found >= 38


def test_a_dose_that_was_changed_becomes_the_usual() -> None:
    known = [Stretch(n, n + 1, 25, 0.3 + 0.002 * (n % 3)) for n in range(10)]
    known += [Stretch(n, n + 1, 25, 0.2 + 0.002 * (n % 3)) for n in range(10, 22)]
    verdicts, use = lubrication.judge(known, MARK)
    assert {one.state for one in verdicts[10:18]} == {"little"}
    assert {one.state for one in verdicts[18:]} == {"usual"}
    assert use is not None and use.rate == pytest.approx(0.2 / 25, rel=0.02)


def test_few_fills_say_so() -> None:
    verdicts, use = lubrication.judge([Stretch(0, 1, 25, 0.3), Stretch(1, 2, 25, 0.3)], MARK)
    assert use is None
    assert {one.state for one in verdicts} == {"few"}
    assert lubrication.since_last(None, Tank(0, 0, MARK), 500).state == "few"


uses = st.builds(
    lambda rate, residual, squares, t: {
        "rate": rate, "low": rate * 0.9, "high": rate * 1.1, "residual": residual, "squares": squares, "t": t,
    },
    st.floats(0, 1), st.floats(1e-4, 0.1), st.floats(1, 1e5), st.floats(1.96, 13),
)  # fmt: skip


@given(uses, st.floats(0, 1000), st.floats(0, 1000), st.floats(0, 10))
def test_more_hours_never_leave_more(use: dict[str, float], one: float, other: float, level: float) -> None:
    early, late = sorted((one, other))
    before, after = lubrication.left_in_tank(use, level, early), lubrication.left_in_tank(use, level, late)
    assert (after["left"] or 0) <= (before["left"] or 0) + 1e-6
    assert 0 <= (after["least"] or 0) <= (after["left"] or 0) <= (after["most"] or 0) <= level + 1e-6
    mean, low, high = lubrication.expected(use, late)
    assert 0 <= low <= mean <= high


@given(
    st.lists(st.tuples(st.floats(0.1, 50), st.sampled_from(["fill", "part", "level", "renewed"]), st.floats(0, 0.5)))
)
def test_whatever_is_logged_no_use_is_negative(logged: list[tuple[float, Any, float]]) -> None:
    events, hours = [], 0.0
    for number, (run, kind, amount) in enumerate(logged):
        hours += run
        events.append(Event(number, hours, kind, amount))
    known, tank, _ = lubrication.stretches(events, MARK)
    assert all(one.used >= 0 and one.hours > 0 for one in known)
    if tank is not None:
        assert tank.hours <= hours
    verdicts, _ = lubrication.judge(known, MARK)
    assert len(verdicts) == len(known)


def test_levels_and_fills_tell_the_same() -> None:
    """A tank read at 0.5, then 0.2, filled up with 0.3: the reading tells of the use, the fill of none."""
    events = [
        Event(0, 0, "level", 0.5), Event(1, 25, "level", 0.2), Event(2, 25, "fill", 0.3), Event(3, 50, "level", 0.2),
    ]  # fmt: skip
    known, tank, faults = lubrication.stretches(events, MARK)
    assert [(one.hours, pytest.approx(one.used)) for one in known] == [(25, 0.3), (25, 0.3)]
    assert tank == Tank(3, 50, 0.2)
    assert faults == []


def test_a_part_fill_counts_to_the_next_known_level() -> None:
    events = [Event(0, 0, "fill", 0.2), Event(1, 10, "part", 0.1), Event(2, 30, "fill", 0.2)]
    known, _, _ = lubrication.stretches(events, MARK)
    assert [(one.hours, pytest.approx(one.used)) for one in known] == [(30, 0.3)]


def test_a_tank_that_rose_is_said() -> None:
    events = [Event(0, 0, "level", 0.2), Event(1, 10, "level", 0.4)]
    known, _, faults = lubrication.stretches(events, MARK)
    assert known == []
    assert faults == ["The level rose by 0.2 without a fill that was logged."]


@pytest.mark.parametrize("value", [math.nan, math.inf, -1, "5", None, True])
@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda x: lubrication.stretches([Event(0, 0, "fill", x)], MARK), "amount"),
        (lambda x: lubrication.expected({"rate": 1, "residual": 1, "squares": 1, "t": 2}, x), "hours"),
        (lambda x: lubrication.left_in_tank({"rate": 1, "residual": 1, "squares": 1, "t": 2}, x, 1), "level"),
    ],
)
def test_what_is_no_figure_is_refused_by_name(call: Any, field: str, value: Any) -> None:
    with pytest.raises(OilError) as refused:
        call(value)
    assert refused.value.field == field


def test_events_out_of_order_are_refused() -> None:
    with pytest.raises(OilError) as refused:
        lubrication.stretches([Event(0, 20, "fill", 0.1), Event(1, 10, "fill", 0.1)], MARK)
    assert refused.value.field == "events"
