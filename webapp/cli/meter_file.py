"""Counter readings from a CSV file, turned into `meter.read` entries of this server."""

from __future__ import annotations

import csv
import hashlib
import json
import math
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import select
from sqlalchemy.orm import Session

from webapp.core.instants import parse_instant
from webapp.core.units import SECONDS_IN
from webapp.database import writing
from webapp.records.append import Delivery, append
from webapp.records.models import Entry, State
from webapp.records.state import r6
from webapp.security.devices import server_device
from webapp.setup import definitions
from webapp.setup.ids import now_ms

COLUMNS = ("machine", "meter", "at", "value")
_AT_ONCE = 500


class RowFault(Exception):
    """What is wrong with the file, a line of text for each thing."""

    def __init__(self, lines: Iterable[str]) -> None:
        self.lines = list(lines)
        super().__init__("; ".join(self.lines))


@dataclass(frozen=True)
class Row:
    """A reading as it stands in a line of the file; `unit` is the value's, empty when it is the meter's."""

    line: int
    machine: str
    meter: str
    at: str
    value: str
    unit: str = ""


@dataclass(frozen=True)
class Change:
    """What the file does to one meter: how many readings of it are new, and its total before and after."""

    machine: str
    meter: str
    unit: str
    readings: int
    before: float
    after: float


@dataclass(frozen=True)
class Brought:
    """How many readings were added, how many the record had, and what that does to each meter."""

    added: int
    known: int
    changes: tuple[Change, ...] = ()


class _Undone(Exception):
    """Ends a dry run's transaction."""


def read_rows(file: Path) -> list[Row]:
    """The lines of the file. Raises RowFault naming a missing column, or an unreadable file."""
    (_, first), *lines = read_lines(file)
    header = [name.lower() for name in first]
    missing = [f"column “{name}” is missing: add it to the first line" for name in COLUMNS if name not in header]
    if missing:
        raise RowFault(missing)
    places = [header.index(name) for name in COLUMNS]
    lines = [(number, cells) for number, cells in lines if any(cells)]
    short = [(number, len(cells)) for number, cells in lines if len(cells) <= max(places)]
    if short:
        raise RowFault(f"line {number}: has {has} columns of {len(header)}: fill it up" for number, has in short)
    return [Row(number, *(cells[place] for place in places)) for number, cells in lines]


def read_lines(file: Path) -> list[tuple[int, list[str]]]:
    """Every line with its number, its cells trimmed; at least one. Raises RowFault for what is no CSV."""
    try:
        text = file.read_text(encoding="utf-8-sig")
    except (UnicodeDecodeError, OSError):
        raise RowFault([f"{file} cannot be read: save it as CSV in UTF-8"]) from None
    first = text.partition("\n")[0]
    reader = csv.reader(text.splitlines(), delimiter=max(",;\t", key=first.count))
    lines: list[tuple[int, list[str]]] = []
    try:
        for cells in reader:
            lines.append((reader.line_num, [cell.strip() for cell in cells]))
    except csv.Error as error:
        raise RowFault([f"line {reader.line_num}: is no CSV ({error}): mend it, or save the file anew"]) from None
    return lines or [(1, [])]


def bring_in(rows: list[Row], by: str | None, *, dry_run: bool) -> Brought:
    """Append every reading that the record does not have, in one transaction. After RowFault, none is."""
    brought = Brought(0, 0)
    try:
        with writing() as session:
            brought = _append(session, rows, by)
            if dry_run:
                raise _Undone
    except _Undone:
        pass
    return brought


def _append(session: Session, rows: list[Row], by: str | None) -> Brought:
    person = person_of(session, by)
    lines, entries = _entries(session, rows, person)
    new = [entry for entry in entries if not _has(session, entry["id"])]
    before = _totals(session, new)
    device = server_device(session)
    known = definitions.known(session)
    faults = []
    for start in range(0, len(new), _AT_ONCE):
        batch = new[start : start + _AT_ONCE]
        for entry in batch:
            device.seq_max += 1
            entry["seq"] = device.seq_max
        now = now_ms()
        for result in append(session, Delivery(device.id, now, now), batch, known):
            faults += [f"line {lines[result.id]}: {f.field} {f.problem}: {f.mend}" for f in result.faults]
    if faults:
        raise RowFault(faults)
    return Brought(len(new), len(entries) - len(new), _changes(session, new, before, _totals(session, new)))


def _totals(session: Session, entries: list[dict[str, Any]]) -> dict[str, float]:
    """Meter id -> total now, for the machines that entries are about."""
    subjects = {f"machine:{entry['machine']}" for entry in entries}
    bodies = session.execute(select(State.body).where(State.subject.in_(subjects))).scalars()
    return {key: meter["total"] for body in bodies for key, meter in json.loads(body)["meters"].items()}


def _changes(
    session: Session, entries: list[dict[str, Any]], before: dict[str, float], after: dict[str, float]
) -> tuple[Change, ...]:
    """What new entries do to each of their meters, by machine and name."""
    counted = Counter(entry["body"]["meter"] for entry in entries)
    return tuple(
        Change(machine["name"], meter["name"], meter["unit"], counted[key], before.get(key, 0), after.get(key, 0))
        for machine in sorted(definitions.list_all(session, "machine"), key=lambda row: str(row["name"]))
        for meter in machine["meters"]
        if (key := meter["id"]) in counted
    )


