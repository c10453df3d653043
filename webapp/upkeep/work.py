"""The work of the 8 weeks ahead, whose it usually is, and what to do together: `workload` and `bundles`."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from webapp.core.bundling import Bundle, Candidate, bundle
from webapp.core.dates import add_interval
from webapp.core.pace import LEAST_SHARE
from webapp.core.rules import Calendar, Each, FirstOf, Meter, Recurrence, Rule
from webapp.core.workload import WEEKS, Job, Week, by_week, occurrences, usual
from webapp.records.models import Entry
from webapp.setup import definitions
from webapp.upkeep.history import DOING_KINDS, WINDOW_DAYS, day_start_ms
from webapp.upkeep.recent import entries
from webapp.upkeep.shop import Shop
from webapp.upkeep.tasks import Foreseen
from webapp.upkeep.use import Uses

Again = Callable[[date], date | None]


@dataclass(frozen=True)
class Doers:
    """Who usually does a task, by the record; who usually walks a machine's rounds; None where nobody does."""

    by_task: dict[str, str | None]
    by_machine: dict[str | None, str | None]

    def of(self, task: dict[str, Any]) -> str | None:
        """The person for a task: who does it, or who walks the rounds when it is one."""
        own = self.by_task.get(task["id"])
        return own or (self.by_machine.get(task["machine"]) if task["checklist"] else None)


def doers(session: Session, shop: Shop) -> Doers:
    """Read who did what in the newest 52 weeks. People who have left are nobody."""
    after = day_start_ms(shop.today - timedelta(days=WINDOW_DAYS), shop.zone)
    here = {row["id"] for row in definitions.list_all(session, "person") if not row["retired"]}
    tasks: dict[str, list[str]] = {}
    for _, entry in entries(session, DOING_KINDS, after):
        if entry.by in here:
            tasks.setdefault(entry.body["task"], []).append(entry.by)
    # Counted by the database: rounds are many and long, and whose they are stands beside the document.
    query = (
        select(Entry.machine, Entry.person, func.count())
        .where(Entry.kind == "round.done", Entry.ms >= after)
        .group_by(Entry.machine, Entry.person)
    )
    rounds: dict[str | None, list[str]] = {}
    for machine, person, times in session.execute(query).all():
        if person in here:
            rounds.setdefault(machine, []).extend([person] * times)
    return Doers(
        {task: usual(people) for task, people in tasks.items()},
        {machine: usual(people) for machine, people in rounds.items()},
    )


def workload(foreseen: list[Foreseen], shop: Shop, uses: Uses, who: Doers) -> list[dict[str, Any]]:
    """Minutes by week for 8 weeks, by person and by task; raised tasks stand in the week that begins today."""
    end = shop.today - timedelta(days=shop.today.weekday()) + timedelta(weeks=WEEKS)
    jobs = [_job(one, shop, uses, who, end) for one in foreseen]
    for subject, doc in sorted(shop.docs.items()):
        machine = subject.partition(":")[2] or None
        if machine is None or machine in shop.machines:
            for raised, row in doc["raised"].items():
                jobs.append(Job(raised, machine, row["minutes"] or 0, {shop.today: 1.0}, None))
    return [_told(week) for week in by_week(jobs, shop.today)]


def _told(week: Week) -> dict[str, Any]:
    return {
        "week": week.monday.isoformat(),
        "minutes": week.minutes,
        "people": [
            {"person": person, "minutes": minutes}
            for person, minutes in sorted(week.people.items(), key=lambda pair: (pair[0] is None, -pair[1], pair[0]))
        ],
        "tasks": [
            {
                "task": share.task, "machine": share.machine, "person": share.person,
                "on": [day.isoformat() for day in share.days], "times": share.times, "minutes": share.minutes,
            }
            for share in week.shares
        ],
    }  # fmt: skip


def _job(one: Foreseen, shop: Shop, uses: Uses, who: Doers, end: date) -> Job:
    task = one.task
    if isinstance(one.rule, Each):
        days = _days_of_use(one, shop, uses, end) if shop.in_service(task["machine"]) else {}
    else:
        again = _again(one.rule, one, shop, uses)
        days = dict.fromkeys(occurrences(_first(one, shop), again, shop.today, end), 1.0)
    return Job(task["id"], task["machine"], task["minutes"], days, who.of(task))


