"""Putting right what rounds find: a finding, a tag when it must stop, a task, and the return to service."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from random import Random

from seed_demo.calendar import WorkDay
from seed_demo.plant import Moment, Plant
from seed_demo.rounds import Fault, Rounds, Walked
from seed_demo.troubles import Trouble
from seed_demo.wear import BROKEN, Wear


class Mending:
    """Keeps what is still to be put right, day by day."""

    def __init__(self, plant: Plant, rounds: Rounds, wear: Wear, rng: Random) -> None:
        self.plant, self.rounds, self.wear, self.rng = plant, rounds, wear, rng
        self.waiting: list[tuple[date, Callable[[WorkDay], None]]] = []
        self.back_at: dict[str, float] = {}
        """Role -> minute of today at which a machine tagged this morning came back."""

    def morning(self, work: WorkDay) -> None:
        """Do what has waited until today."""
        self.back_at.clear()
        due = [job for day, job in self.waiting if day <= work.date]
        self.waiting = [(day, job) for day, job in self.waiting if day > work.date]
        for job in due:
            job(work)

    def take(self, walked: Walked, by: str, role: str) -> None:
        """Follow up what a round found. Readings beyond their limits are seen to by the tasks that wait for them."""
        for fault in walked.faults:
            if fault.trouble:
                (self._stop if fault.check["stop"] else self._minor)(fault, fault.trouble, by, role)

    def _found(self, fault: Fault, trouble: Trouble, by: str, role: str) -> str:
        facts = {"check": fault.check["id"], "round": fault.round}
        return self.plant.find(fault.when.later(0.5), by, role, trouble.found, stop=fault.check["stop"], **facts)

    def _minor(self, fault: Fault, trouble: Trouble, by: str, role: str) -> None:
        """Noted, often with a task, and put right within the week."""
        finding = self._found(fault, trouble, by, role)
        raised = None
        if self.rng.random() < 0.5:
            when = fault.when.later(1)
            raised = self.plant.raise_task(when, by, role, f"Put right: {trouble.found}", finding, 15)

        def mend(work: WorkDay) -> None:
            at = Moment(work.date, self.rng.uniform(work.last - 110, work.last - 12))
            self._change(at.later(-1), by, role, trouble)
            if raised:
                self.plant.task_done(at, by, role, raised, minutes=self.rng.choice((5, 10, 15, 25)))
            self.plant.close(at.later(0.7), by, role, finding, trouble.done)

        self.waiting.append((fault.when.day + timedelta(days=self.rng.randint(1, 6)), mend))

    def _stop(self, fault: Fault, trouble: Trouble, by: str, role: str) -> None:
        """A stop check failed: tagged at once, mended the same morning, walked again."""
        finding = self._found(fault, trouble, by, role)
        minutes = self.rng.uniform(18, 40)
        self._change(fault.when.later(minutes - 2), by, role, trouble)
        when = fault.when.later(1)
        self.out_and_back(when, by, role, finding, trouble.found, trouble.done, minutes)

    def _change(self, when: Moment, by: str, role: str, trouble: Trouble) -> None:
        if trouble.part:
            part = self.plant.stations[role].machine.parts(trouble.part)[0]
            self.wear.change(when, by, role, part, (BROKEN, trouble.found.lower()))

    def out_and_back(self, when: Moment, by: str, role: str, finding: str, why: str, done: str, minutes: float) -> None:
        """Tag, corrective task, mend, tag off, and the start-up round again: all within `minutes`."""
        plant = self.plant
        plant.tag(when, by, role, why, finding)
        raised = plant.raise_task(when.later(0.6), by, role, f"Put right: {why}", finding, 30)
        back = when.later(minutes)
        plant.task_done(back, by, role, raised, minutes=round(minutes))
        plant.close(back.later(0.4), by, role, finding, done)
        plant.untag(back.later(0.8), by, role, done)
        end = back.later(1.2)
        checklist = plant.stations[role].machine.checklist("start-up")
        if checklist:
            end = self.rounds.walk(end, by, role, checklist, calm=True).end
        self.back_at[role] = end.minute + 1
