"""The scheduler: jobs kept in the database, missed ones run once, in one process, through restarts and wrong clocks."""

from __future__ import annotations

import threading
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import update

from tests.conftest import Shop
from tests.reminders.conftest import Clock, Office, stepped
from webapp.cli import archive
from webapp.database import db, writing
from webapp.reminders import jobs, roll
from webapp.reminders.models import Lease, ScheduledJob
from webapp.reminders.roll import LEASE_MS, hold_lease
from webapp.reminders.scheduler import Keeper
from webapp.setup.ids import now_ms

NAMES = {"daily roll", "reminders", "digest", "messages", "purge", "backup", "feeds"}


class Ran:
    """What ran, in place of the real work."""

    def __init__(self) -> None:
        self.counts: Counter[str] = Counter()
        self.failing: dict[str, Exception] = {}

    def take(self, name: str) -> str:
        self.counts[name] += 1
        if name in self.failing:
            raise self.failing[name]
        return "Done."


@pytest.fixture
def ran(monkeypatch: pytest.MonkeyPatch) -> Ran:
    """The jobs as they are declared, their work counted and not done."""
    real: Callable[..., Any] = jobs.declared
    made = Ran()

    def declared(shop: Any) -> jobs.Jobs:
        return {
            name: replace(spec, work=lambda _holder, name=name: made.take(name)) for name, spec in real(shop).items()
        }

    monkeypatch.setattr(jobs, "declared", declared)
    return made


def standing(office: Office) -> dict[str, ScheduledJob]:
    with office.app.app_context():
        try:
            return {row.name: row for row in db.session.query(ScheduledJob).all()}
        finally:
            db.session.remove()


def test_every_job_is_in_the_database_with_its_next_time(either_office: Office, ran: Ran) -> None:
    either_office.step()
    kept = standing(either_office)
    assert set(kept) == NAMES and all(row.next_ms for row in kept.values())
    assert set(ran.counts) == {"daily roll", "reminders", "messages", "feeds"}  # the others wait for their hour
    assert kept["reminders"].said == "Done." and kept["reminders"].failed_ms is None


def test_a_restart_keeps_the_times_and_what_was_missed_runs_once(either_office: Office, ran: Ran) -> None:
    office = either_office
    office.step()
    before = {name: row.next_ms for name, row in standing(office).items()}
    office.keeper.shutdown()
    office.clock.on(seconds=5)
    again = office.new_keeper()
    again.tick()
    assert {name: row.next_ms for name, row in standing(office).items()} == before
    again.shutdown()
    office.clock.at("2026-05-20 12:00")  # eleven weeks with no server
    ran.counts.clear()
    office.step(last := office.new_keeper())
    assert ran.counts == Counter(NAMES)
    office.step(last)
    assert ran.counts == Counter(NAMES)
    assert min(row.next_ms for row in standing(office).values()) > min(before.values())


def test_a_look_that_was_under_way_at_the_end_takes_no_job_and_moves_no_time(office: Office, ran: Ran) -> None:
    """Such a job would have counted as run though nothing ran it."""
    office.step()
    last, before, counts = office.keeper.scheduler, standing(office), Counter(ran.counts)
    office.keeper.shutdown()
    office.clock.on(hours=30)
    last.step()  # type: ignore[union-attr]
    assert ran.counts == counts
    assert {n: row.next_ms for n, row in standing(office).items()} == {n: row.next_ms for n, row in before.items()}


def test_a_day_of_the_scheduler(office: Office, ran: Ran) -> None:
    office.clock.at("2026-03-02 23:59")
    office.step()
    ran.counts.clear()
    for _ in range(24 * 12):
        office.clock.on(minutes=5)
        office.step()
    assert ran.counts["reminders"] == 288
    assert {name: ran.counts[name] for name in ("daily roll", "digest", "purge", "backup")} == {
        "daily roll": 1, "digest": 1, "purge": 1, "backup": 1
    }  # fmt: skip


