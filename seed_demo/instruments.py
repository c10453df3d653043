"""What the gauges show: each reading wanders about its band's target, and a few follow what happens on the floor."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from random import Random
from typing import Any

from seed_demo.fluids import Coolant
from seed_demo.plant import Plant

Band = dict[str, float]


@dataclass
class Instruments:
    """Gives a value for any check that asks for a reading."""

    plant: Plant
    rng: Random
    coolants: dict[str, Coolant]
    wandering: dict[tuple[str, str], float] = field(default_factory=dict)
    renewed: dict[str, float] = field(default_factory=dict)
    """Role -> hours on its meter when its dust filter was last new."""

    def value(self, role: str, check: dict[str, Any]) -> float:
        """The value in the check's own unit, to the places that its instrument shows."""
        quantity = check.get("quantity") or check["id"]
        if quantity == "coolant.strength" and role in self.coolants:
            return self.coolants[role].measured(self.rng)
        if quantity == "coolant.level" and role in self.coolants:
            return self.coolants[role].dipped(self.rng)
        if quantity == "filter.pressure_drop":
            return self._filter_drop(role)
        band = check.get("band") or {}
        middle, spread = _middle(band, quantity)
        key = (role, quantity)
        last = self.wandering.get(key, 0.0)
        self.wandering[key] = last * 0.7 + self.rng.gauss(0, 0.12)
        shown = middle + min(max(self.wandering[key], -0.45), 0.45) * spread
        return _to_the_mark(shown, spread)

    def renew_filter(self, role: str) -> None:
        """The machine has a new dust filter from now on."""
        self.renewed[role] = self.plant.stations[role].totals[CAKING[role][0]]

    def _filter_drop(self, role: str) -> float:
        """A filter cakes with the hours that it takes dust: about 1 in of water when new, 4 in the end."""
        meter, an_hour = CAKING[role]
        hours = self.plant.stations[role].totals[meter] - self.renewed[role]
        return round(1.0 + an_hour * hours + self.rng.gauss(0, 0.08), 1)


CAKING = {"cabinet": ("blast_hours", 0.045), "collector": ("run_hours", 0.028)}
"""Role -> the meter its dust goes by, and the rise of the pressure drop, in of water an hour (invented)."""
WITHOUT_BAND = {
    "duct.static_pressure": (2.4, 0.2),
    "receiver.pressure": (125, 6),
    "receiver.fill_time": (310, 30),
    "hood.velocity": (190, 40),
}
"""Readings that are compared with day one and so have no band: (middle, spread), invented."""


def _middle(band: Band, quantity: str) -> tuple[float, float]:
    """(where the reading wanders about, how far the band lets it)."""
    low = band.get("act_low", band.get("stop_low"))
    high = band.get("act_high", band.get("stop_high"))
    if low is not None and high is not None:
        return band.get("target", (low + high) / 2), high - low
    if high is not None and "target" in band:
        room = high - band["target"]
        return band["target"] + 0.35 * room, 0.6 * room
    if high is not None:
        return 0.8 * high, 0.2 * high
    if low is not None:
        goal = band.get("target", low * 1.2)
        return goal, abs(goal - low) or abs(goal) * 0.1 or 1.0
    if "target" in band:
        return band["target"], abs(band["target"]) * 0.05 or 1.0
    return WITHOUT_BAND[quantity]


def _to_the_mark(value: float, spread: float) -> float:
    """Rounded as an instrument for such a spread is read: a hundredth to a tenth of it."""
    places = max(0, 1 - math.floor(math.log10(spread)))
    rounded = round(value, places)
    return int(rounded) if rounded == int(rounded) else rounded
