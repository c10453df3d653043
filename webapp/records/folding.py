"""Folding: the state of a machine, or of the shop, from its entries in order of effective time.

A new entry that comes last in its document's order is folded on top of the stored state. Anything else (a late
entry, an amendment, a voiding) folds again from the last checkpoint before it. Both give the same bytes,
because both run the same functions over the same entries in the same order.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import delete, insert, select, tuple_
from sqlalchemy.orm import Session

from webapp.core.instants import instant_text
from webapp.records.canonical import canonical
from webapp.records.kinds import KINDS
from webapp.records.models import Checkpoint, Entry, Mending, State, SubjectEntry
from webapp.records.state import Doc, Effective, empty_doc

CHECKPOINT_EVERY = 256
_CHUNK = 500

Order = tuple[int, str]
"""(effective ms, entry id): the order in which entries count."""
BEGINNING: Order = (-(2**62), "")


@dataclass
class Document:
    """A subject's state while entries are folded into it."""

    subject: str
    body: Doc = field(default_factory=empty_doc)
    last: Order = BEGINNING
    folded: int = 0
    position: int = 0
    dirty_from: Order | None = None
    checkpoints: list[dict[str, Any]] = field(default_factory=list)

    def take(self, order: Order, entry: Effective | None, position: int) -> None:
        """Fold one entry (None: it counts for nothing, but keeps its place in the order)."""
        if entry is not None:
            apply(self.body, self.subject, entry)
        self.last = order
        self.folded += 1
        self.position = max(self.position, position)
        if self.folded % CHECKPOINT_EVERY == 0:
            row = {"subject": self.subject, "ms": order[0], "entry": order[1], "folded": self.folded}
            self.checkpoints.append(row | {"body": canonical(self.body)})

    def mark_dirty(self, order: Order) -> None:
        """Everything from `order` on must be folded again."""
        self.dirty_from = order if self.dirty_from is None else min(self.dirty_from, order)


def apply(doc: Doc, subject: str, entry: Effective) -> None:
    """Fold one entry into a document."""
    kind = KINDS[entry.kind]
    if subject == "shop" and entry.machine is not None:
        kind.fold_shop(doc, entry)
    else:
        kind.fold(doc, entry)
    doc["last_at"] = entry.at


def effective(raw: dict[str, Any], ms: int) -> Effective:
    """An entry as the fold sees it, before mendings."""
    return Effective(raw["id"], raw["kind"], raw["machine"], raw["by"], instant_text(ms), raw["body"])


def load(session: Session, subjects: Iterable[str]) -> dict[str, Document]:
    """The stored documents of these subjects; empty ones for subjects not seen before."""
    wanted = sorted(set(subjects))
    columns = (State.subject, State.body, State.ms, State.entry, State.folded, State.position)
    rows = session.execute(select(*columns).where(State.subject.in_(wanted)))
    found = {
        row.subject: Document(row.subject, json.loads(row.body), (row.ms, row.entry), row.folded, row.position)
        for row in rows
    }
    return {subject: found.get(subject) or Document(subject) for subject in wanted}


def save(session: Session, documents: Iterable[Document]) -> None:
    """Fold again what is dirty and store every document with its new checkpoints."""
    documents = list(documents)
    for document in documents:
        if document.dirty_from is not None:
            _refold(session, document, document.dirty_from)
    if not documents:
        return
    session.execute(delete(State).where(State.subject.in_([d.subject for d in documents])))
    session.execute(insert(State), [_row(document) for document in documents])
    checkpoints = [row for document in documents for row in document.checkpoints]
    if checkpoints:
        session.execute(insert(Checkpoint), checkpoints)


def _row(document: Document) -> dict[str, Any]:
    return {
        "subject": document.subject,
        "body": canonical(document.body),
        "ms": document.last[0],
        "entry": document.last[1],
        "folded": document.folded,
        "position": document.position,
    }


