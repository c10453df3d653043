"""Four weeks of a shop around each change of the clocks; `python -m tests.bench.reminders` runs ten years."""

from __future__ import annotations

from datetime import date

import pytest
from flask import Flask

from tests.conftest import set_up
from tests.reminders.simulated import Message, Report, Simulation, fake_clock
from webapp import create_app
from webapp.database import db


def other_process(app: Flask) -> Flask:
    """A second process over the same database."""
    return create_app(app.config["WAYROUND"])


@pytest.mark.parametrize("start", [date(2026, 2, 23), date(2026, 10, 19)])
def test_each_is_told_once_in_no_quiet_hour_and_none_is_lost(either_app: Flask, start: date) -> None:
    other = other_process(either_app)
    try:
        with fake_clock(start) as clock:
            simulation = Simulation(set_up(either_app), other, clock, start.month, start, looks=6, upset=3)
            report = simulation.run(28)
    finally:
        with other.app_context():
            db.session.remove()
            db.engine.dispose()
    assert report.faults(simulation.people, simulation.holidays) == []
    assert len(report.messages) > 12 and report.restarts > 4 and report.jumps > 1
    assert sum(len(moments) > 1 for moments in report.stood.values()) > 6


def test_the_checks_find_what_they_look_for() -> None:
    """A report with one message too many, one at night and one lacking has these three faults."""
    from datetime import datetime, timedelta

    from tests.reminders.simulated import ZONE

    noon = datetime(2026, 3, 3, 12, tzinfo=ZONE)
    report = Report()
    report.messages = [
        Message(noon, "a", "1", ["task/x/never/due"]),
        Message(noon + timedelta(hours=1), "a", "2", ["task/x/never/due"]),
        Message(noon.replace(hour=3), "a", "3", ["task/y/never/due"]),
    ]
    report.stood["z", "never", "late", "a"] = [noon, noon + timedelta(hours=5)]
    assert [fault.split(":")[0] for fault in report.faults({"a": None}, set())] == [
        "told in a quiet hour", "told twice", "lost"
    ]  # fmt: skip
