"""Every kind of entry as a CSV file, in one zip: a row an entry, and a file of its own for each list inside of one."""

from __future__ import annotations

import json
import tempfile
import zipfile
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from typing import IO, Any

from marshmallow import Schema, fields
from sqlalchemy.orm import Session

from webapp.core.instants import instant_text
from webapp.records.append import head
from webapp.records.fields import Ref, is_uuid
from webapp.records.kinds import KINDS
from webapp.reports.entries import Names, Reader, Span, Told, when
from webapp.reports.spreadsheets import Sheet

_CHUNK = 1 << 20
UNITS = {
    "seconds": "s", "minutes": "min", "minutes_per_load": "min", "needed": "s", "shift_hours": "h", "hours": "h",
    "strength": "%", "used": "pieces", "count": "in the item's unit", "loads": "loads",
    "arrived": "in the item's unit", "change_after": "h", "area_per_cut": "in the unit of the cut area's meter",
}  # fmt: skip
"""Fields whose unit is fixed. Where a row carries its own unit, that stands in the column `unit` beside it."""
_OWN_UNIT = {"value", "amount", "water", "concentrate", "weight"}
_LEAD = ("position", "entry id", "at (UTC)", "machine", "machine id", "by", "by id", "device", "received at (UTC)",
         "clock corrected by (ms)", "voided", "amended")  # fmt: skip
METER_UNIT = "unit of the meter"


@dataclass
class _Column:
    """A column of a kind: the path in the body, and how its cell is made."""

    header: str
    path: tuple[str, ...]
    name: bool = False
    """Whether the cell is the name of what the id in the body stands for."""
    maybe: bool = False
    """Whether the body may hold a word as well: an alloy of the library stands by its own key."""


@dataclass
class _Layout:
    """How a kind becomes tables: its columns, and its inner lists by field."""

    columns: list[_Column] = field(default_factory=list)
    lists: dict[str, Schema] = field(default_factory=dict)
    amounts: list[str] = field(default_factory=list)
    meter: bool = False


