"""The shop's upkeep document from a real record: how meters run, when tasks fall due, whose work the weeks hold."""

from __future__ import annotations

import json
from datetime import date, timedelta
from typing import Any

import pytest

from tests.conftest import Shop
from tests.problem import assert_problem
from webapp.core.instants import instant_text
from webapp.database import db, writing
from webapp.records.append import head
from webapp.setup import definitions
from webapp.upkeep.document import document
from webapp.upkeep.history import WINDOW_DAYS, day_start_ms

ZONE = "America/Chicago"
TODAY = date(2026, 11, 9)  # a Monday
MORNING = day_start_ms(TODAY, ZONE, 7)


def at(day: date, hour: float = 15) -> str:
    return instant_text(day_start_ms(day, ZONE) + int(hour * 3_600_000))


def ago(days: int) -> date:
    return TODAY - timedelta(days=days)


def told(shop: Shop, now: int = MORNING) -> dict[str, Any]:
    with shop.app.app_context():
        found = document(db.session(), now)
    return json.loads(json.dumps(found))  # as phones get it


def meter_of(shop: Shop, doc: dict[str, Any] | None = None) -> dict[str, Any]:
    return (doc or told(shop))["machines"][shop.mill]["meters"][shop.spindle]


def task_of(shop: Shop, doc: dict[str, Any] | None = None, task: str | None = None) -> dict[str, Any]:
    return (doc or told(shop))["machines"][shop.mill]["tasks"][task or shop.task]


def run(
    shop: Shop, first: int, last: int, hours: float, *, weekdays: tuple[int, ...] = (0, 1, 2, 3, 4)
) -> list[dict[str, Any]]:
    """Additions of so many hours on each working day from `first` to `last` days ago."""
    days = [ago(n) for n in range(first, last - 1, -1)]
    return [shop.added(hours, at=at(day)) for day in days if day.weekday() in weekdays]


def push(shop: Shop, *entries: dict[str, Any]) -> None:
    for start in range(0, len(entries), 400):
        results = shop.push(*entries[start : start + 400]).get_json()["results"]
        assert {row["outcome"] for row in results} == {"stored"}, results


def edit(shop: Shop, type_: str, key: str | None = None, **changes: Any) -> None:
    with shop.app.app_context(), writing() as session:
        row = next(one for one in definitions.list_all(session, type_) if key in (None, one["id"]))
        body = {name: value for name, value in row.items() if name not in ("id", "revision", "retired")}
        retired = changes.pop("retired", False)
        definitions.update(session, type_, row["id"], body | changes, row["revision"], shop.owner, retired=retired)


def make_task(shop: Shop, name: str, rule: dict[str, Any], **more: Any) -> str:
    body = {"name": name, "machine": shop.mill, "rule": rule, "start": "2026-01-05", "why": "wear"}
    with shop.app.app_context(), writing() as session:
        row = definitions.create(session, "task", body | {"source": "common practice, no source"} | more, shop.owner)
        return str(row["id"])


def test_before_anything_ran_the_shops_hours_alone_speak(shop: Shop) -> None:
    meter, task = meter_of(shop), task_of(shop)
    assert meter["basis"] == task["basis"] == "declared" and meter["days"] == 0
    assert meter["a_week"] == meter["declared_a_week"] == pytest.approx(12)  # 30 hours a week, 0.4 of them
    assert "nothing measured yet" in meter["say"] and "nothing measured yet" in task["why"]
    assert task["earliest"] < task["likely"] and task["left"] == 250 and task["unit"] == "h"


def test_a_meter_without_a_declared_rate_and_without_use_has_no_date(shop: Shop) -> None:
    task = make_task(shop, "Blade", {"meter": "cut_area", "every": 500}, machine=shop.saw)
    found = told(shop)["machines"][shop.saw]
    assert found["meters"][shop.area]["a_week"] is None and found["meters"][shop.area]["basis"] is None
    assert found["tasks"][task]["likely"] is None and "no use recorded yet" in found["tasks"][task]["why"]


