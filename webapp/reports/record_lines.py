"""The whole record as JSON Lines, and back: each line carries the very text that the chain covers.

{"wayround": "record", "format": 1, "shop", "made_at", "position", "chain"}            the first line
{"position": 1, "chain": "hex", "entry": "RFC 8785 JSON with its receipt"}             one an entry
{"definition": {id, type, revision, retired, person, ms, position, body: "RFC 8785 JSON"}}   after its entry
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from typing import IO, Any
from uuid import uuid4

from marshmallow import ValidationError
from sqlalchemy import insert, select
from sqlalchemy.orm import Session

from webapp.core.instants import InstantError, instant_text, parse_instant
from webapp.records.append import SERVER_DEVICE, head
from webapp.records.canonical import FIRST_CHAIN, canonical, link
from webapp.records.faults import Refused, faults_of
from webapp.records.folding import rebuild
from webapp.records.kinds import KINDS
from webapp.records.models import Entry, Mending, SubjectEntry
from webapp.records.verify import verify
from webapp.setup import definitions
from webapp.setup.models import Definition, DefinitionRevision

FORMAT = 1
CHUNK = 500
_MEND = "export the record again, and bring the file over unchanged"


class LineFault(Exception):
    """A line that cannot be used: its number, what is wrong with it, and how to mend it."""

    def __init__(self, line: int, problem: str, mend: str = _MEND) -> None:
        super().__init__(f"line {line}: {problem}: {mend}")
        self.line, self.problem, self.mend = line, problem, mend


def record_lines(session: Session, now_ms: int) -> Iterator[str]:
    """The record as it stands, a line at a time; each ends with a line feed."""
    at = head(session)
    upto, chain = at.position, at.chain
    shops = definitions.list_all(session, "shop")
    first = {"wayround": "record", "format": FORMAT, "shop": shops[0]["name"] if shops else None}
    yield _line(first | {"made_at": instant_text(now_ms), "position": upto, "chain": chain})
    for after in range(0, upto, CHUNK):
        last = min(after + CHUNK, upto)
        revised = _revisions(session, after, last)
        query = select(Entry.position, Entry.chain, Entry.document).order_by(Entry.position)
        for row in session.execute(query.where(Entry.position > after, Entry.position <= last)).all():
            yield _line({"position": row.position, "chain": row.chain, "entry": row.document})
            if row.position in revised:
                yield _line({"definition": revised[row.position]})


def _line(value: dict[str, Any]) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":")) + "\n"


def _revisions(session: Session, after: int, last: int) -> dict[int, dict[str, Any]]:
    revision, now = DefinitionRevision, Definition
    query = (
        select(revision.id, now.type, revision.revision, revision.retired, revision.person, revision.ms,
               revision.position, revision.body)
        .join(now, now.id == revision.id)
        .where(revision.position > after, revision.position <= last)
    )  # fmt: skip
    return {row["position"]: dict(row) for row in session.execute(query).mappings()}


@dataclass(frozen=True)
class Brought:
    """What was brought in: how many entries, and the head of the chain."""

    entries: int
    chain: str


@dataclass
class _Import:
    """Rows on their way into an empty database."""

    session: Session
    position: int = 0
    chain: str = FIRST_CHAIN
    server_seq: int = 0
    definitions_at: int = 0
    waiting: dict[type, list[dict[str, Any]]] = field(default_factory=dict)
    promised: dict[tuple[str, int], tuple[str, str, int]] = field(default_factory=dict)
    """(definition, revision) -> (type, SHA-256 of its body, position), until its line comes."""
    newest: dict[str, dict[str, Any]] = field(default_factory=dict)

    def add(self, table: type, row: dict[str, Any]) -> None:
        rows = self.waiting.setdefault(table, [])
        rows.append(row)
        if len(rows) >= CHUNK:
            self.flush()

    def flush(self) -> None:
        for table, rows in self.waiting.items():
            if rows:
                self.session.execute(insert(table), rows)
        self.waiting = {}


def bring_in(session: Session, lines: Iterable[str], progress: Callable[[int], None] = lambda percent: None) -> Brought:
    """Fill an empty database from `record_lines`. Call inside `writing()`: a fault raises LineFault, nothing is kept.

    Every link of the chain, every column and the folded state are checked before this returns.
    """
    if head(session, lock=True).position or definitions.list_all(session, "shop"):
        raise LineFault(0, "there is a record here already", "bring the file into an empty data folder")
    work = _Import(session)
    numbered = enumerate(lines, 1)
    wanted = _first(next(numbered, (1, ""))[1])
    for number, text in numbered:
        row = _object(number, text)
        if "entry" in row:
            _entry(work, number, row)
        elif "definition" in row:
            _definition(work, number, row["definition"])
        else:
            raise LineFault(number, "is neither an entry nor a definition")
        if number % CHUNK == 0:
            progress(min(99, 100 * work.position // max(wanted[0], 1)))
    if (work.position, work.chain) != wanted:
        raise LineFault(1, f"says that the record ends at position {wanted[0]}; the file ends at {work.position}, or "
                        "in another chain")  # fmt: skip
    _finish(work)
    return Brought(work.position, work.chain)


def _object(number: int, text: str) -> dict[str, Any]:
    try:
        row = json.loads(text)
    except (ValueError, RecursionError):
        row = None
    if not isinstance(row, dict):
        raise LineFault(number, "is no JSON object")
    return row


def _first(text: str) -> tuple[int, str]:
    row = _object(1, text)
    if row.get("wayround") != "record" or "position" not in row or "chain" not in row:
        raise LineFault(
            1, "does not say that this is a record of Wayround", "choose a file of `wayround export record`"
        )
    if row.get("format") != FORMAT:
        raise LineFault(1, "was written by a newer Wayround", "install that version first")
    if not isinstance(row["position"], int):
        raise LineFault(1, "does not say at which position the record ends")
    return row["position"], row["chain"]


def _entry(work: _Import, number: int, row: dict[str, Any]) -> None:
    document = row["entry"]
    expected = work.position + 1
    if row.get("position") != expected:
        raise LineFault(number, f"has position {row.get('position')} where {expected} comes next")
    if not isinstance(document, str) or link(work.chain, document) != row.get("chain"):
        raise LineFault(number, f"the chain does not fit the entry at position {expected}")
    entry = _checked(number, document)
    work.position, work.chain = expected, row["chain"]
    receipt, kind = entry["receipt"], KINDS[entry["kind"]]
    ms = parse_instant(receipt.get("effective_at", entry["at"]))
    stored = {name: entry[name] for name in ("id", "kind", "machine", "seq")}
    place = {"ms": ms, "position": expected}
    work.add(Entry, stored | place | {"person": entry["by"], "device": receipt["device"], "document": document,
                                      "chain": row["chain"]})  # fmt: skip
    for subject in kind.subjects(entry["machine"]):
        work.add(SubjectEntry, place | {"subject": subject, "entry": entry["id"]})
    if kind.mends:
        work.add(Mending, place | {"entry": entry["id"], "target": entry["body"]["entry"]})
    if receipt["device"] == SERVER_DEVICE:
        work.server_seq = max(work.server_seq, entry["seq"])
    if entry["kind"] == "definition.revised":
        body = entry["body"]
        work.promised[body["id"], body["revision"]] = (body["type"], body["sha256"], expected)
        work.definitions_at = expected


def _checked(number: int, document: str) -> dict[str, Any]:
    """The entry of a text: canonical, with its receipt, of a kind known here, its body of that kind's shape."""
    entry = _object(number, document)
    try:
        if canonical(entry) != document:
            raise LineFault(number, "the entry's text is not canonical")
        parse_instant(entry["receipt"].get("effective_at", entry["at"]))
        if entry["kind"] not in KINDS:
            raise LineFault(number, f"is of kind «{entry['kind']}», which is not known here", "install a newer version")
        KINDS[entry["kind"]].schema.load(entry["body"])
        if not all(isinstance(entry[name], str) for name in ("id", "by")) or not isinstance(entry["seq"], int):
            raise LineFault(number, "is no entry")
    except ValidationError as error:
        told = "; ".join(f"{fault.field} {fault.problem}" for fault in faults_of(error, "body"))
        raise LineFault(number, f"the entry is not of its kind's shape ({told})") from None
    except (LookupError, TypeError, AttributeError, InstantError, Refused):
        raise LineFault(number, "is no entry") from None
    return entry