@pytest.mark.parametrize(("before", "hours"), [("2026-03-07 23:00", 48), ("2026-10-31 23:00", 48)])
def test_days_of_23_and_25_hours_have_each_job_once(office: Office, ran: Ran, before: str, hours: int) -> None:
    """Chicago's clocks go forward on 8 March and back on 1 November 2026."""
    office.clock.at(before)
    office.step()
    ran.counts.clear()
    for _ in range(hours * 2):
        office.clock.on(minutes=30)
        office.step()
    assert {name: ran.counts[name] for name in ("daily roll", "digest", "purge", "backup")} == {
        "daily roll": 2, "digest": 2, "purge": 2, "backup": 2
    }  # fmt: skip


def test_one_process_runs_the_jobs_and_the_other_takes_over(either_office: Office, ran: Ran) -> None:
    office = either_office
    first, second = office.keeper, office.new_keeper()
    assert office.step(first) and not office.step(second)
    ran.counts.clear()
    for _ in range(20):
        office.clock.on(seconds=30)
        assert office.step(first) and not office.step(second)
    assert ran.counts["feeds"] == 20
    office.clock.on(seconds=LEASE_MS / 1000 + 1)  # the first hangs
    assert office.step(second) and not office.step(first)
    assert first.scheduler is None and second.scheduler is not None
    second.shutdown()
    assert office.step(first)  # given back, so it need not wait


def test_a_job_that_started_before_the_lease_was_lost_does_nothing(office: Office, ran: Ran) -> None:
    office.step()
    ran.counts.clear()
    with office.app.app_context():
        office.clock.on(seconds=LEASE_MS / 1000 + 1)
        assert hold_lease("another process")
        db.session.remove()
    office.keeper.run("reminders")
    assert not ran.counts


def test_a_process_whose_clock_is_a_little_behind_takes_nothing(either_office: Office, ran: Ran) -> None:
    """Two machines over one PostgreSQL: the lease of the one ends later than one of the other's could."""
    office = either_office
    assert office.step(office.keeper)
    office.clock.on(seconds=-20)
    assert not office.step(office.new_keeper())


