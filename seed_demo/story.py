"""The set pieces: what happens in this year because it should be seen, on days chosen from the calendar alone."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from random import Random
from typing import Any

from seed_demo.calendar import WorkDay
from seed_demo.fluids import Coolant, WayOil
from seed_demo.log import WrongClock
from seed_demo.mending import Mending
from seed_demo.plant import Moment, Plant
from seed_demo.results import Results
from seed_demo.troubles import Trouble
from seed_demo.upkeep import Upkeep

STOP_BUTTON = Trouble(
    "saw",
    "emergency stop",
    "Band ran on after the emergency stop; it stood only at the second press",
    "Contact block changed, pressed ten times, stopped each time",
)
HOUR_MS = 3_600_000
PUMP_DOSE = 0.12
PUMP_DAYS = 17
WEAK_DAYS = 9
"""Working days before today from which the coolant is topped up too thin."""
UNDONE_DAYS = 8
"""Working days before today from which the eyewash is forgotten."""


@dataclass(frozen=True)
class Script:
    """On which working days (by number) each set piece happens."""

    days: tuple[WorkDay, ...]
    mistyped: int
    twice: int
    no_rounds: frozenset[date]
    pump: int
    stop_button: int
    wrong_clock: WrongClock
    crash: int

    @classmethod
    def over(cls, days: list[WorkDay]) -> Script:
        missed, lying = _whole_week(days, 0.3), _whole_week(days, 0.55)
        clock = WrongClock("ruben_phone", days[lying[0]].date, days[lying[-1]].date, -26 * HOUR_MS)
        return cls(
            days=tuple(days),
            mistyped=_long_day(days, 0.12),
            twice=_long_day(days, 0.2),
            no_rounds=frozenset(days[number].date for number in missed),
            pump=_long_day(days, 0.4),
            stop_button=_long_day(days, 0.72),
            wrong_clock=clock,
            crash=_long_day(days, 0.64),
        )

    @property
    def last(self) -> int:
        return len(self.days) - 1

    @property
    def mill_down(self) -> set[date]:
        """The two working days on which the mill stands after the crash."""
        return {self.days[self.crash + 1].date, self.days[self.crash + 2].date}


def _whole_week(days: list[WorkDay], share: float) -> list[int]:
    """The numbers of the first full Monday-to-Friday week from a share of the year on."""
    dates = {day.date: number for number, day in enumerate(days)}
    for day in days[int(len(days) * share) :]:
        week = [day.date + timedelta(days=n) for n in range(5)]
        if day.date.weekday() == 0 and all(one in dates for one in week):
            return [dates[one] for one in week]
    raise ValueError("no full working week in the calendar")


def _long_day(days: list[WorkDay], share: float) -> int:
    """The number of the first Monday to Wednesday from a share of the year on."""
    first = int(len(days) * share)
    return next(number for number in range(first, len(days)) if days[number].date.weekday() < 3)


class Story:
    """Plays the script's pieces as their days come."""

    def __init__(
        self,
        script: Script,
        plant: Plant,
        upkeep: Upkeep,
        mending: Mending,
        results: Results,
        oil: WayOil,
        rng: Random,
    ) -> None:
        self.script, self.plant, self.upkeep, self.mending = script, plant, upkeep, mending
        self.results, self.oil, self.rng = results, oil, rng
        self.crash_finding = ""
        self.crash_task = ""
        self.mornings: dict[int, Callable[[WorkDay], None]] = {
            script.pump + PUMP_DAYS: self._pump_found,
        }
        self.evenings: dict[int, Callable[[WorkDay], None]] = {
            script.mistyped: self._mistype,
            script.twice: self._log_twice,
            script.pump: self._mis_set_pump,
            script.crash: self._crash,
            script.crash + 2: self._after_crash,
            script.last: self._eve,
        }
        self._forget_eyewash()

    def morning(self, number: int, work: WorkDay) -> None:
        if piece := self.mornings.get(number):
            piece(work)

    def evening(self, number: int, work: WorkDay) -> None:
        if work.date == max(self.script.no_rounds):
            text = "No rounds this week: everything went into the regatta order. Monday we start again."
            self.plant.note(Moment(work.date, work.last - 4.0), "odile", None, text)
        if piece := self.evenings.get(number):
            piece(work)

    def wrong(self, role: str, checklist: dict[str, Any], day: date) -> dict[str, Trouble]:
        """Checks of this morning's round that are to fail, by id."""
        if role != "saw" or day != self.script.days[self.script.stop_button].date:
            return {}
        button = next(one for one in checklist["checks"] if "emergency stop" in one["text"].lower())
        return {button["id"]: STOP_BUTTON}

    def mix(self, role: str, coolant: Coolant, day: date) -> float:
        """The make-up strength in per cent: as people are used to, and too thin in the last days."""
        if role == "mill" and day >= self.script.days[self.script.last - WEAK_DAYS].date:
            return coolant.toward(_low_in_band(coolant))
        return coolant.habit(self.rng)

    def _forget_eyewash(self) -> None:
        since = self.script.days[self.script.last - UNDONE_DAYS].date
        for job in self.upkeep.jobs:
            if job.role == "eyewash" and "FREQ=WEEKLY" in job.task["rule"].get("rrule", ""):
                self.upkeep.held[job.task["id"]] = since

    def _mistype(self, work: WorkDay) -> None:
        """480 cuts typed for 48, amended a few minutes later by the one who saw it."""
        saw = self.plant.stations["saw"]
        meters = {kind: saw.machine.meter(kind) for kind in ("cut_area", "cuts")}

        def body(cuts: int) -> dict[str, Any]:
            adds = {meters["cut_area"]: round(cuts * 1.25, 2), meters["cuts"]: cuts}
            what = "Horn cleat, 5 in, blanks from 1 x 1-1/4 in bar"
            return {"adds": adds, "what": what, "alloy": "C36000", "cuts": cuts, "area_per_cut": 1.25}

        when = Moment(work.date, work.last - 16.0)
        wrong = self.plant.write(when, "femi", "batch.run", "saw", body(480))
        saw.totals["cut_area"] += 60
        saw.totals["cuts"] += 48
        mended = {"entry": wrong, "kind": "batch.run", "body": body(48), "why": "48 cuts, not 480: a nought too many"}
        self.plant.write(when.later(11), "wanda", "entry.amended", "saw", mended)

    def _log_twice(self, work: WorkDay) -> None:
        """The same dressing job logged on two devices; the second is voided next to the first."""
        sander = self.plant.stations["sander"]
        facts = {"what": "Fairlead, low, blanks dressed", "alloy": "C36000"}
        when = Moment(work.date, work.last - 22.0)
        self.plant.batch(when, "femi", "sander", {"belt_minutes": 27.4}, facts)
        again = {"adds": {sander.machine.meter("belt_minutes"): 27.4}, **facts}
        second = self.plant.write(when.later(7), "ruben", "batch.run", "sander", again)
        why = "Logged twice: it was on the bench tablet already"
        self.plant.write(when.later(12), "ruben", "entry.voided", "sander", {"entry": second, "why": why})

    def _mis_set_pump(self, work: WorkDay) -> None:
        self.oil.dose = PUMP_DOSE
        when = Moment(work.date, work.last - 6.0)
        self.plant.note(when, "femi", "mill", "Lubricator taken off, cleaned and put back; dose screw set by eye.")

    def _pump_found(self, work: WorkDay) -> None:
        """Somebody wonders why the tank is never empty."""
        self.oil.dose = 1.0
        when = Moment(work.date, work.first - 4.0)
        since = self.script.days[self.script.pump].date.strftime("%d %b").lstrip("0")
        found = f"Way oil has hardly dropped since {since}: it took a fill a week before. Ways are near dry."
        finding = self.plant.find(when, "ruben", "mill", found, stop=True)
        done = "Dose screw set back to the mark, lines pulsed until oil stood at every way, ways wiped and oiled"
        self.mending.out_and_back(when.later(1), "ruben", "mill", finding, "Way-oil pump doses too little", done, 52)
        if self.oil.has_room():
            self.plant.add_fluid(when.later(50), "ruben", "mill", self.oil.fluid, self.oil.fill())
        text = "Rule from now on: a tank that does not drop is a finding, not good luck."
        self.plant.note(when.later(58), "odile", "mill", text)

    def _crash(self, work: WorkDay) -> None:
        when = Moment(work.date, work.last - 2.0)
        found = "Crash: T3 ran into the fixture after a wrong offset. Nobody hurt. Window scratched, holder marked."
        self.crash_finding = self.plant.find(when, "ruben", "mill", found, stop=True)
        self.plant.tag(
            when.later(0.7), "ruben", "mill", "Crash: spindle and window to be looked at", self.crash_finding
        )
        title = "After the crash: run-out, window, tram, tool lengths"
        self.crash_task = self.plant.raise_task(when.later(1.5), "odile", "mill", title, self.crash_finding, 180)

    def _after_crash(self, work: WorkDay) -> None:
        """Two days later: new window, run-out read, back in service."""
        mill = self.plant.stations["mill"].machine
        when = Moment(work.date, work.last - 75.0)
        self.plant.change_part(when, "ruben", "mill", mill.parts("window")[0], "Broken", "scratched in the crash")
        cutter = next(
            part for part in self.plant.stations["cutters"].machine.parts("cutter") if part["name"].startswith("T3 ")
        )
        self.plant.change_part(when.later(6), "ruben", "cutters", cutter, "Broken", "in the crash")
        checklist = mill.checklist("after-change")
        assert checklist is not None
        end = self.mending.rounds.walk(when.later(20), "ruben", "mill", checklist, calm=True).end
        done = "Window, holder and T3 new; run-out, tram and lengths checked; offset sheet by the door corrected"
        self.plant.task_done(end.later(8), "ruben", "mill", self.crash_task, minutes=165)
        self.plant.close(end.later(9), "ruben", "mill", self.crash_finding, done)
        self.plant.untag(end.later(10), "odile", "mill", done)

    def _eve(self, work: WorkDay) -> None:
        """The last evening: what people will find on their phones this morning."""
        self._thin_coolant(work)
        self._put_one_off(work)
        when = Moment(work.date, work.last - 1.5)
        finding = self.plant.find(when, "wanda", "cabinet", "Window is cracked from edge to edge", stop=True)
        why = "Window cracked: do not blast"
        self.plant.tag(when.later(0.4), "wanda", "cabinet", why, finding)
        title = "Fit the new window glass (ordered, comes tomorrow)"
        self.plant.raise_task(when.later(0.9), "wanda", "cabinet", title, finding, 25)
        text = "Hatch hinges wait unblasted on the cart until the cabinet is back."
        self.plant.note(when.later(1.3), "odile", None, text)

    def _thin_coolant(self, work: WorkDay) -> None:
        """The oil film is skimmed off and the tank filled up too thin: the strength is now low in its band."""
        coolant = self.results.instruments.coolants["mill"]
        when = Moment(work.date, work.last - 19.0)
        coolant.skim(4)
        water, concentrate = coolant.top_up(coolant.toward(_low_in_band(coolant)))
        facts, note = {"water": water, "concentrate": concentrate}, "4 gal went out with the oil film"
        self.plant.add_fluid(when, "ruben", "mill", coolant.fluid, round(water + concentrate, 2), **facts, note=note)
        self.results.read_strength("mill", when.later(9), "ruben")

    def _put_one_off(self, work: WorkDay) -> None:
        """Something due now is put off to next week, with its reason."""
        urgent = ("due", "late", "near")
        open_jobs = [
            (urgent.index(state), number, job)
            for number, job in enumerate(self.upkeep.jobs)
            if job.task["id"] not in self.upkeep.held and (state := self.upkeep.verdict(job, work.date).state) in urgent
        ]
        if open_jobs:
            job = min(open_jobs)[2]
            to, why = work.date + timedelta(days=9), "Regatta order leaves on Friday; done the week after"
            self.plant.defer(Moment(work.date, work.last - 8.0), "odile", job.role, job.task["id"], to, why)


def _low_in_band(coolant: Coolant) -> float:
    """A strength just above the lower act limit, in per cent."""
    return float((coolant.fluid.get("band") or {}).get("act_low", 6)) + 0.35
