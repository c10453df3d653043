"""The work of the weeks ahead: on which days, how many minutes, and whose."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from dateutil.rrule import MONTHLY, rrule
from hypothesis import given, settings
from hypothesis import strategies as st

from webapp.core.dates import add_interval
from webapp.core.usage import UsageError
from webapp.core.workload import WEEKS, Job, by_week, occurrences, usual

WEDNESDAY = date(2027, 3, 3)
MONDAY = date(2027, 3, 1)


def job(task: str, minutes: float, *days: date, person: str | None = None, times: float = 1.0) -> Job:
    return Job(task, "mill", minutes, dict.fromkeys(days, times), person)


def test_minutes_fall_in_the_week_of_their_day_and_to_their_person() -> None:
    jobs = [
        job("filter", 20, WEDNESDAY, WEDNESDAY + timedelta(days=7), person="ada"),
        job("oil", 5, WEDNESDAY, person="bo"),
        job("guard", 10, MONDAY + timedelta(days=13)),
        job("far", 99, MONDAY + timedelta(weeks=8)),
    ]
    weeks = by_week(jobs, WEDNESDAY)
    assert [week.monday for week in weeks] == [MONDAY + timedelta(weeks=n) for n in range(WEEKS)]
    assert weeks[0].minutes == 25 and weeks[0].people == {"ada": 20, "bo": 5}
    assert weeks[1].people == {"ada": 20, None: 10}
    assert [share.task for share in weeks[1].shares] == ["filter", "guard"]
    assert sum(week.minutes for week in weeks) == 55


def test_rounds_count_by_how_likely_the_machine_is_used() -> None:
    days = [MONDAY + timedelta(days=n) for n in range(7, 12)]
    (_, week, *_) = by_week([job("round", 2, *days, times=0.8)], WEDNESDAY)
    assert week.shares[0].times == 4 and week.minutes == 8


def test_what_is_late_is_work_of_today() -> None:
    found = occurrences(WEDNESDAY - timedelta(days=40), lambda _day: None, WEDNESDAY, WEDNESDAY + timedelta(days=50))
    assert found == [WEDNESDAY]


def test_it_comes_back_counted_from_each_doing_as_dateutil_counts_months() -> None:
    end = WEDNESDAY + timedelta(days=300)
    found = occurrences(WEDNESDAY, lambda day: add_interval(day, "months", 1), WEDNESDAY, end)
    assert found == [moment.date() for moment in rrule(MONTHLY, dtstart=WEDNESDAY, until=end)]


def test_what_comes_back_at_once_comes_back_the_next_day() -> None:
    found = occurrences(WEDNESDAY, lambda day: day, WEDNESDAY, WEDNESDAY + timedelta(days=4))
    assert found == [WEDNESDAY + timedelta(days=n) for n in range(4)]


def test_what_has_no_date_is_no_work_yet() -> None:
    assert occurrences(None, lambda day: day, WEDNESDAY, WEDNESDAY + timedelta(days=50)) == []


@pytest.mark.parametrize("minutes", [-1, float("nan"), "20"])
def test_minutes_that_cannot_be_are_named(minutes: float) -> None:
    with pytest.raises(UsageError) as caught:
        by_week([job("a", 1, MONDAY), job("b", minutes, MONDAY)], MONDAY)
    assert caught.value.field == "jobs[1].minutes"


@pytest.mark.parametrize(
    ("people", "who"),
    [
        ([], None),
        (["ada"], None),  # once is no habit
        (["ada", "ada"], "ada"),
        (["ada", "bo", "ada", "cy"], "ada"),
        (["ada", "ada", "bo", "cy", "cy", "dee"], None),  # a third of the times is nobody's habit
        (["ada", "ada", "bo", "bo"], "bo"),  # among equals the same one each time
    ],
)
def test_whose_a_task_usually_is(people: list[str], who: str | None) -> None:
    assert usual(people) == who
    assert usual(reversed(people)) == who


rows = st.lists(st.tuples(st.integers(0, 60), st.floats(0, 500), st.sampled_from(["ada", "bo", None])), max_size=20)


@settings(deadline=None)
@given(rows, st.integers(0, 6))
def test_every_minute_within_eight_weeks_is_somebodys_or_nobodys_once(
    rows: list[tuple[int, float, str | None]], weekday: int
) -> None:
    today = MONDAY + timedelta(days=weekday)
    jobs = [job(str(n), minutes, today + timedelta(days=d), person=p) for n, (d, minutes, p) in enumerate(rows)]
    weeks = by_week(jobs, today)
    inside = sum(minutes for days, minutes, _ in rows if days < 56 - weekday)
    assert sum(week.minutes for week in weeks) == pytest.approx(inside, abs=0.5)
    for week in weeks:
        assert sum(week.people.values()) == pytest.approx(week.minutes, abs=0.2)
        assert sum(share.minutes for share in week.shares) == pytest.approx(week.minutes, abs=0.1 * (len(rows) + 1))