def test_who_waited_for_the_lease_judges_it_by_the_time_it_is(office: Office, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ten seconds go by until the row is ours to read; meanwhile another has taken the lease."""
    real = roll.writing

    @contextmanager
    def slow() -> Iterator[Any]:
        office.clock.on(seconds=10)
        with real() as session:
            session.execute(update(Lease).values(holder="another", until_ms=now_ms() + LEASE_MS))
            yield session

    with office.app.app_context():
        monkeypatch.setattr(roll, "writing", slow)
        assert not hold_lease("one that waited")
        db.session.remove()


def test_two_processes_at_once_get_one_lease(either_office: Office, ran: Ran) -> None:
    keepers = [either_office.new_keeper() for _ in range(4)]
    held: list[bool] = []
    threads = [threading.Thread(target=lambda one=one: held.append(one.tick())) for one in keepers]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(held) == [False, False, False, True]


def test_a_clock_that_ran_a_year_ahead_holds_up_nothing(either_office: Office, ran: Ran) -> None:
    office = either_office
    office.clock.at("2027-03-02 07:00")
    office.step()
    office.clock.at("2026-03-02 07:05")  # set right; the process before had died under the wrong one
    ran.counts.clear()
    other = office.new_keeper()
    assert office.step(other)
    limit = {name: row.next_ms - (1000 * 1_772_456_700) for name, row in standing(office).items()}  # 07:05
    assert max(limit.values()) <= 24 * 3_600_000
    office.clock.on(minutes=5)
    office.step(other)
    assert ran.counts["reminders"] >= 1 and ran.counts["feeds"] >= 1


def test_a_changed_zone_moves_the_jobs(office: Office, ran: Ran) -> None:
    office.step()
    before = standing(office)["backup"].next_ms
    office.edit("shop", time_zone="Europe/Berlin")
    office.clock.on(seconds=31)
    office.step()
    after = standing(office)["backup"].next_ms
    assert before and after and before - after == 7 * 3_600_000  # 2:30 in Berlin is seven hours before Chicago's


def test_a_job_of_a_later_version_or_a_restored_backup_is_left_alone(office: Office, ran: Ran) -> None:
    with office.app.app_context(), writing() as session:
        session.add(ScheduledJob(name="of a later version", next_ms=1, trigger="x", said=""))
    office.step()
    office.step()
    assert standing(office)["of a later version"].next_ms == 1 and "of a later version" not in ran.counts


def test_a_failing_job_is_seen_until_it_is_mended_and_holds_up_no_other(office: Office, ran: Ran) -> None:
    ran.failing = {"feeds": RuntimeError("secret detail"), "messages": jobs.Trouble("3 by mail cannot be sent: away")}
    office.step()
    trouble = {row["job"]: row for row in office.shop.get("/upkeep").get_json()["troubles"]}
    assert set(trouble) == {"feeds", "messages"} and trouble["messages"]["said"] == "3 by mail cannot be sent: away"
    assert "secret detail" not in str(trouble) and "RuntimeError" in trouble["feeds"]["said"]
    assert trouble == {row["job"]: row for row in office.shop.get("/reminders").get_json()["troubles"]}
    since, tag = trouble["feeds"]["since"], office.shop.get("/upkeep").headers["ETag"]
    office.clock.on(minutes=5)
    office.step()
    told = {row["job"]: row for row in office.shop.get("/jobs").get_json()}
    assert told["feeds"]["failed_since"] == since and set(told) == NAMES and ran.counts["reminders"] == 2
    ran.failing = {}
    office.clock.on(minutes=5)
    office.step()
    answer = office.shop.get("/upkeep")
    assert answer.get_json()["troubles"] == [] and answer.headers["ETag"] != tag


def test_the_real_background_scheduler_runs_a_job_and_stops(shop: Shop, ran: Ran) -> None:
    keeper = Keeper(shop.app)
    begun = threading.Event()
    first = ran.take

    def take(name: str) -> str:
        if name == "reminders":
            begun.set()
        return first(name)

    ran.take = take  # type: ignore[method-assign]
    keeper.start()
    assert begun.wait(15)
    keeper.shutdown()
    with shop.app.app_context():
        assert hold_lease("another process")
        db.session.remove()


def test_the_jobs_run_where_no_shop_is_set_up_yet(app: Any, clock: Clock) -> None:
    keeper = Keeper(app, stepped)
    assert keeper.tick() and keeper.scheduler is not None
    keeper.scheduler.step()
    with app.app_context():
        rows = {row.name: row for row in db.session.query(ScheduledJob).all()}
        db.session.remove()
    assert {name for name, row in rows.items() if row.failed_ms} == set()
    assert rows["reminders"].said == "No shop is set up yet."


def test_the_nightly_backup_keeps_the_newest_few(office: Office, tmp_path: Path) -> None:
    folder = tmp_path / "backups"
    settings = office.app.config["WAYROUND"]
    office.app.config["WAYROUND"] = replace(settings, backups=folder, backups_keep=3)
    office.step()
    folder.mkdir(exist_ok=True)
    (folder / "wayround-mine.zip").write_text("somebody else's")
    for day in range(3, 8):
        office.clock.at(f"2026-03-0{day} 02:31")
        office.step()
    names = sorted(path.name for path in folder.iterdir())
    assert names == [f"wayround-2026-03-0{day}.zip" for day in (5, 6, 7)] + ["wayround-mine.zip"]
    assert "wayround.sqlite3" in archive.check(folder / names[0])
    assert "read again and whole" in standing(office)["backup"].said


def test_a_backup_that_cannot_be_made_is_seen(office: Office, tmp_path: Path) -> None:
    settings = office.app.config["WAYROUND"]
    office.app.config["WAYROUND"] = replace(settings, backups=tmp_path / "not" / "there")
    office.step()
    office.clock.at("2026-03-03 02:31")
    office.step()
    told = {row["job"]: row for row in office.shop.get("/jobs").get_json()}["backup"]
    assert told["failed_since"] and "No backup was made" in told["said"] and str(tmp_path) in told["said"]