def test_four_hours_a_working_day_fill_the_rest_when_they_should(shop: Shop) -> None:
    push(shop, *run(shop, 76, 1, 4))  # 10 weeks of 20 h, and four days: 216 h
    meter, task = meter_of(shop), task_of(shop)
    assert meter["a_week"] == pytest.approx(20, rel=0.03) and meter["basis"] == "measured"
    assert [day["mean"] for day in meter["weekdays"]] == pytest.approx([4] * 5 + [0, 0], rel=0.1)
    ran = 4 * sum(ago(n).weekday() < 5 for n in range(1, 77))
    assert meter["total"] == ran and task["left"] == 250 - ran and task["state"] == "resting"
    # 34 h are left: 8.5 working days, the ninth of which is Thursday of next week.
    assert task["likely"] == "2026-11-19"
    assert task["earliest"] in ("2026-11-18", "2026-11-19") and task["latest"] in ("2026-11-19", "2026-11-20")
    assert task["by"] == "meter" and "eight times in ten" in task["why"]


def test_few_weeks_are_called_mixed_and_the_range_is_wide(shop: Shop) -> None:
    push(shop, *run(shop, 6, 1, 4))
    meter, task = meter_of(shop), task_of(shop)
    assert meter["basis"] == "mixed" and meter["days"] == 4 and "few data yet" in meter["say"]
    width = date.fromisoformat(task["latest"]) - date.fromisoformat(task["earliest"])
    assert width > timedelta(days=20)


def test_an_amended_batch_counts_as_amended_and_a_voided_one_not_at_all(shop: Shop) -> None:
    push(shop, *run(shop, 71, 1, 4))
    before = meter_of(shop)
    wrong = shop.entry("batch.run", {"adds": {shop.spindle: 400}}, at=at(ago(3), 14))
    push(shop, wrong)
    assert meter_of(shop)["a_week"] > 1.3 * before["a_week"]
    body = {"entry": wrong["id"], "kind": "batch.run", "body": {"adds": {shop.spindle: 0}}, "why": "a nought too many"}
    push(shop, shop.entry("entry.amended", body, at=at(ago(2), 16)))
    assert meter_of(shop)["a_week"] == before["a_week"]
    push(shop, shop.entry("entry.voided", {"entry": wrong["id"], "why": "not ours"}, at=at(ago(2), 17)))
    assert meter_of(shop)["a_week"] == before["a_week"]


def test_entries_that_come_late_and_out_of_order_give_the_same_document(shop: Shop) -> None:
    entries = [*run(shop, 60, 1, 4), shop.entry("meter.read", {"meter": shop.spindle, "value": 90}, at=at(ago(35)))]
    push(shop, *sorted(entries, key=lambda entry: hash(entry["id"])))
    first = told(shop)
    push(shop, shop.note(at=at(ago(70))))
    second = told(shop)
    assert second.pop("head") == first.pop("head") + 1
    assert first == second


def test_readings_alone_spread_back_and_the_days_since_the_last_are_reckoned_with(shop: Shop) -> None:
    for week in range(20, 0, -1):
        value = 1000 + (20 - week) * 20
        push(shop, shop.entry("meter.read", {"meter": shop.spindle, "value": value}, at=at(ago(week * 7 + 3), 16)))
    meter, task = meter_of(shop), task_of(shop)
    assert meter["pattern"] == "read" and meter["known_to"] == ago(10).isoformat()
    assert meter["a_week"] == pytest.approx(20, rel=0.05)
    # The task counts from nought: it has long been reached.
    assert task["state"] == "late" and task["reached"] == 1 and task["why"].endswith("due now.")
    new = make_task(shop, "Belt", {"meter": "spindle_hours", "every": 15}, meter_start={shop.spindle: 1380})
    task = task_of(shop, task=new)
    # 15 h were left ten days ago, and 20 h a week have likely run since.
    assert task["reached"] > 0.8 and task["likely"] == TODAY.isoformat() and "read the counter" in task["why"]
    # Hours counted on by hand since then are some of those, not hours on top of them.
    push(shop, shop.added(2, at=at(ago(4))))
    again = task_of(shop, task=new)
    assert again["left"] == 13 and again["reached"] == pytest.approx(task["reached"], abs=0.02)


