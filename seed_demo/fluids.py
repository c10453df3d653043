"""Coolant and way oil: what a working day takes out of a tank, and what people pour back in.

Evaporation takes water and leaves the oil, so strength climbs; chips and parts drag mix out, so the level falls.
The rates are invented and of the size seen on small mills: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from random import Random
from typing import Any

EVAPORATED = 0.0075
DRAGGED_OUT = 0.005
"""Share of the tank's capacity lost in an hour of cutting, as water alone and as mix."""
TOP_UP_BELOW = 0.87


@dataclass
class Coolant:
    """One charge: `volume` in the fluid's unit, `strength` in per cent by volume."""

    fluid: dict[str, Any]
    volume: float
    strength: float

    @property
    def capacity(self) -> float:
        return float(self.fluid["capacity"])

    @classmethod
    def fresh(cls, fluid: dict[str, Any], rng: Random) -> Coolant:
        return cls(fluid, fluid["capacity"], target(fluid) + rng.uniform(-0.3, 0.4))

    def cut(self, hours: float, heat: float) -> None:
        """Run for so many hours; `heat` is 1 in spring and autumn, more in summer."""
        capacity = self.capacity
        concentrate = self.volume * self.strength
        water = capacity * EVAPORATED * heat * hours
        mix = capacity * DRAGGED_OUT * hours
        self.volume = max(self.volume - water - mix, capacity * 0.3)
        self.strength = min((concentrate - mix * self.strength) / self.volume, 25)

    def wants_top_up(self) -> bool:
        return self.volume < TOP_UP_BELOW * self.capacity

    def top_up(self, mix: float) -> tuple[float, float]:
        """Fill to the line with mix of so many per cent; (water, concentrate) poured in."""
        amount = round(self.capacity - self.volume, 1)
        concentrate = round(amount * mix / 100, 2)
        held = self.volume * self.strength + concentrate * 100
        self.volume += amount
        self.strength = held / self.volume
        return round(amount - concentrate, 2), concentrate

    def skim(self, amount: float) -> None:
        """Take mix off with the oil film."""
        self.volume -= amount

    def strengthen(self) -> float:
        """Add neat concentrate until the target is reached; how much was needed."""
        goal = target(self.fluid)
        added = round(max(self.volume * (goal - self.strength) / (100 - goal), 0.05), 2)
        self.strength = (self.volume * self.strength + added * 100) / (self.volume + added)
        self.volume += added
        return added

    def measured(self, rng: Random) -> float:
        """What the refractometer shows: a drop read to a tenth."""
        return round(self.strength * rng.gauss(1, 0.012), 1)

    def dipped(self, rng: Random) -> int:
        """What the dipstick shows, in per cent of the full mark: read to a few."""
        return round(min(self.volume / self.capacity * 100 + rng.gauss(0, 1.5), 100))

    def habit(self, rng: Random) -> float:
        """The make-up mix in per cent that people choose by the last strength."""
        goal = target(self.fluid)
        if self.strength > goal + 0.8:
            return 0.0
        if self.strength < goal - 0.8:
            return goal + rng.uniform(1, 4)
        return max(goal * rng.uniform(0.3, 0.65), 0)

    def toward(self, goal: float) -> float:
        """The make-up mix that brings the full tank to `goal`, water alone when it is too strong for that."""
        capacity = self.capacity
        amount = max(capacity - self.volume, 0.1)
        return min(max((goal * capacity - self.strength * self.volume) / amount, 0), 20)


def target(fluid: dict[str, Any]) -> float:
    return float((fluid.get("band") or {}).get("target", 8))


@dataclass
class WayOil:
    """The lubricator's tank: `level` in the fluid's unit; `dose` 1 as set, less when the pump is mis-set."""

    fluid: dict[str, Any]
    level: float
    dose: float = 1.0

    @property
    def capacity(self) -> float:
        return float(self.fluid["capacity"])

    def run(self, hours: float) -> None:
        """About a fortieth of the tank an hour at the proper dose (invented, the size of a small mill's)."""
        self.level = max(self.level - self.capacity * 0.025 * hours * self.dose, 0)

    def wants_filling(self) -> bool:
        return self.level < 0.45 * self.capacity

    def has_room(self) -> bool:
        return self.level < 0.9 * self.capacity

    def fill(self) -> float:
        amount = round(self.capacity * 0.95 - self.level, 2)
        self.level += amount
        return amount
