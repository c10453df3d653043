"""The demo's year through the whole upkeep document: what must hold of every figure in it."""

from __future__ import annotations

import json
from datetime import date, timedelta
from typing import Any

import pytest

from tests.seed.conftest import TODAY, Seeded, seeded  # noqa: F401  (a fixture)
from webapp.database import db
from webapp.upkeep import recent
from webapp.upkeep.document import document
from webapp.upkeep.history import day_start_ms

MORNING = day_start_ms(TODAY, "America/New_York", 8)


@pytest.fixture(scope="module")
def told(seeded: Seeded) -> dict[str, Any]:  # noqa: F811
    with seeded.app.app_context():
        return json.loads(json.dumps(document(db.session(), MORNING)))


def rows(told: dict[str, Any], section: str) -> list[dict[str, Any]]:
    return [row for machine in told["machines"].values() for row in machine[section].values()]


def test_every_task_has_its_dates_in_order_and_none_lies_behind(told: dict[str, Any]) -> None:
    tasks = rows(told, "tasks") + list(told["shop"]["tasks"].values())
    assert len(tasks) > 80
    for task in tasks:
        dates = [task[name] or "9999" for name in ("earliest", "likely", "latest")]
        assert dates == sorted(dates) and task["why"].endswith(".")
        if task["by"] == "meter":
            assert dates[0] >= TODAY.isoformat() and task["basis"] and task["unit"] and task["meter"]
            assert (task["likely"] > TODAY.isoformat()) or task["left"] < task["a_week"]
    assert sum(task["by"] == "meter" for task in tasks) >= 6
    assert sum(task["resting"] for task in tasks) >= 1  # the blast cabinet is tagged


def test_every_meter_says_its_unit_and_what_it_rests_on(told: dict[str, Any]) -> None:
    meters = rows(told, "meters")
    assert {meter["basis"] for meter in meters} >= {"measured", "declared"}
    for meter in meters:
        assert meter["unit"] and meter["say"] and len(meter["weekdays"]) == 7
        if meter["a_week"]:
            assert sum(day["mean"] for day in meter["weekdays"]) == pytest.approx(meter["a_week"], abs=0.01)
            assert all(day["sd"] >= 0 for day in meter["weekdays"])


def test_the_mill_runs_as_the_year_was_played(told: dict[str, Any]) -> None:
    """The last 52 weeks of the mill's counter, read at either end of them, over the weeks that were worked."""
    (mill,) = [
        m
        for m in rows(told, "meters")
        if m["kind"] == "spindle_hours" and m["pattern"] == "counted" and m["a_week"] > 10
    ]
    assert mill["a_week"] == pytest.approx(25, rel=0.15)
    monday, friday = mill["weekdays"][0]["mean"], mill["weekdays"][4]["mean"]
    assert friday < 0.85 * monday  # short Fridays


def test_eight_weeks_of_work_add_up(told: dict[str, Any]) -> None:
    weeks = told["workload"]
    monday = TODAY - timedelta(days=TODAY.weekday())
    assert [week["week"] for week in weeks] == [(monday + timedelta(weeks=n)).isoformat() for n in range(8)]
    known = {key for machine in told["machines"].values() for key in machine["tasks"]} | set(told["shop"]["tasks"])
    for week in weeks:
        assert sum(one["minutes"] for one in week["people"]) == pytest.approx(week["minutes"], abs=0.5)
        assert sum(one["minutes"] for one in week["tasks"]) == pytest.approx(week["minutes"], abs=5)
        days = {day for one in week["tasks"] for day in one["on"]}
        start = date.fromisoformat(week["week"])
        assert all(max(start, TODAY).isoformat() <= day < (start + timedelta(weeks=1)).isoformat() for day in days)
    assert sum(one["task"] in known for week in weeks for one in week["tasks"]) > 200
    assert 120 < weeks[1]["minutes"] < 1500
    assert len({one["person"] for week in weeks for one in week["people"]}) >= 3


def test_what_goes_together_is_due_with_something_and_never_far_off(told: dict[str, Any]) -> None:
    for machine in told["machines"].values():
        for bundle in machine["bundles"]:
            assert bundle["because"] or bundle["stopped"]
            assert {machine["tasks"][key]["state"] for key in bundle["because"]} <= {"due", "late"}
            assert all(machine["tasks"][one["task"]]["state"] in ("near", "resting") for one in bundle["with"])


def test_the_same_year_gives_the_same_bytes_whether_kept_or_read_anew(seeded: Seeded, told: dict[str, Any]) -> None:  # noqa: F811
    recent._kept.clear()
    with seeded.app.app_context():
        again = json.dumps(document(db.session(), MORNING))
    assert again == json.dumps(told)
