"""Verifying the record: every link of the chain, and every column that is derived from an entry."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from webapp.core.instants import parse_instant
from webapp.records.append import head
from webapp.records.canonical import FIRST_CHAIN, canonical, link
from webapp.records.folding import refold, stored
from webapp.records.kinds import KINDS
from webapp.records.models import Entry, Mending, SubjectEntry


@dataclass(frozen=True)
class Verdict:
    """What a check of the record found: entries read, the head of the chain, and each thing wrong."""

    entries: int
    chain: str
    wrong: tuple[str, ...]

    @property
    def whole(self) -> bool:
        return not self.wrong


def verify(session: Session) -> Verdict:
    """Read the whole record and check chain, positions, columns, indexes and the folded state."""
    wrong: list[str] = []
    previous, expected = FIRST_CHAIN, 0
    subjects: set[tuple[str, int, str, int]] = set()
    mendings: set[tuple[str, str, int, int]] = set()
    for row in session.execute(select(Entry.__table__).order_by(Entry.position).execution_options(yield_per=500)):
        expected += 1
        wrong += _entry_faults(row, previous, expected)
        previous, expected = row.chain, row.position
        if row.kind in KINDS:
            subjects |= {(s, row.ms, row.id, row.position) for s in KINDS[row.kind].subjects(row.machine)}
            if KINDS[row.kind].mends:
                mendings.add((row.id, _target(row.document), row.ms, row.position))
    wrong += _head_faults(session, previous, expected)
    wrong += _index_faults(session, subjects, mendings)
    if not wrong:
        wrong += state_faults(session)
    return Verdict(expected, previous, tuple(wrong))


def _target(document: str) -> str:
    try:
        return str(json.loads(document)["body"]["entry"])
    except (ValueError, LookupError, TypeError):
        return ""


def _entry_faults(row: Any, previous: str, expected: int) -> list[str]:
    where = f"entry at position {row.position}"
    faults = []
    if row.position != expected:
        faults.append(f"{where}: position {expected} is missing")
    if link(previous, row.document) != row.chain:
        faults.append(f"{where}: the chain does not fit the entry")
    try:
        entry = json.loads(row.document)
        if canonical(entry) != row.document:
            faults.append(f"{where}: the text is not canonical")
        faults += [f"{where}: column {name} differs from the entry" for name in _columns_off(row, entry)]
    except (ValueError, LookupError, TypeError, AttributeError):
        faults.append(f"{where}: the text is no entry")
    return faults


def _columns_off(row: Any, entry: dict[str, Any]) -> list[str]:
    receipt = entry["receipt"]
    wanted = {
        "id": entry["id"],
        "kind": entry["kind"],
        "machine": entry["machine"],
        "person": entry["by"],
        "device": receipt["device"],
        "seq": entry["seq"],
        "ms": parse_instant(receipt.get("effective_at", entry["at"])),
    }
    return [name for name, value in wanted.items() if getattr(row, name) != value]


def _head_faults(session: Session, chain: str, position: int) -> list[str]:
    at = head(session)
    if (at.position, at.chain) == (position, chain):
        return []
    return [f"the head says position {at.position}, the record ends at {position}; or its chain differs"]


def _index_faults(session: Session, subjects: set[Any], mendings: set[Any]) -> list[str]:
    held = {tuple(row) for row in session.execute(select(SubjectEntry.__table__))}
    mended = {tuple(row) for row in session.execute(select(Mending.__table__))}
    faults = [] if held == subjects else ["the list of entries by machine differs from the entries"]
    return faults + ([] if mended == mendings else ["the list of amendments differs from the entries"])


def state_faults(session: Session) -> list[str]:
    """The documents whose stored state differs from a refold of the whole record."""
    now, fresh = stored(session), refold(session)
    return [
        f"state of {s} differs from a refold" for s in sorted(now.keys() | fresh.keys()) if now.get(s) != fresh.get(s)
    ]


def count(session: Session) -> int:
    """How many entries there are."""
    return session.execute(select(func.count()).select_from(Entry)).scalar_one()
