"""From needs to messages: who is reminded of what, bundled, in no quiet hour, once; and what stops by itself.

All of it is one transaction of the lease's holder: a need is marked as told together with the messages that tell of
it, so that none is told twice and none lost, whoever dies in between. `delivery.py` then sends what is waiting.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import time
from typing import Any

from sqlalchemy import delete, func, insert, or_, select, update
from sqlalchemy.orm import Session

from webapp.config import current
from webapp.core.dates import say_date
from webapp.core.instants import shop_date
from webapp.database import db, writing
from webapp.reminders import foretold, needs
from webapp.reminders.faults import LeaseLost
from webapp.reminders.hours import Hours, clock, hours_of, instant
from webapp.reminders.models import Delivery, Foretold, Reminder, Subscription
from webapp.reminders.needs import Look, Need
from webapp.reminders.people import Person, concerned, limits_of, people_of
from webapp.reminders.roll import writing_as
from webapp.reminders.saying import payload
from webapp.security.models import Device
from webapp.setup.definitions import list_all
from webapp.setup.ids import new_id, now_ms
from webapp.upkeep.shop import load

GAP_MS = 30 * 60_000
"""Between two messages to the same person: what comes up meanwhile goes in one."""
BACK_MS = 2 * 3_600_000
"""A clock that went back by less is waited for; by more, and it ran ahead before."""
FLAP_MS = 12 * 3_600_000
"""A need that ended a shorter while ago and stands again was told already."""
TEST_STANDS_MS = 3_600_000
KEPT_MS = 90 * 86_400_000
ESCALATED = ("due", "late", "round", "coolant")
MADE_HERE = ("digest", "test")
"""Kinds of rows that come of no need."""

Rows = dict[tuple[str, str], dict[str, Any]]


def digest_time(shop: Mapping[str, Any], hours: Hours) -> time:
    """When the day's digest is made: as set, else when the first shift begins."""
    own = (shop.get("reminders") or {}).get("digest_at")
    return clock(own) if own else hours.first_begins()


@dataclass(frozen=True)
class Plan:
    """One pass over the needs, at one moment."""

    session: Session
    look: Look
    people: dict[str, Person]
    digest_ms: int
    name: str

    @property
    def now(self) -> int:
        return self.look.now


def remind(holder: str) -> str | None:
    """Find what needs somebody, and put what is to be told into the outbox of messages."""
    needs.upkeep_document(db.session(), now_ms())  # kept: worked out before others have to wait for the transaction
    try:
        with writing_as(holder) as session:
            # The time only now: who waited for another pass would otherwise take it for a clock that went back.
            plan = look_around(session, now_ms())
            if plan is None:
                return "No shop is set up yet."
            if _clock_went_back(plan):
                return "The clock went back a little: waiting until it is where it was."
            return _pass(plan)
    except LeaseLost:
        return None


def look_around(session: Session, now: int) -> Plan | None:
    """The shop as reminders see it now; None before there is one."""
    shop = next(iter(list_all(session, "shop")), None)
    if shop is None:
        return None
    hours = hours_of(shop)
    bays = {row["id"]: row["name"] for row in list_all(session, "bay")}
    ahead = needs.upkeep_document(session, now)
    look = Look(session, load(session, now), bays, hours, limits_of(shop), ahead)
    digest = instant(look.shop.today, digest_time(shop, hours), hours.zone)
    return Plan(session, look, everybody(session), digest, shop["name"])


def _clock_went_back(plan: Plan) -> bool:
    """Whether the clock shows less than it did. What a clock that ran far ahead has left is forgotten."""
    newest = func.max(func.coalesce(Reminder.told_ms, 0)), func.max(Reminder.opened_ms), func.max(Reminder.closed_ms)
    last = max((ms for ms in plan.session.execute(select(*newest)).one() if ms is not None), default=0)
    if last - plan.now > BACK_MS:
        _take_back(plan)
        plan.session.execute(delete(Reminder).where(Reminder.opened_ms > plan.now))
        plan.session.execute(update(Reminder).where(Reminder.told_ms > plan.now).values(told_ms=plan.now - 1))
        later = update(Reminder).where(Reminder.closed_ms > plan.now)
        plan.session.execute(later.values(closed_ms=plan.now - 1))
        plan.session.execute(delete(Foretold))  # ranges and moves as that clock saw them
        given_up = (Delivery.ended_ms > plan.now, Delivery.outcome.in_(("dropped", "failed")))
        again = {"outcome": "waiting", "ended_ms": None, "next_ms": plan.now, "said": ""}
        plan.session.execute(update(Delivery).where(*given_up).values(**again))  # over, or too old, by that clock only
        return False
    return last > plan.now


