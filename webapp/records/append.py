"""Appending to the record: check, number, chain, fold and store, all in the caller's one transaction."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy import insert, select, update
from sqlalchemy.orm import Session

from webapp.core.instants import instant_text, parse_instant
from webapp.records.canonical import canonical, link
from webapp.records.checking import check, effective_ms
from webapp.records.faults import Fault, Refused
from webapp.records.fields import is_uuid
from webapp.records.folding import Document, effective, load, save
from webapp.records.kinds import KINDS, Kind
from webapp.records.known import Known
from webapp.records.models import Entry, Head, Mending, Quarantined, SubjectEntry

SERVER_DEVICE = "00000000-0000-7000-8000-000000000000"
_QUARANTINE_LONGEST = 200_000


@dataclass(frozen=True)
class Result:
    """What became of one entry: `stored`, `known` or `refused`, with its position or its faults."""

    id: Any
    outcome: str
    position: int | None = None
    faults: tuple[Fault, ...] = ()


@dataclass(frozen=True)
class Delivery:
    """Who brought a batch and when: the device that made it, its clock when it sent, our clock."""

    device: str
    sent_ms: int
    received_ms: int
    via: str | None = None
    """The device that brought it, when a saved file was read in on another."""


@dataclass
class _Batch:
    """Rows gathered while a batch is worked through; written in one go at its end."""

    position: int
    chain: str
    entries: list[dict[str, Any]] = field(default_factory=list)
    subjects: list[dict[str, Any]] = field(default_factory=list)
    mendings: list[dict[str, Any]] = field(default_factory=list)
    quarantined: list[dict[str, Any]] = field(default_factory=list)
    documents: dict[str, Document] = field(default_factory=dict)
    stored: dict[str, tuple[int, str]] = field(default_factory=dict)
    """Entry id -> (position, document), for what the record holds of the ids in this batch."""
    placed: dict[str, tuple[int, tuple[str, ...]]] = field(default_factory=dict)
    """Entry id -> (effective ms, subjects), for entries added by this batch."""
    mended: set[str] = field(default_factory=set)
    """Ids in this batch that amendments stored earlier, or in this batch, speak of."""


def head(session: Session, *, lock: bool = False) -> Head:
    """The one row that says where the record stands."""
    query = select(Head).where(Head.id == 1).execution_options(populate_existing=True)
    return session.execute(query.with_for_update() if lock else query).scalar_one()


def append(session: Session, delivery: Delivery, raws: list[Any], known: Known) -> list[Result]:
    """Store a batch as far as it can be accepted; results in the order sent.

    A refused entry is kept in quarantine and holds up nothing else. The caller owns the transaction (`writing()`);
    nothing is stored until it commits.
    """
    at = head(session, lock=True)
    batch = _Batch(at.position, at.chain)
    _gather(session, batch, raws)
    results = [_one(session, batch, delivery, raw, known) for raw in raws]
    _write(session, batch)
    at.position, at.chain = batch.position, batch.chain
    session.flush()
    return results


def append_by_server(session: Session, now_ms: int, kind: str, by: str, body: dict[str, Any], new_id: str) -> int:
    """Store an entry that the server makes itself. Returns its position."""
    at = head(session, lock=True)
    at.server_seq += 1
    raw: dict[str, Any] = {"id": new_id, "kind": kind, "machine": None, "by": by, "at": instant_text(now_ms)}
    raw |= {"seq": at.server_seq, "body": body}
    batch = _Batch(at.position, at.chain)
    _gather(session, batch, [raw])
    found, made = check(raw, Known(), by_server=True)
    position = _store(session, batch, Delivery(SERVER_DEVICE, now_ms, now_ms), raw, found, made)
    _write(session, batch)
    at.position, at.chain = batch.position, batch.chain
    session.flush()
    return position


def _gather(session: Session, batch: _Batch, raws: list[Any]) -> None:
    """Read, in a few queries, everything the batch will ask of the database."""
    # Only what is a UUID goes to the database: it would choke on some other texts (NUL, lone surrogates).
    sent = [raw for raw in raws if isinstance(raw, dict)]
    ids = [raw["id"] for raw in sent if is_uuid(raw.get("id"))]
    if ids:
        rows = session.execute(select(Entry.id, Entry.position, Entry.document).where(Entry.id.in_(ids)))
        batch.stored = {row.id: (row.position, row.document) for row in rows}
        batch.mended = set(session.execute(select(Mending.target).where(Mending.target.in_(ids))).scalars())
    machines = {raw["machine"] for raw in sent if is_uuid(raw.get("machine"))}
    batch.documents = load(session, {"shop"} | {f"machine:{machine}" for machine in machines})


def _one(session: Session, batch: _Batch, delivery: Delivery, raw: Any, known: Known) -> Result:
    """Check and store one entry, or put it in quarantine."""
    entry_id = raw.get("id") if isinstance(raw, dict) else None
    try:
        if not isinstance(raw, dict):
            raise Refused(Fault("entry", "is no object", "send entries as JSON objects"))
        again = _seen_before(batch, raw)
        if again is not None:
            return again
        kind, made = check(raw, known)
        position = _store(session, batch, delivery, raw, kind, made)
        return Result(entry_id, "stored", position)
    except Refused as refusal:
        batch.quarantined.append(_quarantine_row(delivery, raw, entry_id, refusal))
        return Result(entry_id, "refused", None, refusal.faults)


def _seen_before(batch: _Batch, raw: dict[str, Any]) -> Result | None:
    """The result for an id the record has: known when the content is the same."""
    found = batch.stored.get(raw["id"]) if is_uuid(raw.get("id")) else None
    if found is None:
        return None
    position, document = found
    held = json.loads(document)
    held.pop("receipt")
    if canonical(held) == canonical(raw):
        return Result(raw["id"], "known", position)
    mend_ = "make a new entry with an id of its own; to correct the first, amend it"
    raise Refused(Fault("id", "is the id of another entry in the record, with other content", mend_))


def _store(session: Session, batch: _Batch, delivery: Delivery, raw: dict[str, Any], kind: Kind, made_ms: int) -> int:
    """Number, chain and fold one entry that passed the door. Returns its position."""
    typed_in = raw["body"].get("typed_in") is True
    ms, offset, marked = effective_ms(made_ms, delivery.sent_ms, delivery.received_ms, typed_in=typed_in)
    _no_step_back(batch, raw, ms)
    receipt: dict[str, Any] = {
        "device": delivery.device,
        "received_at": instant_text(delivery.received_ms),
        "offset_ms": offset,
    }
    if marked:
        receipt |= {"marked": True, "effective_at": instant_text(ms)}
    if delivery.via:
        receipt["via"] = delivery.via
    document = canonical(raw | {"receipt": receipt})
    batch.position += 1
    batch.chain = link(batch.chain, document)
    batch.stored[raw["id"]] = (batch.position, document)
    batch.entries.append(_entry_row(batch, delivery, raw, ms, document))
    _fold_in(session, batch, raw, kind, ms)
    return batch.position


def _entry_row(batch: _Batch, delivery: Delivery, raw: dict[str, Any], ms: int, document: str) -> dict[str, Any]:
    return {
        "position": batch.position,
        "id": raw["id"],
        "kind": raw["kind"],
        "machine": raw["machine"],
        "person": raw["by"],
        "device": delivery.device,
        "seq": raw["seq"],
        "ms": ms,
        "document": document,
        "chain": batch.chain,
    }


def _no_step_back(batch: _Batch, raw: dict[str, Any], ms: int) -> None:
    """Refuse a counter reading below the newest one before it, unless it is marked as a new counter."""
    body = raw["body"]
    if raw["kind"] != "meter.read" or body.get("replaced"):
        return
    running = batch.documents[f"machine:{raw['machine']}"].body["meters"].get(body["meter"])
    if running is None or running["face"] is None or body["value"] >= running["face"]:
        return
    if ms >= parse_instant(running["face_at"]):
        problem = f"is {body['value']:g}, below the last reading of {running['face']:g}"
        mend_ = "read the counter again; if it is a new counter, send replaced: true"
        raise Refused(Fault("body.value", problem, mend_))


def _fold_in(session: Session, batch: _Batch, raw: dict[str, Any], kind: Kind, ms: int) -> None:
    """Fold an entry on top where it comes last and nothing mends it; else mark its documents to be folded again."""
    order = (ms, raw["id"])
    subjects = kind.subjects(raw["machine"])
    batch.placed[raw["id"]] = (ms, subjects)
    entry = effective(raw, ms)
    for subject in subjects:
        batch.subjects.append({"subject": subject, "ms": ms, "entry": raw["id"], "position": batch.position})
        document = batch.documents[subject]
        document.position = batch.position
        if document.dirty_from is None and order > document.last and raw["id"] not in batch.mended:
            document.take(order, entry, batch.position)
        else:
            document.mark_dirty(order)
    if kind.mends:
        _mark_target(session, batch, raw, ms)


def _mark_target(session: Session, batch: _Batch, raw: dict[str, Any], ms: int) -> None:
    """An amendment or voiding: its target's documents are folded again from the target on."""
    target = raw["body"]["entry"]
    batch.mendings.append({"entry": raw["id"], "target": target, "ms": ms, "position": batch.position})
    batch.mended.add(target)
    if target in batch.placed:
        target_ms, subjects = batch.placed[target]
    else:
        query = select(Entry.ms, Entry.kind, Entry.machine).where(Entry.id == target)
        row = session.execute(query).first()
        if row is None:
            return
        target_ms, subjects = row.ms, KINDS[row.kind].subjects(row.machine)
    missing = [subject for subject in subjects if subject not in batch.documents]
    batch.documents |= load(session, missing) if missing else {}
    for subject in subjects:
        batch.documents[subject].mark_dirty((target_ms, target))
        batch.documents[subject].position = batch.position


