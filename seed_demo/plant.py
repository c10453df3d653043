"""The shop floor while the year is played: what the meters say, what is tagged, and the entries people make of it.

It keeps just what people would see (totals, last done, open tags), so that the generator never has to ask the
record it is writing.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from random import Random
from typing import Any

from seed_demo.log import Log
from seed_demo.people import PEOPLE, Person
from seed_demo.shop import Machine, Shop

SHOP = "shop"
"""The role under which the shop's own tasks are kept: entries about them name no machine."""


@dataclass(frozen=True)
class Moment:
    """A minute on the shop's clock on one day."""

    day: date
    minute: float

    def later(self, minutes: float) -> Moment:
        return Moment(self.day, self.minute + minutes)


@dataclass
class Station:
    """One machine as it stands: totals by kind of meter, what was done, what happened, what was read."""

    machine: Machine
    totals: dict[str, float]
    done: dict[str, dict[str, Any]] = field(default_factory=dict)
    deferred: dict[str, date] = field(default_factory=dict)
    events: dict[str, dict[str, Any]] = field(default_factory=dict)
    readings: dict[str, float] = field(default_factory=dict)
    tag: str | None = None

    def mark(self, day: date) -> dict[str, Any]:
        """Today and the totals now: what due rules count from."""
        return {"date": day.isoformat(), "meters": dict(self.totals)}


class Plant:
    """Everything on the floor, and the pen: each method makes one entry and keeps what it changes."""

    def __init__(self, shop: Shop, log: Log, rng: Random) -> None:
        self.shop, self.log, self.rng = shop, log, rng
        self.people = {person.key: person for person in PEOPLE}
        self.stations = {
            role: Station(machine, {meter["kind"]: 0.0 for meter in machine.body["meters"]})
            for role, machine in [*shop.machines.items(), (SHOP, shop.own)]
        }
        self.stock: dict[str, float] = {}

    def person(self, key: str) -> Person:
        return self.people[key]

    def write(self, when: Moment, by: str, kind: str, role: str | None, body: dict[str, Any]) -> str:
        """One entry on the person's own device; returns its id."""
        machine = self.shop.machines[role].id if role and role != SHOP else None
        person = self.people[by]
        maker = self.shop.people[by]
        return self.log.add(when.day, when.minute, person.device, maker, kind, machine, body)

    def stamp(self, when: Moment, by: str) -> str:
        """That moment as the person's device would write it."""
        return self.log.stamp(when.day, when.minute, self.people[by].device)

    def batch(self, when: Moment, by: str, role: str, amounts: dict[str, float], facts: dict[str, Any]) -> str | None:
        """Log a batch on the meters that the machine has; None when it has none of them."""
        station = self.stations[role]
        added = {kind: round(amount, 2) for kind, amount in amounts.items() if kind in station.totals}
        if not added:
            return None
        for kind, amount in added.items():
            station.totals[kind] += amount
        adds = {station.machine.meter(kind): amount for kind, amount in added.items()}
        return self.write(when, by, "batch.run", role, {"adds": adds, **facts})

    def add_to_meter(self, when: Moment, by: str, role: str, kind: str, amount: float) -> str:
        station = self.stations[role]
        station.totals[kind] += amount
        return self.write(when, by, "meter.added", role, {"meter": station.machine.meter(kind), "amount": amount})

    def read_meter(self, when: Moment, by: str, role: str, kind: str, value: float) -> str:
        """The counter's face is read: from now on it rules the total."""
        station = self.stations[role]
        station.totals[kind] = value
        return self.write(when, by, "meter.read", role, {"meter": station.machine.meter(kind), "value": value})

    def reading(self, when: Moment, by: str, role: str, body: dict[str, Any]) -> str:
        self.stations[role].readings[body["quantity"]] = body["value"]
        return self.write(when, by, "reading.taken", role, body)

    def change_part(
        self,
        when: Moment,
        by: str,
        role: str,
        part: dict[str, Any],
        reason: str,
        note: str = "",
        *,
        spare: bool = True,
    ) -> str:
        """A wearing part is changed; its spare is taken from the drawer unless it came from elsewhere."""
        station = self.stations[role]
        station.events[f"part.changed/{part['kind']}"] = station.mark(when.day)
        body: dict[str, Any] = {"part": part["id"], "reason": reason} | ({"note": note} if note else {})
        item = part.get("item")
        if item and spare:
            body |= {"item": item, "used": 1}
            self.stock[item] = self.stock.get(item, 0) - 1
        return self.write(when, by, "part.changed", role, body)

    def add_fluid(self, when: Moment, by: str, role: str, fluid: dict[str, Any], amount: float, **more: Any) -> str:
        body = {"fluid": fluid["id"], "amount": amount, "unit": fluid["unit"], **more}
        return self.write(when, by, "fluid.added", role, body)

    def change_fluid(self, when: Moment, by: str, role: str, fluid: dict[str, Any], **more: Any) -> str:
        station = self.stations[role]
        station.events[f"fluid.changed/{fluid['kind']}"] = station.mark(when.day)
        body = {"fluid": fluid["id"], "amount": fluid["capacity"], "unit": fluid["unit"], **more}
        return self.write(when, by, "fluid.changed", role, body)

    def find(self, when: Moment, by: str, role: str, text: str, *, stop: bool = False, **more: Any) -> str:
        return self.write(when, by, "finding.opened", role, {"text": text, "stop": stop, **more})

    def close(self, when: Moment, by: str, role: str, finding: str, done: str) -> str:
        return self.write(when, by, "finding.closed", role, {"finding": finding, "done": done})

    def tag(self, when: Moment, by: str, role: str, why: str, finding: str) -> str:
        station = self.stations[role]
        station.tag = self.write(when, by, "tag.on", role, {"why": why, "finding": finding})
        return station.tag

    def untag(self, when: Moment, by: str, role: str, done: str) -> str:
        station = self.stations[role]
        tag, station.tag = station.tag, None
        station.events["tag.off"] = station.mark(when.day)
        return self.write(when, by, "tag.off", role, {"tag": tag, "done": done})

    def raise_task(self, when: Moment, by: str, role: str, title: str, finding: str, minutes: float) -> str:
        body = {"title": title, "finding": finding, "minutes": minutes}
        return self.write(when, by, "task.raised", role, body)

    def task_done(self, when: Moment, by: str, role: str | None, task: str, **more: Any) -> str:
        if role:
            station = self.stations[role]
            station.done[task] = station.mark(when.day)
            station.deferred.pop(task, None)
        return self.write(when, by, "task.done", role, {"task": task, **more})

    def defer(self, when: Moment, by: str, role: str, task: str, to: date, why: str) -> str:
        self.stations[role].deferred[task] = to
        return self.write(when, by, "task.deferred", role, {"task": task, "to": to.isoformat(), "why": why})

    def count(self, when: Moment, by: str, item: str, count: float, arrived: float = 0) -> str:
        self.stock[item] = count
        more = {"arrived": arrived} if arrived else {}
        return self.write(when, by, "stock.counted", None, {"item": item, "count": count, **more})

    def order(self, when: Moment, by: str, item: str, count: float, expected: date) -> str:
        body = {"item": item, "count": count, "expected": expected.isoformat()}
        return self.write(when, by, "stock.ordered", None, body)

    def note(self, when: Moment, by: str, role: str | None, text: str) -> str:
        return self.write(when, by, "note.made", role, {"text": text})