def test_a_replaced_counter_leaves_a_gap_and_no_leap(shop: Shop) -> None:
    faces = [(38, 500, False), (31, 520, False), (24, 540, False), (17, 2, True), (10, 22, False), (3, 42, False)]
    for days, value, replaced in faces:
        body = {"meter": shop.spindle, "value": value} | ({"replaced": True} if replaced else {})
        push(shop, shop.entry("meter.read", body, at=at(ago(days), 16)))
    meter = meter_of(shop)
    assert meter["replaced"] == 1 and meter["days"] == 20
    assert meter["a_week"] == pytest.approx(20, rel=0.05) and meter["total"] == 580
    assert [note[:21] for note in meter["notes"]] == ["A counter was replace", "Less than a year of d"]


def test_a_reading_below_the_one_before_is_told_of(shop: Shop) -> None:
    push(shop, shop.entry("meter.read", {"meter": shop.spindle, "value": 100}, at=at(ago(20))))
    push(shop, shop.entry("meter.read", {"meter": shop.spindle, "value": 150}, at=at(ago(2))))
    # Made earlier by the clock than the one before, so the door could not see it.
    push(shop, shop.entry("meter.read", {"meter": shop.spindle, "value": 170}, at=at(ago(10))))
    meter = meter_of(shop)
    assert meter["backwards"] == 1 and meter["notes"][0].startswith("1 reading was below the one before")


def test_holidays_rest_the_clock_ahead_and_are_no_days_without_use_behind(shop: Shop) -> None:
    push(shop, *run(shop, 76, 15, 4), *run(shop, 7, 1, 4))
    idle = meter_of(shop)["a_week"]
    ahead = task_of(shop)["likely"]
    edit(shop, "shop", holidays=[ago(n).isoformat() for n in range(14, 7, -1)] + ["2026-11-11", "2026-11-12"])
    doc = told(shop)
    assert meter_of(shop, doc)["a_week"] > idle
    assert task_of(shop, doc)["likely"] > ahead or meter_of(shop, doc)["a_week"] > 1.05 * idle
    edit(shop, "shop", holidays=[(TODAY + timedelta(days=n)).isoformat() for n in range(28)])
    assert task_of(shop)["earliest"] >= (TODAY + timedelta(days=28)).isoformat()


def test_a_machine_out_of_service_rests_and_its_days_do_not_count(shop: Shop) -> None:
    push(shop, *run(shop, 76, 22, 4))
    tag = shop.entry("tag.on", {"why": "spindle noise"}, at=at(ago(21), 8))
    push(shop, tag)
    doc = told(shop)
    task = task_of(shop, doc)
    assert meter_of(shop, doc)["a_week"] == pytest.approx(20, rel=0.03)  # three weeks of nothing do not weigh
    assert task["resting"] and task["likely"] is None and task["by"] is None
    early, likely, late = task["after_return"]
    assert 0 < early <= likely <= late and "after its return" in task["why"]
    push(shop, shop.entry("tag.off", {"tag": tag["id"], "done": "bearing"}, at=at(ago(1), 8)))
    doc = told(shop)
    assert meter_of(shop, doc)["a_week"] == pytest.approx(20, rel=0.03)
    assert task_of(shop, doc)["likely"] == (TODAY + timedelta(days=likely)).isoformat()


