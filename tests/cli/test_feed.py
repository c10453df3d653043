"""`wayround feed`: what an agent offers, setting a feed, seeing how it does, taking it away."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.cli.conftest import Run
from tests.conftest import Shop
from tests.feeds.agent import Agent, serving
from tests.feeds.conftest import Fed


@pytest.fixture
def agent() -> Agent:
    """An agent that knows nothing yet."""
    return Agent()


@pytest.fixture
def url(agent: Agent) -> Iterator[str]:
    """Its address."""
    with serving(agent) as address:
        yield address


@pytest.fixture
def data(shop: Shop) -> Path:
    """The data folder of the small shop."""
    return Path(shop.app.config["WAYROUND"].data)


def test_what_an_agent_offers(run: Run, agent: Agent, url: str) -> None:
    agent.put("total", 812.5)
    result = run("feed", "items", url)
    assert result.exit_code == 0, result.output
    lines = result.stdout.splitlines()
    assert [line.split()[0] for line in lines] == ["total", "working", "exec", "rpm"]
    assert lines[0].split() == ["total", "ACCUMULATED_TIME", "x:TOTAL", "spindle_total", "812.5"]
    assert lines[2].endswith("UNAVAILABLE")


def test_a_feed_is_set_seen_and_taken_away(run: Run, shop: Shop, data: Path, agent: Agent, url: str) -> None:
    result = run("feed", "set", "mill 1", "Spindle hours", url, "spindle_total", data=data)
    assert result.exit_code == 0 and "Mill 1: ACCUMULATED_TIME «total» counts it from now on." in result.stdout
    assert "It has not been asked yet." in run("feed", "list", data=data).stdout
    agent.put("total", 100)
    fed = Fed(shop, agent)
    fed.poll()
    agent.put("total", 1900)
    fed.poll(3600)
    told = run("feed", "list", data=data).stdout
    assert "Mill 1, Spindle hours: total, answered" in told and "0.50 h counted" in told
    result = run("feed", "remove", "Mill 1", data=data)
    assert "Mill 1 is counted by hand again." in result.stdout
    assert run("feed", "list", data=data).stdout == ""
    assert fed.meter()["total"] == 0.5


@pytest.mark.parametrize(
    ("machine", "meter", "item", "told"),
    [
        ("Lathe", "Spindle hours", "total", "machine “Lathe” is no machine here"),
        ("Mill 1", "Belt minutes", "total", "meter “Belt minutes” is no meter here"),
        ("Mill 1", "Spindle hours", "gone", "no data item «gone»"),
        ("Band saw", "Cut area", "total", "counts in in2, not in time"),
    ],
)
def test_what_cannot_be_is_said_and_changes_nothing(
    run: Run,
    shop: Shop,
    data: Path,
    agent: Agent,
    url: str,
    machine: str,
    meter: str,
    item: str,
    told: str,
) -> None:
    result = run("feed", "set", machine, meter, url, item, data=data)
    assert result.exit_code == 1 and told in result.stderr, result.output
    assert shop.get("/feeds").get_json() == []


def test_an_address_that_is_none(run: Run) -> None:
    assert "write it like http" in run("feed", "items", "mill").stderr
    assert "does not answer" in run("feed", "items", "http://127.0.0.1:9").stderr