def _take_back(plan: Plan) -> None:
    """Messages that a clock that ran ahead wrote and nobody was sent: their reminders are told in their own time."""
    written = select(Delivery.id, Delivery.reminders, Delivery.outcome).where(Delivery.made_ms > plan.now)
    rows = [(row.id, set(json.loads(row.reminders)), row.outcome) for row in plan.session.execute(written)]
    gone = {one for _, ids, outcome in rows if outcome == "sent" for one in ids}
    back = {id_: ids for id_, ids, outcome in rows if outcome == "waiting" and ids and not ids & gone}
    untold = {one for ids in back.values() for one in ids}
    plan.session.execute(delete(Delivery).where(Delivery.id.in_(back)))
    plan.session.execute(update(Reminder).where(Reminder.id.in_(untold)).values(told_ms=None))


def _pass(plan: Plan) -> str:
    shop = plan.look.shop
    tests = (Reminder.kind == "test", Reminder.closed_ms.is_(None), Reminder.opened_ms < plan.now - TEST_STANDS_MS)
    plan.session.execute(update(Reminder).where(*tests).values(closed_ms=plan.now))
    turns = {task["id"]: needs.cycle(shop.facts(task)) for task in shop.tasks}
    foretold.compare(plan.session, shop, plan.look.ahead, turns)
    wanted = {
        (need.key, person.id): need
        for need in needs.find(plan.look)
        for person in concerned(plan.people, need.audience, need.machine, need.whom)
    }
    rows = _rows(plan, {key for key, _ in wanted})
    wanted |= _escalated(plan, wanted, rows)
    _close(plan, wanted, rows)
    _open(plan, wanted, rows)
    plan.session.flush()
    told = sum(_tell(plan, person) for person in plan.people.values())
    return f"{len({key for key, _ in wanted})} needs stand, {told} messages made."


def _rows(plan: Plan, keys: set[str]) -> Rows:
    """What is kept of the needs that stand, or stood until now."""
    up = {f"up/{key}" for key in keys}
    query = select(Reminder.__table__).where(or_(Reminder.closed_ms.is_(None), Reminder.need.in_(keys | up)))
    found = plan.session.execute(query.where(Reminder.kind.not_in(MADE_HERE))).mappings()
    return {(row["need"], row["person"]): dict(row) for row in found}


def _escalated(plan: Plan, wanted: Mapping[tuple[str, str], Need], rows: Rows) -> dict[tuple[str, str], Need]:
    """Work that somebody was told of long ago and that still stands, for the owners who were not told."""
    found: dict[tuple[str, str], Need] = {}
    for (key, person), need in wanted.items():
        row = rows.get((key, person))
        if need.kind not in ESCALATED or need.weight != "plain" or row is None or row["closed_ms"] is not None:
            continue
        told, owners = row["told_ms"], [one for one in plan.people.values() if one.owner and one.shop]
        for owner in owners:
            if (key, owner.id) in wanted:
                continue
            up = (f"up/{key}", owner.id)
            begun = up in rows and rows[up]["closed_ms"] is None
            if begun or (told is not None and plan.now - told >= plan.look.limits.escalate_ms):
                since = say_date(shop_date(told or row["opened_ms"], plan.look.shop.zone))
                why = f"{plan.people[person].name} was told on {since}. {need.why}"
                found[up] = replace(need, key=up[0], why=why, task=None)
    return found


def _close(plan: Plan, wanted: Mapping[tuple[str, str], Need], rows: Rows) -> None:
    """Needs that are over stop by themselves."""
    over = [row["id"] for key, row in rows.items() if key not in wanted and row["closed_ms"] is None]
    if over:
        plan.session.execute(update(Reminder).where(Reminder.id.in_(over)).values(closed_ms=plan.now))


def _open(plan: Plan, wanted: Mapping[tuple[str, str], Need], rows: Rows) -> None:
    """Keep the needs that are new, and those that stand again; what is kept says why now."""
    fresh = []
    for (key, person), need in wanted.items():
        row, body = rows.get((key, person)), json.dumps(need.body())
        if row is None:
            fresh.append({
                "id": new_id(), "need": key, "person": person, "kind": need.kind, "weight": need.weight, "body": body,
                "opened_ms": plan.now, "told_ms": None, "snoozed_ms": None, "closed_ms": None,
            })  # fmt: skip
            continue
        values: dict[str, Any] = {} if row["body"] == body else {"body": body}
        if row["closed_ms"] is not None:
            values["closed_ms"] = None
            if plan.now - row["closed_ms"] > FLAP_MS:
                values |= {"opened_ms": plan.now, "told_ms": None, "snoozed_ms": None}
        if values:
            plan.session.execute(update(Reminder).where(Reminder.id == row["id"]).values(**values))
    if fresh:
        plan.session.execute(insert(Reminder), fresh)


