"""Reading the record back: newest first, by what is asked for, each entry with its line and its mendings."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, Select, or_, select, tuple_
from sqlalchemy.orm import Session

from webapp.records.canonical import FIRST_CHAIN, canonical
from webapp.records.folding import Order, effective, mend, mendings
from webapp.records.kinds import KINDS
from webapp.records.kinds.base import Name
from webapp.records.models import Entry, Mending

_METAL_FIELDS = ("alloy", "material")
METAL_KINDS = {
    name: [field for field in _METAL_FIELDS if field in kind.schema.fields]
    for name, kind in KINDS.items()
    if any(field in kind.schema.fields for field in _METAL_FIELDS)
}
"""The kinds that name a metal, and in which fields."""
_NAMES_A_FINDING = ("tag.on", "task.raised", "finding.closed")
_NAMES_WHAT_CAME_OF_IT = ("tag.off", "task.done", "task.deferred")
_COLUMNS = (Entry.position, Entry.id, Entry.ms, Entry.chain, Entry.document)


@dataclass(frozen=True)
class Wanted:
    """Which entries: all that fit everything named. `machine` "shop": those of no machine. `since_ms` counts,
    `until_ms` no longer does."""

    machine: str | None = None
    kind: str | None = None
    person: str | None = None
    since_ms: int | None = None
    until_ms: int | None = None
    alloy: str | None = None
    finding: str | None = None
    before: Order | None = None


def newest(session: Session, name: Name, wanted: Wanted, limit: int) -> list[dict[str, Any]]:
    """A page of the record, newest first: wire entries with `line`, `order`, and `voided` or `amended` where so."""
    query = select(*_COLUMNS).where(*_tests(session, wanted))
    rows = session.execute(query.order_by(Entry.ms.desc(), Entry.id.desc()).limit(limit)).all()
    mended = mendings(session, [row.id for row in rows])
    return [_told(row, mended.get(row.id, []), name) for row in rows]


def one(session: Session, name: Name, id_: str) -> dict[str, Any] | None:
    """An entry as `newest` tells it, with its seal (the link before, the text under the chain) and its mendings."""
    row = session.execute(select(*_COLUMNS).where(Entry.id == id_)).first()
    if row is None:
        return None
    by = mendings(session, [id_]).get(id_, [])
    before = session.scalar(select(Entry.chain).where(Entry.position == row.position - 1))
    told = ("id", "kind", "by", "at", "body")
    return _told(row, by, name) | {
        "previous": before or FIRST_CHAIN,
        "text": row.document,
        "mendings": [{key: one[key] for key in told} for one in by],
    }


def chain_of(session: Session, finding: str) -> list[str]:
    """The ids of everything that belongs to a finding: the round it came of, itself, the tags hung and the tasks
    raised for it, what became of those, and its closing; empty when there is no such finding."""
    row = session.execute(select(Entry.machine, Entry.document).where(Entry.id == finding)).first()
    if row is None or (entry := json.loads(row.document))["kind"] != "finding.opened":
        return []
    here = Entry.machine == row.machine if row.machine else Entry.machine.is_(None)
    direct = _naming(session, here, _NAMES_A_FINDING, [finding])
    further = _naming(session, here, _NAMES_WHAT_CAME_OF_IT, direct)
    came_of = entry["body"].get("round")
    return [*([came_of] if came_of else []), finding, *direct, *further]


def _naming(session: Session, here: ColumnElement[bool], kinds: Iterable[str], ids: list[str]) -> list[str]:
    """The entries of these kinds at a machine that speak of one of these."""
    if not ids:
        return []
    speaks = or_(*(Entry.document.contains(f'"{id_}"') for id_ in ids))
    query = select(Entry.id, Entry.document).where(here, Entry.kind.in_(tuple(kinds)), speaks).order_by(Entry.ms)
    wanted = set(ids)
    return [row.id for row in session.execute(query) if wanted & set(_texts(json.loads(row.document)["body"]))]


def _texts(body: dict[str, Any]) -> list[str]:
    return [value for value in body.values() if isinstance(value, str)]


def _tests(session: Session, wanted: Wanted) -> list[ColumnElement[bool]]:
    found: list[ColumnElement[bool]] = []
    if wanted.machine:
        found.append(Entry.machine.is_(None) if wanted.machine == "shop" else Entry.machine == wanted.machine)
    if wanted.kind:
        found.append(Entry.kind == wanted.kind)
    if wanted.person:
        found.append(Entry.person == wanted.person)
    if wanted.since_ms is not None:
        found.append(Entry.ms >= wanted.since_ms)
    if wanted.until_ms is not None:
        found.append(Entry.ms < wanted.until_ms)
    if wanted.alloy:
        found += [
            Entry.kind.in_(tuple(METAL_KINDS)),
            or_(_of_metal(wanted.alloy), Entry.id.in_(_mended_to(wanted.alloy))),
        ]
    if wanted.finding:
        found.append(Entry.id.in_(chain_of(session, wanted.finding)))
    if wanted.before:
        found.append(tuple_(Entry.ms, Entry.id) < tuple_(*wanted.before))
    return found


def _of_metal(alloy: str) -> ColumnElement[bool]:
    """Documents are canonical JSON, so a field and its text stand there in one way alone; letters large or small."""
    return or_(*(Entry.document.icontains(f'"{field}":{canonical(alloy)}', autoescape=True) for field in _METAL_FIELDS))


def _mended_to(alloy: str) -> Select[Any]:
    """The entries that an amendment says were of this metal."""
    return select(Mending.target).join(Entry, Entry.position == Mending.position).where(_of_metal(alloy))


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
