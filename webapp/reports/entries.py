"""The record read for paper: entries of a span, oldest first, in bounded memory, each with what mended it."""

from __future__ import annotations

import heapq
import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy import func, select, tuple_
from sqlalchemy.orm import Session

from webapp.core.instants import shop_date
from webapp.records.faults import Fault, Refused
from webapp.records.folding import effective, mend
from webapp.records.kinds import KINDS
from webapp.records.models import Entry, Mending
from webapp.setup import definitions
from webapp.setup.models import DefinitionRevision

CHUNK = 500


@dataclass(frozen=True)
class Span:
    """Days of the shop, both included, and the ms since 1970 that they cover (`end_ms` not included)."""

    first: date
    last: date
    zone: str

    @property
    def start_ms(self) -> int:
        return _midnight(self.first, self.zone)

    @property
    def end_ms(self) -> int:
        return _midnight(self.last + timedelta(days=1), self.zone)

    def __str__(self) -> str:
        return f"{self.first.isoformat()} to {self.last.isoformat()}"


def _midnight(day: date, zone: str) -> int:
    return int(datetime.combine(day, time(), ZoneInfo(zone)).astimezone(UTC).timestamp() * 1000)


def span_of(session: Session, first: str | None, last: str | None, now_ms: int) -> Span:
    """The span asked for: ISO dates, without them from the first entry to today. Raises Refused naming `from`/`to`."""
    zone = definitions.shop_zone(session)
    oldest = session.execute(select(func.min(Entry.ms))).scalar_one()
    start = _day(first, "from") or shop_date(oldest if oldest is not None else now_ms, zone)
    end = _day(last, "to") or max(start, shop_date(now_ms, zone))
    if end < start:
        raise Refused(Fault("to", f"is {end}, before the first day ({start})", "send a last day on or after the first"))
    return Span(start, end, zone)


def _day(text: str | None, field_: str) -> date | None:
    if text is None:
        return None
    try:
        day = date.fromisoformat(text) if len(text) == 10 else None
    except ValueError:
        day = None
    if day is None or not 2000 <= day.year < 2200:
        raise Refused(Fault(field_, f"is «{text}», no date", "write it as YYYY-MM-DD, from 2000 to 2199"))
    return day


@dataclass(frozen=True)
class Told:
    """An entry with the body that counts; `voided` and `amended` are the entries that did it."""

    position: int
    ms: int
    id: str
    kind: str
    machine: str | None
    by: str
    body: dict[str, Any]
    raw: dict[str, Any]
    voided: dict[str, Any] | None = None
    amended: dict[str, Any] | None = None