def write_tables(
    session: Session, out: IO[bytes], span: Span, progress: Callable[[int], None] = lambda percent: None
) -> dict[str, int]:
    """Write the zip of a span; how many rows each file has. One kind at a time, in bounded memory."""
    reader, names = Reader(session, head(session).position), Names(session)
    counts: dict[str, int] = {}
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as zipped:
        for number, kind in enumerate(sorted(KINDS)):
            counts |= _write_kind(zipped, reader, names, kind, span)
            progress(100 * (number + 1) // len(KINDS))
    return counts


def layout(kind: str) -> _Layout:
    """The columns of a kind, from its schema; a field with a unit says it in its header."""
    found = _Layout()
    schema = KINDS[kind].schema
    own_unit = "unit" in schema.fields
    found.meter = "meter" in schema.fields
    for name, about in schema.fields.items():
        _place(found, (name,), about, own_unit)
    return found


def _place(found: _Layout, path: tuple[str, ...], about: fields.Field[Any], own_unit: bool) -> None:
    name = path[-1]
    if isinstance(about, fields.List) and isinstance(about.inner, fields.Nested):
        found.lists[name] = about.inner.schema
    elif isinstance(about, fields.Nested):
        for inner, deeper in about.schema.fields.items():
            _place(found, (*path, inner), deeper, "unit" in about.schema.fields)
    elif isinstance(about, fields.Dict) and name in ("adds", "cutters"):
        found.amounts.append(name)
    else:
        found.columns.append(_Column(header(path, own_unit, found.meter), path))
        if isinstance(about, Ref):
            found.columns.append(_Column(f"{'.'.join(path)} name", path, name=True))
        if name == "alloy":
            found.columns.append(_Column("alloy name", path, name=True, maybe=True))


def header(path: tuple[str, ...], own_unit: bool, meter: bool = False) -> str:
    """A column's heading, with its unit or where its unit stands."""
    name = ".".join(path)
    if path[-1] in _OWN_UNIT and own_unit:
        return f"{name} (in unit)"
    if path[-1] in ("value", "amount") and meter:
        return f"{name} (in {METER_UNIT})"
    unit = UNITS.get(path[-1])
    return f"{name} ({unit})" if unit else name


class _Tables:
    """The files of one kind while they are written, each in a temporary file."""

    def __init__(self, kind: str) -> None:
        self.kind, self.open = kind, {}  # type: tuple[str, dict[str, tuple[IO[bytes], Sheet]]]
        self.counts: dict[str, int] = {}

    def row(self, name: str, headings: list[str], values: list[Any]) -> None:
        if name not in self.open:
            file = tempfile.TemporaryFile()  # noqa: SIM115 - closed when it is copied into the zip
            self.open[name] = (file, Sheet(file, headings))
        self.open[name][1].row(values)
        self.counts[name] = self.counts.get(name, 0) + 1

    def into(self, zipped: zipfile.ZipFile) -> None:
        for name, (file, sheet) in self.open.items():
            sheet.close()
            file.seek(0)
            with file, zipped.open(_about(name), "w", force_zip64=True) as target:
                while chunk := file.read(_CHUNK):
                    target.write(chunk)


def _about(name: str) -> zipfile.ZipInfo:
    """The same record gives the same zip: no time of writing in it."""
    about = zipfile.ZipInfo(name)
    about.compress_type = zipfile.ZIP_DEFLATED
    about.external_attr = 0o644 << 16
    return about


def _write_kind(zipped: zipfile.ZipFile, reader: Reader, names: Names, kind: str, span: Span) -> dict[str, int]:
    tables, how = _Tables(kind), layout(kind)
    local = f"at ({span.zone})"
    headings = [*_LEAD[:3], local, *_LEAD[3:], *(column.header for column in how.columns)]
    headings += [METER_UNIT] * how.meter + ["other fields (JSON)"]
    for told in reader.stream((kind,), span.start_ms, span.end_ms):
        cells = [_cell(told.body, column, names) for column in how.columns]
        cells += [names.things.get(told.body["meter"], {}).get("unit")] if how.meter else []
        tables.row(
            f"{kind}.csv", headings, [*_lead(told, names, span), *cells, _others(told.body, KINDS[kind].schema.fields)]
        )
        _write_lists(tables, how, told, names)
    tables.into(zipped)
    return tables.counts


def _lead(told: Told, names: Names, span: Span) -> Iterator[Any]:
    receipt = told.raw["receipt"]
    yield from (told.position, told.id, instant_text(told.ms), when(told.ms, span.zone))
    yield from (names(told.machine), told.machine, names(told.by), told.by, receipt["device"], receipt["received_at"])
    yield receipt["offset_ms"] if receipt.get("marked") else 0
    yield from (told.voided is not None, told.amended is not None)


def _cell(body: dict[str, Any], column: _Column, names: Names) -> Any:
    value: Any = body
    for step in column.path:
        value = value.get(step) if isinstance(value, dict) else None
    if column.name:
        return names(value) if not column.maybe or is_uuid(value) else value
    if isinstance(value, list | dict):
        return json.dumps(value, ensure_ascii=False)
    return value


def _others(body: dict[str, Any], known: Iterable[str]) -> str:
    """What the schema does not know: it is kept in the record, so it is kept here."""
    rest = {key: value for key, value in body.items() if key not in set(known)}
    return json.dumps(rest, ensure_ascii=False, sort_keys=True) if rest else ""


def _write_lists(tables: _Tables, how: _Layout, told: Told, names: Names) -> None:
    """A row for each thing in a list, beside the entry's id."""
    for name, schema in how.lists.items():
        own_unit = "unit" in schema.fields
        inner = [*schema.fields]
        headings = ["entry id", "number", *(header((one,), own_unit) for one in inner)]
        headings += ["check text"] * (name == "checks") + ["other fields (JSON)"]
        for number, one in enumerate(told.body.get(name) or (), 1):
            cells = [one.get(key) for key in inner]
            cells += [names.checks.get(one["check"], {}).get("text")] if name == "checks" else []
            cells.append(_others(one, inner))
            tables.row(f"{told.kind}.{name}.csv", ["position", *headings], [told.position, told.id, number, *cells])
    for name in how.amounts:
        headings = ["position", "entry id", "id", "name", "amount (in unit)", "unit"]
        for key, amount in (told.body.get(name) or {}).items():
            unit = "min a load" if name == "cutters" else names.things.get(key, {}).get("unit")
            tables.row(f"{told.kind}.{name}.csv", headings, [told.position, told.id, key, names(key), amount, unit])
