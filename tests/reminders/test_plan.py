"""Who is told what, when, and how often; and what stops by itself."""

from __future__ import annotations

import json

import pytest

from tests.reminders.conftest import Office
from webapp.core.instants import instant_text
from webapp.database import db, writing
from webapp.reminders import delivery, plan
from webapp.reminders.channels.outcome import Outcome
from webapp.reminders.models import Foretold, Subscription
from webapp.reminders.people import people_of
from webapp.setup.ids import now_ms


def told(office: Office, **where: object) -> list[str]:
    """The needs that were told, by their kind and what they say."""
    return [json.loads(row["body"])["what"] for row in office.rows(**where) if row["told_ms"] and row["body"] != "{}"]


def subscribe(office: Office, person: str, name: str = "a") -> str:
    """A browser of theirs."""
    with office.app.app_context(), writing() as session:
        made = Subscription(
            id=f"00000000-0000-7000-8000-00000000000{name}", device=office.shop.device, person=person,
            endpoint=f"https://push.example/{name}", p256dh="x", auth="y", made_ms=0,
        )  # fmt: skip
        session.add(made)
        return made.id


def test_a_task_is_told_when_due_and_again_when_late_and_stops_when_done(office: Office) -> None:
    task = office.task("Grease the vise", {"every": {"weeks": 4}})
    subscribe(office, office.shop.owner)
    office.remind()
    assert told(office) == ["Grease the vise is due"] and len(office.sent()) == 1
    for _ in range(20):
        office.clock.on(minutes=20)
        office.remind()
    assert len(office.sent()) == 1
    office.clock.at("2026-03-03 07:00")
    office.remind()
    assert told(office, closed_ms=None) == ["Grease the vise is late"] and len(office.sent()) == 2
    office.log("task.done", {"task": task})
    office.remind()
    assert office.rows(closed_ms=None) == []


def test_what_is_near_waits_for_the_digest(office: Office) -> None:
    office.task("Grease the vise", {"every": {"weeks": 4}}, start="2026-02-04")
    subscribe(office, office.shop.owner)
    office.clock.at("2026-03-02 05:30")
    office.remind()
    assert office.rows(kind="near") and not office.sent()
    office.clock.at("2026-03-02 06:05")
    office.remind()
    assert told(office) == ["Grease the vise is coming up"] and len(office.sent()) == 1
    office.remind()
    assert len(office.sent()) == 1


def test_nothing_is_told_at_night_on_a_day_off_or_on_a_holiday(office: Office) -> None:
    office.edit("shop", holidays=["2026-03-09"])
    office.task("Grease the vise", {"every": {"weeks": 4}}, start="2026-02-07")  # due on Saturday 7 March
    subscribe(office, office.shop.owner)
    for moment in ("2026-03-06 23:59", "2026-03-07 10:00", "2026-03-08 10:00", "2026-03-09 10:00", "2026-03-10 05:59"):
        office.clock.at(moment)
        office.remind()
        assert not office.sent(), moment
    office.clock.at("2026-03-10 06:00")
    office.remind()
    assert len(office.sent()) == 1 and told(office, closed_ms=None) == ["Grease the vise is late"]


def test_quiet_hours_of_ones_own_go_before_the_shifts(office: Office) -> None:
    quiet = {"quiet": {"begins": "12:00", "ends": "09:30"}}
    office.edit("person", office.shop.owner, reminders=quiet)
    office.task("Grease the vise", {"every": {"weeks": 4}})
    subscribe(office, office.shop.owner)
    for moment, count in (("07:00", 0), ("09:29", 0), ("09:30", 1), ("12:00", 1)):
        office.clock.at(f"2026-03-02 {moment}")
        office.remind()
        assert len(office.sent()) == count, moment


def test_needs_are_bundled_and_the_next_message_waits(office: Office) -> None:
    office.task("Grease the vise", {"every": {"weeks": 4}})
    office.task("Look at the belts", {"every": {"weeks": 4}})
    subscribe(office, office.shop.owner)
    office.remind()
    (message,) = [json.loads(row["payload"]) for row in office.sent()]
    assert message["title"] == "2 things to see to at Quill Metal" and message["link"] == "#/today"
    for one in message["items"]:
        assert one["where"] == "Mill 1" and one["minutes"] == 5 and "due today" in one["why"]
        assert one["link"].startswith(f"#/task/{office.shop.mill}/")
    office.task("Wipe the ways", {"every": {"weeks": 4}})
    office.clock.on(minutes=10)
    office.remind()
    assert len(office.sent()) == 1
    office.clock.on(minutes=20)
    office.remind()
    assert len(office.sent()) == 2


