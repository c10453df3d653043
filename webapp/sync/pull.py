"""What a device fetches: changes since it last asked, or everything a new one needs.

Entries are stored as JSON text, and leave as that text: they are not read and written again on the way.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from webapp.records.append import head
from webapp.records.checking import DAY_MS
from webapp.records.models import Entry, State
from webapp.setup import definitions
from webapp.sync.push import gaps

SNAPSHOT_DAYS = 90
SNAPSHOT_ENTRIES = 5000
"""Beyond this many entries in 90 days the older ones are left to the records page."""

_PLURAL = {
    "bay": "bays",
    "machine": "machines",
    "checklist": "checklists",
    "task": "tasks",
    "item": "items",
    "person": "people",
    "alloy": "alloys",
}


@dataclass(frozen=True)
class Page:
    """A page of changes, as JSON text ready to send."""

    text: str


class Gone(Exception):
    """The position asked for is not of this record: the server was brought back from a backup."""


def changes(session: Session, device: str, after: int, limit: int, epoch: str | None = None) -> Page:
    """Entries and definitions after a position, and the state they left; own entries by id alone.

    Raises Gone when the position lies past the end, or belongs to another epoch than the record's.
    """
    at = head(session)
    top = at.position
    if after > top or epoch not in (None, at.epoch):
        raise Gone
    query = (
        select(Entry.position, Entry.id, Entry.device, Entry.document)
        .where(Entry.position > after)
        .order_by(Entry.position)
        .limit(limit)
    )
    rows = session.execute(query).all()
    upto = rows[-1].position if rows else top
    more = upto < top
    entries = ",".join(_entry_text(row, own=row.device == device) for row in rows)
    rest = {
        "definitions": definitions.changed(session, after, upto) if rows else [],
        "head": upto,
        "epoch": at.epoch,
        "more": more,
        "gaps": gaps(session, device),
    }
    state = _state_text(session, after, upto) if rows else '{"meters":{},"machines":{},"shop":null}'
    return Page(f'{{"entries":[{entries}],"state":{state},{json.dumps(rest)[1:]}')


def _entry_text(row: Any, *, own: bool = False) -> str:
    if own:
        return f'{{"id":"{row.id}","position":{row.position}}}'
    return f'{row.document[:-1]},"position":{row.position}}}'


def _state_text(session: Session, after: int, upto: int) -> str:
    """States whose last change lies on this page; a state changed again later comes with that page."""
    query = select(State.subject, State.body).where(State.position > after, State.position <= upto)
    return json.dumps(wire_state(session.execute(query).all()))


def wire_state(rows: Any) -> dict[str, Any]:
    """Stored documents -> `{"meters": {id: …}, "machines": {id: …}, "shop": …}`."""
    state: dict[str, Any] = {"meters": {}, "machines": {}, "shop": None}
    for subject, body in rows:
        doc = json.loads(body)
        state["meters"] |= doc.pop("meters")
        if subject == "shop":
            state["shop"] = doc
        else:
            state["machines"][subject.removeprefix("machine:")] = doc
    return state


def snapshot(session: Session, device: str, now_ms: int) -> Page:
    """All definitions, the state, and the newest entries: its size does not grow with the shop's age."""
    since = now_ms - SNAPSHOT_DAYS * DAY_MS
    query = (
        select(Entry.position, Entry.id, Entry.device, Entry.document)
        .where(Entry.ms >= since)
        .order_by(Entry.ms.desc(), Entry.id.desc())
        .limit(SNAPSHOT_ENTRIES)
    )
    entries = ",".join(_entry_text(row) for row in session.execute(query))
    at = head(session)
    rest = {
        "definitions": all_definitions(session),
        "state": wire_state(session.execute(select(State.subject, State.body)).all()),
        "head": at.position,
        "epoch": at.epoch,
        "gaps": gaps(session, device),
    }
    return Page(f'{{"entries":[{entries}],{json.dumps(rest)[1:]}')


def all_definitions(session: Session) -> dict[str, Any]:
    """Every definition by type, as the snapshot lists them."""
    shops = definitions.list_all(session, "shop")
    found: dict[str, Any] = {plural: definitions.list_all(session, type_) for type_, plural in _PLURAL.items()}
    zone = shops[0]["time_zone"] if shops else "UTC"
    found["tasks"] = [definitions.with_dates(session, task, zone) for task in found["tasks"]]
    return {"shop": shops[0] if shops else None} | found
