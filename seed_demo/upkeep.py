"""Maintenance as a shop does it: most tasks on the day, some late, some put off, big ones on a slow Friday."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from random import Random
from typing import Any

from seed_demo.calendar import WorkDay
from seed_demo.plant import Moment, Plant, Station
from seed_demo.results import Results
from seed_demo.rounds import Rounds
from webapp.core.due import Due, expand, judge, parse
from webapp.core.rules import After, Calendar, FirstOf, Recurrence, Rule

AHEAD = timedelta(days=420)
LONG = 45
"""Minutes from which a task waits for a quiet hour."""
SERVICED_WITHIN = 45
"""Days after the book was begun by which everything long-term has been done once."""
REASONS = (
    "Order must leave today, nobody is free",
    "Only two of us in this week",
    "Waits for a quiet day",
    "Done together with the other machines next week",
)


@dataclass(frozen=True)
class Job:
    """A task of a machine with its rule read once, and who mostly does it."""

    role: str
    task: dict[str, Any]
    rule: Rule
    dates: list[str]
    by: str
    first_service: date | None
    rng: Random
    """Its own dice: another task more or less does not touch it."""

    @property
    def after(self) -> After | None:
        return self.rule if isinstance(self.rule, After) else None


class Upkeep:
    """Knows every task and, day by day, which of them somebody gets round to."""

    def __init__(self, plant: Plant, rounds: Rounds, results: Results, keepers: dict[str, str], seed: int) -> None:
        self.plant, self.rounds, self.results, self.seed = plant, rounds, results, seed
        self.held: dict[str, date] = {}
        """Task -> day from which nobody does it any more (a set piece)."""
        self.quiet: dict[str, date] = {}
        """Task -> first day worth looking at it again."""
        self.lists = {one["id"]: one for station in plant.stations.values() for one in station.machine.checklists}
        self.jobs = [
            job for role, station in plant.stations.items() for job in self._jobs(role, station, keepers[role])
        ]

    def _jobs(self, role: str, station: Station, by: str) -> list[Job]:
        jobs = []
        for task in station.machine.tasks:
            if task["rule"] == {"each": "start-up"}:
                continue
            rule, start = parse(task["rule"]), date.fromisoformat(task["start"])
            dates = expand(task["rule"], self.plant.shop.zone, start, start + AHEAD)
            rng = Random(f"task {self.seed} {role} {task['name']}")
            first = start + timedelta(days=rng.randint(9, SERVICED_WITHIN)) if _long_term(task["rule"]) else None
            jobs.append(Job(role, task, rule, [day.isoformat() for day in dates], by, first, rng))
        return jobs

    def verdict(self, job: Job, day: date, *, used_today: bool = True) -> Due:
        """What the app would say of the task on that day."""
        station, task = self.plant.stations[job.role], job.task
        done = station.done.get(task["id"])
        units = {meter["id"]: meter["kind"] for meter in station.machine.body["meters"]}
        facts = {
            "today": day.isoformat(),
            "in_service": station.tag is None,
            "start": task["start"],
            "done": done,
            "deferred_to": _text(station.deferred.get(task["id"])),
            "meters": station.totals,
            "readings": station.readings,
            "done_today": bool(done and done["date"] == day.isoformat()),
            "used_today": used_today,
            "events": station.events,
            "meter_start": {units[key]: total for key, total in task.get("meter_start", {}).items()},
            "dates": job.dates,
        }
        return judge(job.rule, facts)

    def after_change(self, when: Moment, by: str, role: str, kinds: list[str]) -> None:
        """What a change of a part asks for at once, such as looking over the new blade."""
        for job in self.jobs:
            after = job.after
            at_once = job.role == role and after and after.subject in kinds and after.days == 0
            if at_once and job.rng.random() < 0.95:
                self.do(job, when.later(4), by)

    def after_work(self, when: Moment, by: str, role: str) -> None:
        """What falls due so much work after a change, such as the end of a blade's break-in."""
        for job in self.jobs:
            if job.role == role and job.after and job.after.meter:
                due = self.verdict(job, when.day)
                if due.state in ("due", "late") and job.rng.random() < 0.85:
                    self.do(job, when.later(2), by)

    def next_stop(self, role: str, day: date, amounts: dict[str, float]) -> float:
        """The share of so much work at which something falls due after a change; 1 when nothing does so soon."""
        shares = [1.0]
        for job in self.jobs:
            meter = job.after.meter if job.role == role and job.after else None
            if meter and amounts.get(meter):
                left = self.verdict(job, day).left or 0
                shares += [left / amounts[meter]] if left > 0 else []
        return min(shares)

    def afternoon(self, work: WorkDay, busy: bool) -> None:
        """Go through what is due and do what the day leaves room for."""
        minute = work.last - Random(f"afternoon {self.seed} {work.date}").uniform(70, 100)
        for job in self.jobs:
            counted = job.after and job.after.meter  # seen to as the work goes on, by after_work
            if counted or self.held.get(job.task["id"], date.max) <= work.date:
                continue
            state = self._state(job, work.date)
            if job.rng.random() >= self._chance(job, state, work.date, busy):
                continue
            # What takes long is begun early enough that nobody stays into the evening for it.
            when = Moment(work.date, min(minute, work.last - 3, work.last + 60 - 1.5 * job.task["minutes"]))
            if state == "due" and not job.after and job.rng.random() < (0.15 if _long(job) else 0.02):
                self._put_off(job, when)
                continue
            minute += self.do(job, when, self._who(job)) * 0.5

    def _state(self, job: Job, day: date) -> str:
        first = job.first_service
        if first and day >= first and job.task["id"] not in self.plant.stations[job.role].done:
            return "due"
        if self.quiet.get(job.task["id"], day) > day:
            return "resting"
        due = self.verdict(job, day)
        if due.state == "resting" and due.due_on and isinstance(job.rule, Calendar | Recurrence):
            # Nothing comes near sooner than a week before its date; asking every day would double the time.
            self.quiet[job.task["id"]] = due.due_on - timedelta(days=8)
        return due.state

    def _chance(self, job: Job, state: str, day: date, busy: bool) -> float:
        if state == "resting" or (busy and _long(job)):
            return 0.0
        friday = day.weekday() >= 4
        if state == "near":
            return 0.12 if friday and not job.after else 0.02
        if _long(job):
            return 0.6 if friday else 0.25
        return 0.85

    def _who(self, job: Job) -> str:
        return job.by if job.rng.random() < 0.8 else job.rng.choice(tuple(self.plant.people))

    def _put_off(self, job: Job, when: Moment) -> None:
        to = when.day + timedelta(days=job.rng.randint(3, 9))
        self.plant.defer(when, "odile", job.role, job.task["id"], to, job.rng.choice(REASONS))

    def do(self, job: Job, when: Moment, by: str) -> float:
        """Do a task: its checklist is walked, or it is signed off; then what it changes is changed. Minutes taken."""
        task = job.task
        self.quiet.pop(task["id"], None)
        took: int = max(1, round(task["minutes"] * job.rng.lognormvariate(0, 0.25)))
        checklist = self.lists.get(task["checklist"] or "")
        station = self.plant.stations[job.role]
        if checklist:
            self.results.walked(self.rounds.walk(when, by, job.role, checklist, minutes=took), by, job.role)
            station.done[task["id"]] = station.mark(when.day)
            station.deferred.pop(task["id"], None)
        self.results.of_task(job.role, task, when.later(0.3), by)
        if not checklist:
            self.plant.task_done(when.later(0.6), by, job.role, task["id"], minutes=took)
        return took


def _long(job: Job) -> bool:
    return bool(job.task["minutes"] >= LONG)


def _long_term(rule: dict[str, Any]) -> bool:
    """Whether a rule runs for months: such tasks are done once, soon after the book is begun."""
    parts = [parse(part) for part in rule.get("first_of", [rule])]
    return any(getattr(part, "unit", "") in ("months", "years") for part in parts if not isinstance(part, FirstOf))


def _text(day: date | None) -> str | None:
    return day.isoformat() if day else None
