"""What is due today: every task judged by its rule and the facts of its machine."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from webapp.core.due import Due, judge
from webapp.core.instants import parse_instant, shop_date
from webapp.records.models import State
from webapp.records.state import Doc, empty_doc
from webapp.setup import definitions


@dataclass(frozen=True)
class Judged:
    """A task with its verdict."""

    task: dict[str, Any]
    due: Due


def judge_all(session: Session, now_ms: int) -> list[Judged]:
    """Every task in use, judged for the shop's date at `now_ms`."""
    zone = definitions.shop_zone(session)
    docs = {subject: json.loads(body) for subject, body in session.execute(select(State.subject, State.body))}
    machines = {machine["id"]: machine for machine in definitions.list_all(session, "machine")}
    judged = []
    for task in definitions.list_all(session, "task"):
        machine = machines.get(task["machine"] or "")
        if task["retired"] or (machine and machine["retired"]):
            continue
        doc = docs.get(f"machine:{task['machine']}" if task["machine"] else "shop") or empty_doc()
        dated = definitions.with_dates(session, task, zone)
        judged.append(Judged(task, judge(task["rule"], facts(dated, machine, doc, now_ms, zone))))
    return judged


def facts(task: dict[str, Any], machine: dict[str, Any] | None, doc: Doc, now_ms: int, zone: str) -> dict[str, Any]:
    """What `judge` must know of a task today. Its twin is `static/src/core/facts.js`."""
    kinds = {meter["id"]: meter["kind"] for meter in (machine or {}).get("meters", ())}
    today = shop_date(now_ms, zone).isoformat()
    done = _last_done(task, doc)
    kept = doc["tasks"].get(task["id"]) or {}
    deferred = kept.get("deferred")
    since_back = doc["back_at"] is None or (done is not None and done["at"] > doc["back_at"])
    read = {quantity: rows for quantity, rows in doc["readings"].items() if rows}
    return {
        "today": today,
        "in_service": not doc["tags"],
        "start": task["start"],
        "done": done and _moment(done["at"], done["meters"], kinds, zone),
        "deferred_to": deferred["to"] if deferred and (done is None or deferred["at"] > done["at"]) else None,
        "meters": _by_kind({key: meter["total"] for key, meter in doc["meters"].items()}, kinds),
        "readings": {quantity: rows[0]["value"] for quantity, rows in read.items()},
        "done_today": done is not None and _day(done["at"], zone) == today and since_back,
        "used_today": doc["used_at"] is not None and _day(doc["used_at"], zone) == today,
        "events": _events(machine, doc, kinds, zone),
        "meter_start": _by_kind(task["meter_start"], kinds),
        "dates": task["dates"],
        "units": {quantity: rows[0]["unit"] for quantity, rows in read.items()}
        | {meter["kind"]: meter["unit"] for meter in (machine or {}).get("meters", ())},
    }


def _last_done(task: dict[str, Any], doc: Doc) -> dict[str, Any] | None:
    """The newest of the task's own doing and its checklist's round."""
    own = doc["tasks"].get(task["id"])
    found = [own] if own and own["at"] else []
    walked = doc["rounds"].get(task["checklist"] or "")
    found += [walked] if walked else []
    return max(found, key=lambda row: row["at"], default=None)


def _events(machine: dict[str, Any] | None, doc: Doc, kinds: dict[str, str], zone: str) -> dict[str, Any]:
    """The newest change of each wearing part and fluid, by kind and by id, and the last return to service."""
    machine = machine or {}
    rows = []
    for part in machine.get("parts", ()):
        row = doc["parts"].get(part["id"])
        if row:
            rows += [(f"part.changed/{part[by]}", row["at"], row["meters"]) for by in ("kind", "id")]
    for fluid in machine.get("fluids", ()):
        row = doc["fluids"].get(fluid["id"])
        if row and row["changed_at"]:
            rows += [(f"fluid.changed/{fluid[by]}", row["changed_at"], row["changed_meters"]) for by in ("kind", "id")]
    if doc["back_at"]:
        rows.append(("tag.off", doc["back_at"], {}))
    return {name: _moment(at, meters, kinds, zone) for name, at, meters in sorted(rows, key=lambda row: row[1])}


def _moment(at: str, meters: dict[str, float], kinds: dict[str, str], zone: str) -> dict[str, Any]:
    """When something happened, and how far the meters had run by then."""
    return {"at": at, "date": _day(at, zone), "meters": _by_kind(meters, kinds)}


def _by_kind(totals: dict[str, float], kinds: dict[str, str]) -> dict[str, float]:
    return {kinds[key]: total for key, total in sorted(totals.items()) if key in kinds}


def _day(at: str, zone: str) -> str:
    return shop_date(parse_instant(at), zone).isoformat()
