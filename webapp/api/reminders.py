"""Reminders on the wire: what stands, snoozing, the channels and their tests, the log, and the calendar feed."""

from __future__ import annotations

import hashlib
import json
from typing import Any

from flask import Response, g, jsonify, request
from sqlalchemy import delete, insert, select
from sqlalchemy.orm import Session

from webapp.api.bodies import Blueprint
from webapp.api.definitions import IF_MATCH, read_revision, tagged
from webapp.api.problems import Problem
from webapp.api.reminders_wire import (
    AddressOut,
    ChannelsOut,
    DeliveryRow,
    JobRow,
    LogIn,
    OutcomeRow,
    PersonIn,
    RemindersOut,
    SnoozeIn,
    SubscribedOut,
    SubscriptionIn,
    TestIn,
)  # fmt: skip
from webapp.api.wire import ROWS
from webapp.config import current
from webapp.core.instants import instant_text, parse_instant
from webapp.database import db, writing
from webapp.records.faults import Fault
from webapp.records.fields import is_uuid
from webapp.reminders import delivery, plan, saying, snoozing
from webapp.reminders.channels import calendar, encryption, web_push
from webapp.reminders.models import CalendarAddress, Delivery, Subscription
from webapp.reminders.people import Person
from webapp.reminders.standing import standings, troubles
from webapp.security.access import device_required, open_to_all
from webapp.security.addresses import base_for_others, links_base
from webapp.security.refusals import NotTheOwner
from webapp.security.tokens import new_secret
from webapp.setup import definitions
from webapp.setup.ids import new_id, now_ms
from webapp.setup.schemas import PersonReminders

blueprint = Blueprint("reminders", __name__, url_prefix="/api/v1", description="Reminders and how they arrive")

TEST_EVERY_MS = 5_000


@blueprint.get("/reminders")
@device_required
@blueprint.response(200, RemindersOut)
@blueprint.alt_response(304, description="Not changed since the ETag named")
def reminders() -> Response:
    """Every reminder of a need that stands, of all people, and the scheduler's jobs that fail; to be kept by phones."""
    session = db.session()
    body = {"reminders": snoozing.standing(session), "troubles": troubles(session)}
    tag = hashlib.sha256(json.dumps(body, sort_keys=True).encode()).hexdigest()[:32]
    same = request.if_none_match.contains_weak(tag)
    response = Response(status=304) if same else jsonify({"as_of": instant_text(now_ms())} | body)
    response.set_etag(tag, weak=True)
    response.headers["Cache-Control"] = "private, no-cache"
    return response


@blueprint.post("/reminders/<id_>/snooze")
@device_required
@blueprint.arguments(SnoozeIn)
@blueprint.response(204)
def snooze(asked: dict[str, Any], id_: str) -> None:
    """Let a reminder rest until a moment, thirty days at most; null ends its rest."""
    now, until = now_ms(), None if asked["until"] is None else parse_instant(asked["until"])
    if until is not None and until > now + snoozing.LONGEST_MS:
        fault = Fault("until", "is more than thirty days ahead", "choose a nearer day, or defer the task")
        raise Problem(422, "Cannot be used", errors=[fault])
    with writing() as session:
        if not snoozing.snooze(session, id_, until):
            raise Problem(404, "No such reminder", errors=[Fault("id", "is no reminder", "fetch the reminders again")])


@blueprint.get("/jobs")
@device_required
@blueprint.response(200, JobRow(many=True))
def jobs() -> list[dict[str, Any]]:
    """Every job of the scheduler: its next run, and how its last one ended."""
    return standings(db.session())


@blueprint.get("/reminders/channels")
@device_required
@blueprint.response(200, ChannelsOut)
def channels() -> dict[str, Any]:
    """By which ways reminders can arrive here, and which are in use."""
    session, settings = db.session(), current()
    rows = session.execute(select(Subscription).order_by(Subscription.id)).scalars()
    addresses = session.execute(select(CalendarAddress).order_by(CalendarAddress.person)).scalars()
    return {
        "push": {
            "key": web_push.public_key(settings),
            "subscriptions": [
                {"id": row.id, "person": row.person, "device": row.device, "made_at": instant_text(row.made_ms)}
                for row in rows
            ],
        },
        "mail": {"set_up": bool(settings.smtp_host), "sender": settings.smtp_from or None},
        "calendars": [
            {"person": row.person, "made_at": instant_text(row.made_ms), "fetched_at": _text(row.fetched_ms)}
            for row in addresses
        ],
    }


