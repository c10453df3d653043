"""The state as it was: a subject's document at an instant, and what came after it, folded by the same functions."""

from __future__ import annotations

import json
from collections.abc import Iterator

from sqlalchemy import select, tuple_
from sqlalchemy.orm import Session

from webapp.records.folding import Document, Order, subject_entries
from webapp.records.models import Checkpoint
from webapp.records.state import Effective


def standing(session: Session, subject: str, at_ms: int) -> Document:
    """A subject's document as it stood just before an instant, by the record as it is known now.

    Folded from the last checkpoint before, so that it costs the same however old the shop is.
    """
    here, place = Checkpoint.subject == subject, tuple_(Checkpoint.ms, Checkpoint.entry)
    query = select(Checkpoint.ms, Checkpoint.entry, Checkpoint.body).where(here, place < tuple_(at_ms, ""))
    base = session.execute(query.order_by(Checkpoint.ms.desc(), Checkpoint.entry.desc()).limit(1)).first()
    document = Document(subject)
    if base is not None:
        document.body, document.last = json.loads(base.body), (base.ms, base.entry)
    for order, position, entry in subject_entries(session, subject, document.last):
        if order[0] >= at_ms:
            break
        document.take(order, entry, position)
    return document


def since(session: Session, subject: str, start_ms: int, end_ms: int) -> Iterator[tuple[Order, Effective]]:
    """A subject's entries from one instant up to, and not with, another, as they count; without the voided."""
    for order, _, entry in subject_entries(session, subject, (start_ms, "")):
        if order[0] >= end_ms:
            return
        if entry is not None:
            yield order, entry