def test_first_of_takes_the_earlier_of_calendar_and_meter(shop: Shop) -> None:
    push(shop, *run(shop, 76, 1, 4), shop.entry("task.done", {"task": shop.task}, at=at(ago(1), 16)))
    soon = make_task(
        shop,
        "A",
        {"first_of": [{"meter": "spindle_hours", "every": 5000}, {"every": {"days": 400}}]},
        start="2026-01-05",
    )
    later = make_task(
        shop, "B", {"first_of": [{"meter": "spindle_hours", "every": 240}, {"every": {"years": 9}}]}, start="2026-01-05"
    )
    doc = told(shop)
    assert task_of(shop, doc, soon)["by"] == "calendar"
    assert task_of(shop, doc, soon)["likely"] == task_of(shop, doc, soon)["latest"] == "2027-02-09"
    assert "the calendar comes first, on 9 Feb 2027" in task_of(shop, doc, soon)["why"]
    assert task_of(shop, doc, later)["by"] == "meter" and task_of(shop, doc, later)["latest"] < "2027-01-01"


def test_a_condition_that_holds_is_work_of_today(shop: Shop) -> None:
    rule = {
        "first_of": [{"when": {"reading": "coolant.strength", "below": 6}}, {"meter": "spindle_hours", "every": 900}]
    }
    task = make_task(shop, "Strengthen", rule)
    assert task_of(shop, task=task)["by"] == "meter"
    reading = {"quantity": "coolant.strength", "value": 4.5, "unit": "%"}
    push(shop, shop.entry("reading.taken", reading, at=at(ago(1))))
    found = task_of(shop, task=task)
    assert found["by"] == "condition" and found["likely"] == TODAY.isoformat() and "below 6" in found["why"]


def test_rules_after_an_event_that_run_on_a_meter_have_a_date(shop: Shop) -> None:
    task = make_task(
        shop, "Break-in", {"after": "part.changed", "part": "blade", "meter": "cut_area", "at": [50]}, machine=shop.saw
    )
    adds = [
        shop.entry("meter.added", {"meter": shop.area, "amount": 10}, machine=shop.saw, at=at(ago(n), 14))
        for n in range(60, 0, -1)
        if ago(n).weekday() < 5
    ]
    assert told(shop)["machines"][shop.saw]["tasks"][task]["meter"] is None
    push(
        shop,
        *adds,
        shop.entry("part.changed", {"part": shop.blade, "reason": "worn"}, machine=shop.saw, at=at(ago(1), 18)),
    )
    found = told(shop)["machines"][shop.saw]["tasks"][task]
    assert found["left"] == 50 and found["meter"] == shop.area and found["likely"] in ("2026-11-13", "2026-11-16")


def test_a_deferred_task_keeps_its_range_and_names_its_date(shop: Shop) -> None:
    push(shop, *run(shop, 76, 1, 4))
    push(
        shop, shop.entry("task.deferred", {"task": shop.task, "to": "2026-12-01", "why": "on order"}, at=at(ago(1), 18))
    )
    doc = told(shop)
    task = task_of(shop, doc)
    assert task["deferred_to"] == task["due_on"] == "2026-12-01" and task["likely"] == "2026-11-19"
    weeks = {row["week"] for row in doc["workload"] for one in row["tasks"] if one["task"] == shop.task}
    assert min(weeks) == "2026-11-30"


def test_the_weeks_ahead_hold_what_comes_back_and_whose_it_is(shop: Shop) -> None:
    oil = make_task(shop, "Oil", {"every": {"days": 7}}, minutes=12, start="2026-11-04")
    push(shop, *[shop.entry("task.done", {"task": oil}, at=at(ago(n), 10)) for n in (19, 12, 5)])
    raised = shop.entry("task.raised", {"title": "Mend the hose", "minutes": 30}, at=at(ago(2), 10))
    push(shop, raised)
    weeks = told(shop)["workload"]
    assert [row["week"] for row in weeks] == [(TODAY + timedelta(weeks=n)).isoformat() for n in range(8)]
    oils = [one for row in weeks for one in row["tasks"] if one["task"] == oil]
    assert [one["on"] for one in oils] == [[(date(2026, 11, 11) + timedelta(weeks=n)).isoformat()] for n in range(8)]
    assert {one["person"] for one in oils} == {shop.owner}
    first = {person["person"]: person["minutes"] for person in weeks[0]["people"]}
    assert first == {shop.owner: 12, None: 30}
    edit(shop, "person", shop.owner, retired=True)
    assert told(shop)["workload"][0]["people"] == [{"person": None, "minutes": 42}]


