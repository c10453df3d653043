"""Machines and tasks as spreadsheets, out and back in: a plan of what would change first, then all of it or nothing."""

from __future__ import annotations

import csv
import io
import json
import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import IO, Any

from sqlalchemy.orm import Session

from webapp.records.faults import Fault, Refused
from webapp.reports.spreadsheets import Sheet, plain
from webapp.setup import definitions

MACHINE = ("id", "name", "bay", "family", "maker", "model", "serial", "notes", "retired")
TASK = ("id", "machine", "name", "rule (JSON)", "checklist", "minutes (min)", "start", "steps", "cautions", "why",
        "source", "retired")  # fmt: skip
COLUMNS = {"machines": MACHINE, "tasks": TASK}
TYPES = {"machines": "machine", "tasks": "task"}
_FIELD = {"rule (JSON)": "rule", "minutes (min)": "minutes"}
_EMPTY = {"family": "other"}
_MINUTES = 5.0
LARGEST_CELL = 20_000


@dataclass(frozen=True)
class Change:
    """What a line does: `action` is "add", "change" or "leave"; fields as (column, before, after)."""

    line: int
    action: str
    name: str
    fields: tuple[tuple[str, str, str], ...] = ()

    def to_dict(self) -> dict[str, Any]:
        rows = [{"column": column, "before": before, "after": after} for column, before, after in self.fields]
        return {"line": self.line, "action": self.action, "name": self.name, "fields": rows}


@dataclass
class _Names:
    """Names to ids and back, for the columns that show names."""

    ids: dict[str, dict[str, list[str]]] = field(default_factory=dict)
    names: dict[str, str] = field(default_factory=dict)

    @classmethod
    def of(cls, session: Session) -> _Names:
        found = cls()
        for type_ in ("machine", "bay", "checklist"):
            for row in definitions.list_all(session, type_):
                found.add(type_, row["id"], row["name"])
        return found

    def add(self, type_: str, id_: str, name: str) -> None:
        self.names[id_] = name
        self.ids.setdefault(type_, {}).setdefault(name.casefold(), []).append(id_)

    def shown(self, type_: str, id_: str | None) -> str:
        """The name, or the id where two are called the same."""
        name = self.names.get(id_ or "", "")
        return name if len(self.ids.get(type_, {}).get(name.casefold(), ())) == 1 else id_ or ""

    def meant(self, type_: str, text: str, column: str) -> str | None:
        if not text:
            return None
        found = [text] if text in self.names else self.ids.get(type_, {}).get(text.casefold(), [])
        if len(found) != 1:
            problem = f"“{text[:60]}” fits {len(found)} {type_}s" if found else f"“{text[:60]}” is no {type_} here"
            raise Refused(Fault(column, problem, f"write the name of a {type_} of the shop, or its id"))
        return found[0]


def write_sheet(session: Session, out: IO[bytes], what: str) -> int:
    """Write the spreadsheet of `what` (machines or tasks); how many rows."""
    columns, names = _columns(what), _Names.of(session)
    rows = definitions.list_all(session, TYPES[what])
    sheet = Sheet(out, columns)
    for row in rows:
        sheet.row(_shown(row, column, names) for column in columns)
    sheet.close()
    return len(rows)


def _columns(what: str) -> tuple[str, ...]:
    if what not in COLUMNS:
        raise Refused(Fault("what", f"is «{what}»", f"choose one of: {', '.join(COLUMNS)}"))
    return COLUMNS[what]


def _shown(row: dict[str, Any], column: str, names: _Names) -> str:
    """A cell's text, before it is guarded."""
    value = row.get(_FIELD.get(column, column))
    if column in ("machine", "bay", "checklist"):
        return names.shown(column, value)
    if column == "rule (JSON)":
        return json.dumps(value, sort_keys=True)
    if column == "retired":
        return "yes" if value else "no"
    if column == "steps":
        return "\n".join(value or ())
    if column == "cautions":
        return ", ".join(value or ())
    if isinstance(value, float):
        return f"{value:g}"
    return "" if value is None else str(value)


def bring_in(session: Session, what: str, text: str, made_by: str) -> list[Change]:
    """Do what the spreadsheet says, line by line. Call inside `writing()`, and roll back for a dry run.

    A line with an id edits that definition (columns that the file leaves out stay as they are); one without adds a
    new one. Raises Refused with every fault, each field named as «line N, column».
    """
    columns = _columns(what)
    header, lines = _read(text, columns)
    names, changes, faults, seen = _Names.of(session), [], [], set[str]()
    for number, cells in lines:
        if len(cells) != len(header):
            faults.append(Fault(f"line {number}", f"has {len(cells)} cells of {len(header)}", "fill the line up"))
            continue
        try:
            given = {column: plain(cell.strip()) for column, cell in zip(header, cells, strict=True)}
            if given.get("id") and given["id"] in seen:
                raise Refused(Fault("id", "stands in the file twice", "leave one line for each"))
            seen.add(given.get("id", ""))
            changes.append(_line(session, what, number, given, names, made_by))
        except Refused as refused:
            faults += [Fault(f"line {number}, {fault.field}", fault.problem, fault.mend) for fault in refused.faults]
    if faults:
        raise Refused(*faults)
    return changes


