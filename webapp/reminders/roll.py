"""The lease that lets one process run the scheduler, and the roll of the day."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import delete, insert, select, update
from sqlalchemy.orm import Session

from webapp.core.instants import shop_date
from webapp.database import writing
from webapp.records.append import head
from webapp.reminders.faults import LeaseLost
from webapp.reminders.models import DayRoll, Lease
from webapp.reminders.today import judge_all
from webapp.setup.definitions import list_all, shop_zone
from webapp.setup.ids import now_ms

LEASE_MS = 90_000


def hold_lease(holder: str, at_ms: int | None = None) -> bool:
    """Take or renew the lease. False while another process holds it."""
    with writing() as session:
        row = session.execute(select(Lease.holder, Lease.until_ms).where(Lease.id == 1).with_for_update()).one()
        # Only now: who waited for the row would otherwise judge it by a time that is past.
        now = now_ms() if at_ms is None else at_ms
        # One that ends much later than any could was taken under a clock that ran ahead; another machine's clock may
        # be a little ahead of ours.
        if row.holder != holder and now < row.until_ms <= now + 2 * LEASE_MS:
            return False
        session.execute(update(Lease).where(Lease.id == 1).values(holder=holder, until_ms=now + LEASE_MS))
        return True


def drop_lease(holder: str) -> None:
    """Give the lease back, if it is held."""
    with writing() as session:
        session.execute(update(Lease).where(Lease.id == 1, Lease.holder == holder).values(until_ms=0))


@contextmanager
def writing_as(holder: str) -> Iterator[Session]:
    """A write transaction of the lease's holder: nobody else can take the lease before it ends. Raises LeaseLost."""
    with writing() as session:
        if session.scalar(select(Lease.holder).where(Lease.id == 1).with_for_update()) != holder:
            raise LeaseLost(holder)
        yield session


def roll_day(at_ms: int | None = None) -> list[str]:
    """Note once a day of the shop what became due. Returns the ids of the tasks that did, newly."""
    with writing() as session:
        head(session, lock=True)  # PostgreSQL lets two writers in: the second waits here and finds the day rolled
        now = now_ms() if at_ms is None else at_ms
        if not list_all(session, "shop"):
            return []
        day = shop_date(now, shop_zone(session)).isoformat()
        # Days still to come were rolled under a clock that ran ahead.
        session.execute(delete(DayRoll).where(DayRoll.day > day))
        newest = session.execute(select(DayRoll.day, DayRoll.standing).order_by(DayRoll.day.desc()).limit(1)).first()
        if newest is not None and newest.day >= day:
            return []
        before = json.loads(newest.standing) if newest else {}
        standing = {judged.task["id"]: judged.due.state for judged in judge_all(session, now)}
        became = sorted(
            task for task, state in standing.items()
            if state in ("due", "late") and before.get(task) not in ("due", "late")
        )  # fmt: skip
        row = {
            "day": day,
            "rolled_ms": now,
            "became_due": json.dumps(became),
            "standing": json.dumps(standing),
        }
        session.execute(insert(DayRoll), [row])
        return became
