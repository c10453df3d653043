"""What a real machine's adapter sent, replayed through the agent: four pieces, and the clock jumps back between them.

Piece 2 was made before piece 1, piece 4 between 1 and 3: in the order of the machine's clock its cutting time rises
from 772 to 2349 s. A reader that begins with piece 1 (1232 s) has 2349 - 1232 = 1117 s to count, and not one more.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import pytest

from tests.conftest import Shop
from tests.feeds.agent import Agent
from tests.feeds.conftest import Fed, set_feed
from webapp.core.instants import parse_instant

KEYS = {"pCuttingTime": "total", "pexecution": "exec", "S1speed": "rpm"}
PIECES = 4
pytestmark = pytest.mark.standard


@dataclass(frozen=True)
class Line:
    """One of our items' values in a line of the recording; `piece` counts the pieces."""

    piece: int
    at_ms: int
    item: str
    value: str


def lines(file: Path) -> Iterator[Line]:
    """The recording: time, then key|value pairs; asset XML and conditions are passed over."""
    piece, executions = 0, 0
    for text in file.read_text(encoding="utf-8", errors="replace").splitlines():
        if not re.match(r"\d{4}-\d\d-\d\dT", text) or "|@" in text:
            continue
        time, *cells = text.split("|")
        found = dict(zip(cells[::2], cells[1::2], strict=False))
        # Each piece opens with everything the adapter knows, the maker's application among it.
        if "Application" in found or "avail" in found:
            piece += 1
        executions += "pexecution" in found
        for key, item in KEYS.items():
            if key in found:
                yield Line(piece, parse_instant(time), item, found[key])
    assert (piece, executions) == (PIECES, 16)


def replay(fed: Fed, rows: list[Line], *, restarts: bool) -> None:
    """Play the lines, polling every half minute of them; our own clock never goes back."""
    started, piece, polled = fed.now, 1, rows[0].at_ms
    before = rows[0].at_ms
    for row in rows:
        if row.piece != piece:
            piece = row.piece
            fed.poll(1)
            if restarts:
                fed.agent.restart(keep=False)
        gone = max(row.at_ms - before, 0)
        before = row.at_ms
        fed.now, fed.agent.clock_ms = fed.now + gone, row.at_ms
        fed.agent.put(row.item, row.value, row.at_ms)
        if abs(row.at_ms - polled) > 30_000:
            polled = row.at_ms
            fed.again()
    fed.poll(1)
    assert fed.now > started


def piece_times(rows: list[Line], wanted: str) -> dict[int, list[tuple[int, str]]]:
    """Each piece's values of an item."""
    by: dict[int, list[tuple[int, str]]] = {}
    for row in rows:
        if row.item == wanted:
            by.setdefault(row.piece, []).append((row.at_ms, row.value))
    return by


@pytest.fixture(scope="module")
def rows(standard: Path) -> list[Line]:
    """The recording."""
    return list(lines(standard / "recording-1.txt"))


@pytest.mark.parametrize("restarts", [False, True])
def test_cutting_time_is_counted_once(shop: Shop, agent: Agent, url: str, rows: list[Line], restarts: bool) -> None:
    agent.size = 100_000
    set_feed(shop, url, "total")
    fed = Fed(shop, agent)
    first = next(row for row in rows if row.item == "total")
    agent.put("total", first.value, first.at_ms)
    agent.clock_ms = first.at_ms
    fed.again()
    replay(fed, rows, restarts=restarts)
    tally = fed.standing().tally
    highest = max(float(row.value) for row in rows if row.item == "total")
    assert (float(first.value), highest) == (1232, 2349)
    assert tally.counted == pytest.approx(highest - float(first.value))
    assert tally.notes.get("older than seen", 0) >= 1


@pytest.mark.parametrize("restarts", [False, True])
def test_execution_is_counted_once(shop: Shop, agent: Agent, url: str, rows: list[Line], restarts: bool) -> None:
    """ACTIVE in piece 1 and in piece 3, the two that lie after what was seen before them."""
    agent.size = 100_000
    set_feed(shop, url, "exec")
    fed = Fed(shop, agent)
    agent.clock_ms = rows[0].at_ms
    fed.again()
    replay(fed, rows, restarts=restarts)
    by = piece_times(rows, "exec")
    active = {
        piece: sum(end - start for (start, word), (end, _) in pairwise(told) if word == "ACTIVE")
        for piece, told in by.items()
    }
    assert fed.standing().tally.counted == pytest.approx((active[1] + active[3]) / 1000, abs=0.01)
    assert active[2] > 0 and active[4] > 0


def test_the_record_holds_what_was_counted(shop: Shop, agent: Agent, url: str, rows: list[Line]) -> None:
    agent.size = 100_000
    set_feed(shop, url, "total")
    fed = Fed(shop, agent)
    fed.again()
    replay(fed, rows, restarts=True)
    fed.poll(3601)
    counted = fed.standing().tally.counted
    assert fed.meter()["total"] == pytest.approx(counted / 3600, abs=1e-6)
    assert counted <= 1117.01
