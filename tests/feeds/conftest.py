"""An agent over HTTP, a shop whose mill is counted by it, and where the standard's files lie."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import Shop
from tests.feeds.agent import START, Agent, serving
from webapp.core.instants import instant_text
from webapp.database import db, writing
from webapp.feeds.fetching import fetch
from webapp.feeds.models import FeedState
from webapp.feeds.polling import Standing, feeds, poll
from webapp.setup import definitions

NEEDS_STANDARD = "needs the MTConnect schemas and recording: name their folder in WAYROUND_TEST_MTCONNECT"


@pytest.fixture
def agent() -> Agent:
    """An agent that knows nothing yet."""
    return Agent()


@pytest.fixture
def url(agent: Agent) -> Iterator[str]:
    """Its address."""
    with serving(agent) as address:
        yield address


@pytest.fixture(scope="session")
def standard() -> Path:
    """The folder of the standard's schemas and a recording."""
    named = os.environ.get("WAYROUND_TEST_MTCONNECT", "")
    if not named or not Path(named).is_dir():
        pytest.skip(NEEDS_STANDARD)
    return Path(named)


@dataclass
class Fed:
    """The small shop with a feed at its mill, and our clock."""

    shop: Shop
    agent: Agent
    now: int = START

    def poll(self, seconds: float = 30) -> Standing:
        """Let time pass on both clocks, poll, and tell where the feed stands."""
        self.now += int(seconds * 1000)
        self.agent.clock_ms += int(seconds * 1000)
        return self.again()

    def again(self) -> Standing:
        """Poll without a step of any clock."""
        with self.shop.app.app_context():
            (feed,) = feeds(db.session())
            db.session.remove()
            poll(feed, fetch, self.now)
        return self.standing()

    def log(self, kind: str, **body: Any) -> None:
        """Somebody logs something at the mill, at this time of the test's clock."""
        entry = self.shop.entry(kind, {"meter": self.shop.spindle} | body, at=instant_text(self.now))
        answer = self.shop.push(entry).get_json()
        assert answer["results"][0]["outcome"] == "stored", answer

    def standing(self) -> Standing:
        """Where the feed stands, as it is saved."""
        with self.shop.app.app_context():
            row = db.session.query(FeedState).one()
            db.session.remove()
            return Standing.of(json.loads(row.body))

    def meter(self) -> dict[str, Any]:
        """The mill's meter now."""
        return dict(self.shop.get("/sync/snapshot").get_json()["state"]["meters"].get(self.shop.spindle) or {})

    def readings(self) -> list[float]:
        """The values told to the record, in order."""
        entries = self.shop.get("/records", kind="meter.read", limit=500).get_json()["entries"]
        return [row["entry"]["body"]["value"] if "entry" in row else row["body"]["value"] for row in entries][::-1]


def set_feed(shop: Shop, url: str, data_item: str) -> None:
    """Give the mill a feed."""
    with shop.app.app_context(), writing() as session:
        machine = definitions.get(session, "machine", shop.mill)
        assert machine
        body = {key: value for key, value in machine.items() if key not in ("id", "revision", "retired")}
        body["feed"] = {"kind": "mtconnect", "url": url, "data_item": data_item, "meter": shop.spindle}
        definitions.update(session, "machine", shop.mill, body, machine["revision"], shop.owner)


@pytest.fixture
def fed(shop: Shop, agent: Agent, url: str) -> Fed:
    """The mill counted by its accumulated time."""
    set_feed(shop, url, "total")
    return Fed(shop, agent)


@pytest.fixture
def either_fed(either_shop: Shop, agent: Agent, url: str) -> Fed:
    """The same on SQLite and on PostgreSQL."""
    set_feed(either_shop, url, "total")
    return Fed(either_shop, agent)
