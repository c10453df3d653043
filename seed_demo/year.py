"""The year as it is played: each working day's rounds, work, wear, maintenance and set pieces; then the hazard log."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from random import Random
from typing import Any

from seed_demo.calendar import WorkDay, working_days
from seed_demo.fluids import Coolant, WayOil
from seed_demo.hazards import Hazards
from seed_demo.instruments import CAKING, Instruments
from seed_demo.log import Log
from seed_demo.mending import Mending
from seed_demo.people import DEVICES
from seed_demo.plan import COUNTS, DayPlan, Run, plan_year
from seed_demo.plant import SHOP, Moment, Plant
from seed_demo.results import Results
from seed_demo.rounds import Rounds
from seed_demo.shop import COUNTERS, CUTTERS, STANDS, Shop
from seed_demo.story import Script, Story
from seed_demo.upkeep import Upkeep
from seed_demo.wear import Drawer, Wear

KEEPERS = {stand.role: stand.keeper for stand in STANDS} | {SHOP: "odile"}
ALWAYS = ("mill", "saw", "sander", "collector", "cabinet", "compressor", "worn")
"""Machines that are walked every working morning; the others when they are used."""
NOW_AND_THEN = {
    "grinder": 0.25,
    "air_gun": 0.25,
    "lathe": 0.15,
    "cutters": 0.9,
    "fixtures": 0.25,
    "probe": 0.15,
    "gauges": 0.25,
}
"""How often those are used that no batch speaks of."""
SHORT_DAY = 10
"""Loads in a day below which nobody writes down what each cutter did."""
STOPS_EARLIER = 35
"""Minutes before a batch's end at which it was stopped for a look at a new edge."""
WARM_UP = 0.12
"""Spindle hours a day that nobody logs as a batch; the counter sees them."""


def play(shop: Shop, today: date, seed: int) -> tuple[Log, dict[str, bytes]]:
    """Play the whole history of the shop: the log with every entry, and the photos by their SHA-256."""
    days = working_days(today, seed)
    script = Script.over(days)
    log = Log(_chance("log", seed), shop.zone, script.wrong_clock)
    plant = Plant(shop, log, _chance("plant", seed))
    year = _Year(plant, script, today, seed)
    year.open_the_book(days[0])
    plans = plan_year(days, _chance("plan", seed), script.mill_down)
    for number, planned in enumerate(plans):
        year.play_day(number, planned)
    Hazards(plant, plans, _chance("hazards", seed)).play()
    return log, year.rounds.photos


def _chance(of: str, seed: int) -> Random:
    """Each part of the year has dice of its own: one more check on a list does not make another year of it."""
    return Random(f"{of}, {seed}")


@dataclass
class _Counters:
    """What the counters' faces show, beyond what is logged."""

    faces: dict[tuple[str, str], float]

    def turn(self, role: str, kind: str, amount: float) -> None:
        if (role, kind) in self.faces:
            self.faces[role, kind] += amount


