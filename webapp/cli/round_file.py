"""Rounds walked on printed sheets, from a CSV file: a line a check, turned into `round.done` entries marked so."""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy import select
from sqlalchemy.orm import Session

from webapp.cli.meter_file import RowFault, person_of, read_lines, stable_id, the_one, time_of
from webapp.core.bands import verdict
from webapp.core.instants import instant_text, parse_instant
from webapp.core.numbers import tidy
from webapp.records.append import Delivery, append
from webapp.records.models import Entry
from webapp.security.devices import server_device
from webapp.setup import definitions
from webapp.setup.ids import now_ms

COLUMNS = ("machine", "list", "at", "by", "check", "answer", "value", "note")
NEEDED = ("machine", "list", "at", "by", "check", "answer")
_ANSWERS = {"ok": "ok", "not ok": "not ok", "notok": "not ok", "n/a": "n/a", "na": "n/a"}


@dataclass(frozen=True)
class Typed:
    """Rounds brought in, and those that the record had."""

    added: tuple[str, ...]
    known: int


@dataclass(frozen=True)
class _Sheet:
    """The lines of one printed sheet."""

    machine: dict[str, Any]
    checklist: dict[str, Any]
    at: str
    by: str
    lines: list[tuple[int, dict[str, str]]]


def bring_in(session: Session, file: Path) -> Typed:
    """Append the rounds of a file that the record does not have. Call inside `writing()`. Raises RowFault."""
    entries = []
    for sheet in _sheets(session, file):
        entry = _entry(sheet)
        entries += [entry, *_findings(sheet, entry)]
    there = {entry["id"] for entry in entries if _has(session, entry["id"])}
    new = [entry for entry in entries if entry["id"] not in there]
    device, now = server_device(session), now_ms()
    for entry in new:
        device.seq_max += 1
        entry["seq"] = device.seq_max
    results = append(session, Delivery(device.id, now, now), new, definitions.known(session))
    faults = [f"{fault.field} {fault.problem}: {fault.mend}" for result in results for fault in result.faults]
    if faults:
        raise RowFault(faults)
    rounds = [entry for entry in entries if entry["kind"] == "round.done"]
    fresh = [entry for entry in rounds if entry["id"] not in there]
    return Typed(tuple(_told(session, entry) for entry in fresh), len(rounds) - len(fresh))


def _has(session: Session, id_: str) -> bool:
    return session.scalar(select(Entry.position).where(Entry.id == id_)) is not None


def _told(session: Session, entry: dict[str, Any]) -> str:
    machine = definitions.get(session, "machine", entry["machine"]) or {}
    checklist = definitions.get(session, "checklist", entry["body"]["checklist"]) or {}
    return f"{machine['name']}, {checklist['name']}, {entry['at']}: {entry['body']['outcome']}"


def _sheets(session: Session, file: Path) -> list[_Sheet]:
    """The lines of the file by sheet: machine, list, time and person."""
    machines = [row for row in definitions.list_all(session, "machine") if not row["retired"]]
    lists = [row for row in definitions.list_all(session, "checklist") if not row["retired"]]
    zone = ZoneInfo(definitions.shop_zone(session))
    sheets: dict[tuple[str, str, str, str], _Sheet] = {}
    faults = []
    for number, row in _rows(file):
        try:
            machine = the_one(row["machine"], machines, ("id", "name"), "machine")
            own = [one for one in lists if one["machine"] == machine["id"]]
            checklist = the_one(row["list"], own, ("id", "name", "form"), "list")
            at, by = time_of(row["at"], zone), person_of(session, row["by"])
            key = (machine["id"], checklist["id"], at, by)
            sheets.setdefault(key, _Sheet(machine, checklist, at, by, [])).lines.append((number, row))
        except (ValueError, RowFault) as error:
            faults.append(f"line {number}: {error}")
    if faults:
        raise RowFault(faults)
    return [sheets[key] for key in sorted(sheets, key=lambda one: (parse_instant(one[2]), one))]


def _rows(file: Path) -> Iterator[tuple[int, dict[str, str]]]:
    (_, first), *lines = read_lines(file)
    header = [name.lower() for name in first]
    missing = [f"column “{name}” is missing: add it to the first line" for name in NEEDED if name not in header]
    missing += [f"column “{name}” is not known: use {', '.join(COLUMNS)}" for name in header if name not in COLUMNS]
    if missing:
        raise RowFault(missing)
    for number, cells in lines:
        if any(cells):
            yield number, dict(zip(header, [*cells, *[""] * len(header)], strict=False))