def _quarantine_row(delivery: Delivery, raw: Any, entry_id: Any, refusal: Refused) -> dict[str, Any]:
    payload = json.dumps(raw, sort_keys=True)[:_QUARANTINE_LONGEST]
    return {
        "digest": hashlib.sha256(payload.encode()).hexdigest(),
        "device": delivery.device,
        "received_ms": delivery.received_ms,
        "entry": entry_id if is_uuid(entry_id) else None,
        "payload": payload,
        "problem": json.dumps([fault.to_dict() for fault in refusal.faults]),
    }


def _write(session: Session, batch: _Batch) -> None:
    """Write the gathered rows: a handful of statements, however large the batch."""
    if batch.entries:
        session.execute(insert(Entry), batch.entries)
        session.execute(insert(SubjectEntry), batch.subjects)
    if batch.mendings:
        session.execute(insert(Mending), batch.mendings)
    before = batch.position - len(batch.entries)
    save(session, [document for document in batch.documents.values() if document.position > before])
    _write_quarantine(session, batch.quarantined)


def _write_quarantine(session: Session, rows: list[dict[str, Any]]) -> None:
    """Keep each refused payload once a device, with its newest problem."""
    for row in {(row["digest"], row["device"]): row for row in rows}.values():
        same = (Quarantined.digest == row["digest"], Quarantined.device == row["device"])
        changed = session.execute(update(Quarantined).where(*same).values(problem=row["problem"]))
        if changed.rowcount == 0:  # type: ignore[attr-defined]
            session.execute(insert(Quarantined), [row])
