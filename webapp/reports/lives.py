"""What machines stood at on a day, and the life of each part that was changed: folded from the nearest checkpoint."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from webapp.records.folding import BEGINNING, Order, apply, subject_entries
from webapp.records.models import Checkpoint
from webapp.records.state import Doc, Effective, empty_doc


def folded(session: Session, machine: str, start_ms: int, end_ms: int) -> Iterator[tuple[Doc, Order, Effective | None]]:
    """A machine's document after each of its entries in [start, end); first as it stood at the start (entry None)."""
    subject = f"machine:{machine}"
    doc, after = _base(session, subject, start_ms)
    begun = False
    for order, _, entry in subject_entries(session, subject, after):
        if order[0] >= end_ms:
            break
        if order[0] >= start_ms and not begun:
            begun = True
            yield doc, order, None
        if entry is not None:
            apply(doc, subject, entry)
            if begun:
                yield doc, order, entry
    if not begun:
        yield doc, after, None


def _base(session: Session, subject: str, before_ms: int) -> tuple[Doc, Order]:
    query = (
        select(Checkpoint.ms, Checkpoint.entry, Checkpoint.body)
        .where(Checkpoint.subject == subject, Checkpoint.ms < before_ms)
        .order_by(Checkpoint.ms.desc(), Checkpoint.entry.desc())
        .limit(1)
    )
    row = session.execute(query).first()
    return (json.loads(row.body), (row.ms, row.entry)) if row else (empty_doc(), BEGINNING)


def totals_at(session: Session, machine: str, ms: int) -> dict[str, float]:
    """The meters' totals of a machine at an instant."""
    doc: Doc = {}
    for doc, _, _ in folded(session, machine, ms, ms):  # noqa: B007 - the last is what counts
        pass
    return {meter: row["total"] for meter, row in doc["meters"].items()}


def life_of(doc: Doc, part: str, at: str) -> dict[str, Any] | None:
    """The life that ended with the change of a part at `at`; None for the first that is known."""
    lives = doc["parts"].get(part, {}).get("lives", [])
    return dict(lives[0]) if lives and lives[0]["to"] == at else None
