"""Real processes over one database: one runs the jobs, whoever is killed or hangs is followed by another, and what they
tell together is each need once."""

from __future__ import annotations

import json
import os
import signal
import sqlite3
import subprocess
import sys
import time
from collections import defaultdict
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from itertools import pairwise
from pathlib import Path

import pytest
from flask import Flask
from sqlalchemy import text
from sqlalchemy.exc import OperationalError

from tests.conftest import Shop
from tests.reminders.worker import LEASE_MS
from webapp.database import db, writing
from webapp.reminders.models import Delivery, Lease, Reminder, Subscription
from webapp.setup import definitions

pytestmark = pytest.mark.skipif(os.name == "nt", reason="SIGKILL and SIGSTOP are of POSIX")
PATIENCE = 120.0


class Servers:
    """Some server processes, and what they wrote."""

    def __init__(self, app: Flask, folder: Path) -> None:
        self.app, self.book = app, folder / "book"
        self.running: dict[int, subprocess.Popen[bytes]] = {}
        self.upset: set[int] = set()

    def start(self) -> None:
        """One more."""
        settings = self.app.config["WAYROUND"]
        command = [
            sys.executable,
            "-m",
            "tests.reminders.worker",
            str(settings.data),
            settings.database,
            str(self.book),
        ]
        root = Path(__file__).parents[2]
        made = subprocess.Popen(command, cwd=root, stderr=subprocess.DEVNULL)
        self.running[made.pid] = made

    def lines(self) -> list[list[str]]:
        """What the book says."""
        return [line.split() for line in self.book.read_text().splitlines()] if self.book.exists() else []

    def holder(self) -> int:
        """The process that holds the lease; 0 for none."""
        with self.app.app_context():
            row = db.session.query(Lease).one()
            held = row.until_ms > time.time_ns() // 1_000_000
            pid = int(row.holder.split("/")[1]) if held and row.holder.count("/") == 2 else 0
            db.session.remove()
        return pid if pid in self.running else 0

    def until(self, true: Callable[[], object], what: str) -> None:
        """Wait for something."""
        ends = time.monotonic() + PATIENCE
        while not true():
            assert time.monotonic() < ends, f"waited in vain: {what}"
            time.sleep(0.1)

    def kill(self, pid: int) -> None:
        """The machine's way: no chance to tidy up."""
        self.upset.add(pid)
        self.running[pid].kill()
        self.running.pop(pid).wait()

    def stop(self, pid: int) -> None:
        """It hangs, though in no transaction: its locks would hold up the database itself, and all of us with it."""
        self.upset.add(pid)
        for _ in range(200):
            os.kill(pid, signal.SIGSTOP)
            if self._free():
                return
            os.kill(pid, signal.SIGCONT)
            time.sleep(0.05)
        raise AssertionError("never found it outside a transaction")

    def _free(self) -> bool:
        """Whether nobody holds a lock that a writer needs."""
        with self.app.app_context():
            try:
                if db.engine.dialect.name == "sqlite":
                    file = self.app.config["SQLALCHEMY_DATABASE_URI"].removeprefix("sqlite:///")
                    with closing(sqlite3.connect(file, timeout=0.3, isolation_level=None)) as probe:
                        probe.execute("BEGIN IMMEDIATE")
                        probe.execute("ROLLBACK")
                    return True
                with db.engine.connect() as connection:
                    connection.execute(text("SET LOCAL lock_timeout = '300ms'"))
                    tables = "scheduler_lease, scheduled_job, reminder, reminder_delivery, record_head, day_roll"
                    connection.execute(text(f"LOCK TABLE {tables} IN EXCLUSIVE MODE"))
                    connection.rollback()
                return True
            except (sqlite3.OperationalError, OperationalError):
                return False


@contextmanager
def servers(app: Flask, folder: Path) -> Iterator[Servers]:
    """Servers that are gone afterwards."""
    made = Servers(app, folder)
    try:
        yield made
    finally:
        for process in made.running.values():
            process.send_signal(signal.SIGCONT)
            process.kill()
            process.wait()


