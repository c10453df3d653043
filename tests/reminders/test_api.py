"""Reminders on the wire: carried by phones, snoozed, tested by each channel; and what else needs somebody."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

from sqlalchemy import update

from tests.problem import assert_problem
from tests.reminders.conftest import Office
from webapp.core.instants import instant_text
from webapp.database import writing
from webapp.reminders.models import Foretold
from webapp.security import certificates, devices
from webapp.security.models import Device
from webapp.setup.ids import now_ms


def post(office: Office, path: str, body: Any) -> Any:
    return office.app.test_client().post(f"/api/v1{path}", json=body, headers=office.shop.headers())


def bodies(office: Office, **where: Any) -> list[dict[str, Any]]:
    return [json.loads(row["body"]) for row in office.rows(**where)]


def test_what_stands_is_carried_by_phones_and_sent_again_only_when_it_changed(office: Office) -> None:
    task = office.task("Grease the vise", {"every": {"weeks": 4}})
    office.remind()
    answer = office.shop.get("/reminders")
    (row,) = answer.get_json()["reminders"]
    assert row["what"] == "Grease the vise is due" and row["where"] == "Mill 1" and row["minutes"] == 5
    assert row["person"] == office.shop.owner and row["task"] == task and row["told_at"] and not row["snoozed_until"]
    ask = office.shop.headers() | {"If-None-Match": answer.headers["ETag"]}
    office.clock.on(hours=1)
    office.remind()
    assert office.app.test_client().get("/api/v1/reminders", headers=ask).status_code == 304
    office.log("task.done", {"task": task})
    office.remind()
    after = office.app.test_client().get("/api/v1/reminders", headers=ask)
    assert after.status_code == 200 and after.get_json()["reminders"] == []


def test_a_reminder_rests_as_long_as_it_is_told_to_and_no_longer_than_a_month(office: Office) -> None:
    office.task("Grease the vise", {"every": {"years": 1}}, start="2025-02-01")
    office.remind()
    id_ = office.rows(kind="late")[0]["id"]
    assert_problem(post(office, f"/reminders/{id_}/snooze", {"until": "2026-04-02T12:00:00Z"}), 422)
    assert_problem(post(office, f"/reminders/{id_}/snooze", {"until": "tomorrow"}), 422)
    assert_problem(post(office, f"/reminders/{id_}/snooze", {}), 422)
    assert_problem(post(office, f"/reminders/{office.shop.mill}/snooze", {"until": None}), 404)
    assert post(office, f"/reminders/{id_}/snooze", {"until": "2026-03-20T12:00:00Z"}).status_code == 204
    office.clock.at("2026-03-10 07:00")
    office.remind()
    assert office.rows(kind="late")[0]["told_ms"] is None
    assert post(office, f"/reminders/{id_}/snooze", {"until": None}).status_code == 204
    office.remind()
    assert office.rows(kind="late")[0]["told_ms"] == now_ms()


def test_a_test_in_the_app_stands_for_an_hour(office: Office) -> None:
    assert post(office, "/reminders/test", {"person": office.shop.owner, "channel": "app"}).status_code == 200
    assert office.shop.get("/reminders").get_json()["reminders"][0]["what"] == "A test from Wayround"
    office.remind()
    assert len(office.shop.get("/reminders").get_json()["reminders"]) == 1
    office.clock.on(minutes=61)
    office.remind()
    assert office.shop.get("/reminders").get_json()["reminders"] == []


def test_tests_without_a_way_say_what_is_missing(office: Office) -> None:
    for channel in ("push", "mail", "calendar"):
        problem = assert_problem(
            post(office, "/reminders/test", {"person": office.shop.owner, "channel": channel}), 422
        )
        assert problem["errors"][0]["field"] == "channel" and problem["errors"][0]["mend"]
    assert_problem(post(office, "/reminders/test", {"person": office.shop.owner, "channel": "pigeon"}), 422)
    assert_problem(post(office, "/reminders/test", {"person": office.shop.mill, "channel": "app"}), 422)
    post(office, "/reminders/calendar", {"person": office.shop.owner})
    (row,) = post(office, "/reminders/test", {"person": office.shop.owner, "channel": "calendar"}).get_json()
    assert row["outcome"] == "sent" and "not fetched yet" in row["said"]


def test_a_phone_that_has_not_synced_is_asked_after(office: Office) -> None:
    with office.app.app_context(), writing() as session:
        device, _ = devices.enrol(session, "Shop phone", "browser")
        seen = instant_text(now_ms() - 8 * 86_400_000)
        phone = device.id
        session.execute(update(Device).where(Device.id == phone).values(last_seen_at=seen))
    office.remind()
    (body,) = bodies(office, kind="phone")
    assert body["what"] == "Shop phone has not synced for 8 days" and body["link"] == "#/setup/devices"
    with office.app.app_context(), writing() as session:
        session.execute(update(Device).where(Device.id == phone).values(last_seen_at=instant_text(now_ms())))
    office.remind()
    assert not office.rows(kind="phone", closed_ms=None)


def test_a_certificate_authority_near_its_end_is_told_in_time(office: Office) -> None:
    settings = office.app.config["WAYROUND"]
    office.app.config["WAYROUND"] = replace(settings, plain=False)
    ends = certificates.load(certificates.ensure(settings.data, ["localhost"]).files.authority).not_valid_after_utc
    office.remind()
    assert not office.rows(kind="paper")
    near = ends - timedelta(days=20)
    office.clock.traveller.move_to(near.replace(hour=15, tzinfo=UTC), tick=False)
    while datetime.now(UTC).weekday() > 4:
        office.clock.on(hours=24)
    office.remind()
    (body,) = bodies(office, kind="paper")
    assert body["what"] == "The server's certificate authority runs out soon"


def coolant(office: Office) -> None:
    """The mill's coolant gets a band; its strength is read in %."""
    row = next(m for m in office.shop.get("/definitions/machine").get_json() if m["id"] == office.shop.mill)
    fluids = [row["fluids"][0] | {"band": {"act_low": 6.0, "target": 8.0, "act_high": 10.0}}]
    office.edit("machine", office.shop.mill, fluids=fluids)