@dataclass
class Reader:
    """Reads up to one position of the record, so that what is printed is one moment of it."""

    session: Session
    upto: int
    machines: frozenset[str] = field(default_factory=frozenset)
    """Only entries of these machines and of the shop; empty: all."""

    def stream(self, kinds: Iterable[str], start_ms: int, end_ms: int, machine: str | None = None) -> Iterator[Told]:
        """Entries of these kinds within [start, end), in the order in which they count; of one machine where named."""
        streams = [self._of_kind(kind, start_ms, end_ms, machine) for kind in sorted(set(kinds) & set(KINDS))]
        return heapq.merge(*streams, key=lambda told: (told.ms, told.id))

    def _of_kind(self, kind: str, start_ms: int, end_ms: int, machine: str | None = None) -> Iterator[Told]:
        after = (start_ms, "")
        while True:
            query = (
                select(Entry.position, Entry.id, Entry.ms, Entry.document)
                .where(Entry.kind == kind, Entry.ms < end_ms, tuple_(Entry.ms, Entry.id) > tuple_(*after))
                .where(Entry.position <= self.upto)
            )
            if machine:
                query = query.where(Entry.machine == machine)
            rows = self.session.execute(query.order_by(Entry.ms, Entry.id).limit(CHUNK)).all()
            yield from self.tell(rows)
            if len(rows) < CHUNK:
                return
            after = (rows[-1].ms, rows[-1].id)

    def tell(self, rows: Iterable[Any]) -> Iterator[Told]:
        """Rows of (position, id, ms, document) with their mendings; those of other machines left out."""
        rows = list(rows)
        mended = self._mendings([row.id for row in rows])
        for row in rows:
            raw = json.loads(row.document)
            if self.machines and raw["machine"] is not None and raw["machine"] not in self.machines:
                continue
            by = mended.get(row.id, [])
            now = mend(effective(raw, row.ms), by)
            void = next((one for one in by if one["kind"] == "entry.voided"), None) if now is None else None
            changed = now is not None and now.body is not raw["body"]
            last = next(one for one in reversed(by) if one["body"].get("body") is now.body) if now and changed else None
            body = now.body if now is not None else raw["body"]
            yield Told(row.position, row.ms, row.id, raw["kind"], raw["machine"], raw["by"], body, raw, void, last)

    def _mendings(self, targets: list[str]) -> dict[str, list[dict[str, Any]]]:
        found: dict[str, list[dict[str, Any]]] = {}
        if targets:
            query = (
                select(Mending.target, Entry.document)
                .join(Entry, Entry.position == Mending.position)
                .where(Mending.target.in_(targets), Mending.position <= self.upto)
                .order_by(Mending.ms, Mending.entry)
            )
            for target, document in self.session.execute(query):
                found.setdefault(target, []).append(json.loads(document))
        return found

    def closings(self, kind: str, field_: str) -> dict[str, int]:
        """What an entry of this kind closes -> its position, over the whole record; voided ones left out."""
        found: dict[str, int] = {}
        for told in self._of_kind(kind, -(2**62), 2**62):
            if told.voided is None:
                found.setdefault(told.body[field_], told.position)
        return found

    def at(self, position: int) -> Told:
        """The entry at a position."""
        query = select(Entry.position, Entry.id, Entry.ms, Entry.document).where(Entry.position == position)
        return next(iter(Reader(self.session, self.upto).tell(self.session.execute(query).all())))

    def count(self, start_ms: int, end_ms: int) -> dict[str, int]:
        """How many entries of each kind lie in [start, end), those of other machines left out."""
        query = select(Entry.kind, func.count()).where(Entry.ms >= start_ms, Entry.ms < end_ms)
        if self.machines:
            query = query.where(Entry.machine.is_(None) | Entry.machine.in_(self.machines))
        rows = self.session.execute(query.where(Entry.position <= self.upto).group_by(Entry.kind))
        return {row[0]: row[1] for row in rows}


class Names:
    """Names of everything defined, of checks that lists once had, and of tasks that were raised."""

    def __init__(self, session: Session) -> None:
        self.session = session
        self.rows = {type_: definitions.list_all(session, type_) for type_ in definitions.TYPES}
        self.of = {row["id"]: row["name"] for rows in self.rows.values() for row in rows}
        self.things: dict[str, dict[str, Any]] = {}
        for machine in self.rows["machine"]:
            self.things |= {one["id"]: one for key in ("meters", "parts", "fluids") for one in machine[key]}
        self.of |= {id_: thing["name"] for id_, thing in self.things.items()}
        self.checks = self._checks()
        self.entry_line = lru_cache(maxsize=2000)(self._entry_line)

    def _checks(self) -> dict[str, dict[str, Any]]:
        lists = [row["id"] for row in self.rows["checklist"]]
        query = select(DefinitionRevision.body).where(DefinitionRevision.id.in_(lists))
        bodies = self.session.execute(query.order_by(DefinitionRevision.revision)).scalars()
        return {check["id"]: check for body in bodies for check in json.loads(body)["checks"]}

    def __call__(self, id_: str | None) -> str:
        if not id_:
            return ""
        return self.of.get(id_) or self.entry_line(id_)

    def unit(self, id_: str) -> str:
        """The unit that a meter counts in; "" of anything else."""
        return str(self.things.get(id_, {}).get("unit") or "")

    def _entry_line(self, id_: str) -> str:
        """An entry by its own words: a raised task by its title, a finding by its text."""
        row = self.session.execute(select(Entry.kind, Entry.document).where(Entry.id == id_)).first()
        if row is None:
            return f"({id_[:8]})"
        body = json.loads(row.document)["body"]
        return str(body.get("title") or body.get("text") or body.get("why") or KINDS[row.kind].summary(body, self))


def when(ms: int, zone: str) -> str:
    """Date and time on the shop's wall."""
    moment = datetime.fromtimestamp(ms / 1000, UTC).astimezone(ZoneInfo(zone))
    return moment.strftime("%Y-%m-%d %H:%M")


def air_unit(unit: str) -> str:
    """A unit of air as it is printed."""
    return {"mg/m3": "mg/m³", "ug/m3": "µg/m³"}.get(unit, unit)


def figure(value: float) -> str:
    """A number as people write it: up to 6 significant decimals, no exponent."""
    return f"{value:.6f}".rstrip("0").rstrip(".") if isinstance(value, float) else str(value)