@blueprint.put("/reminders/settings/<id_>")
@device_required
@blueprint.arguments(PersonReminders)
@blueprint.doc(parameters=[IF_MATCH])
@blueprint.response(200, ROWS["person"])
def put_settings(asked: dict[str, Any], id_: str) -> Response:
    """How a person is reminded: the one part of set-up that people change for themselves; an owner's, the owner."""
    now = definitions.get(db.session(), "person", id_) if is_uuid(id_) else None
    if now is None or now["retired"]:
        raise Problem(
            404, "Nobody of this shop", errors=[Fault("id", "is nobody of this shop", "sync, then try again")]
        )
    if now["role"] == "owner" and not g.device.owner:
        raise NotTheOwner
    read = read_revision()
    body = {key: value for key, value in now.items() if key not in ("id", "revision", "retired")} | {"reminders": asked}
    with writing() as session:
        row = definitions.update(session, "person", id_, body, read, g.device.person if g.device.owner else id_)
    return tagged(row)


@blueprint.post("/reminders/subscriptions")
@device_required
@blueprint.arguments(SubscriptionIn)
@blueprint.response(201, SubscribedOut)
def subscribe(asked: dict[str, Any]) -> dict[str, str]:
    """Sign this browser up for a person's web push; signing up again takes the place of what was, also by another
    address: what waits for this browser then goes there."""
    try:
        web_push.check_endpoint(asked["endpoint"])
    except ValueError:
        _refuse("endpoint", "is no https address of a push service", "send what the browser's subscription says")
    try:
        encryption.check_keys(asked["keys"]["p256dh"], asked["keys"]["auth"])
    except ValueError as error:
        _refuse(f"keys.{error}", "is no such key", "send what the browser's subscription says")
    with writing() as session:
        _person(session, asked["person"])
        row = session.scalar(select(Subscription).where(Subscription.endpoint == asked["endpoint"]))
        row = row or session.scalar(select(Subscription).where(Subscription.device == g.device.id))
        if row is None:
            row = Subscription(id=new_id())
        session.execute(delete(Subscription).where(Subscription.device == g.device.id, Subscription.id != row.id))
        row.device, row.person, row.made_ms = g.device.id, asked["person"], now_ms()
        row.endpoint, row.p256dh, row.auth = asked["endpoint"], asked["keys"]["p256dh"], asked["keys"]["auth"]
        session.add(row)
        return {"id": row.id}


@blueprint.delete("/reminders/subscriptions/<id_>")
@device_required
@blueprint.response(204)
def unsubscribe(id_: str) -> None:
    """No more web push to a browser."""
    with writing() as session:
        row = session.get(Subscription, id_)
        if row is None:
            raise Problem(404, "No such subscription", errors=[Fault("id", "is signed up no longer", "nothing to do")])
        session.delete(row)


@blueprint.post("/reminders/calendar")
@device_required
@blueprint.arguments(PersonIn)
@blueprint.response(201, AddressOut)
def renew_calendar(asked: dict[str, Any]) -> dict[str, str]:
    """A new secret address of a person's calendar, shown this once; the one before ends."""
    token, now = new_secret(), now_ms()
    with writing() as session:
        _person(session, asked["person"])
        calendar.renew(session, asked["person"], token, now)
    url = f"{base_for_others(current(), request.scheme, request.host)}/api/v1/calendar/{token}.ics"
    return {"url": url, "webcal": f"webcal:{url.partition(':')[2]}"}


@blueprint.delete("/reminders/calendar/<id_>")
@device_required
@blueprint.response(204)
def end_calendar(id_: str) -> None:
    """Take the calendar address of a person away."""
    with writing() as session:
        if not calendar.drop(session, id_):
            raise Problem(404, "No such calendar", errors=[Fault("id", "has no calendar address", "nothing to do")])


@blueprint.get("/calendar/<token>.ics")
@open_to_all
@blueprint.response(200, {"type": "string"}, content_type="text/calendar")
@blueprint.alt_response(304, description="Not changed since the ETag named")
def feed(token: str) -> Response:
    """A person's calendar for the year ahead (RFC 5545). Whoever knows the address may read it."""
    session, now = db.session(), now_ms()
    address = calendar.whose(session, token)
    found = None if address is None else _calendar(session, address.person, now)
    if address is None or found is None:
        raise Problem(404, "No such calendar", errors=[Fault("path", "is no calendar's address", "ask for a new one")])
    body, count = found
    tag = hashlib.sha256(body).hexdigest()[:32]
    if now - (address.fetched_ms or 0) > calendar.LOGGED_EVERY_MS:
        person, agent = address.person, request.user_agent.string
        with writing() as writer:
            calendar.note_fetch(writer, person, agent, f"{count} days fetched.", now)
    same = request.if_none_match.contains(tag)
    response = Response(status=304) if same else Response(body, content_type="text/calendar; charset=utf-8")
    response.set_etag(tag)
    response.headers["Cache-Control"] = "private, no-cache"
    response.headers["Content-Disposition"] = 'inline; filename="wayround.ics"'
    return response


