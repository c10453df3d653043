"""The entries that come of what a machine counted: readings of a counter that only ever goes up.

The machine's own counter may begin anew; the one told here does not. It starts at what the meter stands at, so that
the first reading changes nothing, and each further one adds what was counted. A reading rules over what people
logged for the same time (see `read_meter`), so the same hours are never counted from both.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from webapp.core.instants import instant_text
from webapp.records.append import Delivery, append
from webapp.records.models import State
from webapp.records.state import r6
from webapp.security.devices import feed_device
from webapp.setup.definitions import known, list_all
from webapp.setup.ids import new_id

TOLD_EVERY_MS = 3_600_000
"""An entry an hour at most: due rules need no finer, and the record is kept for years."""


class NotTaken(Exception):
    """The record refused the feed's own entry."""


@dataclass(frozen=True)
class Count:
    """What a machine counted for one of its meters. `pending` is in the meter's unit; `face` what was told last.

    `broken`: the machine was not watched all the time since, so that people may know of more than it does.
    """

    machine: str
    meter: str
    pending: float
    face: float | None
    told_ms: int
    broken: bool


def tell(session: Session, count: Count, now: int) -> float | None:
    """Put what is pending in the record, when it is time to. Returns the face told; None when nothing was.

    A reading by a person in between rules: what was pending lies in it already.
    """
    owner = _owner(session)
    if owner is None or (count.face is not None and (count.pending <= 0 or now - count.told_ms < TOLD_EVERY_MS)):
        return None
    running = _meter(session, count.machine, count.meter)
    face, added = running["face"] or 0, running["total"] - (0 if running["face"] is None else running["base"])
    if count.face is None or running["face"] is None:
        # The start: the counter's face and what people added since, so that the total stays as it is.
        readings = [r6(face + added)] + ([r6(face + added + count.pending)] if count.pending > 0 else [])
    elif running["face"] != count.face:
        return float(running["face"])
    else:
        readings = [r6(face + (max(count.pending, added) if count.broken else count.pending))]
    _append(session, count, owner, readings, now)
    return readings[-1]


def _append(session: Session, count: Count, owner: str, readings: list[float], now: int) -> None:
    device = feed_device(session)
    raws: list[dict[str, Any]] = []
    for value in readings:
        device.seq_max += 1
        raw = {"id": new_id(), "kind": "meter.read", "machine": count.machine, "by": owner, "at": instant_text(now)}
        raws.append(raw | {"seq": device.seq_max, "body": {"meter": count.meter, "value": value, "ran": True}})
    for result in append(session, Delivery(device.id, now, now), raws, known(session)):
        if result.outcome != "stored":
            raise NotTaken("; ".join(f"{fault.field} {fault.problem}" for fault in result.faults))


def _meter(session: Session, machine: str, meter: str) -> dict[str, Any]:
    body = session.scalar(select(State.body).where(State.subject == f"machine:{machine}"))
    found = json.loads(body)["meters"].get(meter) if body else None
    return found or {"total": 0, "base": 0, "face": None}


def _owner(session: Session) -> str | None:
    people = list_all(session, "person")
    return next((row["id"] for row in people if row["role"] == "owner" and not row["retired"]), None)
