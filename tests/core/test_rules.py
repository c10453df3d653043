"""Due rules that cannot be used are refused with the field, the problem and a mend."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.core import strategies as some
from webapp.core.due import RuleError, judge, parse, validate
from webapp.core.rules import After, Calendar, Each, FirstOf, Meter, Recurrence, When, fixed

ZONE = "America/New_York"
MONTHLY = {"rrule": "FREQ=MONTHLY;BYDAY=1MO", "anchor": "2027-01-04"}
BREAK_IN = {"after": "part.changed", "part": "blade", "meter": "cut_area", "at": [50]}


def test_every_form_of_the_design_is_read() -> None:
    assert parse({"every": {"months": 6}}) == Calendar("months", 6)
    assert parse({"meter": "spindle_hours", "every": 250}) == Meter("spindle_hours", 250)
    assert parse({"each": "start-up"}) == Each("start-up")
    assert parse(BREAK_IN) == After("part.changed", "blade", "cut_area", (50,), None)
    assert parse({"after": "fluid.changed", "fluid": "coolant", "days": 7}) == After(
        "fluid.changed", "coolant", None, (), 7
    )
    assert parse({"when": {"reading": "coolant.strength", "below": 6.0}}) == When("coolant.strength", 6.0, None)
    rule = parse({"first_of": [{"meter": "spindle_hours", "every": 250}, MONTHLY]})
    assert isinstance(rule, FirstOf)
    assert fixed(rule) == Recurrence((("FREQ", "MONTHLY"), ("BYDAY", "1MO")), datetime(2027, 1, 4), "rule.first_of[1]")


def test_the_prefix_of_a_calendar_file_is_taken() -> None:
    rule = parse({"rrule": "RRULE:freq=daily;", "anchor": "2027-01-04"})
    assert isinstance(rule, Recurrence)
    assert rule.parts == (("FREQ", "DAILY"),)


REFUSED: list[tuple[Any, str]] = [
    (None, "rule"),
    ("every 6 months", "rule"),
    ({}, "rule"),
    ({"evry": {"months": 6}}, "rule"),
    ({"every": {"months": 6}, "mater": "cuts"}, "rule.mater"),
    ({"every": 250}, "rule.every"),
    ({"every": {}}, "rule.every"),
    ({"every": {"months": 6, "days": 3}}, "rule.every"),
    ({"every": {"fortnights": 1}}, "rule.every.fortnights"),
    ({"every": {"months": 0}}, "rule.every.months"),
    ({"every": {"months": 1.5}}, "rule.every.months"),
    ({"every": {"months": True}}, "rule.every.months"),
    ({"every": {"years": 101}}, "rule.every.years"),
    ({"meter": "spindle_hours"}, "rule.every"),
    ({"meter": "spindle_hours", "every": 0}, "rule.every"),
    ({"meter": "spindle_hours", "every": float("inf")}, "rule.every"),
    ({"meter": "spindle_hours", "every": {"months": 6}}, "rule.every"),
    ({"meter": "odometer", "every": 5}, "rule.meter"),
    ({"meter": 3, "every": 5}, "rule.meter"),
    ({"each": "midnight"}, "rule.each"),
    ({"after": "note.made", "days": 1}, "rule.after"),
    ({"after": ["part.changed"], "days": 1}, "rule.after"),
    ({"after": "part.changed", "days": 1}, "rule.part"),
    ({"after": "tag.off", "part": "blade", "days": 1}, "rule.part"),
    ({"after": "tag.off", "only": "t1", "days": 1}, "rule.only"),
    ({**BREAK_IN, "only": 7}, "rule.only"),
    ({**BREAK_IN, "only": " "}, "rule.only"),
    ({"after": "part.changed", "only": "t1", "days": 1}, "rule.part"),
    ({"after": "part.changed", "part": "blade"}, "rule"),
    ({**BREAK_IN, "days": 7}, "rule"),
    ({"after": "part.changed", "part": "blade", "at": [50]}, "rule.meter"),
    ({**BREAK_IN, "at": []}, "rule.at"),
    ({**BREAK_IN, "at": 50}, "rule.at"),
    ({**BREAK_IN, "at": [200, 50]}, "rule.at"),
    ({**BREAK_IN, "at": [50, -1]}, "rule.at[1]"),
    ({"after": "tag.off", "days": -1}, "rule.days"),
    ({"when": "coolant.strength < 6"}, "rule.when"),
    ({"when": {"below": 6}}, "rule.when.reading"),
    ({"when": {"reading": "coolant.strength"}}, "rule.when"),
    ({"when": {"reading": "coolant.strength", "below": "6"}}, "rule.when.below"),
    ({"when": {"reading": "coolant.strength", "below": 6, "above": 5}}, "rule.when.below"),
    ({"when": {"reading": "coolant.strength", "under": 6}}, "rule.when.under"),
    ({"first_of": []}, "rule.first_of"),
    ({"first_of": [{"every": {"months": 6}}]}, "rule.first_of"),
    ({"first_of": [{"every": {"months": 6}}, {"every": {"months": 0}}]}, "rule.first_of[1].every.months"),
    ({"first_of": [MONTHLY, MONTHLY]}, "rule.first_of"),
    ({"first_of": [MONTHLY, {"first_of": [MONTHLY, {"each": "start-up"}]}]}, "rule.first_of"),
    ({"rrule": "FREQ=DAILY"}, "rule.anchor"),
    ({"rrule": "", "anchor": "2027-01-04"}, "rule.rrule"),
    ({"rrule": "every monday", "anchor": "2027-01-04"}, "rule.rrule"),
    ({"rrule": "FREQ=DAILY", "anchor": "4 Jan 2027"}, "rule.anchor"),
    ({"rrule": "FREQ=DAILY", "anchor": "2027-02-29"}, "rule.anchor"),
    ({"rrule": "FREQ=DAILY", "anchor": "2027-01-04T08:00:00Z"}, "rule.anchor"),
    ({"rrule": "BYDAY=MO", "anchor": "2027-01-04"}, "rule.rrule"),
    ({"rrule": "FREQ=DAILY;FREQ=WEEKLY", "anchor": "2027-01-04"}, "rule.rrule"),
    ({"rrule": "FREQ=DAILY;COUNT=3;UNTIL=20270201", "anchor": "2027-01-04"}, "rule.rrule"),
]


@pytest.mark.parametrize(("rule", "field"), REFUSED, ids=[str(rule) for rule, _ in REFUSED])
def test_a_refusal_names_the_field_and_the_mend(rule: Any, field: str) -> None:
    with pytest.raises(RuleError) as refused:
        parse(rule)
    assert refused.value.field == field
    assert refused.value.problem.endswith(".") and refused.value.mend.endswith(".")


def test_judge_refuses_what_parse_refuses() -> None:
    with pytest.raises(RuleError):
        judge({"every": {"months": 0}}, {"today": "2027-03-02"})


@pytest.mark.parametrize("frequency", ["SECONDLY", "MINUTELY", "HOURLY", "FORTNIGHTLY"])
def test_a_rule_by_the_hour_or_less_is_refused_before_it_is_expanded(frequency: str) -> None:
    with pytest.raises(RuleError, match="meter"):
        parse({"rrule": f"FREQ={frequency}", "anchor": "2027-01-04"})


@pytest.mark.parametrize(
    "rrule",
    [
        "FREQ=MONTHLY;BYDAY=9XX",
        "FREQ=MONTHLY;BYMONTHDAY=first",
        "FREQ=DAILY;INTERVAL=0",
        "FREQ=DAILY;INTERVAL=-1",
        "FREQ=DAILY;INTERVAL=many",
        "FREQ=DAILY;UNTIL=soon",
        "FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30",
        "FREQ=YEARLY;BYMONTH=13",
        "FREQ=DAILY;UNTIL=20260101",
        "FREQ=DAILY;COUNT=0",
        "FREQ=DAILY;WKST=XX",
        "FREQ=MONTHLY;BYDAY=MO;BYSETPOS=0",
    ],
)
def test_a_rule_that_cannot_be_or_never_falls_is_refused_when_it_is_stored(rrule: str) -> None:
    with pytest.raises(RuleError) as refused:
        validate({"first_of": [{"every": {"months": 1}}, {"rrule": rrule, "anchor": "2027-01-04"}]}, ZONE)
    assert refused.value.field == "rule.first_of[1].rrule"


def test_a_zone_that_does_not_exist_is_named() -> None:
    for zone in ("America/Atlantis", "", "../etc/passwd", "America"):
        with pytest.raises(RuleError) as refused:
            validate(MONTHLY, zone)
        assert refused.value.field == "time_zone"


@given(some.rules)
def test_what_the_strategies_make_is_accepted(rule: Any) -> None:
    parse(rule)


WORDS = ["every", "meter", "rrule", "anchor", "each", "after", "part", "at", "days", "when", "first_of"]
WORDS += ["reading", "below", "above", "months", "x"]
json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8) | some.days,
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.sampled_from(WORDS),
            inner,
            max_size=4,
        )
    ),
    max_leaves=12,
)


@given(json_values)
def test_any_json_is_read_or_refused_and_nothing_else(rule: Any) -> None:
    try:
        parse(rule)
    except RuleError as refused:
        assert refused.field.startswith("rule")


words = st.sampled_from(["MO", "1MO", "-1FR", "0", "1", "-1", "31", "400", "2", "x", "MO,WE", ""])
names = st.sampled_from(["INTERVAL", "COUNT", "BYDAY", "BYMONTHDAY", "BYMONTH", "BYSETPOS", "BYYEARDAY", "BYWEEKNO"])


# A rule that never falls is searched to the year 9999 before it is refused: a third of a second.
@settings(deadline=None, max_examples=50)
@given(st.sampled_from(["MONTHLY", "YEARLY"]), st.dictionaries(names, words, max_size=3))
def test_any_rrule_is_expanded_or_refused_and_nothing_else(frequency: str, parts: dict[str, str]) -> None:
    text = ";".join([f"FREQ={frequency}", *(f"{name}={word}" for name, word in parts.items())])
    try:
        rule = validate({"rrule": text, "anchor": "2027-01-04"}, ZONE)
    except RuleError as refused:
        assert refused.field == "rule.rrule"
    else:
        assert isinstance(rule, Recurrence)
        assert rule.anchor.date() == date(2027, 1, 4)