def prepare(shop: Shop) -> None:
    """A shop that works day and night, whose owner takes push."""
    days = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
    halves = [{"days": days, "begins": "00:00", "ends": "12:00"}, {"days": days, "begins": "12:00", "ends": "00:00"}]
    with shop.app.app_context(), writing() as session:
        (row,) = definitions.list_all(session, "shop")
        body = {key: value for key, value in row.items() if key not in ("id", "revision", "retired")}
        definitions.update(session, "shop", row["id"], body | {"shifts": halves}, row["revision"], shop.owner)
        session.add(Subscription(
            id="00000000-0000-7000-8000-000000000001", device=shop.device, person=shop.owner,
            endpoint="https://push.example/1", p256dh="", auth="", made_ms=0,
        ))  # fmt: skip


def add_task(shop: Shop, name: str) -> None:
    body = {"name": name, "machine": shop.mill, "rule": {"every": {"days": 1}}, "start": "2026-02-02"}
    body |= {"why": "wear", "source": "common practice, no source"}
    with shop.app.app_context(), writing() as session:
        definitions.create(session, "task", body, shop.owner)


def told(shop: Shop) -> set[str]:
    """The tasks that somebody was sent a message of."""
    with shop.app.app_context():
        rows = {row.id: json.loads(row.body)["what"] for row in db.session.query(Reminder).filter_by(kind="late")}
        sent = [json.loads(row.reminders) for row in db.session.query(Delivery).filter_by(outcome="sent")]
        db.session.remove()
    return {rows[id_].removesuffix(" is late") for ids in sent for id_ in ids}


def test_one_of_three_processes_runs_the_jobs_through_kills_and_hangs(either_shop: Shop, tmp_path: Path) -> None:
    shop, names = either_shop, set()
    prepare(shop)

    def one_more() -> None:
        names.add(name := f"Task {len(names)}")
        add_task(shop, name)

    with servers(shop.app, tmp_path) as group:
        for _ in range(3):
            group.start()
        for way in ("kill", "hang"):
            group.until(group.holder, "somebody takes the lease")
            one_more()
            group.until(lambda: told(shop) == names, "all is told")
            one_more()
            before = group.holder()
            if way == "kill":
                group.kill(before)
                group.start()
            else:
                group.stop(before)
            group.until(lambda pid=before: group.holder() not in (0, pid), "another takes over")
            if way == "hang":
                os.kill(before, signal.SIGCONT)  # it wakes up and believes that it holds the lease
            one_more()
            group.until(lambda: told(shop) == names, "all is told")
        time.sleep(LEASE_MS / 1000)  # whatever else somebody might do
        lines = group.lines()
    check(shop, names, lines, group.upset)


def check(shop: Shop, names: set[str], lines: list[list[str]], upset: set[int]) -> None:
    """Each need once, in one message; no two processes at work at once; nobody sent what another one sent."""
    with shop.app.app_context():
        rows = db.session.query(Reminder).filter_by(kind="late").all()
        sent = [json.loads(row.reminders) for row in db.session.query(Delivery).all()]
        outcomes = {row.outcome for row in db.session.query(Delivery).all()}
        db.session.remove()
        db.engine.dispose()
    assert len(rows) == len(names) == 6 and outcomes == {"sent"}
    late = {row.id for row in rows}
    times = [id_ for ids in sent for id_ in ids if id_ in late]
    assert sorted(times) == sorted(late), "a need is in no message, or in two"
    senders = defaultdict(list)
    for word, what, pid in lines:
        if word == "push":
            senders[what].append(int(pid))
    assert len(senders) == len(sent)
    for pids in senders.values():  # sent again only by who followed one that was killed or hung while it sent
        assert len(pids) == 1 or set(pids[:-1]) <= upset
    assert len({pid for word, _, pid in lines if word == "run"}) >= 3, "each that was upset was followed by another"
    # By the times that the lease itself was judged by, which no load of the machine blurs.
    grants = sorted((int(at), pid) for word, at, pid in lines if word == "lease")
    for (before, one), (after, other) in pairwise(grants):
        assert one == other or after - before >= LEASE_MS, (
            f"{other} took the lease {after - before} ms after {one} had it"
        )
