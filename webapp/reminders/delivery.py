"""Sending what waits in the outbox of messages, by its channel, and keeping the log of it.

A message is claimed before it is sent and marked afterwards; the network never happens inside a transaction. Who dies
in between leaves a claim that ends by itself: the message goes again under the same name (the mail's Message-ID, the
push's topic and tag), by which what arrives twice shows once.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from sqlalchemy import delete, func, or_, select, update
from sqlalchemy.orm import Session

from webapp.database import db, writing
from webapp.reminders.channels import mail, web_push
from webapp.reminders.channels.outcome import Outcome
from webapp.reminders.faults import Trouble
from webapp.reminders.hours import hours_of
from webapp.reminders.models import Delivery, Reminder, Subscription
from webapp.reminders.people import Person, people_of
from webapp.reminders.plan import remind
from webapp.reminders.saying import titled
from webapp.setup.definitions import list_all
from webapp.setup.ids import now_ms

CLAIM_MS = 120_000
FIRST_WAIT_MS, LONGEST_WAIT_MS = 60_000, 3_600_000
GIVE_UP_MS = 2 * 86_400_000
"""A message that could not go for as long is told as failed; what it said still stands in the app."""
FRESH_MS = 5 * 60_000
AHEAD_MS = 2 * 3_600_000
MOST_AT_ONCE = 500
TROUBLE_TRIES = 3

CHANNELS: dict[str, Callable[[web_push.Target | str, str, dict[str, Any]], Outcome]] = {
    "mail": lambda target, id_, message: mail.send(str(target), id_, message),
    "push": lambda target, id_, message: web_push.send(target, id_, message),  # type: ignore[arg-type]
}


@dataclass(frozen=True)
class Claimed:
    """A message that this process may send now."""

    id: str
    channel: str
    target: web_push.Target | str
    message: dict[str, Any]
    tries: int
    made_ms: int


def deliver(holder: str = "") -> str:
    """Send what is due to be sent. Raises Trouble when messages keep failing."""
    now, sent = now_ms(), 0
    waiting = _waiting(now)
    if any(abs(now - made) > FRESH_MS for _, made in waiting):
        remind(holder)  # what has waited for long, or was written by another clock, is told only if it still stands
    for id_, _ in waiting:
        claimed = claim(id_, now)
        if claimed is not None:
            sent += settle(claimed, attempt(claimed), now_ms()) == "sent"
    _tell_trouble(now)
    return f"{sent} sent." if sent else ""


def _waiting(now: int) -> list[tuple[str, int]]:
    """Messages whose turn it is, the oldest first: id, and when it was made."""
    session = db.session()
    try:
        # What waits longer than anything could, or was made later than now, comes of a clock that ran ahead.
        turn = or_(Delivery.next_ms <= now, Delivery.next_ms > now + GIVE_UP_MS, Delivery.made_ms > now + AHEAD_MS)
        query = select(Delivery.id, Delivery.made_ms).where(Delivery.outcome == "waiting", turn)
        rows = session.execute(query.order_by(Delivery.made_ms).limit(MOST_AT_ONCE))
        return [(row.id, row.made_ms) for row in rows]
    finally:
        db.session.remove()


def claim(id_: str, now: int, *, test: bool = False) -> Claimed | None:
    """Take a message for this process. None when another has it, when it is a quiet hour by now, or it is over."""
    with writing() as session:
        row = session.execute(select(Delivery).where(Delivery.id == id_).with_for_update()).scalar_one_or_none()
        if row is None or row.outcome != "waiting" or _waits(row, now):
            return None
        person = people_of(list_all(session, "person")).get(row.person)
        if person is not None and not test and not _may(session, person, now):
            return None
        message = None if person is None else _standing(session, row)
        target = web_push.target(session, row.target) if row.channel == "push" else row.target
        if message is None or target is None:
            over = "The need was over before it could go." if message is None else "The browser is no longer signed up."
            row.outcome, row.ended_ms, row.said = ("dropped" if message is None else "gone"), now, over
            return None
        row.tries, row.next_ms = row.tries + 1, now + CLAIM_MS
        return Claimed(row.id, row.channel, target, message, row.tries, row.made_ms)


def _waits(row: Delivery, now: int) -> bool:
    """Whether it is not its turn yet, by a time that can be."""
    return now < row.next_ms <= now + GIVE_UP_MS and row.made_ms <= now + AHEAD_MS


def _may(session: Session, person: Person, now: int) -> bool:
    """Whether the person may be told now: a retry must not ring at night."""
    shop = next(iter(list_all(session, "shop")), None)
    return shop is not None and person.may_be_told(now, hours_of(shop))


def _standing(session: Session, row: Delivery) -> dict[str, Any] | None:
    """The message without what is over by now; None when nothing is left. A test is always whole."""
    message: dict[str, Any] = json.loads(row.payload)
    ids = json.loads(row.reminders)
    if not ids:
        return message
    query = select(Reminder.id).where(Reminder.id.in_(ids), Reminder.closed_ms.is_(None), Reminder.told_ms.is_not(None))
    still = set(session.execute(query).scalars())
    if not still:
        return None
    items = [one for one in message["items"] if one["reminder"] in still]
    if not items:
        return message
    return message | {"items": items} | (titled(message["shop"], items, len(still)))


def attempt(claimed: Claimed) -> Outcome:
    """Send one message; whatever goes wrong is an outcome."""
    return CHANNELS[claimed.channel](claimed.target, claimed.id, claimed.message)


def settle(claimed: Claimed, outcome: Outcome, now: int) -> str:
    """Note what became of it. Returns the outcome that is kept."""
    kept, values = outcome.kept, {"said": outcome.said[:500]}
    if kept == "waiting" and now - claimed.made_ms > GIVE_UP_MS:
        kept = "failed"
    if kept == "waiting":
        grown = min(LONGEST_WAIT_MS, FIRST_WAIT_MS * 2 ** min(claimed.tries - 1, 10))
        values["next_ms"] = now + min(max(grown, outcome.wait_ms), GIVE_UP_MS)
    else:
        values["ended_ms"] = now  # type: ignore[assignment]
    with writing() as session:
        session.execute(update(Delivery).where(Delivery.id == claimed.id).values(outcome=kept, **values))
        if kept == "gone" and isinstance(claimed.target, web_push.Target):
            session.execute(delete(Subscription).where(Subscription.id == claimed.target.id))
    return kept


def _tell_trouble(now: int) -> None:
    """A way out that stays shut must be seen. Raises Trouble."""
    stuck = (Delivery.outcome == "waiting", Delivery.tries >= TROUBLE_TRIES)
    lost = (Delivery.outcome == "failed", Delivery.ended_ms > now - 86_400_000, Delivery.reminders != "[]")
    session = db.session()
    try:
        for which, word in ((stuck, "cannot be sent"), (lost, "could not be sent")):
            query = select(Delivery.channel, func.count(), func.max(Delivery.said)).where(*which)
            row = session.execute(query.group_by(Delivery.channel)).first()
            if row is not None:
                raise Trouble(f"{row[1]} by {row[0]} {word}: {row[2]}")
    finally:
        db.session.remove()
