"""Intervals over month ends and leap days."""

from __future__ import annotations

from datetime import date

import pytest
from dateutil.relativedelta import relativedelta

from webapp.core.dates import add_interval
from webapp.core.due import judge


# The UK's COSHH regulations have exhaust ventilation examined at least every 14 months, blasting of castings
# every month, dry grinding of metal above 12 hours a week every 6 (Schedule 4, as an insurer quotes it).
@pytest.mark.parametrize(
    ("last", "months", "due"),
    [
        ("2024-12-31", 14, "2026-02-28"),
        ("2026-12-31", 14, "2028-02-29"),
        ("2027-01-31", 1, "2027-02-28"),
        ("2028-01-31", 1, "2028-02-29"),
        ("2027-08-31", 6, "2028-02-29"),
        ("2027-03-30", 6, "2027-09-30"),
    ],
)
def test_examination_intervals(last: str, months: int, due: str) -> None:
    assert date.fromisoformat(last) + relativedelta(months=months) == date.fromisoformat(due)  # the oracle
    assert add_interval(date.fromisoformat(last), "months", months) == date.fromisoformat(due)
    facts = {"today": due, "in_service": True, "start": last, "done": {"date": last, "meters": {}}, "meters": {}}
    verdict = judge({"every": {"months": months}}, facts)
    assert (verdict.state, verdict.due_on) == ("due", date.fromisoformat(due))


@pytest.mark.parametrize(("year", "leap"), [(1996, True), (2000, True), (2027, False), (2028, True), (2100, False)])
def test_leap_years_by_the_gregorian_rule(year: int, leap: bool) -> None:
    """Inter gravissimas (1582): every fourth year, but of the centuries only each fourth (from memory)."""
    after = add_interval(date(year, 2, 28), "days", 1)
    assert after == (date(year, 2, 29) if leap else date(year, 3, 1))


def test_extinguisher_years() -> None:
    """29 CFR 1910.157(e): maintenance yearly, emptied every 6 years, hydrostatic test at 12 (second-hand)."""
    last = date(2024, 2, 29)
    assert [add_interval(last, "years", years) for years in (1, 6, 12)] == [
        date(2025, 2, 28),
        date(2030, 2, 28),
        date(2036, 2, 29),
    ]