def read_strength(office: Office, value: float) -> None:
    office.log("reading.taken", {"quantity": "coolant.strength", "value": value, "unit": "%"})


def test_coolant_is_topped_up_before_it_leaves_its_band(office: Office) -> None:
    coolant(office)
    for day, value in enumerate((8.6, 8.3, 8.0, 7.7, 7.4, 7.1, 6.8, 6.5, 6.2)):
        office.clock.at(f"2026-03-{2 + day:02d} 08:00")
        read_strength(office, value)
        office.remind()
        if value == 7.7:
            assert not office.rows(kind="coolant")
    (body,) = bodies(office, kind="coolant", closed_ms=None)
    assert body["what"] == "Coolant is about to leave its band: top it up" and "below 6 %" in body["why"]
    assert body["link"] == f"#/coolant/{office.shop.mill}/{office.shop.coolant}"
    assert len(office.rows(kind="coolant")) == 1
    office.clock.at("2026-03-11 08:00")
    read_strength(office, 5.8)
    office.remind()
    (body,) = bodies(office, kind="coolant", closed_ms=None)
    assert body["what"] == "Coolant is out of its band: correct it"
    office.log(
        "fluid.added", {"fluid": office.shop.coolant, "amount": 4, "unit": "gal", "water": 3.5, "concentrate": 0.5}
    )
    read_strength(office, 8.2)
    office.remind()
    assert not office.rows(kind="coolant", closed_ms=None)


def test_a_forecast_that_moved_further_than_its_range_is_told_once(office: Office) -> None:
    for day in range(2, 28):
        office.clock.at(f"2026-03-{day:02d} 12:00")
        if datetime(2026, 3, day).weekday() < 5:
            office.log("meter.added", {"meter": office.shop.spindle, "amount": 3})
        office.remind()
    assert not office.rows(kind="moved")
    with office.app.app_context(), writing() as session:
        row = session.get(Foretold, office.shop.task)
        assert row is not None and row.moved == "null"
        width = (datetime.fromisoformat(row.latest) - datetime.fromisoformat(row.earliest)).days
        # As if people had last heard of a date that lay further off than the range was wide.
        for name in ("earliest", "likely", "latest"):
            moved = datetime.fromisoformat(getattr(row, name)) + timedelta(days=width + 5)
            setattr(row, name, moved.date().isoformat())
    office.remind()
    (body,) = bodies(office, kind="moved", closed_ms=None)
    assert body["what"] == "Way-oil filter: its date has moved"
    assert width + 3 <= int(body["why"].split(" days earlier than foretold")[0].split()[-1]) <= width + 7
    office.clock.at("2026-03-30 06:30")
    office.remind()
    office.remind()
    assert len(office.rows(kind="moved")) == 1 and office.rows(kind="moved")[0]["told_ms"]
    office.clock.at("2026-04-07 07:00")
    office.remind()
    assert not office.rows(kind="moved", closed_ms=None)