def _refold(session: Session, document: Document, start: Order) -> None:
    """Fold again from the last checkpoint before `start`."""
    here = Checkpoint.subject == document.subject
    at = tuple_(Checkpoint.ms, Checkpoint.entry)
    session.execute(delete(Checkpoint).where(here, at >= tuple_(*start)))
    columns = (Checkpoint.ms, Checkpoint.entry, Checkpoint.folded, Checkpoint.body)
    newest = select(*columns).where(here).order_by(Checkpoint.ms.desc(), Checkpoint.entry.desc()).limit(1)
    base = session.execute(newest).first()
    fresh = Document(document.subject)
    if base is not None:
        fresh.body, fresh.last, fresh.folded = json.loads(base.body), (base.ms, base.entry), base.folded
    # The stored position is kept: whoever read up to it must hear of the change.
    fresh.position = document.position
    for order, position, entry in subject_entries(session, document.subject, fresh.last):
        fresh.take(order, entry, position)
    document.body, document.last, document.folded = fresh.body, fresh.last, fresh.folded
    document.checkpoints, document.position, document.dirty_from = fresh.checkpoints, fresh.position, None


def subject_entries(
    session: Session, subject: str, after: Order = BEGINNING
) -> Iterator[tuple[Order, int, Effective | None]]:
    """The entries of a document in order, each amended or (as None) voided, after a place in the order."""
    while True:
        place = tuple_(SubjectEntry.ms, SubjectEntry.entry)
        query = (
            select(SubjectEntry.ms, SubjectEntry.entry, SubjectEntry.position, Entry.document)
            .join(Entry, Entry.position == SubjectEntry.position)
            .where(SubjectEntry.subject == subject, place > tuple_(*after))
            .order_by(SubjectEntry.ms, SubjectEntry.entry)
            .limit(_CHUNK)
        )
        rows = session.execute(query).all()
        mended = mendings(session, [row.entry for row in rows])
        for row in rows:
            raw = json.loads(row.document)
            yield (row.ms, row.entry), row.position, mend(effective(raw, row.ms), mended.get(row.entry, []))
        if len(rows) < _CHUNK:
            return
        after = (rows[-1].ms, rows[-1].entry)


def mendings(session: Session, targets: list[str]) -> dict[str, list[dict[str, Any]]]:
    """The amendments and voidings of these entries, each list in order."""
    if not targets:
        return {}
    query = (
        select(Mending.target, Entry.document)
        .join(Entry, Entry.position == Mending.position)
        .where(Mending.target.in_(targets))
        .order_by(Mending.ms, Mending.entry)
    )
    found: dict[str, list[dict[str, Any]]] = {}
    for target, document in session.execute(query):
        found.setdefault(target, []).append(json.loads(document))
    return found


def mend(entry: Effective, by: list[dict[str, Any]]) -> Effective | None:
    """The entry as amended last, or None when it was voided. What mends cannot itself be mended.

    An amendment of another kind, or made at another machine, is passed over: its body was checked for that one, and
    would count one machine's meter into the other's document.
    """
    if KINDS[entry.kind].mends or entry.kind == "definition.revised":
        return entry
    body = entry.body
    for mending in by:
        if mending["kind"] == "entry.voided":
            return None
        if (mending["body"]["kind"], mending["machine"]) == (entry.kind, entry.machine):
            body = mending["body"]["body"]
    return Effective(entry.id, entry.kind, entry.machine, entry.by, entry.at, body)


def refold(session: Session) -> dict[str, str]:
    """Fold the whole record from nothing: subject -> canonical JSON of its state."""
    subjects = session.execute(select(SubjectEntry.subject).distinct()).scalars().all()
    states = {}
    for subject in sorted(subjects):
        document = Document(subject)
        for order, position, entry in subject_entries(session, subject):
            document.take(order, entry, position)
        states[subject] = canonical(document.body)
    return states


def stored(session: Session) -> dict[str, str]:
    """The states as they are stored: subject -> canonical JSON."""
    rows = session.execute(select(State.subject, State.body))
    return {row.subject: row.body for row in rows}


def rebuild(session: Session) -> int:
    """Replace every stored state by a full refold. Returns how many differed."""
    before = stored(session)
    subjects = session.execute(select(SubjectEntry.subject).distinct()).scalars().all()
    documents = load(session, subjects)
    for document in documents.values():
        document.dirty_from = BEGINNING
    session.execute(delete(Checkpoint))
    session.execute(delete(State))
    save(session, documents.values())
    after = stored(session)
    return sum(before.get(subject) != after.get(subject) for subject in before.keys() | after.keys())
