"""Putting right what rounds find: a finding, a tag when it must stop, a task, and the return to service."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from random import Random

from seed_demo.calendar import WorkDay
from seed_demo.plant import Moment, Plant
from seed_demo.rounds import Fault, Rounds, Walked

# A word of the check's text -> what was found, and what was done about it.
WORDS = (
    ("guard", "Guard rattles, one screw is missing", "New screw with thread lock, the others checked too"),
    ("door", "Door catch needs a second push", "Catch cleaned and set, shuts at the first push"),
    ("window", "Window is cloudy in the lower corner", "Window changed for a new one"),
    (
        "emergency",
        "Emergency stop did not drop the drives at the first press",
        "Contact block changed, pressed ten times",
    ),
    ("blade", "Two teeth are gone and a crack starts at the weld", "Blade scrapped and a new one fitted"),
    ("coolant", "Flow at the nozzle is thin", "Screen cleaned, flow is back"),
    ("floor", "Oil slick beside the machine", "Wiped up, drip tray emptied"),
    ("chip", "Chip screen is packed full", "Screen lifted and cleaned"),
    ("brush", "Brush no longer reaches the gullets", "Brush set forward"),
    ("belt", "Edge of the belt is fraying", "Belt changed"),
    ("air", "Air leak at a quick coupling", "Coupling changed, no hiss left"),
    ("hose", "Hose has a soft spot near the ferrule", "Hose shortened and clamped anew"),
    ("glove", "Cuff is torn on the left hand", "Gloves changed"),
    ("oil", "Oil stands below the lower line", "Filled to the line, looked at again next day"),
    ("lamp", "Lamp flickers", "Tube changed"),
    ("light", "Lamp flickers", "Tube changed"),
    ("tag", "Tag on the hook is for another machine", "Tag moved to where it belongs"),
    ("seal", "Seal lifts at one corner", "Seal glued down and held overnight"),
    ("label", "Label cannot be read any more", "New label printed and stuck on"),
)
OTHERWISE = ("Not as it should be", "Put right and looked at again")


def words_for(check_text: str) -> tuple[str, str]:
    """What was found and what was done, fitting the check."""
    text = check_text.lower()
    return next(((found, done) for word, found, done in WORDS if word in text), OTHERWISE)


class Mending:
    """Keeps what is still to be put right, day by day."""

    def __init__(self, plant: Plant, rounds: Rounds, rng: Random) -> None:
        self.plant, self.rounds, self.rng = plant, rounds, rng
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
        """Follow up what a round found. Readings out of their band are seen to by topping up and the like."""
        for fault in walked.faults:
            if fault.check["answer"] == "reading":
                continue
            if fault.check["stop"]:
                self._stop(fault, by, role)
            else:
                self._minor(fault, by, role)

    def _minor(self, fault: Fault, by: str, role: str) -> None:
        found, done = words_for(fault.check["text"])
        when = fault.when.later(0.6)
        facts = {"check": fault.check["id"], "round": fault.round}
        finding = self.plant.find(when, by, role, found, **facts)
        raised = None
        if self.rng.random() < 0.4:
            raised = self.plant.raise_task(when.later(0.5), by, role, f"Put right: {found}", finding, 15)

        def mend(work: WorkDay) -> None:
            at = Moment(work.date, self.rng.uniform(work.last - 110, work.last - 12))
            if raised:
                self.plant.task_done(at, by, role, raised, minutes=self.rng.choice((5, 10, 15, 25)))
            self.plant.close(at.later(0.7), by, role, finding, done)

        self.waiting.append((when.day + timedelta(days=self.rng.randint(1, 6)), mend))

    def _stop(self, fault: Fault, by: str, role: str) -> None:
        """A stop check failed: tagged at once, mended the same morning, walked again."""
        found, done = words_for(fault.check["text"])
        when = fault.when.later(0.5)
        facts = {"check": fault.check["id"], "round": fault.round}
        finding = self.plant.find(when, by, role, found, stop=True, **facts)
        self.out_and_back(when.later(0.5), by, role, finding, found, done, self.rng.uniform(18, 40))

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
