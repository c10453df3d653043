"""What must hold of every verdict, whatever the rule and the facts."""

from __future__ import annotations

import json
from datetime import date, timedelta
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from tests.core import strategies as some
from webapp.core.due import URGENCY, judge

Facts = dict[str, Any]


def urgency(rule: Any, facts: Facts) -> int:
    return URGENCY[judge(rule, facts).state]


@given(some.rules, some.facts, st.integers(1, 400))
def test_time_alone_never_makes_it_less_urgent(rule: Any, facts: Facts, days: int) -> None:
    later = (some.TODAY + timedelta(days=days)).isoformat()
    assert urgency(rule, {**facts, "today": later}) >= urgency(rule, facts)


@given(some.rules, some.facts, some.amounts)
def test_use_never_makes_it_less_urgent(rule: Any, facts: Facts, used: float) -> None:
    more = {kind: total + used for kind, total in facts["meters"].items()}
    assert urgency(rule, {**facts, "meters": more}) >= urgency(rule, facts)


@given(some.first_ofs, some.facts)
def test_first_of_is_the_most_urgent_of_its_parts(rule: Any, facts: Facts) -> None:
    facts = {**facts, "deferred_to": None}
    assert urgency(rule, facts) == max(urgency(part, facts) for part in rule["first_of"])


@given(some.first_ofs, some.facts)
def test_first_of_keeps_the_numbers_of_one_of_its_parts(rule: Any, facts: Facts) -> None:
    facts = {**facts, "deferred_to": None}
    whole = judge(rule, facts)
    shown = [(part.state, part.used, part.every, part.why) for part in (judge(r, facts) for r in rule["first_of"])]
    assert (whole.state, whole.used, whole.every, whole.why) in shown


@given(some.first_ofs, some.facts)
def test_first_of_is_dated_by_whichever_part_has_the_earliest_date(rule: Any, facts: Facts) -> None:
    facts = {**facts, "deferred_to": None}
    dates = [on for part in rule["first_of"] if (on := judge(part, facts).due_on)]
    assert judge(rule, facts).due_on == min(dates, default=None)


@given(some.first_ofs, some.facts, st.integers(1, 40))
def test_what_first_of_says_of_a_date_is_its_own(rule: Any, facts: Facts, ahead: int) -> None:
    """A verdict whose numbers are days names no later day than they count to, and, being the top state's earliest,
    the very day unless a part of a lower state comes sooner."""
    facts = {**facts, "deferred_to": None, "today": (some.TODAY + timedelta(days=ahead)).isoformat()}
    whole = judge(rule, facts)
    if whole.unit == "days" and whole.left is not None and whole.due_on is not None:
        counted = date.fromisoformat(facts["today"]) + timedelta(days=whole.left)
        assert whole.due_on <= counted
        parts = [judge(part, facts) for part in rule["first_of"]]
        assert whole.due_on == counted or any(
            part.due_on == whole.due_on and part.state != whole.state for part in parts
        )


@given(some.resting_rules, some.facts)
def test_a_machine_out_of_service_rests_all_but_the_calendar(rule: Any, facts: Facts) -> None:
    assert urgency(rule, {**facts, "in_service": False}) == 0


@given(st.one_of(some.calendars, some.rrules), some.facts)
def test_the_calendar_does_not_heed_service(rule: Any, facts: Facts) -> None:
    assert judge(rule, {**facts, "in_service": False}) == judge(rule, {**facts, "in_service": True})


@given(st.one_of(some.calendars, some.meters, some.rrules, some.afters), some.facts)
def test_what_was_done_just_now_is_not_due(rule: Any, facts: Facts) -> None:
    done = {"date": facts["today"], "meters": facts["meters"]}
    events = {
        key: {"date": event["date"], "meters": dict.fromkeys(event["meters"], 0)}
        for key, event in facts["events"].items()
    }
    after = {**facts, "done": done, "deferred_to": None, "events": events}
    assert urgency(rule, after) <= URGENCY["near"]


@given(some.rules, some.facts, st.integers(1, 400))
def test_what_is_deferred_to_a_day_ahead_is_not_due(rule: Any, facts: Facts, days: int) -> None:
    ahead = (some.TODAY + timedelta(days=days)).isoformat()
    assert urgency(rule, {**facts, "deferred_to": ahead}) <= URGENCY["near"]


@given(some.rules, some.facts)
def test_a_verdict_is_json_and_a_sentence(rule: Any, facts: Facts) -> None:
    verdict = judge(rule, facts).to_dict()
    assert json.loads(json.dumps(verdict, allow_nan=False)) == verdict
    assert verdict["why"][0].isupper() and verdict["why"].endswith(".")
    assert verdict["fraction"] >= 0
    assert set(verdict) == {"state", "due_on", "used", "every", "left", "unit", "fraction", "why"}


@given(st.one_of(some.calendars, some.meters), some.facts)
def test_used_and_left_make_the_interval(rule: Any, facts: Facts) -> None:
    verdict = judge(rule, {**facts, "deferred_to": None})
    if verdict.used and verdict.every and verdict.left is not None:
        assert abs(verdict.used + verdict.left - verdict.every) < 2e-6


@given(some.calendars, some.facts)
def test_it_is_due_on_the_very_day_it_says(rule: Any, facts: Facts) -> None:
    on = judge(rule, {**facts, "deferred_to": None}).due_on
    assert isinstance(on, date)
    day = {**facts, "deferred_to": None, "today": on.isoformat()}
    assert judge(rule, day).state == "due"
    eve = {**day, "today": (on - timedelta(days=1)).isoformat()}
    assert judge(rule, eve).state == "near"
