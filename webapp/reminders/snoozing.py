"""What a person does with their reminders in the app: sees them, and lets one rest for a while."""

from __future__ import annotations

import json
from typing import Any

from sqlalchemy import insert, select, update
from sqlalchemy.orm import Session

from webapp.core.instants import instant_text
from webapp.reminders.models import Reminder
from webapp.setup.ids import new_id

LONGEST_MS = 30 * 86_400_000
SHOWN = ("what", "where", "minutes", "why", "link", "machine", "task")


def standing(session: Session) -> list[dict[str, Any]]:
    """Every reminder of a need that stands, of all people, oldest first; phones show those of who is there."""
    query = select(Reminder.__table__).where(Reminder.closed_ms.is_(None), Reminder.kind != "digest")
    rows = session.execute(query.order_by(Reminder.opened_ms, Reminder.id)).mappings()
    return [_row(dict(row)) for row in rows]


def _row(row: dict[str, Any]) -> dict[str, Any]:
    body = json.loads(row["body"])
    return {
        "id": row["id"],
        "person": row["person"],
        "kind": row["kind"],
        "weight": row["weight"],
        **{name: body[name] for name in SHOWN},
        "opened_at": instant_text(row["opened_ms"]),
        "told_at": _text(row["told_ms"]),
        "snoozed_until": _text(row["snoozed_ms"]),
    }


def _text(ms: int | None) -> str | None:
    return None if ms is None else instant_text(ms)


def snooze(session: Session, id_: str, until: int | None) -> bool:
    """Let a reminder rest until a moment (ms), or end its rest; False when there is none. It is told once more when
    the rest is over and the need still stands. Call inside `writing()`."""
    values = {"snoozed_ms": until} if until is None else {"snoozed_ms": until, "told_ms": None}
    done = session.execute(update(Reminder).where(Reminder.id == id_).values(**values))
    return bool(done.rowcount)  # type: ignore[attr-defined]


def test_reminder(session: Session, person: str, shop: str, now: int) -> None:
    """A reminder that only shows that reminders arrive in the app; it stands for an hour. Inside `writing()`."""
    from webapp.reminders.saying import test_payload

    (one,) = test_payload(shop)["items"]
    id_ = new_id()
    body = {name: one[name] for name in SHOWN}
    row = {
        "id": id_, "need": f"test/{id_}", "person": person, "kind": "test", "weight": "plain", "body": json.dumps(body),
        "opened_ms": now, "told_ms": now, "snoozed_ms": None, "closed_ms": None,
    }  # fmt: skip
    session.execute(insert(Reminder), [row])
