"""Rounds by day, stretches of time, and work settled on time: worked cases, and what must hold of any case."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.core.downtime import HOUR_MS, availability, cut, length, mean_downtime, overlap, union
from webapp.core.problems import SpanError
from webapp.core.punctual import Course, can_be_late
from webapp.core.roundlog import day_of_rounds
from webapp.core.rules import parse

STRETCHES = st.lists(st.tuples(st.integers(0, 60), st.integers(0, 20)).map(lambda one: (one[0], one[0] + one[1])))


def instants(stretches: list[tuple[int, int]]) -> set[int]:
    """The same time instant by instant."""
    return {at for begin, end in stretches for at in range(begin, end)}


@given(STRETCHES)
def test_a_union_is_the_same_time_once(stretches: list[tuple[int, int]]) -> None:
    found = union(stretches)
    assert instants(found) == instants(stretches) and length(found) == len(instants(stretches))
    assert all(one[1] < other[0] for one, other in pairwise(found))


@given(STRETCHES, STRETCHES)
def test_an_overlap_is_what_lies_in_both(some: list[tuple[int, int]], others: list[tuple[int, int]]) -> None:
    assert instants(overlap(union(some), union(others))) == instants(some) & instants(others)


@given(STRETCHES, st.lists(st.integers(0, 80), min_size=2))
def test_what_is_cut_comes_to_the_whole(stretches: list[tuple[int, int]], edges: list[int]) -> None:
    edges = sorted(edges)
    pieces = cut(union(stretches), edges)
    assert len(pieces) == len(edges) - 1
    assert sum(map(length, pieces)) == len(instants(stretches) & set(range(edges[0], edges[-1])))


def test_a_stretch_that_ends_before_it_begins_is_refused() -> None:
    with pytest.raises(SpanError) as refused:
        union([(0, 5), (9, 7)])
    assert refused.value.field == "until" and "2 ms" in refused.value.problem


def test_availability_as_tm_5_698_2_has_it() -> None:
    """TM 5-698-2, table C-1: Ao = MTBM / (MTBM + MDT). Four times up for 150 h with 6 h down each is the ratio itself;
    150 / 156 = 96.2 % by hand."""
    mtbm, mdt = 150.0, 6.0
    assert availability(4 * mtbm * HOUR_MS, 4 * mdt * HOUR_MS) == pytest.approx(mtbm / (mtbm + mdt))
    assert round(100 * (availability(150, 6) or 0), 1) == 96.2
    assert mean_downtime(4 * mdt * HOUR_MS, 4) == mdt * HOUR_MS


def test_no_time_has_no_availability_and_nothing_below_nought() -> None:
    assert availability(0, 0) is None and availability(0, 1) == 0 and availability(1, 0) == 1
    assert mean_downtime(0, 0) is None
    for up, down, field in ((-1, 1, "up"), (1, -1, "down")):
        with pytest.raises(SpanError) as refused:
            availability(up, down)
        assert refused.value.field == field


@pytest.mark.parametrize(
    ("uses", "rounds", "backs", "letter"),
    [
        ([], [], [], "."), ([], [5], [], "d"), ([9], [5], [], "d"), ([9], [9], [], "d"), ([9], [10], [], "l"),
        ([9], [], [], "m"), ([9, 12], [10], [], "l"), ([9, 12], [5, 10], [], "d"),
        ([12], [5], [8], "m"), ([12], [5, 9], [8], "d"), ([12], [5, 14], [8], "l"), ([6, 12], [5], [8], "m"),
        ([6], [5], [8], "d"), ([6], [9], [8], "m"), ([6, 12], [7, 9], [8], "l"),
    ],
)  # fmt: skip
def test_a_day_of_rounds(uses: list[int], rounds: list[int], backs: list[int], letter: str) -> None:
    assert day_of_rounds(uses, rounds, backs) == letter


def test_an_unused_day_says_why() -> None:
    assert day_of_rounds([], [], open_=False) == "c"
    assert day_of_rounds([], [], open_=False, out=True) == day_of_rounds([], [], out=True) == "o"
    assert day_of_rounds([9], [], open_=False, out=True) == "m", "use is use, whatever the calendar says"


@given(st.lists(st.integers(0, 30)), st.lists(st.integers(0, 30)), st.lists(st.integers(0, 30), max_size=3))
def test_an_earlier_round_never_makes_a_day_worse(uses: list[int], rounds: list[int], backs: list[int]) -> None:
    uses, rounds, backs = sorted(uses), sorted(rounds), sorted(backs)
    before, after = (day_of_rounds(uses, sorted(all_), backs) for all_ in (rounds, [*rounds, 0]))
    assert uses == [] or "dlm".index(after) <= "dlm".index(before)


DAY = date(2027, 3, 1)


def days(*numbers: int) -> list[date]:
    return [DAY + timedelta(days=number) for number in numbers]


def told(course: Course) -> list[tuple[int, bool, bool]]:
    return [((one.day - DAY).days, one.on_time, one.put_off) for one in course.settled]


def test_work_is_settled_once() -> None:
    course = Course()
    course.done(days(1)[0], late=False)
    for day in days(5, 6, 40):
        course.fell_late(day)
    assert course.late_since == days(5)[0]
    course.done(days(41)[0], late=True)
    course.done(days(42)[0], late=True)
    assert told(course) == [(1, True, False), (5, False, False), (42, False, False)] and course.late_since is None


def test_a_date_put_off_in_time_counts_and_one_put_off_late_does_not() -> None:
    course = Course()
    course.deferred()
    course.done(days(9)[0], late=False)
    course.fell_late(days(20)[0])
    course.deferred()
    course.done(days(22)[0], late=False)
    assert told(course) == [(9, True, True), (20, False, False)] and not course.put_off


@pytest.mark.parametrize(
    ("rule", "late"),
    [
        ({"every": {"months": 6}}, True),
        ({"meter": "spindle_hours", "every": 250}, True),
        ({"rrule": "FREQ=WEEKLY;BYDAY=MO", "anchor": "2027-01-04"}, True),
        ({"after": "part.changed", "part": "blade", "meter": "cut_area", "at": [50]}, True),
        ({"after": "tag.off", "days": 0}, True),
        ({"each": "start-up"}, False),
        ({"when": {"reading": "coolant.strength", "below": 6}}, False),
        ({"first_of": [{"when": {"reading": "x", "below": 6}}, {"every": {"days": 7}}]}, True),
        ({"first_of": [{"each": "start-up"}, {"every": {"days": 7}}]}, False),
    ],
)
def test_which_rules_have_a_limit(rule: object, late: bool) -> None:
    assert can_be_late(parse(rule)) is late