def test_a_meter_task_comes_back_at_the_usual_pace(shop: Shop) -> None:
    quick = make_task(shop, "Wipe", {"meter": "spindle_hours", "every": 40}, minutes=3)
    push(shop, *run(shop, 76, 1, 4), shop.entry("task.done", {"task": quick}, at=at(ago(3), 16)))
    days = [day for row in told(shop)["workload"] for one in row["tasks"] if one["task"] == quick for day in one["on"]]
    assert len(days) in (3, 4) and all(date.fromisoformat(day).weekday() < 5 for day in days)


def test_near_tasks_join_one_that_is_due_while_the_machine_is_locked_out(shop: Shop) -> None:
    push(shop, *run(shop, 90, 1, 4))  # the way-oil filter, every 250 h, is due
    edit(shop, "task", shop.task, cautions=["lock_out"], minutes=20)
    near = make_task(shop, "Fan mat", {"meter": "spindle_hours", "every": 270}, cautions=["lock_out"], minutes=10)
    make_task(shop, "Far", {"meter": "spindle_hours", "every": 900}, cautions=["lock_out"])
    (bundle,) = told(shop)["machines"][shop.mill]["bundles"]
    assert bundle["because"] == [shop.task] and [row["task"] for row in bundle["with"]] == [near]
    assert bundle["lock_out"] and bundle["saved"] == 5 and bundle["minutes"] == 30 and not bundle["stopped"]
    assert bundle["why"].startswith("While Mill 1 is locked out for “Way-oil filter”: also “Fan mat” (10 min")


def test_phones_ask_again_and_are_told_only_what_is_new(shop: Shop) -> None:
    first = shop.get("/upkeep")
    tag = first.headers["ETag"]
    assert first.status_code == 200 and first.get_json()["machines"].keys() == {shop.mill, shop.saw}
    assert first.get_json()["as_of"][-6] in "+-" and first.get_json()["time_zone"] == ZONE
    client = shop.app.test_client()
    again = client.get("/api/v1/upkeep", headers=shop.headers() | {"If-None-Match": tag})
    assert again.status_code == 304 and not again.get_data() and again.headers["ETag"] == tag
    with shop.app.app_context(), writing() as session:
        head(session).epoch = "restored"
    restored = client.get("/api/v1/upkeep", headers=shop.headers() | {"If-None-Match": tag})
    assert restored.status_code == 200 and restored.headers["ETag"] != tag
    shop.push(shop.added(1))
    changed = client.get("/api/v1/upkeep", headers=shop.headers() | {"If-None-Match": tag})
    assert changed.status_code == 200 and changed.headers["ETag"] != tag
    assert_problem(shop.app.test_client().get("/api/v1/upkeep"), 401)


def test_the_same_record_gives_the_same_bytes(either_shop: Shop) -> None:
    push(either_shop, *run(either_shop, 40, 1, 4))
    texts = {json.dumps(told(either_shop)) for _ in range(2)}
    assert len(texts) == 1


def test_what_is_older_than_the_window_is_not_read(shop: Shop) -> None:
    push(shop, *run(shop, 60, 1, 4))
    before = meter_of(shop)
    push(shop, *run(shop, WINDOW_DAYS + 60, WINDOW_DAYS + 2, 9))
    after = meter_of(shop)
    assert after["total"] > before["total"]
    assert {**after, "total": 0} == {**before, "total": 0}


def test_a_retired_machine_and_its_tasks_are_gone(shop: Shop) -> None:
    edit(shop, "machine", shop.mill, retired=True)
    doc = told(shop)
    assert doc["machines"].keys() == {shop.saw}
    assert not [one for row in doc["workload"] for one in row["tasks"] if one["machine"] == shop.mill]


def test_a_shop_not_yet_set_up_has_an_empty_document(app: Any) -> None:
    with app.app_context():
        found = document(db.session(), MORNING)
    assert found["machines"] == {} and len(found["workload"]) == 8