def _tell(plan: Plan, person: Person) -> int:
    """One message of everything that this person has not heard of, if now is a time for it. Returns how many."""
    if not person.may_be_told(plan.now, plan.look.hours):
        return 0
    digest = _digest_is_on(plan, person)
    query = select(Reminder.__table__).where(Reminder.person == person.id, Reminder.closed_ms.is_(None))
    found = plan.session.execute(query.order_by(Reminder.opened_ms, Reminder.id)).mappings().all()
    rows = [dict(row) for row in found if row["kind"] not in MADE_HERE]
    news = [
        row for row in rows
        if row["told_ms"] is None and (row["snoozed_ms"] or 0) <= plan.now and (digest or row["weight"] == "plain")
    ]  # fmt: skip
    last = max((row["told_ms"] or 0 for row in rows), default=0)
    if not digest and plan.now - last < GAP_MS:
        return 0
    if digest:
        _note_digest(plan, person)
    if not news:
        return 0
    ids = [row["id"] for row in news]
    plan.session.execute(update(Reminder).where(Reminder.id.in_(ids)).values(told_ms=plan.now))
    message = payload(plan.name, news, standing=len(rows) - len(news))
    rows = [delivery_row(person.id, *one, ids, message, plan.now) for one in targets(plan.session, person)]
    if rows:
        plan.session.execute(insert(Delivery), rows)
    return 1


def _digest_is_on(plan: Plan, person: Person) -> bool:
    """Whether the day's digest is still to come for a person."""
    today = plan.look.shop.today
    if plan.now < plan.digest_ms or not plan.look.hours.works_on(today):
        return False
    same = (Reminder.need == f"digest/{today.isoformat()}", Reminder.person == person.id)
    return plan.session.scalar(select(Reminder.id).where(*same)) is None


def _note_digest(plan: Plan, person: Person) -> None:
    """The digest of the day is made, even when there was nothing to tell."""
    row = {
        "id": new_id(), "need": f"digest/{plan.look.shop.today.isoformat()}", "person": person.id, "kind": "digest",
        "weight": "quiet", "body": "{}", "opened_ms": plan.now, "told_ms": plan.now,
        "snoozed_ms": None, "closed_ms": plan.now,
    }  # fmt: skip
    plan.session.execute(insert(Reminder), [row])


def everybody(session: Session) -> dict[str, Person]:
    """The people in use, by id."""
    return people_of(list_all(session, "person"))


def targets(session: Session, person: Person) -> list[tuple[str, str]]:
    """Where messages to a person go: channel and target, their browsers before their mail."""
    found: list[tuple[str, str]] = []
    if person.push:
        there = select(Device.id).where(Device.revoked_at.is_(None))
        own = (Subscription.person == person.id, Subscription.device.in_(there))
        ids = session.execute(select(Subscription.id).where(*own).order_by(Subscription.id)).scalars()
        found += [("push", id_) for id_ in ids]
    if person.mail and current().smtp_host:
        found.append(("mail", person.mail))
    return found


def delivery_row(
    person: str, channel: str, target: str, ids: list[str], message: dict[str, Any], now: int
) -> dict[str, Any]:
    """A message that waits in the outbox; `ids`: the reminders it tells of, none for a test."""
    return {
        "id": new_id(), "person": person, "channel": channel, "target": target, "reminders": json.dumps(ids),
        "payload": json.dumps(message), "made_ms": now, "outcome": "waiting", "tries": 0, "next_ms": now,
        "ended_ms": None, "said": "",
    }  # fmt: skip


def purge(_holder: str) -> str:
    """Forget what ended, and what was sent, long ago."""
    before = now_ms() - KEPT_MS
    with writing() as session:
        old = session.execute(delete(Reminder).where(Reminder.closed_ms < before)).rowcount  # type: ignore[attr-defined]
        ended = delete(Delivery).where(Delivery.made_ms < before, Delivery.outcome != "waiting")
        sent = session.execute(ended).rowcount  # type: ignore[attr-defined]
    return f"{old} old reminders and {sent} deliveries forgotten."
