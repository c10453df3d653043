"""A shop whose scheduler is stepped by hand under a clock that the test sets."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

import pytest
import time_machine
from apscheduler.executors.debug import DebugExecutor
from apscheduler.schedulers.base import BaseScheduler

from tests.conftest import Shop
from webapp.core.instants import instant_text
from webapp.database import db, writing
from webapp.reminders.models import Delivery, Reminder
from webapp.reminders.scheduler import Keeper
from webapp.setup import definitions
from webapp.setup.ids import now_ms

ZONE = ZoneInfo("America/Chicago")


class Stepped(BaseScheduler):
    """APScheduler without a thread: jobs run where `step` is called, one after another."""

    def shutdown(self, wait: bool = True) -> None:
        super().shutdown(wait)

    def wakeup(self) -> None:
        """Nothing sleeps here."""

    def step(self) -> float | None:
        """Run what is due; seconds until the next job."""
        wait = self._process_jobs()
        return None if wait is None else float(wait)


def stepped(zone: ZoneInfo) -> Stepped:
    """What a keeper is given in place of APScheduler's background scheduler."""
    return Stepped(timezone=zone, executors={"default": DebugExecutor()})


class Clock:
    """The one clock of the test: ours, APScheduler's and everybody's."""

    def __init__(self, traveller: Any) -> None:
        self.traveller = traveller

    def at(self, text: str) -> None:
        """Set it to a time on the shop's wall: `2026-03-02 07:00`."""
        self.traveller.move_to(datetime.fromisoformat(text).replace(tzinfo=ZONE), tick=False)

    def on(self, *, hours: float = 0, minutes: float = 0, seconds: float = 0) -> None:
        """Let time pass."""
        self.traveller.shift(hours * 3600 + minutes * 60 + seconds)


@pytest.fixture
def clock() -> Iterator[Clock]:
    """Monday 2 March 2026, seven in the morning, standing still."""
    with time_machine.travel(datetime(2026, 3, 2, 7, 0, tzinfo=ZONE), tick=False) as traveller:
        yield Clock(traveller)


class Office:
    """A shop, its keepers, and what was told."""

    def __init__(self, shop: Shop, clock: Clock) -> None:
        self.shop, self.clock, self.app = shop, clock, shop.app
        self.keeper = self.new_keeper()

    def new_keeper(self) -> Keeper:
        """Another process, or this one after a restart."""
        return Keeper(self.app, stepped)

    def step(self, keeper: Keeper | None = None) -> bool:
        """One look of a keeper and whatever is due; whether it holds the lease."""
        keeper = keeper or self.keeper
        held = keeper.tick()
        if keeper.scheduler is not None:
            keeper.scheduler.step()  # type: ignore[attr-defined]
        return held

    def remind(self) -> str | None:
        """One pass over the needs, at once."""
        from webapp.reminders import plan

        self.keeper.tick()
        with self.app.app_context():
            try:
                return plan.remind(self.keeper.holder)
            finally:
                db.session.remove()

    def rows(self, **where: Any) -> list[dict[str, Any]]:
        """Reminders kept."""
        return self._all(Reminder, where)

    def sent(self, **where: Any) -> list[dict[str, Any]]:
        """The outbox of messages and its log."""
        return self._all(Delivery, where)

    def _all(self, model: Any, where: dict[str, Any]) -> list[dict[str, Any]]:
        with self.app.app_context():
            try:
                rows = db.session.query(model).filter_by(**where).order_by(model.id).all()
                names = list(model.__table__.c.keys())
                return [{name: getattr(row, name) for name in names} for row in rows]
            finally:
                db.session.remove()

    def log(self, kind: str, body: dict[str, Any], **over: Any) -> dict[str, Any]:
        """Somebody logs something now."""
        entry = self.shop.entry(kind, body, at=instant_text(now_ms()), **over)
        answer = self.shop.push(entry).get_json()
        assert answer["results"][0]["outcome"] == "stored", answer
        return entry

    def person(self, name: str, **more: Any) -> str:
        """A further person."""
        with self.app.app_context(), writing() as session:
            return str(definitions.create(session, "person", {"name": name} | more, self.shop.owner)["id"])

    def edit(self, type_: str, id_: str | None = None, **changes: Any) -> None:
        """Change a definition; the shop itself without an id."""
        with self.app.app_context(), writing() as session:
            row = next(row for row in definitions.list_all(session, type_) if id_ in (None, row["id"]))
            body = {key: value for key, value in row.items() if key not in ("id", "revision", "retired")} | changes
            definitions.update(session, type_, row["id"], body, row["revision"], self.shop.owner)

    def task(self, name: str, rule: dict[str, Any], **more: Any) -> str:
        """A task at the mill."""
        body = {"name": name, "machine": self.shop.mill, "rule": rule, "start": "2026-02-02", "why": "wear"}
        body |= {"source": "common practice, no source"}
        with self.app.app_context(), writing() as session:
            return str(definitions.create(session, "task", body | more, self.shop.owner)["id"])


@pytest.fixture
def office(clock: Clock, shop: Shop) -> Iterator[Office]:
    """The small shop on SQLite, under the test's clock."""
    yield Office(shop, clock)


@pytest.fixture
def either_office(clock: Clock, either_shop: Shop) -> Iterator[Office]:
    """The small shop on SQLite and on PostgreSQL."""
    yield Office(either_shop, clock)


Maker = Callable[[], Office]
