"""The lives of a wearing part, all of its history, from the record's fold.

The state keeps the newest twenty lives. Older ones are read from the document as it stood when the oldest of those
began: the checkpoint before that moment and the few entries after it. So amendments and voidings count as they do in
the fold, and the cost depends on the number of lives, not on the age of the shop.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from webapp.core.instants import parse_instant
from webapp.core.wear import Ended, Life, how_ended
from webapp.records.folding import BEGINNING, Order, apply, subject_entries
from webapp.records.kinds.parts import FITTED_NOTES, LIVES_KEPT
from webapp.records.models import Checkpoint
from webapp.records.state import Doc, empty_doc
from webapp.setup import definitions
from webapp.upkeep.recent import entries

DAY_MS = 86_400_000
MOST_LIVES = 100
# Ids are hexadecimal: no id sorts after this.
_AFTER_ALL_IDS = "g"

# What more than half of a life was cut in; less than that of any is "mixed".
_MOSTLY, MIXED = 0.5, "mixed"

Row = dict[str, Any]


@dataclass(frozen=True)
class Measure:
    """What a part's lives are measured by: a meter, cut minutes from the batch log, or days."""

    by: str
    unit: str
    meter: str | None = None

    def lived(self, life: Row) -> float | None:
        """The length of a life of the state, or None when this measure did not count it."""
        if self.by == "days":
            return (parse_instant(life["to"]) - parse_instant(life["from"])) / DAY_MS
        found = life.get("minutes") if self.by == "minutes" else life["meters"].get(self.meter)
        return None if found is None else float(found)


@dataclass(frozen=True)
class Batch:
    """What a batch of one alloy added to the meters, and to which cutters how many minutes."""

    ms: int
    alloy: str
    adds: dict[str, float]
    minutes: dict[str, float]

    def amount(self, measure: Measure, part: str) -> float:
        """How much of a part's measure it used up."""
        return self.minutes.get(part, 0) if measure.by == "minutes" else self.adds.get(measure.meter or "", 0)


def batches_since(session: Session, begin_ms: int) -> dict[str, list[Batch]]:
    """Batches that name an alloy, by machine, in order; mended ones as they count now."""
    found: dict[str, list[Batch]] = {}
    own = {row["id"]: str(row["name"]) for row in definitions.list_all(session, "alloy")}
    for ms, entry in entries(session, ("batch.run",), begin_ms):
        body = entry.body
        if entry.machine and body.get("alloy"):
            minutes = {part: each * body["loads"] for part, each in (body.get("cutters") or {}).items()}
            found.setdefault(entry.machine, []).append(
                Batch(ms, own.get(body["alloy"], body["alloy"]), body["adds"], minutes)
            )
    return found


def material_of(row: Row, batches: list[Batch], begin_ms: int, measure: Measure, part: str) -> str | None:
    """What a life cut mostly: as noted at its end, else by the batch log where that covers the whole life."""
    if row.get("material"):
        return str(row["material"])
    start, end = parse_instant(row["from"]), parse_instant(row["to"])
    if start < begin_ms:
        return None
    cut: dict[str, float] = {}
    for batch in batches:
        if start < batch.ms <= end:
            cut[batch.alloy] = cut.get(batch.alloy, 0) + batch.amount(measure, part)
    total = sum(cut.values())
    if total <= 0:
        return None
    most = max(cut, key=lambda alloy: (cut[alloy], alloy))
    return most if cut[most] > _MOSTLY * total else MIXED


def measure_of(part: Row, machine: Row, rows: list[Row]) -> Measure:
    """Cut minutes where the batch log counts them, else the part's meter, else days."""
    if any("minutes" in row for row in rows):
        return Measure("minutes", "min")
    meters = [meter for meter in machine["meters"] if meter["kind"] == part["meter"]]
    if not meters:
        return Measure("days", "days")
    meter = max(meters, key=lambda one: str(one["id"]))
    return Measure(meter["kind"], meter["unit"], meter["id"])


def rows_of(session: Session, machine: str, part: str, doc: Doc) -> list[Row]:
    """The ended lives of a part as the fold keeps them, newest first, at most a hundred."""
    rows: list[Row] = []
    batch = _kept(doc, part)
    while batch and len(rows) < MOST_LIVES:
        rows += batch
        began = batch[-1]["from"]
        if len(batch) < LIVES_KEPT:
            break
        earlier = doc_at(session, f"machine:{machine}", parse_instant(began))
        batch = [row for row in _kept(earlier, part) if row["to"] <= began and row not in batch]
    return rows[:MOST_LIVES]


def _kept(doc: Doc, part: str) -> list[Row]:
    return list(doc["parts"].get(part, {}).get("lives", ()))


def doc_at(session: Session, subject: str, ms: int) -> Doc:
    """A document as it stood after every entry up to and with an instant, as the record tells it today."""
    here = (Checkpoint.subject == subject, Checkpoint.ms <= ms)
    columns = (Checkpoint.ms, Checkpoint.entry, Checkpoint.body)
    newest = select(*columns).where(*here).order_by(Checkpoint.ms.desc(), Checkpoint.entry.desc()).limit(1)
    base = session.execute(newest).first()
    doc: Doc = json.loads(base.body) if base else empty_doc()
    start: Order = (base.ms, base.entry) if base else BEGINNING
    for order, _position, entry in subject_entries(session, subject, start):
        if order > (ms, _AFTER_ALL_IDS):
            break
        if entry is not None:
            apply(doc, subject, entry)
    return doc


def running_row(fitted: Row, doc: Doc, now_text: str) -> Row:
    """The life that has not ended, in the shape of those that have; its meters as far as they have run."""
    lived = {meter: run["total"] - fitted["meters"].get(meter, 0) for meter, run in doc["meters"].items()}
    noted = {key: fitted[key] for key in ("minutes", *FITTED_NOTES) if key in fitted}
    return noted | {"from": fitted["at"], "to": now_text, "meters": lived}


def life_of(row: Row, measure: Measure) -> Life | None:
    """A life for the arithmetic; None when the measure did not count it. A running one has no reason."""
    lived = measure.lived(row)
    if lived is None and measure.by == "minutes" and "reason" not in row:
        lived = 0.0  # fitted since the last batch
    if lived is None:
        return None
    ended: Ended = how_ended(row["reason"]) if "reason" in row else "running"
    # A counter's reading rules over what was counted, so a total, and a life, may come out a little below nought.
    return Life(max(lived, 0.0), ended, row.get("grade"), row.get("material"), row.get("edge"))
