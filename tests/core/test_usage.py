"""What movements of a meter tell: readings spread back, additions on their day, counters replaced and run back."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from webapp.core.forecast import calendar
from webapp.core.pace import working_week
from webapp.core.usage import Days, Movement, Told, UsageError, check_hours_a_week, daily, tell
from webapp.records.state import add_to_meter as add_to
from webapp.records.state import empty_doc, read_meter

MONDAY = date(2027, 3, 1)
HOLIDAY = MONDAY + timedelta(days=10)


def day(number: int) -> date:
    return MONDAY + timedelta(days=number)


def read(number: int, face: float, **more: Any) -> Movement:
    return Movement(day(number), face=face, **more)


def added(number: int, amount: float) -> Movement:
    return Movement(day(number), amount=amount)


def spread(told: Told, count: int = 28, *, out: frozenset[date] = frozenset()) -> Days:
    """Daily use over `count` days from Monday, the second Thursday a holiday; the last day is today."""
    open_days = calendar(MONDAY, count, {HOLIDAY}).open_days
    return daily([told], MONDAY, count, open_days=open_days, profiles=working_week(1), since=[MONDAY], out=[out])


def test_a_reading_spreads_back_over_the_working_days_since_the_last() -> None:
    days = spread(tell([read(4, 100), read(14, 142)]))
    # Saturday 5 to Monday 14: five weekdays and Monday, less the holiday on Thursday 10.
    ran = {5: 0, 6: 0, 7: 8.4, 8: 8.4, 9: 8.4, 10: 0, 11: 8.4, 12: 0, 13: 0, 14: 8.4}
    assert {number: days.use[0, number] for number in ran} == pytest.approx(ran)
    assert days.use.sum() == pytest.approx(42)
    assert days.span[0, 7] == 5
    assert list(np.flatnonzero(days.seen[0])) == [5, 6, 7, 8, 9, 11, 12, 13, 14]


def test_a_reading_before_the_days_work_tells_of_the_days_before_alone() -> None:
    days = spread(tell([read(0, 100, early=True), read(4, 120, early=True)]))
    assert days.use[0, :5] == pytest.approx([5, 5, 5, 5, 0])
    assert list(np.flatnonzero(days.seen[0])) == [0, 1, 2, 3]


def test_use_over_days_that_are_all_closed_is_not_lost() -> None:
    days = spread(tell([read(4, 10), read(6, 16)]))
    assert days.use[0, 5:7] == pytest.approx([3, 3])


def test_days_out_of_service_get_nothing_and_are_not_seen() -> None:
    days = spread(tell([read(0, 0), read(4, 12)]), out=frozenset({day(2), day(3)}))
    assert days.use[0, :5] == pytest.approx([0, 6, 0, 0, 6])
    assert list(np.flatnonzero(days.seen[0])) == [1, 4]


def test_what_was_counted_stands_on_its_day_and_other_days_are_days_without_use() -> None:
    days = spread(tell([added(1, 3), added(1, 2), added(7, 4)]), 10)
    assert days.use[0] == pytest.approx([0, 5, 0, 0, 0, 0, 0, 4, 0, 0])
    assert list(np.flatnonzero(days.seen[0])) == list(range(9))  # but today


def test_a_reading_at_the_end_of_today_makes_today_known() -> None:
    days = spread(tell([read(0, 0), added(2, 4), added(9, 5), read(9, 9)]), 10)
    assert days.seen[0, 9]


@pytest.mark.parametrize(("face", "scale"), [(10, 1.0), (10.5, 1.05), (8, 0.8), (19, 1.9)])
def test_a_reading_rules_over_what_was_counted_since_the_last(face: float, scale: float) -> None:
    days = spread(tell([read(0, 0, early=True), added(1, 4), added(3, 6), read(4, face)]), 10)
    assert days.use[0, :5] == pytest.approx([0, 4 * scale, 0, 6 * scale, 0])


def test_a_reading_far_above_what_was_counted_spreads_the_rest() -> None:
    days = spread(tell([read(0, 0, early=True), added(1, 2), read(4, 22)]), 10)
    assert days.use[0, :5] == pytest.approx([4, 6, 4, 4, 4])


def test_a_new_counter_leaves_the_days_since_the_last_reading_unknown() -> None:
    told = tell([read(0, 900), read(4, 920), read(9, 3, replaced=True), read(14, 13)])
    days = spread(told)
    assert told.replaced == 1 and days.use.sum() == pytest.approx(30)
    assert list(np.flatnonzero(days.seen[0])) == [1, 2, 3, 4, 11, 12, 13, 14]


def test_a_new_counter_keeps_what_was_counted_meanwhile() -> None:
    days = spread(tell([read(0, 900), added(2, 4), read(4, 3, replaced=True), added(7, 5), read(9, 8)]), 12)
    assert days.use[0, :10] == pytest.approx([0, 0, 4, 0, 0, 0, 0, 5, 0, 0])


def test_a_counter_that_rolled_over_is_one_that_was_replaced() -> None:
    told = tell([read(0, 9990), read(4, 9998), read(11, 6, replaced=True), read(18, 26)])
    assert told.total == pytest.approx(28) and len(told.blind) == 1


def test_a_reading_that_runs_back_counts_for_nothing() -> None:
    told = tell([read(0, 100), read(4, 120), read(7, 20), read(11, 130)])
    assert told.backwards == 1 and told.total == pytest.approx(30)
    assert spread(told).use[0, 7] == pytest.approx(2.5)


def test_a_reading_before_mondays_work_is_of_monday_when_nobody_worked_before() -> None:
    days = spread(tell([read(4, 100), read(7, 100.5, early=True), read(7, 103), read(8, 108)]))
    assert days.use[0, 5:9] == pytest.approx([0, 0, 3, 5])


def test_readings_through_a_morning_are_of_that_morning() -> None:
    hourly = [read(1, 10), *[read(2, 10 + n, early=n < 5) for n in range(1, 9)], read(3, 20)]
    days = spread(tell(hourly), 10)
    assert days.use[0, 1:4] == pytest.approx([1, 7, 2])


def test_a_machine_that_counts_itself_is_known_by_the_day() -> None:
    hourly = [read(0, 50, ran=True), *[read(1, 50 + n, ran=True) for n in range(1, 5)], read(7, 55, ran=True)]
    told = tell(hourly)
    days = spread(told, 10)
    assert told.counted and not told.stretches
    assert days.use[0, :9] == pytest.approx([0, 4, 0, 0, 0, 0, 0, 1, 0])
    assert list(np.flatnonzero(days.seen[0])) == list(range(9))  # idle days were idle; today is not over


def test_two_readings_on_one_day_put_the_rise_there() -> None:
    days = spread(tell([read(0, 100), read(2, 108), read(2, 109)]), 10)
    assert days.use[0, :4] == pytest.approx([0, 4, 5, 0])


def test_a_meter_never_moved_or_only_read_once_tells_nothing() -> None:
    for movements in ([], [read(3, 500)], [added(3, 0)]):
        days = spread(tell(movements))
        assert days.use.sum() == 0
    assert not spread(tell([read(3, 500)])).seen.any() and not spread(tell([])).seen.any()


def test_a_reading_that_reaches_out_of_the_window_leaves_its_days_unknown() -> None:
    told = tell([Movement(day(-10), face=0), read(4, 40), read(11, 60)])
    days = spread(told)
    assert days.use.sum() == pytest.approx(20)
    assert not days.seen[0, :5].any() and days.seen[0, 7]


@pytest.mark.parametrize(
    ("movements", "field"),
    [
        ([read(4, 1), read(3, 2)], "movements[1].day"),
        ([read(0, -1)], "movements[0].face"),
        ([added(0, -0.5)], "movements[0].amount"),
        ([added(0, float("nan"))], "movements[0].amount"),
        ([added(0, 1), Movement(day(1))], "movements[1]"),
        ([Movement(day(0), amount=1, face=2)], "movements[0]"),
    ],
)
def test_movements_that_cannot_be_are_named(movements: list[Movement], field: str) -> None:
    with pytest.raises(UsageError) as caught:
        tell(movements)
    assert caught.value.field == field and caught.value.mend


@pytest.mark.parametrize("hours", [-1, 168.5, 1000, float("inf"), "40", None, True])
def test_a_week_has_no_more_hours_than_168(hours: object) -> None:
    with pytest.raises(UsageError) as caught:
        check_hours_a_week(hours)
    assert caught.value.field == "hours_a_week"


def test_hours_a_week_that_can_be() -> None:
    assert [check_hours_a_week(hours) for hours in (0, 40, 168)] == [0, 40, 168]


amounts = st.floats(0, 100).map(lambda value: round(value, 2))
steps = st.lists(
    st.tuples(st.integers(0, 6), st.booleans(), amounts, st.booleans(), st.sampled_from(["", "early", "ran"])),
    max_size=12,
)


def movements_of(rows: list[tuple[int, bool, float, bool, str]]) -> list[Movement]:
    found, number = [], 0
    for later, is_read, amount, replaced, how in rows:
        number += later
        found.append(
            read(number, amount, replaced=replaced, early=how == "early", ran=how == "ran")
            if is_read
            else added(number, amount)
        )
    return found


@settings(deadline=None)
@given(steps)
def test_no_more_and_no_less_is_used_than_the_record_counts(rows: list[tuple[int, bool, float, bool, str]]) -> None:
    """The fold's running total rises by what the movements tell, but for a first reading, which sets the total."""
    doc, base = empty_doc(), 0.0
    movements = movements_of(rows)
    for movement in movements:
        if movement.amount is not None:
            add_to(doc, "m", movement.amount, "")
            continue
        before = doc["meters"].get("m", {"total": 0, "face": None})
        known, total = before["face"], before["total"]
        read_meter(doc, "m", movement.face or 0, movement.replaced, "")
        if known is None and not movement.replaced:
            base += doc["meters"]["m"]["total"] - total
    total = doc["meters"]["m"]["total"] if doc["meters"] else 0
    assert tell(movements).total + base == pytest.approx(total, abs=1e-4)


@settings(deadline=None)
@given(steps, st.sets(st.integers(0, 90), max_size=20))
def test_all_that_is_told_lies_on_some_day_and_none_below_nought(
    rows: list[tuple[int, bool, float, bool, str]], closed: set[int]
) -> None:
    told = tell(movements_of(rows))
    open_days = calendar(day(-7), 120, {day(number) for number in closed}).open_days
    week = working_week(1)
    days = daily([told], day(-7), 120, open_days=open_days, profiles=week, since=[day(-7)], out=[()])
    assert days.use.sum() == pytest.approx(told.total, abs=1e-6)
    assert (days.use >= 0).all() and (days.span >= 1).all()
