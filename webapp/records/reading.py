"""Reading the record back: newest first, by machine and kind, each entry with its line and its mendings."""

from __future__ import annotations

import json
from typing import Any

from sqlalchemy import select, tuple_
from sqlalchemy.orm import Session

from webapp.records.folding import Order, effective, mend, mendings
from webapp.records.kinds import KINDS
from webapp.records.kinds.base import Name
from webapp.records.models import Entry


def newest(
    session: Session, name: Name, *, machine: str | None, kind: str | None, before: Order | None, limit: int
) -> list[dict[str, Any]]:
    """A page of the record, newest first: wire entries with `line`, `order`, and `voided` or `amended` where so."""
    query = select(Entry.position, Entry.id, Entry.ms, Entry.chain, Entry.document)
    if machine:
        query = query.where(Entry.machine == machine)
    if kind:
        query = query.where(Entry.kind == kind)
    if before:
        query = query.where(tuple_(Entry.ms, Entry.id) < tuple_(*before))
    rows = session.execute(query.order_by(Entry.ms.desc(), Entry.id.desc()).limit(limit)).all()
    mended = mendings(session, [row.id for row in rows])
    return [_told(row, mended.get(row.id, []), name) for row in rows]


def _told(row: Any, by: list[dict[str, Any]], name: Name) -> dict[str, Any]:
    entry: dict[str, Any] = json.loads(row.document)
    now = mend(effective(entry, row.ms), by)
    counts = now.body if now is not None else entry["body"]
    line = KINDS[entry["kind"]].summary(counts, name)
    told = {"position": row.position, "order": f"{row.ms},{row.id}", "chain": row.chain, "line": line}
    if now is None:
        told["voided"] = True
    elif now.body is not entry["body"]:
        told["amended"] = now.body
    return entry | told