def _read(text: str, columns: tuple[str, ...]) -> tuple[list[str], list[tuple[int, list[str]]]]:
    """The header and the lines with something in them, each with its number."""
    text = text.removeprefix("\ufeff")
    first = text.partition("\n")[0]
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=max(",;\t", key=first.count))
    try:
        rows = [(reader.line_num, cells) for cells in reader]
    except csv.Error as error:
        raise Refused(Fault(f"line {reader.line_num}", f"is no CSV ({error})", "save the file anew as CSV")) from None
    header = [name.strip() for name in rows[0][1]] if rows else []
    unknown = [name for name in header if name not in columns]
    if not header or "name" not in header or unknown or len(set(header)) != len(header):
        problem = (
            f"has the unknown column “{unknown[0][:60]}”" if unknown else "lacks the column “name”, or has one twice"
        )
        raise Refused(Fault("line 1", problem, f"use only these columns, each once: {', '.join(columns)}"))
    return header, [(number, cells) for number, cells in rows[1:] if any(cell.strip() for cell in cells)]


def _line(
    session: Session, what: str, number: int, given: dict[str, str], names: _Names, made_by: str
) -> Change:  # fmt: skip
    type_, id_ = TYPES[what], given.pop("id", "")
    now = definitions.get(session, type_, id_) if id_ else None
    if id_ and now is None:
        raise Refused(Fault("id", f"“{id_[:60]}” is no {type_} of this shop", f"leave it empty to add a {type_}"))
    shown = {column: _shown(now, column, names) if now else "" for column in given}
    moved = tuple((column, shown[column], cell) for column, cell in given.items() if cell != shown[column])
    if now is not None and not moved:
        return Change(number, "leave", now["name"])
    body = {key: value for key, value in (now or {}).items() if key not in ("id", "revision", "retired")}
    retired = bool(now and now["retired"])
    for column, _, cell in moved:
        value = _value(column, cell, names)
        if column == "retired":
            retired = value
        else:
            body[_FIELD.get(column, column)] = value
    if now is not None:
        definitions.update(session, type_, id_, body, now["revision"], made_by, retired=retired)
        return Change(number, "change", now["name"], moved)
    made = definitions.create(session, type_, body, made_by)
    names.add(type_, made["id"], made["name"])
    return Change(number, "add", made["name"], tuple(one for one in moved if one[2]))


def _value(column: str, cell: str, names: _Names) -> Any:
    """What a cell says. Raises Refused naming the column."""
    if len(cell) > LARGEST_CELL:
        raise Refused(Fault(column, f"is {len(cell)} characters long", f"keep it to {LARGEST_CELL}"))
    if column in ("machine", "bay", "checklist"):
        return names.meant(column, cell, column)
    if column == "rule (JSON)":
        return _rule(cell)
    if column == "retired":
        return _yes(cell)
    if column == "minutes (min)":
        return _number(cell)
    if column == "steps":
        return [line.strip() for line in cell.splitlines() if line.strip()]
    if column == "cautions":
        return [word.strip() for word in cell.split(",") if word.strip()]
    return cell or _EMPTY.get(column, None if column in ("maker", "model", "serial", "notes") else cell)


def _rule(cell: str) -> Any:
    try:
        rule = json.loads(cell)
    except (ValueError, RecursionError):
        rule = None
    if not isinstance(rule, dict):
        mend = (
            'write the due rule as JSON, such as {"every": {"months": 6}} or {"meter": "spindle_hours", "every": 250}'
        )
        raise Refused(Fault("rule (JSON)", f"“{cell[:60]}” is no JSON object", mend))
    return rule


def _yes(cell: str) -> bool:
    word = cell.casefold()
    if word not in ("yes", "no", "true", "false", ""):
        raise Refused(Fault("retired", f"“{cell[:60]}” is neither yes nor no", "write yes or no"))
    return word in ("yes", "true")


def _number(cell: str) -> float:
    try:
        value = float(cell) if cell else _MINUTES
    except ValueError:
        raise Refused(Fault("minutes (min)", f"“{cell[:60]}” is no number", "write it like 5 or 7.5")) from None
    if not math.isfinite(value):
        raise Refused(Fault("minutes (min)", f"“{cell[:60]}” is no number", "write it like 5 or 7.5"))
    return int(value) if value.is_integer() else value


class Undone(Exception):
    """Ends a dry run's transaction."""


def lines_told(changes: list[Change]) -> Iterator[str]:
    """The plan in words, a line a thing that changes."""
    for change in changes:
        if change.action == "leave":
            continue
        verb = "is added" if change.action == "add" else "changes"
        yield f"line {change.line}: {change.name} {verb}"
        for column, before, after in change.fields:
            yield f"    {column}: {before or '(empty)'} -> {after or '(empty)'}"