def _entry(sheet: _Sheet) -> dict[str, Any]:
    """The round of a sheet, its id told by what is on it, so that a file brought in twice counts once."""
    answers, faults = {}, []
    for number, row in sheet.lines:
        try:
            check, answer = _answer(sheet.checklist["checks"], row)
            if check in answers:
                raise ValueError(f"check {row['check']} stands twice: leave one line for each")
            answers[check] = answer
        except ValueError as error:
            faults.append(f"line {number}: {error}")
    lacking = [one["text"] for one in sheet.checklist["checks"] if one["id"] not in answers]
    if lacking and not faults:
        told = f"{sheet.machine['name']}, {sheet.checklist['name']}, {sheet.at}"
        faults.append(f"{told}: lacks «{lacking[0]}»: add a line for each check, n/a where it was left out")
    if faults:
        raise RowFault(faults)
    checks = [answers[one["id"]] for one in sheet.checklist["checks"]]
    stopped = any(one["stop"] and one["answer"] == "not ok" for one in checks)
    outcome = ("not fit" if stopped else "fit") if sheet.checklist["form"] == "start-up" else "done"
    body = {"checklist": sheet.checklist["id"], "revision": sheet.checklist["revision"], "started_at": sheet.at}
    body |= {"form": sheet.checklist["form"], "seconds": 0, "outcome": outcome, "checks": checks, "typed_in": True}
    return _made(sheet, "round.done", body)


def _made(sheet: _Sheet, kind: str, body: dict[str, Any]) -> dict[str, Any]:
    ms = parse_instant(sheet.at)
    digest = hashlib.sha256(json.dumps([kind, body, sheet.machine["id"], sheet.by], sort_keys=True).encode()).digest()
    made = {"id": stable_id(ms, digest), "kind": kind, "machine": sheet.machine["id"], "by": sheet.by}
    return made | {"at": instant_text(ms), "body": body}


def _findings(sheet: _Sheet, entry: dict[str, Any]) -> list[dict[str, Any]]:
    """What was not ok stays open until somebody closes it, as after a round on a phone."""
    texts = {one["id"]: one["text"] for one in sheet.checklist["checks"]}
    made = []
    for one in entry["body"]["checks"]:
        if one["answer"] == "not ok":
            text = one.get("note") or f"Not ok: {texts[one['check']]}"
            body = {"text": text, "stop": one["stop"], "check": one["check"], "round": entry["id"]}
            made.append(_made(sheet, "finding.opened", body))
    return made


def _answer(checks: list[dict[str, Any]], row: dict[str, str]) -> tuple[str, dict[str, Any]]:
    """What a line says: the check (by its number on the sheet, its text or id) and its answer."""
    text = row["check"]
    if text.isdecimal() and 1 <= int(text) <= len(checks):
        check = checks[int(text) - 1]
    else:
        check = the_one(text, [one | {"name": one["text"]} for one in checks], ("id", "text"), "check")
    answer = _ANSWERS.get(row["answer"].casefold())
    if answer is None:
        raise ValueError(f"answer “{row['answer'][:40]}” is none: write ok, not ok or n/a")
    made: dict[str, Any] = {"check": check["id"], "answer": answer, "stop": check["stop"]}
    if row.get("value"):
        made |= _reading(check, row["value"])
        lies = made.get("verdict", "")
        if lies.startswith("stop") and answer == "ok":
            raise ValueError(f"value {row['value']} lies beyond its stop limit, yet the answer is ok: write not ok")
        made["stop"] = made["stop"] or lies.startswith("stop")
    if row.get("note"):
        made["note"] = row["note"]
    return check["id"], made


def _reading(check: dict[str, Any], text: str) -> dict[str, Any]:
    try:
        value = float(text)
    except ValueError:
        raise ValueError(f"value “{text[:40]}” is no number: write it like 7.5") from None
    if check["answer"] != "reading":
        raise ValueError(f"value “{text[:40]}” stands at «{check['text']}», which takes none: clear it")
    if not math.isfinite(value):
        raise ValueError(f"value “{text[:40]}” is no number: write it like 7.5")
    # As on the phone: what the instrument shows times the check's factor, in the check's unit.
    value = tidy(value * (check.get("factor") or 1), 3) if check.get("factor") not in (None, 1) else tidy(value)
    made = {"value": value, "unit": check.get("unit") or ""}
    if check.get("quantity"):
        made["quantity"] = check["quantity"]
    if check.get("band"):
        made["verdict"] = verdict(value, check["band"])
    return made
