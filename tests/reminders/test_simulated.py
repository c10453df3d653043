"""Four weeks of a shop around each change of the clocks; `python -m tests.bench.reminders` runs ten years."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest
from flask import Flask

from tests.conftest import set_up
from tests.reminders.expected import INTERVALS, ZONE, Book, Message, Task
from tests.reminders.simulated import Simulation, fake_clock
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
            book = simulation.run(28)
    finally:
        with other.app_context():
            db.session.remove()
            db.engine.dispose()
    assert book.faults() == []
    assert len(book.messages) > 9 and book.restarts > 4 and book.jumps > 1
    assert sum(len(moments) > 1 for moments in book.stood.values()) > 6
    told = book.counts()
    assert told["near"] and told["late"] and told["escalated"]


NOON = datetime(2026, 3, 12, 12, tzinfo=ZONE)  # a Thursday; counted from 3 March, the weekly task is due on the 10th


def book() -> Book:
    return Book("owner", {"owner": None, "ben": None}, [Task("x", "weekly", INTERVALS["weekly"], date(2026, 3, 3))])


def tell(found: Book, at: datetime, number: int, person: str = "ben", what: str = "weekly is late") -> None:
    found.take(Message(at, person, str(number), [(what, "Ben was told on 12 Mar 2026.")], at), at)


def faults(found: Book) -> list[str]:
    return [fault.split(":")[0] for fault in found.faults()]


def test_the_oracle_finds_what_it_looks_for() -> None:
    right = book()
    for hours in (0, 5):
        right.note(NOON + timedelta(hours=hours))
    assert faults(right) == ["lost"]
    tell(right, NOON, 1)
    tell(right, NOON, 1)  # the same message again, by its name
    assert faults(right) == []
    twice = book()
    tell(twice, NOON, 1)
    tell(twice, NOON + timedelta(hours=1), 2)
    assert faults(twice) == ["told twice"]
    night = book()
    tell(night, NOON.replace(hour=3), 1)
    assert faults(night) == ["told in a quiet hour"]
    over = book()
    tell(over, NOON, 1, what="weekly is due")
    assert faults(over) == ["told when it was over"]


def test_the_oracle_counts_rests_and_the_owners_day() -> None:
    found = book()
    tell(found, NOON, 1)
    found.rested(found.named("weekly is late", "", "ben"), NOON + timedelta(hours=20))  # type: ignore[arg-type]
    tell(found, NOON + timedelta(hours=3), 2)
    assert faults(found) == ["told while it rested"]
    again = book()
    tell(again, NOON, 1)
    again.rested(again.named("weekly is late", "", "ben"), NOON + timedelta(hours=1))  # type: ignore[arg-type]
    for hours in (-2, 21, 26):
        again.note(NOON + timedelta(hours=hours))
    assert faults(again) == ["lost"]
    tell(again, NOON + timedelta(hours=22), 2)
    assert faults(again) == []
    up = book()
    tell(up, NOON, 1)
    tell(up, NOON + timedelta(hours=4), 2, "owner")
    assert faults(up) == ["the owner was told too soon"]
    late = book()
    tell(late, NOON, 1)
    for hours in (24, 25, 29):
        late.note(NOON + timedelta(hours=hours))
    assert faults(late) == ["lost"]
    tell(late, NOON + timedelta(hours=25), 2, "owner")
    assert faults(late) == []
