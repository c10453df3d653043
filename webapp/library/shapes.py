"""What the library's files hold: a starter machine with its lists and tasks, and the cautions.

The shapes are those of the definitions, with local keys in place of ids. Any table may carry `metric`: that
replaces the table's own words in a shop that works in metric units.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from webapp.core.hazards import Hazard, Signal

Family = Literal["mill", "saw", "sander", "cabinet", "compressor", "other"]
Form = Literal["start-up", "weekly", "after-change", "shut-down", "periodic"]
MeterKind = Literal["spindle_hours", "power_hours", "cut_area", "cuts", "belt_minutes", "blast_hours", "run_hours"]


@dataclass(frozen=True, slots=True)
class Meter:
    """A counter that only goes up; `unit` is that of its amounts."""

    kind: MeterKind
    name: str
    unit: str


@dataclass(frozen=True, slots=True)
class Part:
    """A wearing part; `meter` is the kind of meter that it lives by, `item` the key of its spare."""

    key: str
    kind: str
    name: str
    meter: MeterKind | None = None
    item: str | None = None


@dataclass(frozen=True, slots=True)
class Band:
    """Limits of a reading, in the reading's unit."""

    stop_low: float | None = None
    act_low: float | None = None
    target: float | None = None
    act_high: float | None = None
    stop_high: float | None = None


@dataclass(frozen=True, slots=True)
class Fluid:
    """A charge of coolant, oil or water; the figures are a start, and
    `source` says where they come from; `quantity` is the reading that shows its strength."""

    key: str
    kind: str
    name: str
    capacity: float
    unit: Literal["L", "gal"]
    source: str
    quantity: str | None = None
    band: Band | None = None
    factor: float | None = None


@dataclass(frozen=True, slots=True)
class Choice:
    """One answer of a check that is answered by choosing."""

    text: str
    ok: bool


@dataclass(frozen=True, slots=True)
class Check:
    """One line of a round. `factor` times the instrument's reading gives the value in `unit`."""

    key: str
    text: str
    how: str
    why: str
    source: str
    answer: Literal["ok", "reading", "choice"] = "ok"
    stop: bool = False
    caution: str | None = None
    quantity: str | None = None
    unit: str | None = None
    band: Band | None = None
    factor: float | None = None
    choices: tuple[Choice, ...] | None = None
    photo: bool | None = None


@dataclass(frozen=True, slots=True)
class Checklist:
    """A list of checks for one pause point."""

    key: str
    name: str
    form: Form
    checks: tuple[Check, ...]


@dataclass(frozen=True, slots=True)
class Task:
    """A piece of maintenance; `checklist` is a key; in `rule`, meters and parts are kinds."""

    key: str
    name: str
    rule: dict[str, Any]
    minutes: float
    why: str
    source: str
    checklist: str | None = None
    steps: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Item:
    """A spare in the drawer; at `reorder_at` or fewer it is time to order."""

    key: str
    name: str
    kind: str
    unit: str
    reorder_at: float


@dataclass(frozen=True, slots=True)
class Starter:
    """A machine as the library ships it."""

    key: str
    name: str
    family: Family
    notes: str
    checklists: tuple[Checklist, ...]
    tasks: tuple[Task, ...]
    cautions: tuple[str, ...] = ()
    meters: tuple[Meter, ...] = ()
    parts: tuple[Part, ...] = ()
    fluids: tuple[Fluid, ...] = ()
    items: tuple[Item, ...] = ()


@dataclass(frozen=True, slots=True)
class Caution:
    """What to do where work can hurt: ANSI Z535 signal word, drawing of the hazard, text, source."""

    key: str
    signal: Signal
    hazard: Hazard
    title: str
    text: str
    source: str
