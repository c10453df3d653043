"""Years of a shop through the scheduler under a fake clock, and what must be true of every message that went out.

Two processes compete; they crash, hang and are started again, the shop's computer is off over nights and holidays, its
clock goes back a little, or runs weeks ahead for an hour. What is expected is worked out here by plain date arithmetic
(dateutil for months), by nothing of the program's own.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from random import Random
from typing import Any
from unittest import mock
from zoneinfo import ZoneInfo

import time_machine
from dateutil.relativedelta import relativedelta
from flask import Flask
from sqlalchemy import select

from tests.conftest import Shop
from tests.reminders.conftest import Clock, Office, stepped
from webapp.database import db, writing
from webapp.reminders import delivery, jobs
from webapp.reminders.channels.outcome import Outcome
from webapp.reminders.models import Delivery, Reminder, Subscription
from webapp.reminders.scheduler import Keeper

ZONE = ZoneInfo("America/Chicago")
SURE = timedelta(hours=4)
"""What has needed somebody through so much of their time, with a server running, must have been told."""
INTERVALS: dict[str, relativedelta] = {
    "weekly": relativedelta(weeks=1), "ten days": relativedelta(days=10), "monthly": relativedelta(months=1),
    "half a year": relativedelta(months=6),
}  # fmt: skip
RULES = {"weekly": {"weeks": 1}, "ten days": {"days": 10}, "monthly": {"months": 1}, "half a year": {"months": 6}}
FAR = datetime(2100, 1, 1, tzinfo=UTC)
QUIET = ("20:00", "09:30")


@dataclass
class Message:
    """What one browser was sent: when, whose it is, and the needs it told of; those that only a clock that ran ahead
    had brought up are left out."""

    at: datetime
    person: str
    delivery: str
    needs: list[str]


@dataclass
class Task:
    """A task as the simulation knows it."""

    id: str
    every: relativedelta
    base: date
    turn: str = "never/"

    def state(self, today: date) -> str:
        """Resting, due or late, by the calendar alone."""
        due = self.base + self.every
        return "due" if today == due else "late" if today > due else "resting"


@dataclass
class Report:
    """What a run has shown."""

    steps: int = 0
    restarts: int = 0
    jumps: int = 0
    takeovers: int = 0
    messages: list[Message] = field(default_factory=list)
    stood: dict[tuple[str, str, str, str], list[datetime]] = field(default_factory=lambda: defaultdict(list))
    """(task, turn, state, person) -> the moments of theirs at which it stood and a server ran."""
    orders: int = 0

    def faults(self, people: dict[str, tuple[str, str] | None], holidays: set[date]) -> list[str]:
        """Everything that is not as it must be; none is right."""
        return [*self._quiet(people, holidays), *self._twice(), *self._lost()]

    def _quiet(self, people: dict[str, tuple[str, str] | None], holidays: set[date]) -> Iterator[str]:
        for one in self.messages:
            if not awake(one.at, people[one.person], holidays):
                yield f"told in a quiet hour: {one.at} {one.person} {one.needs}"

    def _twice(self) -> Iterator[str]:
        seen: dict[tuple[str, str], str] = {}
        for one in self.messages:
            for need in one.needs:
                before = seen.setdefault((need, one.person), one.delivery)
                if before != one.delivery and not need.startswith("stock/"):
                    yield f"told twice: {need} to {one.person}"
        stock = sum(need.startswith("stock/") for one in self.messages for need in one.needs)
        if stock > self.orders:
            yield f"{stock} messages of {self.orders} orders"

    def _lost(self) -> Iterator[str]:
        told = {(need, one.person) for one in self.messages for need in one.needs}
        for (task, turn, state, person), moments in self.stood.items():
            if moments[-1] - moments[0] >= SURE and (f"task/{task}/{turn}/{state}", person) not in told:
                yield f"lost: {task} {turn} {state} for {person}, {moments[0]} to {moments[-1]}"


def awake(at: datetime, quiet: tuple[str, str] | None, holidays: set[date]) -> bool:
    """Whether a person may be told something: Monday to Friday, no holiday, 6 to 18 or outside their own hours."""
    if at.weekday() > 4 or at.date() in holidays:
        return False
    clock = f"{at:%H:%M}"
    return "06:00" <= clock < "18:00" if quiet is None else QUIET[1] <= clock < QUIET[0]


class Simulation:
    """A shop of three people with tasks, a drawer and two servers, day by day."""

    def __init__(
        self, shop: Shop, other: Flask, clock: Clock, seed: int, start: date, looks: int = 11, upset: float = 1
    ) -> None:
        self.rng, self.clock, self.report = Random(seed), clock, Report()
        self.looks, self.upset, self.true = looks, upset, FAR
        self.office = Office(shop, clock)
        self.apps = [shop.app, other]
        self.start, self.newest, self.wrong = start, datetime.min.replace(tzinfo=UTC), False
        self.holidays = {date(year, month, day) for year in range(start.year, start.year + 12)
                         for month, day in ((1, 1), (7, 4), (7, 5), (12, 24), (12, 25))}  # fmt: skip
        clock.at(f"{start} 04:00")
        self.people = self._people()
        self.tasks = [self._task(name) for name in RULES]
        self.office.edit("item", shop.blades, reorder_at=2, kind="blade")
        self.office.edit("shop", holidays=sorted(day.isoformat() for day in self.holidays))
        self.low = False
        self._count(9)
        self.keepers = [Keeper(app, stepped) for app in self.apps]

    def _people(self) -> dict[str, tuple[str, str] | None]:
        late = {"quiet": {"begins": QUIET[0], "ends": QUIET[1]}}
        found: dict[str, tuple[str, str] | None] = {self.office.shop.owner: None}
        found[self.office.person("Ben Roe")] = None
        found[self.office.person("Cy Dow", reminders=late)] = QUIET
        with self.office.app.app_context(), writing() as session:
            for number, person in enumerate(found):
                session.add(Subscription(
                    id=f"00000000-0000-7000-8000-{number:012d}", device=self.office.shop.device, person=person,
                    endpoint=f"https://push.example/{number}", p256dh="", auth="", made_ms=0,
                ))  # fmt: skip
        return found

    def _task(self, name: str) -> Task:
        id_ = self.office.task(name, {"every": RULES[name]}, start=self.start.isoformat())
        return Task(id_, INTERVALS[name], self.start)

    def _count(self, count: int) -> None:
        self.office.log("stock.counted", {"item": self.office.shop.blades, "count": count}, machine=None)
        if count <= 2 and not self.low:
            self.report.orders += 1
        self.low = count <= 2

    def run(self, days: int) -> Report:
        """So many days from the start."""
        with self._recording():
            for ahead in range(days):
                self._day(self.start + timedelta(days=ahead))
        return self.report

    def _day(self, day: date) -> None:
        working = day.weekday() < 5 and day not in self.holidays
        off = self.rng.random()
        if not working and off < 0.7:
            return  # the computer is off
        begin = datetime.combine(day, time(5), ZONE).astimezone(UTC)
        moments = sorted(self.rng.uniform(0, 15) for _ in range(self.looks if working else 2))
        if working and self.rng.random() < 0.2:
            moments.append(17.5 + self.rng.random())  # late at night
        for hours in moments:
            at = begin + timedelta(hours=hours)
            self._move(at)
            self._upset()
            self._step()
            if working and 1.5 < hours < 12:
                self._work(at)
        if working and self.rng.random() < 0.02 * self.upset:
            self._wrong_clock(at)

    def _move(self, at: datetime) -> None:
        self.clock.traveller.move_to(at, tick=False)

    def _upset(self) -> None:
        """What happens to computers: they crash, are started again, or their clock is set back a little."""
        chance = self.rng.random() / self.upset
        which = self.rng.randrange(2)
        if chance < 0.03:
            self.keepers[which] = Keeper(self.apps[which], stepped)  # it crashed: nothing was given back
            self.report.restarts += 1
        elif chance < 0.06:
            self.keepers[which].shutdown()
            self.keepers[which] = Keeper(self.apps[which], stepped)
            self.report.restarts += 1
        elif chance < 0.07:
            self.clock.on(minutes=-self.rng.uniform(1, 55))
            self.report.jumps += 1

    def _step(self) -> None:
        """Both servers have their turn, in either order, one of them sometimes not."""
        order = self.keepers[:: self.rng.choice((1, -1))]
        held = [keeper for keeper in order if self.rng.random() < 0.8 and self._turn(keeper)]
        if not held:
            self.clock.on(seconds=100)  # whoever had it has crashed: its lease is over by now
            held = [keeper for keeper in order if self._turn(keeper)]
            self.report.takeovers += 1
        assert len(held) == 1, "two processes held the lease at once, or none did"
        self.clock.on(seconds=61)
        self._turn(held[0])
        self.report.steps += 1
        self._note()

    def _turn(self, keeper: Keeper) -> bool:
        held = keeper.tick()
        if keeper.scheduler is not None:
            keeper.scheduler.step()  # type: ignore[attr-defined]
        return held

    def _note(self) -> None:
        """Keep what stands now, for those who may be told."""
        now = datetime.now(UTC)
        if self.wrong or now < self.newest:
            return
        self.newest = now
        here = now.astimezone(ZONE)
        for task in self.tasks:
            state = task.state(here.date())
            for person, quiet in self.people.items():
                if state != "resting" and person != self.office.shop.owner and awake(here, quiet, self.holidays):
                    self.report.stood[task.id, task.turn, state, person].append(now)

    def _work(self, at: datetime) -> None:
        """People do what is due, more often than not, and count the drawer."""
        now = datetime.now(UTC)
        if now < at - timedelta(minutes=1):
            return  # the clock was set back: what is logged now would lie before what was logged before
        today = now.astimezone(ZONE).date()
        for task in self.tasks:
            chance = {"due": 0.03, "late": 0.05}.get(task.state(today), 0.001)
            if self.rng.random() < chance:
                entry = self.office.log("task.done", {"task": task.id})
                task.base, task.turn = today, f"{entry['at']}/"
        if self.rng.random() < 0.01:
            self._count(1 if not self.low else 9)

    def _wrong_clock(self, at: datetime) -> None:
        """For one look the clock is weeks ahead; then it is set right."""
        self.wrong = True
        self.true = datetime.now(UTC)
        self.clock.traveller.move_to(at + timedelta(days=self.rng.uniform(3, 60)), tick=False)
        self._step()
        self.report.jumps += 1
        self._move(at + timedelta(minutes=10))
        self._step()
        self.wrong, self.true = False, FAR

    @contextmanager
    def _recording(self) -> Iterator[None]:
        """The push services: they take what comes, now and then at the second try only."""

        busy: set[str] = set()

        def take(target: Any, id_: str, _message: dict[str, Any]) -> Outcome:
            if id_ not in busy and self.rng.random() < 0.1:
                busy.add(id_)
                return Outcome("waiting", "busy", 0)
            ids = json.loads(db.session().execute(select(Delivery.reminders).where(Delivery.id == id_)).scalar_one())
            real = (Reminder.closed_ms.is_(None), Reminder.opened_ms <= int(self.true.timestamp() * 1000))
            rows = db.session().execute(select(Reminder.need).where(Reminder.id.in_(ids), *real))
            at = datetime.now(UTC).astimezone(ZONE)
            told = Message(at, target.person, id_, list(rows.scalars()))
            db.session.remove()
            self.report.messages.append(told)
            return Outcome("sent")

        channels: dict[str, Callable[..., Outcome]] = {"push": take}
        with (
            mock.patch.object(delivery, "CHANNELS", channels),
            mock.patch.object(jobs, "POLL_EVERY_SECONDS", 86_400.0),
            mock.patch.object(jobs, "DELIVER_EVERY_SECONDS", 60.0),
        ):
            yield


@contextmanager
def fake_clock(start: date) -> Iterator[Clock]:
    """A clock that stands at four in the morning of a day."""
    with time_machine.travel(datetime.combine(start, time(4), ZONE), tick=False) as traveller:
        yield Clock(traveller)
