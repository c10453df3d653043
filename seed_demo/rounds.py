"""Rounds: a person walks a checklist; mostly all is well, and what is not becomes a finding."""

from __future__ import annotations

from dataclasses import dataclass
from random import Random
from typing import Any

from seed_demo.instruments import Instruments
from seed_demo.plant import Moment, Plant
from webapp.core.bands import verdict

Check = dict[str, Any]

NOT_OK = 0.0035
STOP_NOT_OK = 0.0006
"""How often a look finds something wrong, for a plain check and for a stop check."""


@dataclass(frozen=True)
class Fault:
    """A check that was answered «not ok», and the round in which that was."""

    check: Check
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

    def __init__(self, plant: Plant, instruments: Instruments, rng: Random) -> None:
        self.plant, self.instruments, self.rng = plant, instruments, rng
        self.usual: dict[str, float] = {}

    def walk(
        self,
        when: Moment,
        by: str,
        role: str,
        checklist: dict[str, Any],
        wrong: dict[str, str] | None = None,
        *,
        calm: bool = False,
    ) -> Walked:
        """One round. `wrong` forces checks (id -> note) to «not ok»; a `calm` round finds nothing of itself."""
        answers = [self._answer(role, check, (wrong or {}).get(check["id"]), calm) for check in checklist["checks"]]
        bad = [
            check for check, answer in zip(checklist["checks"], answers, strict=True) if answer["answer"] == "not ok"
        ]
        seconds = sum(self._pace(check) for check in checklist["checks"])
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
        return Walked(entry, end, [Fault(check, entry, end) for check in bad])

    def _outcome(self, checklist: dict[str, Any], bad: list[Check]) -> str:
        if checklist["form"] != "start-up":
            return "done"
        return "not fit" if any(check["stop"] for check in bad) else "fit"

    def _pace(self, check: Check) -> float:
        """Seconds: a look takes a few, a reading longer."""
        return self.rng.lognormvariate(1.6 if check["answer"] == "ok" else 2.5, 0.35)

    def _answer(self, role: str, check: Check, wrong: str | None, calm: bool) -> dict[str, Any]:
        answer: dict[str, Any] = {"check": check["id"], "answer": "ok", "stop": check["stop"]}
        if check["answer"] == "reading":
            answer |= self._reading(role, check)
        elif wrong is None and not calm and self.rng.random() < (STOP_NOT_OK if check["stop"] else NOT_OK):
            answer["answer"] = "not ok"
        if check["answer"] == "choice":
            fine = answer["answer"] == "ok"
            answer["choice"] = next(one["text"] for one in check["choices"] if one["ok"] is fine)
        if wrong is not None:
            answer |= {"answer": "not ok", "note": wrong}
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