def test_work_goes_to_who_does_it_and_up_to_the_owner_after_a_day(office: Office) -> None:
    member = office.person("Ben Roe")
    office.task("Grease the vise", {"every": {"weeks": 4}}, start="2026-02-01")  # late since yesterday
    office.remind()
    assert {row["person"] for row in office.rows(kind="late")} == {member}
    office.clock.at("2026-03-03 06:50")
    office.remind()
    assert {row["person"] for row in office.rows(kind="late")} == {member}
    office.clock.at("2026-03-03 07:00")
    office.remind()
    (up,) = office.rows(kind="late", person=office.shop.owner)
    assert up["told_ms"] and "Ben Roe was told on 2 Mar 2026" in json.loads(up["body"])["why"]
    office.log("task.done", {"task": json.loads(office.rows(kind="late", person=member)[0]["body"])["task"]})
    office.remind()
    assert not office.rows(closed_ms=None)


def test_who_looks_after_one_machine_hears_of_that_one(office: Office) -> None:
    office.person("Ben Roe", reminders={"machines": [office.shop.saw]})
    office.task("Grease the vise", {"every": {"weeks": 4}})
    office.remind()
    assert {row["person"] for row in office.rows(kind="due")} == {office.shop.owner}


def test_a_round_is_asked_for_at_its_hour_on_working_days(office: Office) -> None:
    office.task("Start-up", {"each": "start-up"}, checklist=office.shop.checklist)
    for moment, count in (("2026-03-01 10:00", 0), ("2026-03-02 08:59", 0), ("2026-03-02 09:00", 1)):
        office.clock.at(moment)
        office.remind()
        assert len(office.rows(kind="round")) == count, moment
    (row,) = office.rows(kind="round")
    body = json.loads(row["body"])
    assert body["link"] == f"#/round/{office.shop.mill}/{office.shop.checklist}" and body["task"] is None
    office.clock.at("2026-03-02 10:00")
    office.shop.push(office.shop.added(1, at="2026-03-02T15:00:00Z"))
    office.remind()
    assert "used before" in json.loads(office.rows(kind="round", closed_ms=None)[0]["body"])["what"]


def test_a_tag_left_on_stock_papers_and_phones_are_the_owners(office: Office) -> None:
    member = office.person("Ben Roe")
    office.edit("item", office.shop.blades, reorder_at=2)
    office.log("stock.counted", {"item": office.shop.blades, "count": 2}, machine=None)
    office.log("tag.on", {"why": "guard off"})
    office.log(
        "training.signed",
        {"person": member, "topic": "first aid", "outside": "a course", "expires": "2026-03-20"},
        machine=None,
    )
    fit = {
        "person": member,
        "respirator": "half mask",
        "method": "qualitative",
        "result": "pass",
        "expires": "2026-06-01",
    }
    office.log("fit.tested", fit, machine=None)
    office.remind()
    kinds = {(row["kind"], row["person"]) for row in office.rows()} - {
        ("digest", office.shop.owner),
        ("digest", member),
    }
    assert kinds == {("stock", office.shop.owner), ("paper", office.shop.owner), ("paper", member)}
    office.clock.at("2026-03-05 07:00")
    office.remind()
    (tag,) = office.rows(kind="tag")
    assert "guard off" in json.loads(tag["body"])["why"] and "3 days" in json.loads(tag["body"])["why"]
    office.clock.at("2026-05-11 07:00")
    office.remind()
    papers = {json.loads(row["body"])["what"] for row in office.rows(kind="paper", person=member, closed_ms=None)}
    assert papers == {"Ben Roe: training, first aid has run out", "Ben Roe: fit test, half mask runs out soon"}


def test_a_need_that_comes_again_is_told_again(office: Office) -> None:
    office.edit("item", office.shop.blades, reorder_at=2)
    for day, count, standing in (("02", 1, 1), ("04", 9, 0), ("09", 1, 1)):
        office.clock.at(f"2026-03-{day} 07:00")
        office.log("stock.counted", {"item": office.shop.blades, "count": count}, machine=None)
        office.remind()
        assert len(office.rows(kind="stock", closed_ms=None)) == standing
        assert len(office.rows(kind="stock")) == 1
    (row,) = office.rows(kind="stock")
    assert row["told_ms"] == row["opened_ms"] > office.rows(kind="digest")[0]["told_ms"]


def test_a_clock_that_ran_ahead_and_came_back_loses_nothing(office: Office) -> None:
    office.task("Grease the vise", {"every": {"weeks": 4}}, start="2026-02-09")  # due on Monday 9 March
    subscribe(office, office.shop.owner)
    office.clock.at("2026-06-01 08:00")
    office.remind()
    assert told(office) and len(office.sent()) == 1
    office.clock.at("2026-03-03 08:00")
    office.remind()
    assert not [row for row in office.rows() if row["kind"] in ("due", "late")]
    office.clock.at("2026-03-09 08:00")
    office.remind()
    assert "Grease the vise is due" in told(office, closed_ms=None)