def _entries(session: Session, rows: list[Row], person: str) -> tuple[dict[str, int], list[dict[str, Any]]]:
    """The entries in order of time, so that a counter is never seen to run backwards, and each one's line."""
    machines = [row for row in definitions.list_all(session, "machine") if not row["retired"]]
    zone = ZoneInfo(definitions.shop_zone(session))
    made: dict[str, tuple[int, dict[str, Any]]] = {}
    lines: dict[str, int] = {}
    faults = []
    for row in rows:
        try:
            ms, entry = _entry(row, machines, zone, person)
            made.setdefault(entry["id"], (ms, entry))
            lines.setdefault(entry["id"], row.line)
        except ValueError as error:
            faults.append(f"line {row.line}: {error}")
    if faults:
        raise RowFault(faults)
    return lines, [entry for _, entry in sorted(made.values(), key=lambda pair: (pair[0], pair[1]["id"]))]


def _entry(row: Row, machines: list[dict[str, Any]], zone: ZoneInfo, person: str) -> tuple[int, dict[str, Any]]:
    machine = the_one(row.machine, machines, ("id", "name"), "machine")
    meter = the_one(row.meter, machine["meters"], ("id", "name", "kind"), "meter")
    at, value = time_of(row.at, zone), _in_unit(_number(row.value), row.unit, meter)
    ms = parse_instant(at)
    body = {"meter": meter["id"], "value": value}
    id_ = _id_of(ms, meter["id"], value)
    return ms, {
        "id": id_,
        "kind": "meter.read",
        "machine": machine["id"],
        "by": person,
        "at": at,
        "body": body,
    }


def the_one(wanted: str, rows: list[dict[str, Any]], keys: tuple[str, ...], what: str) -> dict[str, Any]:
    """The one row of that id or name. Raises ValueError when none or several fit."""
    found = [row for row in rows if wanted.casefold() in {str(row[key]).casefold() for key in keys}]
    if len(found) == 1:
        return found[0]
    names = ", ".join(sorted(str(row["name"]) for row in (found or rows))) or "none is set up"
    problem = "fits more than one" if found else f"is no {what} here"
    raise ValueError(f"{what} “{_short(wanted)}” {problem}: use one of {names}, or its id")


def time_of(text: str, zone: ZoneInfo) -> str:
    """RFC 3339 with offset; a time without one is the shop's."""
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        moment = None
    if moment is None or len(text) < len("2027-03-02 06:58"):
        raise ValueError(f"at “{_short(text)}” is no date and time: write it like 2027-03-02 06:58")
    if moment.year < 1900:  # zones had odd seconds then
        raise ValueError(f"at “{text}” is out of range: check the year")
    moment = moment if moment.tzinfo else moment.replace(tzinfo=zone)
    return moment.isoformat(timespec="milliseconds")


def _number(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise ValueError(f"value “{_short(text)}” is no number: write it like 1234.5, without thousands marks")
    return int(value) if value.is_integer() else value


def _in_unit(value: float, unit: str, meter: dict[str, Any]) -> float:
    """A value in the meter's unit. Raises ValueError where time would become something else."""
    if unit in ("", meter["unit"]):
        return value
    if meter["unit"].lower() not in SECONDS_IN:
        raise ValueError(f"meter “{meter['name']}” counts in {meter['unit']}, not in {unit}: mend the mapping")
    turned = r6(value * SECONDS_IN[unit] / SECONDS_IN[meter["unit"].lower()])
    return int(turned) if turned.is_integer() else turned


def _short(text: str) -> str:
    """A cell as a message shows it."""
    return text if len(text) <= 40 else f"{text[:40]}…"


def _id_of(ms: int, meter: str, value: float) -> str:
    """A UUIDv7 that the same reading always gets, so that a file brought in twice counts once."""
    return stable_id(ms, hashlib.sha256(f"{meter} {ms} {value}".encode()).digest())


def stable_id(ms: int, sha256: bytes) -> str:
    """A UUIDv7 of a time whose random bits are a digest's: the same thing always gets the same."""
    digest = int.from_bytes(sha256[:10])
    random_a, random_b = digest & 0xFFF, digest >> 12 & (1 << 62) - 1
    return str(UUID(int=(ms & (1 << 48) - 1) << 80 | 0x7 << 76 | random_a << 64 | 0b10 << 62 | random_b))


def _has(session: Session, id_: str) -> bool:
    return session.scalar(select(Entry.position).where(Entry.id == id_)) is not None


def person_of(session: Session, wanted: str | None) -> str:
    """The id of the person meant by name, initials or id; the owner's without any. Raises RowFault."""
    people = [row for row in definitions.list_all(session, "person") if not row["retired"]]
    if wanted is None:
        people = [row for row in people if row["role"] == "owner"]
        if not people:
            raise RowFault(["nobody is the owner yet: name who read them with --by"])
        return str(people[0]["id"])
    try:
        return str(the_one(wanted, people, ("id", "name", "initials"), "person")["id"])
    except ValueError as error:
        raise RowFault([str(error)]) from None
