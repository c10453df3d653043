"""What a finished task changes on the floor: a filter that is new, a charge that is fresh, strength brought back."""

from __future__ import annotations

from random import Random
from typing import Any

from seed_demo.fluids import Coolant, WayOil
from seed_demo.instruments import CAKING, Instruments
from seed_demo.mending import Mending
from seed_demo.plant import Moment, Plant
from seed_demo.rounds import Walked

# (role, the starter task's name) -> (what is changed, of which kind)
CHANGES = {
    ("mill", "Change the coolant charge"): ("fluid", "coolant"),
    ("mill", "Bring the coolant back to strength"): ("strength", "coolant"),
    ("mill", "Change the way-oil filter"): ("part", "filter"),
    ("mill", "Change the control-cabinet filter"): ("part", "air_filter"),
    ("lathe", "Clean the tank, change the coolant"): ("fluid", "coolant"),
    ("lathe", "Bring the coolant back to strength"): ("strength", "coolant"),
    ("lathe", "Change the headstock oil"): ("fluid", "head_oil"),
    ("saw", "Clean the tank, change the coolant"): ("fluid", "coolant"),
    ("saw", "Bring the coolant back to strength"): ("strength", "coolant"),
    ("saw", "Change the gearbox oil"): ("fluid", "gear_oil"),
    ("cabinet", "Clean or change the collector filter"): ("part", "filter"),
    ("cabinet", "Screen or change the media"): ("part", "media"),
    ("cleaner", "Change the bath"): ("fluid", "cleaner"),
    ("probe", "Change the probe battery"): ("part", "battery"),
    ("sander", "Change the platen pad"): ("part", "platen"),
    ("collector", "Clean or change the filters"): ("part", "filter"),
    ("compressor", "Clean or change the intake filter"): ("part", "air_filter"),
    ("compressor", "Change the compressor oil"): ("fluid", "compressor_oil"),
    ("compressor", "Change the line filter element"): ("part", "line_filter"),
}
SOMETIMES = {"media": 0.4, "air_filter": 0.6}
"""Parts that the task only looks at, mostly."""


class Results:
    """Applies what tasks and rounds bring about."""

    def __init__(
        self,
        plant: Plant,
        instruments: Instruments,
        mending: Mending,
        oil: WayOil,
        rng: Random,
    ) -> None:
        self.plant, self.instruments, self.mending, self.oil, self.rng = plant, instruments, mending, oil, rng

    def walked(self, walked: Walked, by: str, role: str) -> None:
        """Follow up a round that was part of a task."""
        self.mending.take(walked, by, role)

    def of_task(self, role: str, task: dict[str, Any], when: Moment, by: str) -> None:
        """Make the entries that the task brings with it."""
        what, kind = CHANGES.get((role, task["name"]), ("", ""))
        if what == "part":
            self._part(role, kind, when, by)
        elif what == "fluid":
            self._fluid(role, kind, when, by)
        elif what == "strength":
            self._strength(role, when, by)

    def _part(self, role: str, kind: str, when: Moment, by: str) -> None:
        if self.rng.random() >= SOMETIMES.get(kind, 1.0):
            return
        self.plant.change_part(when, by, role, self.plant.stations[role].machine.parts(kind)[0], "By the interval")
        if kind == "filter" and role in CAKING:
            self.instruments.renew_filter(role)
        if (role, kind) == ("mill", "filter"):
            self.oil.level = self.oil.fluid["capacity"]

    def _fluid(self, role: str, kind: str, when: Moment, by: str) -> None:
        fluid = self.plant.stations[role].machine.fluid(kind)
        assert fluid is not None
        if kind != "coolant":
            self.plant.change_fluid(when, by, role, fluid)
            return
        fresh = Coolant.fresh(fluid, self.rng)
        self.instruments.coolants[role] = fresh
        self.plant.change_fluid(when, by, role, fluid, strength=round(fresh.strength, 1))
        self.read_strength(role, when.later(12), by)

    def _strength(self, role: str, when: Moment, by: str) -> None:
        coolant = self.instruments.coolants[role]
        added = coolant.strengthen()
        facts = {"water": 0, "concentrate": added}
        self.plant.add_fluid(when, by, role, coolant.fluid, added, **facts)
        self.read_strength(role, when.later(10), by)

    def read_strength(self, role: str, when: Moment, by: str) -> None:
        """The refractometer after pouring in."""
        value = self.instruments.coolants[role].measured(self.rng)
        body = {"quantity": "coolant.strength", "value": value, "unit": "%", "instrument": "refractometer"}
        self.plant.reading(when, by, role, body)