@pytest.mark.parametrize("ahead", ["2026-03-05 08:00", "2026-06-01 08:00"])
def test_a_message_given_up_by_a_clock_that_ran_ahead_goes_all_the_same(
    office: Office, monkeypatch: pytest.MonkeyPatch, ahead: str
) -> None:
    """What is due today is over by that clock, or has waited for longer than is tried; by the right one it is neither."""
    outcomes = [Outcome("waiting", "busy", 0)]
    monkeypatch.setattr(delivery, "CHANNELS", {"push": lambda *_: outcomes.pop() if outcomes else Outcome("sent")})
    office.task("Grease the vise", {"every": {"weeks": 4}})  # due today
    subscribe(office, office.shop.owner)
    office.remind()
    for moment in ("2026-03-02 07:05", ahead, "2026-03-02 07:20", "2026-03-02 07:25"):
        office.clock.at(moment)
        office.remind()
        with office.app.app_context():
            delivery.deliver(office.keeper.holder)
            db.session.remove()
    first = next(row for row in office.sent() if "Grease the vise is due" in row["payload"])
    assert first["outcome"] == "sent"


def test_what_rests_is_not_told_because_a_clock_ran_ahead(office: Office, monkeypatch: pytest.MonkeyPatch) -> None:
    """By that clock the rest was over, but the push service was busy: the rest is kept, and it is told once after it."""
    sent: list[int] = []

    def take(*_: object) -> Outcome:
        if now_ms() > before + 10 * 86_400_000:
            return Outcome("waiting", "busy", 0)
        sent.append(now_ms())
        return Outcome("sent")

    monkeypatch.setattr(delivery, "CHANNELS", {"push": take})
    office.task("Grease the vise", {"every": {"weeks": 4}}, start="2026-01-19")  # late by two weeks
    subscribe(office, office.shop.owner)
    before = now_ms()

    def look(moment: str) -> None:
        office.clock.at(moment)
        office.remind()
        with office.app.app_context():
            delivery.deliver(office.keeper.holder)
            db.session.remove()

    look("2026-03-02 07:05")
    [late] = [row for row in office.rows(kind="late") if "Grease the vise is late" in row["body"]]
    until = instant_text(before + 2 * 86_400_000)
    address = f"/api/v1/reminders/{late['id']}/snooze"
    answer = office.app.test_client().post(address, json={"until": until}, headers=office.shop.headers())
    assert answer.status_code in (200, 204)
    told_before = len(sent)
    look("2026-03-20 08:00")
    office.clock.at("2026-03-02 09:00")
    with office.app.app_context():
        delivery.deliver(office.keeper.holder)
        db.session.remove()
    [rests] = office.rows(id=late["id"])
    assert rests["told_ms"] is None and rests["snoozed_ms"] > now_ms() and len(sent) == told_before
    look("2026-03-04 08:00")
    [told_again] = office.rows(id=late["id"])
    assert told_again["told_ms"] == now_ms() and len(sent) == told_before + 1


def test_what_a_clock_that_ran_ahead_foretold_is_forgotten(office: Office) -> None:
    office.clock.at("2026-09-01 08:00")
    office.remind()
    with office.app.app_context(), writing() as session:
        news = json.dumps({"since_ms": now_ms(), "until_ms": now_ms() + 7 * 86_400_000, "say": "as that clock saw it"})
        values = {"task": office.shop.task, "cycle": "never/", "moved": news}
        session.merge(Foretold(**values, earliest="2026-10-01", likely="2026-10-02", latest="2026-10-03"))
    office.clock.at("2026-03-03 08:00")
    office.remind()
    assert not office.rows(kind="moved")


def test_what_has_waited_to_be_sent_is_told_only_if_it_still_stands(
    office: Office, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The work was done while the push service was away: the message that waits is dropped, before the next look for
    needs."""
    tried: list[str] = []

    def busy(_target: object, id_: str, _message: object) -> Outcome:
        tried.append(id_)
        return Outcome("waiting", "busy", 0)

    monkeypatch.setattr(delivery, "CHANNELS", {"push": busy})
    task = office.task("Grease the vise", {"every": {"weeks": 4}})
    subscribe(office, office.shop.owner)
    office.remind()
    with office.app.app_context():
        delivery.deliver(office.keeper.holder)
        office.log("task.done", {"task": task})
        office.clock.on(minutes=6)
        office.keeper.tick()
        delivery.deliver(office.keeper.holder)
        db.session.remove()
    assert len(tried) == 1 and [row["outcome"] for row in office.sent()] == ["dropped"]


def test_a_clock_that_went_back_a_little_is_waited_for(office: Office) -> None:
    office.task("Grease the vise", {"every": {"weeks": 4}})
    office.clock.at("2026-03-02 07:30")
    office.remind()
    office.clock.at("2026-03-02 07:00")
    assert "waiting" in (office.remind() or "")
    office.clock.at("2026-03-02 07:31")
    assert "waiting" not in (office.remind() or "")


def test_who_has_lost_the_lease_tells_nothing(office: Office) -> None:
    office.task("Grease the vise", {"every": {"weeks": 4}})
    office.keeper.tick()
    with office.app.app_context():
        assert plan.remind("another process") is None
    assert not office.rows()


def test_the_owner_of_a_shop_of_one_does_the_work_too() -> None:
    rows = [{"id": "a", "name": "A", "role": "owner", "retired": False}]
    assert people_of(rows)["a"].work
    rows.append({"id": "b", "name": "B", "role": "member", "retired": False})
    assert not people_of(rows)["a"].work and people_of(rows)["b"].work