class _Year:
    def __init__(self, plant: Plant, script: Script, today: date, seed: int) -> None:
        self.plant, self.script, self.rng = plant, script, _chance("year", seed)
        machines = plant.shop.machines
        coolants = {
            role: Coolant.fresh(fluid, self.rng)
            for role, machine in machines.items()
            if (fluid := machine.fluid("coolant"))
        }
        oil_fluid = machines["mill"].fluid("way_oil")
        assert oil_fluid is not None
        self.oil = WayOil(oil_fluid, oil_fluid["capacity"])
        self.counters = _Counters(dict(COUNTERS))
        self.instruments = Instruments(plant, _chance("instruments", seed), coolants)
        self.rounds = Rounds(plant, self.instruments, seed)
        self.wear = Wear(plant, _chance("wear", seed))
        self.mending = Mending(plant, self.rounds, self.wear, _chance("mending", seed))
        self.results = Results(plant, self.instruments, self.mending, self.oil, _chance("results", seed))
        self.upkeep = Upkeep(plant, self.rounds, self.results, KEEPERS, seed)
        self.drawer = Drawer(plant, _chance("drawer", seed))
        self.story = Story(script, plant, self.upkeep, self.mending, self.results, self.oil, _chance("story", seed))

    def open_the_book(self, work: WorkDay) -> None:
        """The first morning: counters are read, the drawer is counted, what is fitted is written down."""
        start = Moment(work.date, work.first - 55.0)
        for number, ((role, kind), face) in enumerate(COUNTERS.items()):
            self.plant.read_meter(start.later(number), "odile", role, kind, face)
        for role in CAKING:
            self.instruments.renew_filter(role)
        self.drawer.first_count(start.later(6))
        self.wear.fit_all(start.later(26))

    def play_day(self, number: int, planned: DayPlan) -> None:
        work = planned.day
        self.mending.morning(work)
        self.drawer.morning(work, number)
        self.story.morning(number, work)
        if work.date not in self.script.no_rounds:
            self._rounds(planned)
        self._fill_up(work)
        for run in planned.runs:
            self._run(work, run)
        self._log_cutting(planned)
        for when, role, kind in self.wear.evening(work):
            self.upkeep.after_change(when.later(12), "ruben", role, [kind])
        self._turn_counters(planned)
        if work.date.weekday() == 4:
            self._read_counters(work)
        self.upkeep.afternoon(work, busy=work.date in self.script.no_rounds)
        self.story.evening(number, work)

    def _rounds(self, planned: DayPlan) -> None:
        used = {run.role for run in planned.runs}
        free = {device: planned.day.first - self.rng.uniform(16, 26) for device in DEVICES}
        for role, station in self.plant.stations.items():
            checklist = station.machine.checklist("start-up")
            wanted = role in ALWAYS or role in used or self.rng.random() < NOW_AND_THEN.get(role, 0)
            if not checklist or station.tag or not wanted:
                continue
            by = KEEPERS[role]
            wrong = self.story.wrong(role, checklist, planned.day.date)
            device = self.plant.person(by).device
            walked = self.rounds.walk(Moment(planned.day.date, free[device]), by, role, checklist, wrong)
            free[device] = walked.end.minute + self.rng.uniform(0.3, 1.4)
            self.mending.take(walked, by, role)

    def _fill_up(self, work: WorkDay) -> None:
        """Top up coolant and way oil after the rounds."""
        when = Moment(work.date, work.first + self.rng.uniform(4, 22))
        for role, coolant in self.instruments.coolants.items():
            if coolant.wants_top_up() and not self.plant.stations[role].tag:
                by = KEEPERS[role]
                water, concentrate = coolant.top_up(self.story.mix(role, coolant, work.date))
                facts = {"water": water, "concentrate": concentrate}
                total = round(water + concentrate, 2)
                self.plant.add_fluid(when, by, role, coolant.fluid, total, **facts)
        if self.oil.wants_filling() and not self.plant.stations["mill"].tag:
            self.plant.add_fluid(when.later(3), "ruben", "mill", self.oil.fluid, self.oil.fill())

    def _run(self, work: WorkDay, run: Run) -> None:
        """A batch is logged at its end; then what has worn out is changed."""
        if self.plant.stations[run.role].tag:
            return
        minute = max(run.minute, self.mending.back_at.get(run.role, 0) + self.rng.uniform(5, 25))
        when, by = Moment(work.date, minute), self._operator(run.role)
        first, rest = run.cut(self.upkeep.next_stop(run.role, work.date, run.amounts))
        if first:
            self._log(when.later(-STOPS_EARLIER), by, first)
            self.upkeep.after_work(when.later(5 - STOPS_EARLIER), by, run.role)
        if self._log(when, by, rest) is None:
            return
        if run.role in self.instruments.coolants:
            self._use_coolant(work, run)
        changed = self.wear.after_work(when, by, run.role)
        if changed:
            self.upkeep.after_change(when.later(12), by, run.role, changed)
        self.upkeep.after_work(when.later(5), by, run.role)

    def _log(self, when: Moment, by: str, run: Run) -> str | None:
        details = {key: int(value) if key in COUNTS else value for key, value in run.details.items()}
        return self.plant.batch(when, by, run.role, run.amounts, {"what": run.what, "alloy": run.good.alloy, **details})

    def _log_cutting(self, planned: DayPlan) -> None:
        """The cutters get the day's spindle hours in one line, and each cutter its minutes, short days apart."""
        hours = planned.hours("mill", "spindle_hours")
        if hours:
            when = Moment(planned.day.date, planned.day.last - self.rng.uniform(20, 34))
            hours -= self._stop_early(when, hours)
            runs = [run for run in planned.runs if run.role == "mill"]
            loads = sum(int(run.details["loads"]) for run in runs)
            if loads < SHORT_DAY:
                self.plant.add_to_meter(when, "ruben", "cutters", "run_hours", round(hours, 2))
            else:
                facts = self._cutting(runs, loads, 60 * hours / loads)
                self.plant.batch(when, "ruben", "cutters", {"run_hours": hours}, facts)
            changed = self.wear.after_work(when, "ruben", "cutters")
            if changed:
                self.upkeep.after_change(when.later(12), "ruben", "cutters", changed)
            self.upkeep.after_work(when.later(5), "ruben", "cutters")

    def _stop_early(self, when: Moment, hours: float) -> float:
        """The spindle is stopped where a new edge is to be looked at; the hours up to there are counted first."""
        share = self.upkeep.next_stop("cutters", when.day, {"run_hours": hours})
        first = round(hours * share + 0.005, 2)
        if first >= hours:
            return 0.0
        self.plant.add_to_meter(when.later(-STOPS_EARLIER), "ruben", "cutters", "run_hours", first)
        self.upkeep.after_work(when.later(5 - STOPS_EARLIER), "ruben", "cutters")
        return first

    def _cutting(self, runs: list[Run], loads: int, load: float) -> dict[str, Any]:
        """What the cutters did: loads, each cutter's share of a load's minutes, and the alloy of a day with one."""
        parts = self.plant.shop.machines["cutters"].parts("cutter")
        minutes = {part["id"]: round(CUTTERS[part["name"].split()[0]][2] * load, 2) for part in parts}
        alloys = {run.good.alloy for run in runs}
        facts = {"what": "The day's cutting", "loads": loads, "cutters": minutes}
        return facts | ({"alloy": alloys.pop()} if len(alloys) == 1 else {})

    def _operator(self, role: str) -> str:
        return KEEPERS[role] if self.rng.random() < 0.94 else self.rng.choice(tuple(self.plant.people))

    def _use_coolant(self, work: WorkDay, run: Run) -> None:
        heat = 1.35 if work.date.month in (6, 7, 8) else 1.0
        hours = run.amounts.get("spindle_hours", run.amounts.get("cut_area", 0) / 150)
        self.instruments.coolants[run.role].cut(hours, heat)
        if run.role == "mill":
            self.oil.run(hours)

    def _turn_counters(self, planned: DayPlan) -> None:
        shift = planned.day.minutes / 60
        spindle = planned.hours("mill", "spindle_hours")
        self.counters.turn("mill", "spindle_hours", spindle + (WARM_UP if spindle else 0))
        self.counters.turn("mill", "power_hours", shift if spindle else 0.5)
        blast = planned.hours("cabinet", "blast_hours")
        dusty = planned.hours("sander", "belt_minutes") / 60 * 1.3
        self.counters.turn("collector", "run_hours", dusty)
        self.counters.turn("compressor", "run_hours", shift * self.rng.uniform(0.24, 0.36) + blast * 0.8)

    def _read_counters(self, work: WorkDay) -> None:
        # After the last batch of the day: the counter has seen it too.
        when = Moment(work.date, work.last + self.rng.uniform(2, 9))
        for number, ((role, kind), face) in enumerate(self.counters.faces.items()):
            by = KEEPERS[role]
            self.plant.read_meter(when.later(number * 1.5), by, role, kind, round(face, 1))
