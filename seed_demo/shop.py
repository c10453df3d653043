"""The invented shop itself: its bays, its machines from the starter library, and what lies in its drawers."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, timedelta
from random import Random
from typing import Any

from seed_demo.calendar import beginning, holidays
from seed_demo.log import uuid7
from seed_demo.people import PEOPLE, person_body
from webapp.library import instantiate

ZONE = "America/New_York"
NAME = "Slackwater Lane Fittings"
BAYS = ("Machine bay", "Saw and sanding bay", "Blast and wash bay", "Bench", "Whole shop")
CUTTERS = {
    "T1": ("Face mill, 2 in", "end_mill", 0.08),
    "T2": ("Rougher, 1/2 in", "end_mill", 0.24),
    "T3": ("End mill, 3/8 in", "end_mill", 0.2),
    "T4": ("End mill, 1/4 in", "end_mill", 0.14),
    "T5": ("End mill, 1/8 in", "end_mill", 0.06),
    "T6": ("Spot drill, 90 degrees", "drill", 0.03),
    "T7": ("Drill, No. 7", "drill", 0.08),
    "T8": ("Form tap, 1/4-20", "drill", 0.03),
    "T9": ("Ball end mill, 1/4 in", "end_mill", 0.09),
    "T10": ("Deburring cutter, 45 degrees", "end_mill", 0.05),
}
"""What this shop has in its numbered holders, which of the starter's spares they come from, and what share of the
spindle's time they cut."""
COSTS = {
    ("saw", "blade"): (42, 130),
    ("sander", "belt"): (9, 24),
    ("cabinet", "nozzle"): (18, 55),
    ("cabinet", "gloves"): (26, 60),
    ("cabinet", "window"): (6, 14),
    ("cutters", "cutter"): (24, 95),
}
"""What a planned and an unplanned change cost in dollars, part, work and lost time together (invented)."""
CABINET = {"volume": {"value": 12, "unit": "ft3"}, "exhaust": {"value": 300, "unit": "cfm"}, "mixing": 3}
"""What the blast cabinet's purge timer goes by (invented); seed_demo/hazard_facts.py has the time that comes of it."""
LEAD_DAYS = 7
"""From order to delivery, as the shop reckons with for the spares of those parts."""

Definition = tuple[str, dict[str, Any]]


@dataclass(frozen=True)
class Stand:
    """A starter machine to stand up, under the role by which the rest of the generator calls it."""

    role: str
    starter: str
    name: str
    bay: str
    keeper: str
    """Who looks after it."""


STANDS = (
    Stand("mill", "cnc_mill", "CNC mill", "Machine bay", "ruben"),
    Stand("cutters", "numbered_cutters", "Numbered cutters", "Machine bay", "ruben"),
    Stand("fixtures", "fixtures_clamps", "Fixtures", "Machine bay", "ruben"),
    Stand("probe", "touch_probe", "Touch probe", "Machine bay", "ruben"),
    Stand("lathe", "lathe", "Lathe", "Machine bay", "ruben"),
    Stand("saw", "band_saw", "Band saw", "Saw and sanding bay", "femi"),
    Stand("sander", "belt_sander", "Belt sander", "Saw and sanding bay", "femi"),
    Stand("collector", "dust_collector", "Sander's dust collector", "Saw and sanding bay", "femi"),
    Stand("grinder", "bench_grinder", "Bench grinder", "Machine bay", "ruben"),
    Stand("cabinet", "blast_cabinet", "Blast cabinet", "Blast and wash bay", "wanda"),
    Stand("cleaner", "ultrasonic_cleaner", "Ultrasonic cleaner", "Blast and wash bay", "wanda"),
    Stand("compressor", "compressor_receiver", "Compressor", "Blast and wash bay", "odile"),
    Stand("air_gun", "air_gun", "Air guns", "Whole shop", "wanda"),
    Stand("gauges", "gauges_pins", "Gauges and pins", "Bench", "wanda"),
    Stand("guards", "guards_stops", "Guards, stops, lock-out", "Whole shop", "odile"),
    Stand("extinguisher_door", "extinguisher", "Extinguisher, street door", "Whole shop", "odile"),
    Stand("extinguisher_saw", "extinguisher", "Extinguisher, saw bay", "Saw and sanding bay", "odile"),
    Stand("eyewash", "eyewash", "Eyewash", "Blast and wash bay", "wanda"),
    Stand("first_aid", "first_aid_kit", "First-aid kit", "Bench", "wanda"),
    Stand("worn", "protective_equipment", "What we wear", "Bench", "odile"),
)
OWN_TASKS: tuple[dict[str, Any], ...] = (
    {
        "name": "Take the chip bins to the scrap yard",
        "rule": {"every": {"weeks": 6}},
        "checklist": None,
        "steps": ["Read the label on each bin.", "One alloy a trip; weigh in; write the price into the book."],
        "minutes": 90,
        "why": "Full bins get mixed, and mixed brass and stainless sell as neither.",
        "source": "the shop's own habit",
    },
)
COUNTERS = {
    ("mill", "spindle_hours"): 2318.4,
    ("mill", "power_hours"): 4120.6,
    ("compressor", "run_hours"): 1760.2,
    ("collector", "run_hours"): 388.5,
}
"""What the machines' own counters show when the book is begun."""


