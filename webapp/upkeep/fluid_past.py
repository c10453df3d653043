"""What the record says of a machine's fluids in the last half year: filled, changed, read, looked at.

One bounded question by machine and time, which is indexed: the answer costs the same however old the shop is.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any

from sqlalchemy.orm import Session

from webapp.core.dates import say_date
from webapp.core.instants import shop_date
from webapp.records.state import Doc, Effective, add_to_meter, empty_doc, read_meter
from webapp.setup import definitions
from webapp.upkeep.recent import entries

WINDOW_DAYS = 26 * 7
DAY_MS = 86_400_000
KINDS = (
    "round.done", "reading.taken", "meter.read", "meter.added", "batch.run", "part.changed", "fluid.added",
    "fluid.changed",
)  # fmt: skip
METERS = ("spindle_hours", "run_hours", "power_hours", "blast_hours", "belt_minutes", "cut_area", "cuts")
"""What a fluid is used up by, the nearest first."""


def shop_day(ms: int, zone: str) -> str:
    """The shop's date of an instant, as it is said."""
    return say_date(shop_date(ms, zone))


@dataclass(frozen=True)
class Shown:
    """A reading, or the answer to a check, at an instant (ms) in the shop's zone. `choice` as it was worded; `ok` as it
    was judged."""

    at: int
    zone: str
    value: float | None
    unit: str
    choice: str | None = None
    ok: bool = True

    @property
    def day(self) -> str:
        """The shop's date, for a message."""
        return shop_day(self.at, self.zone)


@dataclass(frozen=True)
class Poured:
    """Fluid added, or (`fresh`) the charge changed, in the shop's zone. `hours`: the meter's total then."""

    at: int
    zone: str
    hours: float
    body: dict[str, Any]
    fresh: bool

    @property
    def day(self) -> str:
        """The shop's date, for a message."""
        return shop_day(self.at, self.zone)


@dataclass
class FluidPast:
    """The past of one machine's fluids, oldest first. `totals`: (ms, meter total) at each movement."""

    meter: dict[str, Any] | None
    zone: str
    poured: dict[str, list[Poured]] = field(default_factory=dict)
    shown: dict[str, list[Shown]] = field(default_factory=dict)
    checks: dict[str, list[Shown]] = field(default_factory=dict)
    filters: list[tuple[int, float]] = field(default_factory=list)
    alloys: list[tuple[int, str]] = field(default_factory=list)
    totals: list[tuple[int, float]] = field(default_factory=list)

    @property
    def hours(self) -> float:
        """The meter's total now, from the window's beginning."""
        return self.totals[-1][1] if self.totals else 0.0

    def hours_at(self, at: int) -> float:
        """The meter's total at an instant."""
        return next((total for ms, total in reversed(self.totals) if ms <= at), 0.0)

    def latest(self, quantity: str) -> Shown | None:
        """The newest reading or answer of a quantity."""
        rows = self.shown.get(quantity)
        return rows[-1] if rows else None


def collect(session: Session, machine: dict[str, Any], quantities: dict[str, str], now_ms: int, zone: str) -> FluidPast:
    """Read the window of one machine (a definition as on the wire) up to `now_ms`; `zone` is the shop's.

    `quantities`: what each check (by id) tells of; an answer that does not name it is filed under it all the same.
    """
    past = gather(machine, quantities, _entries(session, machine["id"], now_ms), zone)
    own = {row["id"]: str(row["base"]) for row in definitions.list_all(session, "alloy")}
    past.alloys = [(ms, "copper" if own.get(alloy) == "Cu" else own.get(alloy, alloy)) for ms, alloy in past.alloys]
    return past


def gather(
    machine: dict[str, Any], quantities: dict[str, str], entries: Iterable[tuple[int, Effective]], zone: str
) -> FluidPast:
    """The past from the machine's entries of these `KINDS`, each with its effective ms, in the order they count."""
    meters = {meter["kind"]: meter for meter in machine["meters"]}
    past = FluidPast(next((meters[kind] for kind in METERS if kind in meters), None), zone)
    filters = {part["id"] for part in machine["parts"] if part["kind"] == "filter"}
    doc = empty_doc()
    for ms, entry in entries:
        _take(past, ms, entry, doc, filters, quantities)
    return past


def _entries(session: Session, machine: str, now_ms: int) -> Iterator[tuple[int, Effective]]:
    return ((ms, one) for ms, one in entries(session, KINDS, now_ms - WINDOW_DAYS * DAY_MS, machine) if ms <= now_ms)


def _take(past: FluidPast, ms: int, entry: Effective, doc: Doc, filters: set[str], quantities: dict[str, str]) -> None:
    body = entry.body
    if entry.kind == "round.done":
        _answers(past, ms, body["checks"], quantities)
    elif entry.kind == "reading.taken":
        past.shown.setdefault(body["quantity"], []).append(Shown(ms, past.zone, body["value"], body["unit"]))
    elif entry.kind == "part.changed":
        if body["part"] in filters:
            past.filters.append((ms, past.hours))
    elif entry.kind in ("fluid.added", "fluid.changed"):
        row = Poured(ms, past.zone, past.hours, body, entry.kind == "fluid.changed")
        past.poured.setdefault(body["fluid"], []).append(row)
    else:
        _run(past, ms, entry, doc)


def _answers(past: FluidPast, ms: int, checks: list[dict[str, Any]], quantities: dict[str, str]) -> None:
    """The answers of a round; an instrument's zero first, since it was tried before it was used."""
    named = [(str(one.get("quantity") or quantities.get(one["check"], "")), one) for one in checks]
    for quantity, check in sorted(named, key=lambda one: not one[0].endswith(".zero")):
        if check["answer"] == "n/a":
            continue
        row = Shown(
            ms, past.zone, check.get("value"), check.get("unit") or "", check.get("choice"), check["answer"] == "ok"
        )
        past.checks.setdefault(check["check"], []).append(row)
        if quantity:
            past.shown.setdefault(quantity, []).append(row)


def _run(past: FluidPast, ms: int, entry: Effective, doc: Doc) -> None:
    """A movement of the meter, counted as the fold counts it, from nought at the window's beginning."""
    body = entry.body
    if alloy := body.get("alloy"):
        past.alloys.append((ms, alloy))
    if past.meter is None:
        return
    key = past.meter["id"]
    if entry.kind == "meter.read" and body["meter"] == key:
        first = doc["meters"].get(key, {"face": None})["face"] is None
        # What the counter showed before the window is not known: its first face there starts the count.
        read_meter(doc, key, body["value"], bool(body.get("replaced")) or first, entry.at)
    elif entry.kind == "meter.added" and body["meter"] == key:
        add_to_meter(doc, key, body["amount"], entry.at)
    elif entry.kind == "batch.run" and key in body["adds"]:
        add_to_meter(doc, key, body["adds"][key], entry.at)
    else:
        return
    # A counter that shows less than was logged takes the total back a little; what ran has run.
    past.totals.append((ms, max(past.hours, doc["meters"][key]["total"])))
