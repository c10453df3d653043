"""How the columns of a machine's own CSV file become readings: a small TOML or JSON file beside it.

at = "Time"                      the column with date and time
at_format = "%d.%m.%Y %H:%M"     when it is not like 2027-03-02 06:58 (strptime's letters)
decimal = ","                    when numbers are written 12,5
machine = "Mill 1"               name or id; or machine_column = "Machine"
[[meter]]
column = "Spindle on (min)"
meter = "Spindle hours"          name, kind or id
unit = "min"                     h, min or s; left out: the meter's own
machine = "Mill 1"               when columns belong to different machines
"""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from webapp.cli.meter_file import Row, RowFault, read_lines
from webapp.core.units import SECONDS_IN

_TOP = {"at", "at_format", "decimal", "machine", "machine_column", "meter"}
_METER = {"column", "meter", "unit", "machine"}
_LARGEST = 100_000


@dataclass(frozen=True)
class MappedMeter:
    """A column that holds one meter's face, the value's unit, and its machine when the file's is another."""

    column: str
    meter: str
    unit: str = ""
    machine: str = ""


@dataclass(frozen=True)
class Mapping:
    """Which columns hold what."""

    at: str
    meters: tuple[MappedMeter, ...]
    at_format: str = ""
    decimal: str = "."
    machine: str = ""
    machine_column: str = ""


def read_mapping(file: Path) -> Mapping:
    """The mapping in a TOML or JSON file. Raises RowFault with everything that is wrong in it."""
    body = _parsed(file)
    if not isinstance(body, dict):
        raise RowFault([f"{file.name}: is no table of names: see `wayround import meters --help`"])
    meters = body.get("meter", [])
    listed = meters if isinstance(meters, list) else [meters]
    faults = [*_faults(body, _TOP, "mapping"), *_wanted(body, "at", "mapping")]
    for number, meter in enumerate(listed, 1):
        where = f"meter {number}"
        if not isinstance(meter, dict):
            faults.append(f"{where}: is no table: give column and meter")
            continue
        faults += [*_faults(meter, _METER, where), *_wanted(meter, "column", where), *_wanted(meter, "meter", where)]
        if meter.get("unit", "h") not in SECONDS_IN:
            faults.append(f"{where}: unit “{meter['unit']}” is not known: give one of {', '.join(SECONDS_IN)}")
        if not (body.get("machine") or body.get("machine_column") or meter.get("machine")):
            faults.append(f"{where}: names no machine: give machine here or above, or machine_column")
    if not listed:
        faults.append("mapping: names no meter: add [[meter]] with column and meter")
    if body.get("decimal", ".") not in (".", ","):
        faults.append("mapping: decimal is neither . nor ,: give the mark that numbers are written with")
    if faults:
        raise RowFault(f"{file.name}: {fault}" for fault in faults)
    plain = {key: value for key, value in body.items() if key != "meter"}
    return Mapping(meters=tuple(MappedMeter(**meter) for meter in listed), **plain)


def mapped_rows(file: Path, mapping: Mapping) -> list[Row]:
    """The readings in the mapped columns; an empty cell is none. Raises RowFault, a line of text for each fault."""
    (_, header), *lines = read_lines(file)
    wanted = [mapping.at, *(meter.column for meter in mapping.meters)]
    wanted += [mapping.machine_column] if mapping.machine_column else []
    missing = [f"column “{name}” is missing in {file.name}: mend the mapping" for name in wanted if name not in header]
    if missing:
        raise RowFault(dict.fromkeys(missing))
    rows: list[Row] = []
    faults: list[str] = []
    for number, cells in lines:
        if not any(cells):
            continue
        if len(cells) < len(header):
            faults.append(f"line {number}: has {len(cells)} columns of {len(header)}: fill it up")
            continue
        try:
            rows += _readings(number, dict(zip(header, cells, strict=False)), mapping)
        except ValueError as error:
            faults.append(f"line {number}: {error}")
    if faults:
        raise RowFault(faults)
    return rows


def _readings(number: int, cells: dict[str, str], mapping: Mapping) -> Iterator[Row]:
    at = cells[mapping.at]
    if mapping.at_format:
        try:
            at = datetime.strptime(at, mapping.at_format).isoformat()
        except ValueError:
            told = f"{mapping.at} “{at[:40]}” is not written like {mapping.at_format}: mend one of the two"
            raise ValueError(told) from None
    machine = cells[mapping.machine_column] if mapping.machine_column else mapping.machine
    for meter in mapping.meters:
        if value := cells[meter.column]:
            yield Row(number, meter.machine or machine, meter.meter, at, _dotted(value, mapping.decimal), meter.unit)


def _dotted(value: str, decimal: str) -> str:
    """The number with a dot for its decimals; one that has marks of both kinds is left to be refused."""
    return value.replace(",", ".") if decimal == "," and "." not in value else value


def _parsed(file: Path) -> Any:
    try:
        text = file.read_text(encoding="utf-8-sig")
        if len(text) > _LARGEST:
            raise ValueError("too long")
        return json.loads(text) if file.suffix.lower() == ".json" else tomllib.loads(text)
    except (OSError, ValueError, RecursionError) as error:
        kind = "JSON" if file.suffix.lower() == ".json" else "TOML"
        raise RowFault([f"{file.name}: is no {kind} in UTF-8 ({str(error)[:80]}): mend it"]) from None


def _faults(table: dict[str, Any], known: set[str], where: str) -> Iterator[str]:
    for name, value in table.items():
        if name not in known:
            yield f"{where}: “{name}” is not known: use {', '.join(sorted(known))}"
        elif name != "meter" and not isinstance(value, str):
            yield f"{where}: {name} is no text: write it in quotation marks"


def _wanted(table: dict[str, Any], name: str, where: str) -> Iterator[str]:
    if not table.get(name):
        yield f"{where}: {name} is missing: add it"