@dataclass
class Machine:
    """A machine's definitions, with the lookups that the generator needs."""

    role: str
    body: dict[str, Any]
    checklists: list[dict[str, Any]] = field(default_factory=list)
    tasks: list[dict[str, Any]] = field(default_factory=list)
    items: list[dict[str, Any]] = field(default_factory=list)

    @property
    def id(self) -> str:
        return str(self.body["id"])

    def meter(self, kind: str) -> str:
        return next(str(meter["id"]) for meter in self.body["meters"] if meter["kind"] == kind)

    def parts(self, kind: str) -> list[dict[str, Any]]:
        return [part for part in self.body["parts"] if part["kind"] == kind]

    def fluid(self, kind: str) -> dict[str, Any] | None:
        return next((fluid for fluid in self.body["fluids"] if fluid["kind"] == kind), None)

    def checklist(self, form: str) -> dict[str, Any] | None:
        return next((one for one in self.checklists if one["form"] == form), None)


@dataclass
class Shop:
    """Every definition in the order in which it must be created, and the ways to find them again."""

    definitions: list[Definition]
    people: dict[str, str]
    machines: dict[str, Machine]
    own: Machine
    """What the shop as a whole has to see to, kept in the shape of a machine without a body."""
    zone: str = ZONE

    def items(self) -> Iterator[dict[str, Any]]:
        return (body for type_, body in self.definitions if type_ == "item")


def build(today: date, rng: Random, born_ms: int) -> Shop:
    """The shop's definitions, their ids made at `born_ms` from the seeded generator."""
    start = beginning(today)

    def new_id() -> str:
        return uuid7(born_ms, rng)

    people = {person.key: new_id() for person in PEOPLE}
    bays = {name: new_id() for name in BAYS}
    definitions: list[Definition] = [("shop", {"id": new_id(), **_shop_body(today)})]
    definitions += [("person", {"id": people[one.key], **person_body(one, rng)}) for one in PEOPLE]
    definitions += [("bay", {"id": key, "name": name}) for name, key in bays.items()]
    machines = {}
    for stand in STANDS:
        made = instantiate(stand.starter, stand.name, bays[stand.bay], new_id, start=start)
        machine = _gather(stand.role, made)
        if stand.role == "cutters":
            _name_cutters(machine)
        _count_from(machine)
        _price(machine)
        if stand.role == "cabinet":
            machine.body["cabinet"] = CABINET
        machines[stand.role] = machine
        definitions += made
    tasks = [{"id": new_id(), "machine": None, "start": start.isoformat(), **task} for task in OWN_TASKS]
    definitions += [("task", task) for task in tasks]
    # An id from a generator of its own: the year's chances do not hang on what else is set up.
    definitions.append(("alloy", {"id": uuid7(born_ms, Random(318)), **_own_alloy(start)}))
    own = Machine("shop", {"meters": [], "parts": [], "fluids": []}, tasks=tasks)
    return Shop(definitions, people, machines, own)


def _shop_body(today: date) -> dict[str, Any]:
    return {
        "name": NAME,
        "time_zone": ZONE,
        "units": "us",
        "jurisdiction": "US",
        "authorities": ["us_osha", "us_niosh"],
        "hours_a_week": 24,
        "holidays": [day.isoformat() for day in holidays(today)],
    }


def _own_alloy(start: date) -> dict[str, Any]:
    """A heat of bronze rod that the shop goes by the certificate of: what it names beyond its card is lead."""
    return {
        "name": "Bronze rod 5/8 in, heat Q 318",
        "base": "Cu",
        "like": "C51000",
        "composition": [
            {"element": "Sn", "percent": 4.9},
            {"element": "P", "percent": 0.17},
            {"element": "Pb", "percent": 0.12},
            {"element": "Zn", "percent": 0.21},
            {"element": "Fe", "at_most": 0.05},
        ],
        "certificate": {
            "number": "Q 318",
            "source": "the rod mill's, with the first delivery",
            "dated": (start - timedelta(days=9)).isoformat(),
        },
    }


def _name_cutters(machine: Machine) -> None:
    """The owner has written into the starter what stands in each holder."""
    spares = {"end_mill": machine.items[0]["id"], "drill": machine.items[1]["id"]}
    for part in machine.parts("cutter"):
        name, spare, _ = CUTTERS[part["name"]]
        part |= {"name": f"{part['name']} {name}", "item": spares[spare]}


def _price(machine: Machine) -> None:
    """The owner has written in what a change costs, and how long a delivery takes."""
    items = {item["id"]: item for item in machine.items}
    for part in machine.body["parts"]:
        costs = COSTS.get((machine.role, part["kind"]))
        if costs:
            part |= {"planned_cost": costs[0], "unplanned_cost": costs[1]}
            items[part["item"]]["lead_days"] = LEAD_DAYS


def _count_from(machine: Machine) -> None:
    """Meter tasks of a machine that is not new count from what its counters show now."""
    faces = {machine.meter(kind): face for (role, kind), face in COUNTERS.items() if role == machine.role}
    if faces:
        for task in machine.tasks:
            task["meter_start"] = faces


def _gather(role: str, made: list[Definition]) -> Machine:
    by_type: dict[str, list[dict[str, Any]]] = {}
    for type_, body in made:
        by_type.setdefault(type_, []).append(body)
    return Machine(
        role,
        by_type["machine"][0],
        by_type.get("checklist", []),
        by_type.get("task", []),
        by_type.get("item", []),
    )
