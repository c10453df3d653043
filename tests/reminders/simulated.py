"""Years of a shop through the scheduler under a fake clock, and what must be true of every message that went out.

Two processes compete; they crash, hang and are started again, the shop's computer is off over nights and holidays, its
clock goes back a little, or runs weeks ahead for an hour; people do the work, let reminders rest, run out of blades.
What must have been told is reckoned in `expected.py`, from what the messages say and by nothing of the program's own.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime, time, timedelta
from random import Random
from typing import Any
from unittest import mock

import time_machine
from flask import Flask
from sqlalchemy import select

from tests.conftest import Shop
from tests.reminders.conftest import Clock, Office, stepped
from tests.reminders.expected import HOLIDAYS, INTERVALS, QUIET, RULES, ZONE, Book, Message, Task
from webapp.core.instants import instant_text
from webapp.database import db, writing
from webapp.reminders import delivery, jobs
from webapp.reminders.channels.outcome import Outcome
from webapp.reminders.models import Delivery, Reminder, Subscription
from webapp.reminders.scheduler import Keeper

FAR = datetime(2100, 1, 1, tzinfo=UTC)


class Simulation:
    """A shop of three people with tasks, a drawer and two servers, day by day."""

    def __init__(
        self, shop: Shop, other: Flask, clock: Clock, seed: int, start: date, looks: int = 11, upset: float = 1
    ) -> None:
        self.rng, self.clock = Random(seed), clock
        self.looks, self.upset, self.true = looks, upset, FAR
        self.office = Office(shop, clock)
        self.apps = [shop.app, other]
        self.start, self.wrong = start, False
        clock.at(f"{start} 04:00")
        self.book = Book(shop.owner, self._people(), [self._task(name) for name in RULES])
        self.office.edit("item", shop.blades, reorder_at=2, kind="blade")
        years = range(start.year, start.year + 12)
        self.office.edit("shop", holidays=[date(year, *day).isoformat() for year in years for day in HOLIDAYS])
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
        return Task(id_, name, INTERVALS[name], self.start)

    def _count(self, count: int) -> None:
        self.office.log("stock.counted", {"item": self.office.shop.blades, "count": count}, machine=None)
        self.book.counted(count <= 2)

    def run(self, days: int) -> Book:
        """So many days from the start."""
        with self._recording():
            for ahead in range(days):
                self._day(self.start + timedelta(days=ahead))
        return self.book

    def _day(self, day: date) -> None:
        holiday = (day.month, day.day) in HOLIDAYS
        working = day.weekday() < 5 and not holiday
        off = self.rng.random()
        if day.weekday() > 4 and off < 0.7:
            return  # the computer is off
        begin = datetime.combine(day, time(5), ZONE).astimezone(UTC)
        moments = sorted(self.rng.uniform(0, 15) for _ in range(self.looks if working or holiday else 2))
        if working and self.rng.random() < 0.2:
            moments.append(17.5 + self.rng.random())  # late at night
        for hours in moments:
            at = begin + timedelta(hours=hours)
            self._move(at)
            self._upset()
            self._step()
            if working and 1.5 < hours < 12:
                self._work(at)
        if working and self.rng.random() < 0.05 * self.upset:
            self._wrong_clock(at)

    def _move(self, at: datetime) -> None:
        self.clock.traveller.move_to(at, tick=False)

    def _upset(self) -> None:
        """What happens to computers: they crash, are started again, or their clock is set back a little."""
        chance = self.rng.random() / self.upset
        which = self.rng.randrange(2)
        if chance < 0.03:
            self.keepers[which] = Keeper(self.apps[which], stepped)  # it crashed: nothing was given back
            self.book.restarts += 1
        elif chance < 0.06:
            self.keepers[which].shutdown()
            self.keepers[which] = Keeper(self.apps[which], stepped)
            self.book.restarts += 1
        elif chance < 0.07:
            self.clock.on(minutes=-self.rng.uniform(1, 55))
            self.book.jumps += 1

    def _step(self) -> None:
        """Both servers have their turn, in either order, one of them sometimes not."""
        order = self.keepers[:: self.rng.choice((1, -1))]
        held = [keeper for keeper in order if self.rng.random() < 0.8 and self._turn(keeper)]
        if not held:
            self.clock.on(seconds=100)  # whoever had it has crashed: its lease is over by now
            held = [keeper for keeper in order if self._turn(keeper)]
            self.book.takeovers += 1
        assert len(held) == 1, "two processes held the lease at once, or none did"
        self.clock.on(seconds=61)
        self._turn(held[0])
        self.book.looks += 1
        if not self.wrong:
            self.book.note(datetime.now(UTC).astimezone(ZONE))

    def _turn(self, keeper: Keeper) -> bool:
        held = keeper.tick()
        if keeper.scheduler is not None:
            keeper.scheduler.step()  # type: ignore[attr-defined]
        return held

    def _work(self, at: datetime) -> None:
        """People do what is due, more often than not, let it rest, and count the drawer."""
        now = datetime.now(UTC).astimezone(ZONE)
        if now < at - timedelta(minutes=1):
            return  # the clock was set back: what is logged now would lie before what was logged before
        for task in self.book.tasks:
            chance = {"due": 0.03, "late": 0.05}.get(task.state(now.date()), 0.001)
            if self.rng.random() < chance:
                self.office.log("task.done", {"task": task.id})
                task.done(now.date())
        if self.rng.random() < 0.01 and self.book.may_count(now):
            self._count(9 if self.book.low else 1)
        if self.rng.random() < 0.02:
            self._rest(now)

    def _rest(self, now: datetime) -> None:
        """Somebody lets a reminder that they were told of rest for a while."""
        rows = [row for row in self.office.shop.get("/reminders").get_json()["reminders"] if row["told_at"]]
        known = [
            (row, need)
            for row in rows
            if (need := self.book.named(row["what"], row["why"], row["person"])) and self.book.told(need)
        ]
        if not known:
            return
        row, need = self.rng.choice(known)
        until = now + timedelta(hours=self.rng.uniform(1, 60))
        answer = self.office.app.test_client().post(
            f"/api/v1/reminders/{row['id']}/snooze", headers=self.office.shop.headers(),
            json={"until": instant_text(int(until.timestamp() * 1000))},
        )  # fmt: skip
        assert answer.status_code in (200, 204), answer.get_json()
        self.book.rested(need, until)

    def _wrong_clock(self, at: datetime) -> None:
        """For one look the clock is weeks ahead; then it is set right."""
        self.wrong = True
        self.true = datetime.now(UTC)
        self.clock.traveller.move_to(at + timedelta(days=self.rng.uniform(3, 60)), tick=False)
        self._step()
        self.book.jumps += 1
        self._move(at + timedelta(minutes=10))
        self._step()
        self.wrong, self.true = False, FAR

    @contextmanager
    def _recording(self) -> Iterator[None]:
        """The push services: they take what comes, now and then at the second try only."""
        busy: set[str] = set()

        def take(target: Any, id_: str, message: dict[str, Any]) -> Outcome:
            if id_ not in busy and self.rng.random() < 0.1:
                busy.add(id_)
                return Outcome("waiting", "busy", 0)
            items = message["items"] if not self.wrong else self._real(id_, message["items"])
            said = [(str(one["what"]), str(one["why"])) for one in items]
            at = datetime.now(UTC).astimezone(ZONE)
            message = Message(at, target.person, id_, said, self._put(id_))
            self.book.take(message, min(at, self.true.astimezone(ZONE)))
            return Outcome("sent")

        channels: dict[str, Callable[..., Outcome]] = {"push": take}
        with (
            mock.patch.object(delivery, "CHANNELS", channels),
            mock.patch.object(jobs, "POLL_EVERY_SECONDS", 86_400.0),
            mock.patch.object(jobs, "DELIVER_EVERY_SECONDS", 60.0),
        ):
            yield

    def _put(self, id_: str) -> datetime:
        """When a message was written into the outbox."""
        made = db.session().execute(select(Delivery.made_ms).where(Delivery.id == id_)).scalar_one()
        db.session.remove()
        return datetime.fromtimestamp(made / 1000, ZONE)

    def _real(self, id_: str, items: list[dict[str, Any]]) -> list[dict[str, Any]]:
        """Of what was told under a clock that ran ahead, that which had come up before it did."""
        ids = json.loads(db.session().execute(select(Delivery.reminders).where(Delivery.id == id_)).scalar_one())
        before = (Reminder.id.in_(ids), Reminder.opened_ms <= int(self.true.timestamp() * 1000))
        real = set(db.session().execute(select(Reminder.id).where(*before)).scalars())
        db.session.remove()
        return [one for one in items if one["reminder"] in real]


@contextmanager
def fake_clock(start: date) -> Iterator[Clock]:
    """A clock that stands at four in the morning of a day."""
    with time_machine.travel(datetime.combine(start, time(4), ZONE), tick=False) as traveller:
        yield Clock(traveller)
