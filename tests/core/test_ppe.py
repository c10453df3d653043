"""Sign-offs and protective equipment: who is current on a day, and how refusals name their field."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.core.outcomes import refused
from webapp.core import ppe
from webapp.core.respirators import FIT_MONTHS

DAY = date(2027, 3, 2)
NEAR = st.integers(-500, 500).map(lambda days: DAY + timedelta(days=days))


@given(NEAR, NEAR)
def test_a_thing_holds_through_its_last_day_and_no_longer(done: date, until: date) -> None:
    if until < done:
        assert refused(ppe.standing, {"done": done, "until": until, "today": DAY}) == "until"
        return
    found = ppe.standing(done, until, DAY)
    holds = found.word in ("current", "near its end")
    assert holds == (done <= DAY <= until)
    assert found.word != "lapsed" or (found.days is not None and found.days < 0)


@given(NEAR)
def test_a_fit_test_holds_a_year(done: date) -> None:
    """29 CFR 1910.134(f)(2), from memory: at least annually."""
    found = ppe.renewed(done, "months", FIT_MONTHS, DAY)
    due = ppe.next_due(done, "months", FIT_MONTHS)
    assert due == ppe.next_due(done, "years", 1)
    assert 365 <= (due - done).days <= 366
    assert (found.word == "lapsed") == (due < DAY)


@given(st.lists(st.tuples(st.sampled_from("abc"), NEAR, NEAR, st.sampled_from("abcl")), max_size=8))
def test_whoever_lacks_one_is_told_and_nobody_else(rows: list[tuple[str, date, date, str]]) -> None:
    signed = [ppe.SignOff(person, "m1", on, by, until) for person, on, until, by in rows if until >= on]
    found = {one.person for one in ppe.lacking(signed, "abc", "m1", DAY)}
    for person in "abc":
        held = any(one.person == person and one.on <= DAY <= (one.until or DAY) for one in signed)
        assert (person in found) != held
    assert {one.person for one in ppe.lacking(signed, "abc", "m2", DAY)} == set("abc")


def test_a_sign_off_by_another_goes_before_ones_own() -> None:
    own = ppe.SignOff("ann", "saw", DAY, "ann", None)
    other = ppe.SignOff("ann", "saw", DAY, "lee", DAY + timedelta(days=400))
    assert "Signed by themselves." not in ppe.sign_off([own, other], "ann", "saw", DAY).why
    assert "Signed by themselves." in ppe.sign_off([own], "ann", "saw", DAY).why


@pytest.mark.parametrize("value", [0, -1, 0.5, float("nan"), "1", None, True, 601])
def test_a_count_that_is_none_is_refused(value: Any) -> None:
    assert refused(ppe.next_due, {"last": DAY, "unit": "months", "count": value}) == "count"
