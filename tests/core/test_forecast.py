"""What must hold of every forecast, whatever the pace: order, monotony, rest, and the same bytes each time."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from webapp.core.forecast import BEYOND, Asked, Calendar, Crossings, calendar, chance, crossings, ordinals
from webapp.core.pace import Pace
from webapp.core.usage import UsageError

MONDAY = date(2027, 3, 1)
LAST = 1 << 20
figures = st.floats(0.01, 50)
weeks = st.lists(st.one_of(st.just(0.0), figures), min_size=7, max_size=7).filter(any)
paces = st.builds(
    lambda week, cv, kappa, psi, drift: Pace(
        np.array([week]), (np.array([week]) * cv) ** 2, *(np.array([value]) for value in (kappa, psi, drift, 20, 100)),
        np.zeros((1, 7)),
    ),
    weeks, st.floats(0.05, 2), st.floats(0.3, 5), st.floats(0, 0.5), st.floats(0, 0.05),
)  # fmt: skip
needs = st.floats(0.01, 2000)
closed_days = st.sets(st.integers(0, 300).map(lambda n: MONDAY + timedelta(days=n)), max_size=40)


def ask(*needs_: float, start: int = 0, share: float = 1.0, row: int = 0) -> Asked:
    n = len(needs_)
    return Asked(np.full(n, row), np.array(needs_), np.full(n, start), np.full(n, share))


def places(found: Crossings) -> np.ndarray:
    """Early, likely, late with what lies beyond as a very late day."""
    rows = np.array([found.early, found.likely, found.late])
    return np.where(rows == BEYOND, LAST, rows)


@settings(deadline=None)
@given(paces, needs, closed_days)
def test_early_is_not_after_likely_nor_likely_after_late(pace: Pace, need: float, closed: set[date]) -> None:
    found = places(crossings(pace, calendar(MONDAY, 400, closed), ask(need)))
    assert (np.diff(found[:, 0]) >= 0).all()


@settings(deadline=None)
@given(paces, needs, needs)
def test_more_to_run_is_never_reached_sooner(pace: Pace, one: float, other: float) -> None:
    less, more = sorted((one, other))
    found = places(crossings(pace, calendar(MONDAY, 400, ()), ask(less, more)))
    assert (found[:, 0] <= found[:, 1]).all()


@settings(deadline=None)
@given(paces, needs, closed_days)
def test_days_on_which_the_shop_is_closed_never_bring_it_nearer(pace: Pace, need: float, closed: set[date]) -> None:
    free = places(crossings(pace, calendar(MONDAY, 400, ()), ask(need)))
    rests = places(crossings(pace, calendar(MONDAY, 400, closed), ask(need)))
    # The last day of the range steps back from a closed one, so it alone may come sooner.
    assert (rests >= free)[:2].all()
    often, seldom = (
        np.array([float(chance(pace, calendar(MONDAY, 400, shut), ask(need), place)[0]) for place in range(0, 400, 57)])
        for shut in ((), closed)
    )
    # Far ahead of the figure the growing doubt takes a sliver off both, and more where more weeks lie behind.
    assert (seldom <= often + 1e-3).all()


@settings(deadline=None)
@given(paces, needs, closed_days)
def test_it_is_never_reached_on_a_day_on_which_nothing_runs(pace: Pace, need: float, closed: set[date]) -> None:
    days = calendar(MONDAY, 400, closed)
    for place in places(crossings(pace, days, ask(need)))[:, 0]:
        if place not in (0, LAST):
            on = days.date_of(place)
            assert on not in closed and pace.mean[0, on.weekday()] > 0


@settings(deadline=None)
@given(paces, needs, st.floats(0.1, 1000))
def test_the_unit_does_not_matter(pace: Pace, need: float, unit: float) -> None:
    other = replace(pace, mean=pace.mean * unit, var=pace.var * unit**2)
    days = calendar(MONDAY, 400, ())
    here, there = (chance(one, days, ask(left), 100) for one, left in ((pace, need), (other, need * unit)))
    assert here == pytest.approx(there, abs=1e-9)


@settings(deadline=None)
@given(paces, st.lists(needs, min_size=1, max_size=8))
def test_many_questions_at_once_are_answered_as_each_alone(pace: Pace, many: list[float]) -> None:
    days = calendar(MONDAY, 400, {MONDAY + timedelta(days=3)})
    together = places(crossings(pace, days, ask(*many)))
    alone = [places(crossings(pace, days, ask(need)))[:, 0] for need in many]
    assert (together == np.array(alone).T).all()


@settings(max_examples=30, deadline=None)
@given(paces, needs, closed_days)
def test_the_same_facts_give_the_same_bytes(pace: Pace, need: float, closed: set[date]) -> None:
    first, second = (crossings(pace, calendar(MONDAY, 400, closed), ask(need)) for _ in range(2))
    assert all(
        getattr(first, name).tobytes() == getattr(second, name).tobytes() for name in ("early", "likely", "late")
    )
    assert first.early.dtype == np.int64


@settings(max_examples=40, deadline=None)
@given(paces, needs)
def test_the_ends_of_the_range_are_the_days_on_which_ten_and_ninety_in_a_hundred_are_passed(
    pace: Pace, need: float
) -> None:
    """By the end of the first day 10 in a hundred have come, by the start of the last no more than 90; and the days
    outside are outside by no more than the day next to the end."""
    days = calendar(MONDAY, 400, ())
    early, _, late = places(crossings(pace, days, ask(need)))[:, 0]
    ends = np.array([float(chance(pace, days, ask(need), place)[0]) for place in range(400)])
    steps = np.diff(np.concatenate([[0.0], ends]))
    runs = [place for place in range(400) if pace.mean[0, days.date_of(place).weekday()] > 0]
    if early < 400:
        before = [place for place in runs if place < early]
        assert ends[early] >= 0.1 and (not before or ends[before[-1]] <= 0.1 + steps[before[-1]])
    if late < 400:
        after = [place for place in runs if place > late]
        assert (late == 0 or ends[late - 1] <= 0.9) and (not after or ends[late] >= 0.9 - steps[after[0]])


def steady(mean: float = 2.0, cv: float = 0.5) -> Pace:
    one = np.ones(1)
    week = np.array([[mean] * 5 + [0.0, 0.0]])
    return Pace(week, (week * cv) ** 2, one, one * 0.01, one * 0.001, one * 20, one * 100, week * 0)


def dates(found: Crossings, days: Calendar) -> list[date | None]:
    return [ordinals(getattr(found, name), days)[0] for name in ("early", "likely", "late")]


def test_what_is_used_up_is_reached_at_once() -> None:
    days = calendar(MONDAY, 50, ())
    for need in (0.0, -30.0):
        assert dates(crossings(steady(), days, ask(need, start=4)), days) == [MONDAY + timedelta(days=4)] * 3
        assert chance(steady(), days, ask(need), 0)[0] == 1


def test_a_meter_that_does_not_run_is_never_due_by_itself() -> None:
    days = calendar(MONDAY, 1098, ())
    assert dates(crossings(steady(0.0), days, ask(5)), days) == [None, None, None]


def test_what_lies_beyond_the_calendar_has_no_date() -> None:
    days = calendar(MONDAY, 70, ())
    early, likely, late = dates(crossings(steady(), days, ask(88)), days)
    assert early is not None and late is None and (likely is None or likely >= early)
    assert dates(crossings(steady(), days, ask(5000)), days) == [None, None, None]


def test_what_has_run_today_already_leaves_less_of_the_day() -> None:
    days = calendar(MONDAY, 400, ())
    whole, half, none = (float(chance(steady(), days, ask(3, share=share), 1)[0]) for share in (1, 0.5, 0))
    assert whole > half > none > 0


def test_a_start_behind_today_counts_the_days_since() -> None:
    days = calendar(MONDAY, 400, ())
    since = crossings(steady(), days, ask(40, start=0))
    later = crossings(steady(), days, ask(40, start=14))
    assert later.likely[0] - since.likely[0] == 14


@pytest.mark.parametrize(
    ("asked", "field"),
    [
        (ask(float("nan")), "need"),
        (ask(float("inf")), "need"),
        (ask(5, row=1), "row"),
        (ask(5, row=-1), "row"),
        (ask(5, start=60), "start"),
        (ask(5, start=-1), "start"),
        (ask(5, share=1.2), "share"),
    ],
)
def test_questions_that_cannot_be_are_named(asked: Asked, field: str) -> None:
    with pytest.raises(UsageError) as caught:
        crossings(steady(), calendar(MONDAY, 60, ()), asked)
    assert caught.value.field == field and caught.value.mend
    with pytest.raises(UsageError):
        chance(steady(), calendar(MONDAY, 60, ()), asked, 5)


def test_a_calendar_has_days() -> None:
    with pytest.raises(UsageError):
        calendar(MONDAY, 0, ())
