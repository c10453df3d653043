"""Wearing parts: lives that scatter as real ones do, why they end, and the drawer that the spares come from."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from random import Random
from typing import Any

from seed_demo.calendar import WorkDay
from seed_demo.plant import Moment, Plant

WORN, BROKEN, WRONG = "Worn out", "Broken", "Wrong for this work"
"""The reasons that the phone offers; a note says more."""
End = tuple[str, str]


@dataclass(frozen=True)
class Life:
    """A Weibull life in the units of the part's meter, and how it ends: (reason, note).

    Scale and shape are invented: a shape between 1.5 and 3 is wear with luck in it, not failure by chance alone.
    """

    scale: float
    shape: float
    ends: tuple[End, ...]


DULL = ((WORN, ""),)
LIVES = {
    ("saw", "blade"): Life(
        2300,
        2.4,
        (*DULL * 4, (WORN, "cut wandered"), (BROKEN, "teeth stripped"), (BROKEN, "at the weld"), (WRONG, "too coarse")),
    ),
    ("saw", "brush"): Life(8000, 3.0, DULL),
    ("saw", "guides"): Life(16000, 3.0, DULL),
    ("sander", "belt"): Life(
        230,
        2.0,
        (*DULL * 6, (WORN, "loaded"), (BROKEN, "joint parted"), (BROKEN, "torn at the edge"), (WRONG, "finer for 304")),
    ),
    ("cabinet", "nozzle"): Life(48, 3.2, ((WORN, "bore over by 1/16 in"), (WORN, "worn oval"))),
    ("cabinet", "gloves"): Life(40, 2.2, ((WORN, "hole at the thumb"), (WORN, "thin"), (BROKEN, "cuff torn"))),
    ("cabinet", "window"): Life(9, 2.0, ((WORN, "frosted"),)),
    ("mill", "wipers"): Life(900, 3.0, (*DULL, (BROKEN, "lip torn"))),
    ("cutters", "cutter"): Life(130, 1.9, (*DULL * 6, (BROKEN, "chipped"), (BROKEN, ""), (WRONG, "other coating"))),
}
DAYS = {
    ("fixtures", "screws"): Life(90, 2.0, ((WORN, "two stretched"), (WORN, "thread drags"))),
    ("fixtures", "pins"): Life(150, 2.5, ((WORN, "to a waist"),)),
    ("probe", "stylus"): Life(170, 1.6, ((BROKEN, "chipped"), (BROKEN, "knocked against the vice"))),
    ("air_gun", "nozzle"): Life(140, 2.0, ((WORN, "relief holes blocked"), (BROKEN, "trigger hangs"))),
    ("grinder", "wheel"): Life(220, 2.5, ((WORN, "small"), (WORN, "grooved"))),
}
"""Lives of parts that have no meter here, in calendar days."""
DELIVERY_DAYS = (4, 9)


@dataclass
class _Fitted:
    role: str
    part: dict[str, Any]
    life: Life
    ends: float


class Wear:
    """Every wearing part that lives by a meter, and the meter total at which it will give out."""

    def __init__(self, plant: Plant, rng: Random) -> None:
        self.plant, self.rng = plant, rng
        self.fitted = list(self._fit_all())
        self.by_date: dict[tuple[str, str], int] = {}

    def _fit_all(self) -> Iterator[_Fitted]:
        for role, station in self.plant.stations.items():
            for part in station.machine.body["parts"]:
                life = LIVES.get((role, part["kind"]))
                if life:
                    scale = life.scale * self._size(part)
                    own = Life(scale, life.shape, life.ends)
                    yield _Fitted(role, part, own, math.inf)

    def _size(self, part: dict[str, Any]) -> float:
        """Cutters differ: a tap or a thin end mill lives shorter than a deburring cutter."""
        return self.rng.uniform(0.5, 2.0) if part["kind"] == "cutter" else 1.0

    def _draw(self, life: Life) -> float:
        return float(life.scale * (-math.log(1 - self.rng.random())) ** (1 / life.shape))

    def fit_all(self, when: Moment) -> None:
        """Write down what is fitted when the book is begun; lives are counted from here."""
        for number, fitted in enumerate(self.fitted):
            totals = self.plant.stations[fitted.role].totals
            fitted.ends = totals[fitted.part["meter"]] + self._draw(fitted.life)
            by = "ruben" if fitted.role == "mill" else "wanda"
            self.plant.change_part(
                when.later(number * 0.5), by, fitted.role, fitted.part, "Fitted new, book begun", spare=False
            )

    def change(self, when: Moment, by: str, role: str, part: dict[str, Any], end: End) -> None:
        """Change a part before its time: its next life begins here."""
        self.plant.change_part(when, by, role, part, *end)
        for fitted in self.fitted:
            if fitted.part is part:
                fitted.ends = self.plant.stations[role].totals[part["meter"]] + self._draw(fitted.life)

    def after_work(self, when: Moment, by: str, role: str) -> list[str]:
        """Change what has given out on this machine; returns the kinds of the parts changed."""
        totals = self.plant.stations[role].totals
        changed: list[str] = []
        for fitted in self.fitted:
            if fitted.role != role or totals[fitted.part["meter"]] < fitted.ends:
                continue
            minutes = 3 + 6 * self.rng.random() + 4 * len(changed)
            self.plant.change_part(when.later(minutes), by, role, fitted.part, *self.rng.choice(fitted.life.ends))
            fitted.ends = totals[fitted.part["meter"]] + self._draw(fitted.life)
            changed.append(fitted.part["kind"])
        return changed

    def evening(self, work: WorkDay) -> list[tuple[Moment, str, str]]:
        """Change what lives by days: one part of the kind, whichever has gone. Returns when, on what, which kind."""
        changed: list[tuple[Moment, str, str]] = []
        today = work.date.toordinal()
        for key, life in DAYS.items():
            ends = self.by_date.setdefault(key, today + int(self._draw(life)))
            if today < ends or self.plant.stations[key[0]].tag:
                continue
            parts = self.plant.stations[key[0]].machine.parts(key[1])
            when = Moment(work.date, work.last - self.rng.uniform(25, 60))
            self.plant.change_part(when, "ruben", key[0], self.rng.choice(parts), *self.rng.choice(life.ends))
            self.by_date[key] = today + int(self._draw(life))
            changed.append((when, *key))
        return changed


class Drawer:
    """Spares: counted now and then, ordered when few are left, put away when they come."""

    def __init__(self, plant: Plant, rng: Random) -> None:
        self.plant, self.rng = plant, rng
        self.items = {item["id"]: item for item in plant.shop.items()}
        self.coming: dict[str, tuple[date, float]] = {}

    def first_count(self, when: Moment) -> None:
        """Everything is counted when the book is begun."""
        for number, item in enumerate(self.items.values()):
            count = item["reorder_at"] + self.rng.randint(1, 4)
            self.plant.count(when.later(number * 0.4), "wanda", item["id"], count)

    def morning(self, work: WorkDay, day_number: int) -> None:
        """Order what has run low, and put away what has come."""
        for key, item in self.items.items():
            count = self.plant.stock.get(key, 0)
            if key in self.coming:
                self._put_away(work, key)
            elif count <= item["reorder_at"]:
                pieces = max(item["reorder_at"] * 2, 3) + self.rng.randint(0, 3)
                self.coming[key] = (self._arrival(work.date), pieces)
                self._order(work, key, pieces)
            elif day_number % 41 == hash_of(key) % 41:
                self._recount(work, key, count)

    def _arrival(self, day: date) -> date:
        return date.fromordinal(day.toordinal() + self.rng.randint(*DELIVERY_DAYS))

    def _order(self, work: WorkDay, key: str, pieces: float) -> None:
        """The supplier says a week, whatever it comes to."""
        when = Moment(work.date, work.first + 40 + hash_of(key) % 50)
        self.plant.order(when, "odile", key, pieces, date.fromordinal(work.date.toordinal() + 7))

    def _put_away(self, work: WorkDay, key: str) -> None:
        due, pieces = self.coming[key]
        if work.date >= due:
            del self.coming[key]
            when = Moment(work.date, self.rng.uniform(work.first + 120, work.last - 20))
            self.plant.count(when, "wanda", key, max(self.plant.stock.get(key, 0), 0) + pieces, arrived=pieces)

    def _recount(self, work: WorkDay, key: str, count: float) -> None:
        """The count is mostly what the book says; now and then one has walked."""
        found = max(count - (1 if self.rng.random() < 0.12 else 0), 0)
        when = Moment(work.date, self.rng.uniform(work.last - 50, work.last - 15))
        self.plant.count(when, self.rng.choice(("wanda", "femi")), key, round(found, 2))


def hash_of(key: str) -> int:
    """A number from an id that is the same on every run, unlike `hash`."""
    return int(key[-6:], 16)