def _calendar(session: Session, person_id: str, now: int) -> tuple[bytes, int] | None:
    """A person's calendar and how many days stand in it; None when they are not of this shop any more."""
    around = plan.look_around(session, now)
    if around is None or person_id not in around.people:
        return None
    person = around.people[person_id]
    found = calendar.events(around.look, around.people, person)
    name = f"{around.name}, {person.name}"
    return calendar.render(name, found, around.look.shop.today, links_base(current())), len(found)


@blueprint.post("/reminders/test")
@device_required
@blueprint.arguments(TestIn)
@blueprint.response(200, OutcomeRow(many=True))
def test(asked: dict[str, Any]) -> list[dict[str, Any]]:
    """Send a person a test by one channel, at once, whatever the hour; what became of it."""
    now, channel = now_ms(), asked["channel"]
    around = plan.look_around(db.session(), now)
    person = _person(db.session(), asked["person"])
    shop = around.name if around else "the shop"
    if channel == "app":
        with writing() as session:
            snoozing.test_reminder(session, person.id, shop, now)
        return [{"channel": "app", "target": person.name, "outcome": "sent", "said": "It stands on Today for an hour."}]
    if channel == "calendar":
        return [_calendar_test(person, now)]
    return [_sent(id_) for id_ in _queue_test(person, channel, saying.test_payload(shop), now)]


def _calendar_test(person: Person, now: int) -> dict[str, Any]:
    """What a calendar would fetch now; it fetches by itself, so nothing is sent."""
    session = db.session()
    address = session.get(CalendarAddress, person.id)
    if address is None:
        _refuse("channel", f"{person.name} has no calendar address yet", "make one first")
    found = _calendar(session, person.id, now)
    count = found[1] if found else 0
    seen = (
        f"fetched last at {instant_text(address.fetched_ms)}" if address and address.fetched_ms else "not fetched yet"
    )
    said = f"{count} days stand in it; {seen}."
    return {"channel": "calendar", "target": person.name, "outcome": "sent", "said": said}


def _queue_test(person: Person, channel: str, message: dict[str, Any], now: int) -> list[str]:
    with writing() as session:
        last = select(Delivery.made_ms).where(Delivery.person == person.id, Delivery.reminders == "[]")
        before = session.scalar(last.where(Delivery.channel == channel).order_by(Delivery.made_ms.desc()).limit(1))
        if before is not None and 0 <= now - before < TEST_EVERY_MS:
            raise Problem(429, "Too soon", errors=[Fault("channel", "was tested just now", "wait a few seconds")])
        targets = plan.targets(session, person)
        rows = [plan.delivery_row(person.id, *one, [], message, now) for one in targets if one[0] == channel]
        if not rows:
            _refuse("channel", f"{person.name} gets nothing by {channel}", _HOW[channel])
        session.execute(insert(Delivery), rows)
    return [str(row["id"]) for row in rows]


_HOW = {
    "push": "switch reminders on in their browser, and push on in their settings",
    "mail": "give their mail address, and set WAYROUND_SMTP_HOST on the server",
}


def _sent(id_: str) -> dict[str, Any]:
    """Send one message that was queued, and tell what became of it."""
    claimed = delivery.claim(id_, now_ms(), test=True)
    if claimed is not None:
        delivery.settle(claimed, delivery.attempt(claimed), now_ms())
    row = db.session().execute(select(Delivery).where(Delivery.id == id_)).scalar_one()
    return {"channel": row.channel, "target": row.target, "outcome": row.outcome, "said": row.said}


@blueprint.get("/reminders/deliveries")
@device_required
@blueprint.arguments(LogIn, location="query")
@blueprint.response(200, DeliveryRow(many=True))
def deliveries(asked: dict[str, Any]) -> list[dict[str, Any]]:
    """What was sent, to whom, by which channel, and what became of it; newest first."""
    query = select(Delivery).order_by(Delivery.made_ms.desc(), Delivery.id.desc()).limit(asked["limit"])
    if "person" in asked:
        query = query.where(Delivery.person == asked["person"])
    return [
        {
            "id": row.id, "person": row.person, "channel": row.channel, "target": row.target,
            "title": json.loads(row.payload).get("title"), "made_at": instant_text(row.made_ms),
            "outcome": row.outcome, "tries": row.tries, "ended_at": _text(row.ended_ms), "said": row.said,
        }
        for row in db.session().execute(query).scalars()
    ]  # fmt: skip


def _person(session: Session, id_: str) -> Person:
    person = plan.everybody(session).get(id_)
    if person is None:
        _refuse("person", "is nobody of this shop", "choose a person that is set up")
    return person


def _refuse(field: str, problem: str, mend: str) -> Any:
    raise Problem(422, "Cannot be used", errors=[Fault(field, problem, mend)])


def _text(ms: int | None) -> str | None:
    return None if ms is None else instant_text(ms)