def _definition(work: _Import, number: int, row: Any) -> None:
    try:
        promised = work.promised.pop((row["id"], row["revision"]), None)
        digest = hashlib.sha256(row["body"].encode()).hexdigest()
        told = (row["type"], digest, row["position"])
        kept = {name: row[name] for name in ("id", "revision", "retired", "body", "position")}
        who = {"person": row["person"], "ms": row["ms"]}
    except (LookupError, TypeError, AttributeError):
        raise LineFault(number, "is no definition") from None
    if promised != told:
        raise LineFault(number, f"{row['type']} {row['id']}, revision {row['revision']}, is not what the record says")
    work.add(DefinitionRevision, kept | who)
    work.newest[row["id"]] = kept | {"type": row["type"]}


def _finish(work: _Import) -> None:
    """Store what waits, set the head, fold, and check everything once more as `wayround verify` does."""
    if work.promised:
        id_, revision = next(iter(work.promised))
        raise LineFault(1, f"revision {revision} of the definition {id_} is missing")
    for row in work.newest.values():
        work.add(Definition, row)
    work.flush()
    at = head(work.session, lock=True)
    at.position, at.chain, at.server_seq = work.position, work.chain, work.server_seq
    at.definitions_at, at.epoch = work.definitions_at, str(uuid4())
    work.session.flush()
    rebuild(work.session)
    wrong = [*verify(work.session).wrong, *definitions.faults(work.session)]
    if wrong:
        raise LineFault(0, f"the record is not whole: {'; '.join(wrong[:5])}")


def write_record(session: Session, out: IO[bytes], now_ms: int, progress: Callable[[int], None]) -> Brought:
    """The record into a file; what was written. `progress` is told per cent."""
    at = head(session)
    entries, chain = at.position, at.chain
    for number, text in enumerate(record_lines(session, now_ms)):
        out.write(text.encode())
        if number % CHUNK == 0:
            progress(min(99, 100 * number // max(entries, 1)))
    return Brought(entries, chain)
