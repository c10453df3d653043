"""The scheduler inside the server: jobs kept in the database, run in exactly one process, caught up once.

Every process has a keeper; only the one that holds the lease runs APScheduler. A keeper looks every half minute, which
also mends what a clock set forward or back has done to the jobs' next times.
"""

from __future__ import annotations

import logging
import os
import socket
import threading
import uuid
from collections.abc import Callable
from datetime import datetime, timedelta
from functools import partial
from zoneinfo import ZoneInfo

from apscheduler.executors.pool import ThreadPoolExecutor
from apscheduler.job import Job
from apscheduler.schedulers.background import BackgroundScheduler
from apscheduler.schedulers.base import BaseScheduler
from flask import Flask
from sqlalchemy.exc import OperationalError

from webapp.database import db
from webapp.reminders import jobs
from webapp.reminders.roll import drop_lease, hold_lease
from webapp.reminders.standing import note, triggers
from webapp.reminders.store import DatabaseJobs
from webapp.setup.definitions import list_all
from webapp.setup.ids import now_ms

logger = logging.getLogger(__name__)

LEASE_EVERY_SECONDS = 30
WORKERS = 6
LATE = timedelta(days=1)
"""What is overdue by more is run now, without counting all its missed times."""
AHEAD = timedelta(minutes=10)
"""What is to run later than this after its next turn was scheduled under a clock that ran ahead."""


def background(zone: ZoneInfo) -> BaseScheduler:
    """APScheduler with threads of its own."""
    return BackgroundScheduler(timezone=zone, executors={"default": ThreadPoolExecutor(WORKERS)})


class Keeper:
    """Holds the lease for this process, and runs the jobs while it does."""

    def __init__(self, app: Flask, make: Callable[[ZoneInfo], BaseScheduler] = background) -> None:
        self.app, self.make = app, make
        self.holder = f"{socket.gethostname()}/{os.getpid()}/{uuid.uuid4().hex[:8]}"
        self.scheduler: BaseScheduler | None = None
        self.shop: dict[str, object] = {}
        self.made: jobs.Jobs = {}
        self._ended = threading.Event()
        self._thread: threading.Thread | None = None

    def start(self) -> Keeper:
        """Keep the lease from a thread of its own. Stop with `shutdown()`."""
        self._thread = threading.Thread(target=self._keep, name="scheduler", daemon=True)
        self._thread.start()
        return self

    def _keep(self) -> None:
        while not self._ended.is_set():
            try:
                self.tick()
            except Exception:
                # A database that is away for a while must not end the day's work for good.
                logger.exception("The scheduler could not look after its lease")
            self._ended.wait(LEASE_EVERY_SECONDS)

    def tick(self) -> bool:
        """Take or renew the lease; run the jobs with it, rest without. Returns whether it is held."""
        with self.app.app_context():
            try:
                held = hold_lease(self.holder)
                shop = next(iter(list_all(db.session(), "shop")), {}) if held else {}
            finally:
                db.session.remove()
        if not held or (self.scheduler is not None and shop != self.shop):
            self._rest(wait=False)
        if held and self.scheduler is None and not self._ended.is_set():
            self._begin(shop)
        if held and self.scheduler is not None:
            self._heal()
            self.scheduler.wakeup()
        return held

    def _begin(self, shop: dict[str, object]) -> None:
        self.shop, self.made = shop, jobs.declared(shop)
        zone = ZoneInfo(str(shop.get("time_zone", "UTC")))
        self.scheduler = scheduler = self.make(zone)
        scheduler.add_jobstore(DatabaseJobs(self.app, partial(self._job, scheduler)))
        scheduler.start(paused=True)
        self._heal()
        scheduler.resume()

    def _rest(self, *, wait: bool) -> None:
        if self.scheduler is not None:
            self.scheduler.shutdown(wait=wait)
            self.scheduler = None

    def _job(self, scheduler: BaseScheduler, name: str) -> Job | None:
        """A job as this program has it; whatever was missed of it is run once."""
        if name not in self.made:
            return None
        job = Job(
            scheduler, id=name, name=name, func=partial(self.run, name), args=(), kwargs={}, executor="default",
            trigger=self.made[name].trigger, misfire_grace_time=None, coalesce=True, max_instances=1,
            next_run_time=None,
        )  # fmt: skip
        job._jobstore_alias = "default"
        return job

    def _heal(self) -> None:
        """Give every job a next time that fits: new ones, and those that a wrong clock, another zone or a long rest
        has left with one that cannot be."""
        scheduler = self.scheduler
        assert scheduler is not None
        now = datetime.now(scheduler.timezone)
        with self.app.app_context():
            known = triggers(db.session())
            db.session.remove()
        kept = {job.id: job.next_run_time for job in scheduler.get_jobs()}
        for name, spec in self.made.items():
            fresh = spec.trigger.get_next_fire_time(None, now)
            at_once = now if spec.at_once else fresh
            if name not in known:
                job = self._job(scheduler, name)
                assert job is not None
                job.next_run_time = at_once
                scheduler._lookup_jobstore("default").add_job(job)
            elif name not in kept or known[name] != str(spec.trigger)[:120] or kept[name] > fresh + AHEAD:
                scheduler.modify_job(name, next_run_time=fresh) if name in kept else self._again(name, at_once)
            elif kept[name] < now - LATE:
                scheduler.modify_job(name, next_run_time=now)

    def _again(self, name: str, moment: datetime) -> None:
        """A job whose row has lost its next time."""
        job = self._job(self.scheduler, name) if self.scheduler else None
        if job is not None and self.scheduler is not None:
            job.next_run_time = moment
            self.scheduler._lookup_jobstore("default").update_job(job)

    def run(self, name: str) -> None:
        """Run a job, if the lease is still ours, and note how it ended."""
        with self.app.app_context():
            try:
                if hold_lease(self.holder):
                    self._noted(name)
            except OperationalError:
                logger.exception("The job %s could not reach the database", name)
            finally:
                db.session.remove()

    def _noted(self, name: str) -> None:
        try:
            said, good = self.made[name].work(self.holder) or "", True
        except jobs.Trouble as trouble:
            said, good = str(trouble), False
        except Exception as error:
            logger.exception("The job %s failed", name)
            said, good = f"It broke off ({type(error).__name__}): the server's log tells more.", False
        db.session.rollback()
        note(name, now_ms(), good, said)

    def shutdown(self, wait: bool = True) -> None:
        """Stop the jobs and let another process take over at once."""
        self._ended.set()
        if self._thread is not None and self._thread is not threading.current_thread():
            self._thread.join(timeout=10)
        self._rest(wait=wait)
        with self.app.app_context():
            try:
                drop_lease(self.holder)
            except OperationalError:
                logger.warning("The scheduler's lease could not be given back; it ends by itself")
            finally:
                db.session.remove()
