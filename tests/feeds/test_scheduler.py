"""The server's own scheduler polls, and only the process that holds the lease does."""

from __future__ import annotations

import time

import pytest

from tests.feeds.conftest import Fed
from webapp import reminders
from webapp.database import db
from webapp.feeds.models import FeedState
from webapp.reminders import jobs
from webapp.reminders.roll import hold_lease


def polled(fed: Fed) -> bool:
    """Whether the feed was asked."""
    with fed.shop.app.app_context():
        try:
            return db.session.query(FeedState).count() == 1
        finally:
            db.session.remove()


def test_the_scheduler_polls(fed: Fed, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(jobs, "POLL_EVERY_SECONDS", 0.2)
    fed.agent.put("total", 5)
    scheduler = reminders.start(fed.shop.app)
    try:
        end = time.monotonic() + 15
        while not polled(fed) and time.monotonic() < end:
            time.sleep(0.05)
    finally:
        scheduler.shutdown()
    assert fed.standing().problem is None
    assert fed.readings() == [0]


def test_a_process_without_the_lease_does_not(fed: Fed, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(jobs, "POLL_EVERY_SECONDS", 0.1)
    with fed.shop.app.app_context():
        assert hold_lease("another process")
        db.session.remove()
    scheduler = reminders.start(fed.shop.app)
    time.sleep(0.8)
    scheduler.shutdown()
    assert not polled(fed) and fed.agent.asked == []
