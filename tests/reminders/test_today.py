"""What is due today, from the record; and the day's roll, once a day and in one process."""

from __future__ import annotations

import threading
from datetime import date

from tests.conftest import Shop
from webapp.core.instants import instant_text, parse_instant
from webapp.database import db, writing
from webapp.reminders.roll import LEASE_MS, hold_lease, roll_day
from webapp.reminders.today import judge_all
from webapp.setup import definitions

NOON = parse_instant("2026-03-02T18:00:00Z")
DAY = 86_400_000


def verdicts(shop: Shop, at: int = NOON) -> dict[str, str]:
    with shop.app.app_context():
        return {row.task["name"]: row.due.state for row in judge_all(db.session(), at)}


def make_task(shop: Shop, name: str, rule: dict, **more: object) -> str:
    body = {"name": name, "machine": shop.mill, "rule": rule, "start": "2026-01-05", "why": "wear"}
    with shop.app.app_context(), writing() as session:
        row = definitions.create(session, "task", body | {"source": "common practice, no source"} | more, shop.owner)
        return str(row["id"])


def test_hours_bring_a_task_near_due_and_late(shop: Shop) -> None:
    for add, state in ((100, "resting"), (130, "near"), (20, "due"), (30, "late")):
        shop.push(shop.added(add, at=instant_text(NOON - DAY)))
        assert verdicts(shop)["Way-oil filter"] == state
    shop.push(shop.entry("task.done", {"task": shop.task}, at=instant_text(NOON - DAY + 1000)))
    assert verdicts(shop)["Way-oil filter"] == "resting"


def test_a_deferral_moves_the_date_and_a_later_doing_ends_it(shop: Shop) -> None:
    task = make_task(shop, "Guards", {"every": {"months": 1}})
    assert verdicts(shop)["Guards"] == "late"
    shop.push(
        shop.entry("task.deferred", {"task": task, "to": "2026-03-20", "why": "on order"}, at=instant_text(NOON - DAY))
    )
    assert verdicts(shop)["Guards"] == "resting"
    shop.push(shop.entry("task.done", {"task": task}, at=instant_text(NOON - 5000)))
    with shop.app.app_context():
        row = next(row for row in judge_all(db.session(), NOON) if row.task["id"] == task)
        assert row.due.due_on == date(2026, 4, 2)


def round_at(shop: Shop, at: int, **over: object) -> dict:
    check = {"check": shop.owner, "answer": "ok", "stop": True}
    body = {
        "checklist": shop.checklist,
        "revision": 1,
        "form": "start-up",
        "started_at": instant_text(at),
        "seconds": 40,
    }
    return shop.entry("round.done", body | {"outcome": "fit", "checks": [check]} | over, at=instant_text(at))


def test_the_start_up_round_is_due_until_it_is_done_and_again_after_a_tag(shop: Shop) -> None:
    make_task(shop, "Start-up round", {"each": "start-up"}, checklist=shop.checklist)
    assert verdicts(shop)["Start-up round"] == "due"
    shop.push(round_at(shop, NOON - 3_600_000))
    assert verdicts(shop)["Start-up round"] == "resting"
    tag = shop.entry("tag.on", {"why": "guard"}, at=instant_text(NOON - 1_800_000))
    off = shop.entry("tag.off", {"tag": tag["id"], "done": "new guard"}, at=instant_text(NOON - 900_000))
    shop.push(tag, off)
    assert verdicts(shop)["Start-up round"] == "due"


def test_the_machine_used_before_its_round_makes_it_late(shop: Shop) -> None:
    make_task(shop, "Start-up round", {"each": "start-up"}, checklist=shop.checklist)
    shop.push(shop.added(1, at=instant_text(NOON - 60_000)))
    assert verdicts(shop)["Start-up round"] == "late"


def test_a_weak_coolant_reading_makes_its_task_due(shop: Shop) -> None:
    make_task(shop, "Top up", {"when": {"reading": "coolant.strength", "below": 6.0}})
    reading = {"quantity": "coolant.strength", "unit": "%"}
    shop.push(shop.entry("reading.taken", reading | {"value": 6.4}))
    assert verdicts(shop)["Top up"] == "resting"
    shop.push(shop.entry("reading.taken", reading | {"value": 5.8}))
    assert verdicts(shop)["Top up"] in ("due", "late")


def test_a_new_blade_arms_its_break_in(shop: Shop) -> None:
    rule = {"after": "part.changed", "part": "blade", "meter": "cut_area", "at": [50]}
    make_task(shop, "Break-in", rule, machine=shop.saw)
    assert verdicts(shop)["Break-in"] == "resting"
    at = NOON - DAY
    cut = {"meter": shop.area, "amount": 30}
    changed = shop.entry("part.changed", {"part": shop.blade, "reason": "dull"}, machine=shop.saw, at=instant_text(at))
    shop.push(changed, shop.entry("meter.added", cut, machine=shop.saw, at=instant_text(at + 1000)))
    assert verdicts(shop)["Break-in"] == "resting"
    shop.push(shop.entry("meter.added", cut, machine=shop.saw, at=instant_text(at + 2000)))
    assert verdicts(shop)["Break-in"] in ("due", "late")


def test_the_day_rolls_once_at_the_shops_midnight(shop: Shop) -> None:
    """Chicago's midnight of 2 March 2026 is 06:00 UTC (CST)."""
    make_task(shop, "Guards", {"every": {"months": 2}}, start="2026-01-02")
    before, after = parse_instant("2026-03-02T05:59:00Z"), parse_instant("2026-03-02T06:00:01Z")
    with shop.app.app_context():
        roll_day(before)
        assert roll_day(before) == []
        became = roll_day(after)
        assert [definitions.get(db.session(), "task", task)["name"] for task in became] == ["Guards"]  # type: ignore[index]
        assert roll_day(after + 3_600_000) == []


def test_one_process_of_many_holds_the_lease_and_another_takes_over(shop: Shop) -> None:
    with shop.app.app_context():
        assert hold_lease("a", NOON) and hold_lease("a", NOON + 1000)
        assert not hold_lease("b", NOON + LEASE_MS)
        assert hold_lease("b", NOON + 2 * LEASE_MS)
        assert not hold_lease("a", NOON + 2 * LEASE_MS + 1)


def test_two_racing_processes_roll_a_day_once(either_shop: Shop) -> None:
    shop = either_shop
    make_task(shop, "Guards", {"every": {"months": 2}}, start="2026-01-02")
    rolled: list[list[str]] = []

    def work() -> None:
        with shop.app.app_context():
            rolled.append(roll_day(NOON))

    with shop.app.app_context():
        roll_day(NOON - 2 * DAY)
    threads = [threading.Thread(target=work) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(map(len, rolled)) == [0, 0, 0, 1]