def _first(one: Foreseen, shop: Shop) -> date | None:
    """The next day it falls on: today when it is due, the date it was put off to, else the likely one. A clock
    that rests gives no date but the calendar's."""
    if one.due.state in ("due", "late"):
        return shop.today
    if one.deferred:
        return one.deferred
    return one.range.likely if shop.in_service(one.task["machine"]) else one.calendar


def _again(rule: Rule, one: Foreseen, shop: Shop, uses: Uses) -> Again:
    """When it falls due next after it was done on a day; None where it does not come back by itself."""
    if isinstance(rule, FirstOf):
        parts = [_again(part, one, shop, uses) for part in rule.parts]
        return lambda day: min((next_ for part in parts if (next_ := part(day))), default=None)
    if isinstance(rule, Calendar):
        return lambda day: add_interval(day, rule.unit, rule.count)
    if isinstance(rule, Recurrence):
        dates = [date.fromisoformat(day) for day in one.task["dates"]]
        return lambda day: next((later for later in dates if later > day), None)
    if isinstance(rule, Meter) and shop.in_service(one.task["machine"]):
        meter = shop.meter(one.task["machine"], rule.meter)
        if meter and meter["id"] in uses.row:
            return _by_meter(uses, meter["id"], rule.every)
    return lambda _day: None


def _by_meter(uses: Uses, meter: str, every: float) -> Again:
    """The day on which the usual use has filled another interval."""
    import numpy as np

    expected = uses.ahead.counts @ uses.pace.mean[uses.row[meter]]

    def again(day: date) -> date | None:
        place = (day - uses.ahead.first).days + 1
        found = int(np.searchsorted(expected, expected[place] + every))
        return uses.ahead.date_of(found - 1) if found < len(expected) else None

    return again


def _days_of_use(one: Foreseen, shop: Shop, uses: Uses, end: date) -> dict[date, float]:
    """The days ahead on which the machine is likely used, with how likely: the round before the first use."""
    rows = [row for row, line in enumerate(uses.lines) if line.machine == one.task["machine"]]
    rows = [row for row in rows if uses.pace.a_week[row] > 0]
    found: dict[date, float] = {}
    day = shop.today
    while day < end:
        chance = _chance(uses, rows, day.weekday()) if day not in shop.holidays else 0.0
        if chance > 0 and not (day == shop.today and one.done_today):
            found[day] = chance
        day += timedelta(days=1)
    return found


def _chance(uses: Uses, rows: list[int], weekday: int) -> float:
    """How likely a machine is used on a weekday, by its busiest meter; without one, every working day."""
    if not rows:
        return 1.0 if weekday < 5 else 0.0
    pace = uses.pace
    works = [row for row in rows if pace.mean[row, weekday] >= LEAST_SHARE * pace.a_week[row]]
    idle = [float(pace.idle[row, weekday]) for row in works]
    return max((1.0 if share != share else 1.0 - share for share in idle), default=0.0)


def bundles(foreseen: list[Foreseen], shop: Shop, machine: str) -> list[dict[str, Any]]:
    """What to do together on a machine now, if anything. Daily rounds stop no machine and stand apart."""
    stopped = not shop.in_service(machine)
    rows = [
        _candidate(one, stopped)
        for one in foreseen
        if one.task["machine"] == machine and not isinstance(one.rule, Each)
    ]
    found = bundle(shop.machines[machine]["name"], rows, shop.today, stopped=stopped)
    return [] if found is None else [_bundled(found, stopped)]


def _candidate(one: Foreseen, stopped: bool) -> Candidate:
    task = one.task
    # While it stands, its meters' dates are as if it came back today: near enough to say what is near.
    likely = one.deferred or one.range.likely
    state = "near" if stopped and one.due.state == "resting" else one.due.state
    return Candidate(
        task["id"], task["name"], state, task["minutes"], one.due.fraction, likely, tuple(task["cautions"])
    )


def _bundled(found: Bundle, stopped: bool) -> dict[str, Any]:
    return {
        "because": list(found.because),
        "stopped": stopped,
        "with": [
            {
                "task": row.task, "minutes": row.minutes, "days_early": row.days_early,
                "interval_given_up": row.share, "lock_out": row.lock_out,
            }
            for row in found.early
        ],
        "minutes": found.minutes,
        "saved": found.saved,
        "lock_out": found.lock_out,
        "why": found.why,
    }  # fmt: skip
