"""Fixed dates: what a phone is given of them, and the guards around their expansion."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.core.due import RuleError, dates_for, expand, judge
from webapp.core.recurrence import LONGEST_SPAN

ZONE = "America/New_York"
TODAY = date(2027, 3, 2)
FIRST_MONDAY = {"rrule": "FREQ=MONTHLY;BYDAY=1MO", "anchor": "2027-01-04"}


def facts(**changed: Any) -> dict[str, Any]:
    base = {"today": TODAY.isoformat(), "in_service": True, "start": "2027-01-04", "done": None, "meters": {}}
    return {**base, **changed}


def test_both_ends_of_the_span_are_included() -> None:
    assert expand(FIRST_MONDAY, ZONE, date(2027, 2, 1), date(2027, 3, 1)) == [date(2027, 2, 1), date(2027, 3, 1)]


def test_nothing_before_the_anchor() -> None:
    assert expand(FIRST_MONDAY, ZONE, date(2020, 1, 1), date(2027, 1, 4)) == [date(2027, 1, 4)]


def test_a_rule_without_fixed_dates_has_none() -> None:
    assert expand({"every": {"months": 6}}, ZONE, TODAY, TODAY + timedelta(days=90)) == []
    assert dates_for({"each": "start-up"}, ZONE, TODAY) == []


def test_fixed_dates_are_found_inside_a_first_of() -> None:
    rule = {"first_of": [{"meter": "cuts", "every": 100}, FIRST_MONDAY]}
    assert expand(rule, ZONE, date(2027, 3, 1), date(2027, 4, 30)) == [date(2027, 3, 1), date(2027, 4, 5)]


def test_a_span_without_end_is_refused() -> None:
    with pytest.raises(RuleError) as refused:
        expand(FIRST_MONDAY, ZONE, TODAY, TODAY + LONGEST_SPAN + timedelta(days=1))
    assert refused.value.field == "end"


def test_a_phone_gets_four_hundred_days_either_way_and_the_two_dates_before() -> None:
    daily = {"rrule": "FREQ=DAILY", "anchor": "2020-01-01"}
    dates = dates_for(daily, ZONE, TODAY)
    assert dates[0] == TODAY - timedelta(days=402)
    assert dates[-1] == TODAY + timedelta(days=400)
    assert len(dates) == 803


def test_a_vessel_test_every_ten_years_is_seen_far_ahead() -> None:
    rule = {"rrule": "FREQ=YEARLY;INTERVAL=10", "anchor": "2024-05-06"}
    dates = dates_for(rule, ZONE, TODAY)
    assert dates == [date(2024, 5, 6), date(2034, 5, 6)]
    verdict = judge(rule, facts(done={"date": "2024-05-06", "meters": {}}, dates=[d.isoformat() for d in dates]))
    assert (verdict.state, verdict.due_on) == ("resting", date(2034, 5, 6))


def test_a_sparse_date_missed_long_ago_stays_late() -> None:
    """A date older than the 400 days once dropped out of the list, and the task rested with nothing done."""
    rule = {"rrule": "FREQ=YEARLY;INTERVAL=5", "anchor": "2020-01-15"}
    dates = [day.isoformat() for day in dates_for(rule, ZONE, TODAY)]
    verdict = judge(rule, facts(done={"date": "2020-01-15", "meters": {}}, dates=dates))
    assert (verdict.state, verdict.due_on) == ("late", date(2025, 1, 15))


def test_a_rule_that_has_ended_gives_what_there_was() -> None:
    rule = {"rrule": "FREQ=MONTHLY;COUNT=2", "anchor": "2027-01-04"}
    assert dates_for(rule, ZONE, TODAY) == [date(2027, 1, 4), date(2027, 2, 4)]


def test_until_in_utc_is_read_as_the_shops_day() -> None:
    """03:00 UTC on the 6th is still the evening of the 5th in New York."""
    rule = {"rrule": "FREQ=DAILY;UNTIL=20270106T030000Z", "anchor": "2027-01-04"}
    assert expand(rule, ZONE, TODAY - timedelta(days=99), TODAY) == [date(2027, 1, 4), date(2027, 1, 5)]
    assert expand(rule, "Europe/Berlin", TODAY - timedelta(days=99), TODAY)[-1] == date(2027, 1, 6)


def test_until_as_a_bare_date_lasts_to_its_end() -> None:
    rule = {"rrule": "FREQ=DAILY;UNTIL=20270106", "anchor": "2027-01-04T15:00"}
    assert expand(rule, ZONE, TODAY - timedelta(days=99), TODAY)[-1] == date(2027, 1, 6)


@given(st.integers(0, 3000), st.integers(1, 12), st.sampled_from(["DAILY", "WEEKLY", "MONTHLY"]))
def test_done_on_each_date_it_is_never_late(offset: int, interval: int, frequency: str) -> None:
    """Whoever does it on every date finds the next date due, not the one just done and none left out."""
    rule = {"rrule": f"FREQ={frequency};INTERVAL={interval}", "anchor": "2020-01-01"}
    today = date(2022, 1, 1) + timedelta(days=offset)
    dates = dates_for(rule, ZONE, today)
    past = [day for day in dates if day <= today]
    done = {"date": past[-1].isoformat(), "meters": {}}
    shown = judge(rule, facts(today=today.isoformat(), done=done, dates=[day.isoformat() for day in dates]))
    assert shown.state in ("resting", "near")
    assert shown.due_on == next(day for day in dates if day > today)
