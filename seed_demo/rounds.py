"""Rounds: a person walks a checklist; mostly all is well, and what is not becomes a finding."""

from __future__ import annotations

from dataclasses import dataclass
from random import Random
from typing import Any

from seed_demo.instruments import Instruments
from seed_demo.pictures import foil
from seed_demo.plant import Moment, Plant
from seed_demo.troubles import Trouble, fitting
from webapp.core.bands import verdict

Check = dict[str, Any]

NOT_OK = 0.006
STOP_NOT_OK = 0.004
"""How often a look finds a trouble that can show at that check, a plain one and one that stops the machine."""


@dataclass(frozen=True)
class Fault:
    """A check that was answered «not ok», and the round in which that was."""

    check: Check
    trouble: Trouble | None
    """What was found; None for a reading beyond its stop limit."""
    round: str
    when: Moment


@dataclass(frozen=True)
class Walked:
    """A round that was done: its entry, when it ended, and what was wrong."""

    entry: str
    end: Moment
    faults: list[Fault]


class Rounds:
    """Walks checklists."""

    def __init__(self, plant: Plant, instruments: Instruments, seed: int) -> None:
        self.plant, self.instruments, self.seed = plant, instruments, seed
        self.rng = Random(seed)
        self.photos: dict[str, bytes] = {}
        """SHA-256 -> the bytes of every photo taken."""

    def walk(
        self,
        when: Moment,
        by: str,
        role: str,
        checklist: dict[str, Any],
        wrong: dict[str, Trouble] | None = None,
        *,
        minutes: float | None = None,
        calm: bool = False,
    ) -> Walked:
        """One round, of so many minutes or as long as its looks take. `wrong` forces checks (by id) to «not ok»; a
        `calm` round finds nothing of itself."""
        # Dice of its own for each round: what another machine's list holds does not touch it.
        self.rng = Random(f"round {self.seed} {role} {checklist['form']} {when.day}")
        troubles = {} if calm else self._strike(role, checklist)
        troubles |= wrong or {}
        answers = [self._answer(role, check, troubles.get(check["id"])) for check in checklist["checks"]]
        bad = [
            check for check, answer in zip(checklist["checks"], answers, strict=True) if answer["answer"] == "not ok"
        ]
        seconds = sum(self._pace(check) for check in checklist["checks"]) if minutes is None else 60 * minutes
        body = {
            "checklist": checklist["id"],
            "revision": 1,
            "form": checklist["form"],
            "started_at": self.plant.stamp(when, by),
            "seconds": round(seconds),
            "outcome": self._outcome(checklist, bad),
            "checks": answers,
        }
        end = when.later(seconds / 60)
        entry = self.plant.write(end, by, "round.done", role, body)
        return Walked(entry, end, [Fault(check, troubles.get(check["id"]), entry, end) for check in bad])

    def _strike(self, role: str, checklist: dict[str, Any]) -> dict[str, Trouble]:
        """Which troubles show today; what was fitted since the machine last ran has none yet."""
        station = self.plant.stations[role]
        return {
            check["id"]: trouble
            for check, trouble in fitting(role, checklist["checks"])
            if self.rng.random() < (STOP_NOT_OK if check["stop"] else NOT_OK)
            and station.events.get(f"part.changed/{trouble.part}", {}).get("meters") != station.totals
        }

    def _outcome(self, checklist: dict[str, Any], bad: list[Check]) -> str:
        if checklist["form"] != "start-up":
            return "done"
        return "not fit" if any(check["stop"] for check in bad) else "fit"

    def _pace(self, check: Check) -> float:
        """Seconds: a look takes a few, a reading longer."""
        return self.rng.lognormvariate(1.6 if check["answer"] == "ok" else 2.5, 0.35)

    def _answer(self, role: str, check: Check, trouble: Trouble | None) -> dict[str, Any]:
        answer: dict[str, Any] = {"check": check["id"], "answer": "not ok" if trouble else "ok", "stop": check["stop"]}
        if check["answer"] == "reading":
            answer |= self._reading(role, check)
        elif check["answer"] == "choice":
            answer["choice"] = next(one["text"] for one in check["choices"] if one["ok"])
        if check.get("photo"):
            answer["photo"], data = foil(self.rng)
            self.photos[answer["photo"]] = data
        if trouble:
            answer["note"] = trouble.found
        return answer

    def _reading(self, role: str, check: Check) -> dict[str, Any]:
        """A reading is «not ok» only beyond a stop limit; beyond an act limit it asks for work, not for a stop."""
        value = self.instruments.value(role, check)
        answer: dict[str, Any] = {"value": value, "unit": check.get("unit", "")}
        if quantity := check.get("quantity"):
            self.plant.stations[role].readings[quantity] = value
            answer["quantity"] = quantity
        if band := check.get("band"):
            lies = verdict(value, band)
            stop = lies.startswith("stop")
            answer |= {"verdict": lies, "answer": "not ok" if stop else "ok", "stop": check["stop"] or stop}
        return answer
