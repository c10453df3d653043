"""The server killed outright while phones push: what it answered for is stored, and what is sent again counts once."""

from __future__ import annotations

import http.client
import json
import random
import sqlite3
import threading
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.browser.conftest import Server
from tests.browser.shop_in_server import furnish
from webapp import create_app
from webapp.config import Settings
from webapp.core.instants import instant_text
from webapp.database import db, writing
from webapp.security import devices
from webapp.setup.ids import new_id, now_ms


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    """A server that is stopped afterwards."""
    one = Server(tmp_path / "shop")
    yield one
    if one.process:
        one.stop()


def enrolled(server: Server) -> str:
    """The token of a new device."""
    app = create_app(Settings(data=server.data, plain=True))
    with app.app_context():
        with writing() as session:
            token = devices.enrol(session, "script", "script")[1]
        db.session.remove()
        db.engine.dispose()
    return token


def push(server: Server, token: str, entries: list[dict[str, Any]]) -> dict[str, str] | None:
    """Outcome by id, or None when the answer did not come: unknown, neither stored nor refused."""
    request = urllib.request.Request(
        f"{server.base}/api/v1/sync/push",
        data=json.dumps({"sent_at": instant_text(now_ms()), "entries": entries}).encode(),
        headers={"Authorization": f"Bearer {token}", "Content-Type": "application/json"},
    )
    try:
        with urllib.request.urlopen(request, timeout=10) as answer:
            return {row["id"]: row["outcome"] for row in json.load(answer)["results"]}
    except (urllib.error.URLError, http.client.HTTPException, OSError, ValueError):
        return None


def test_5_and_30_killed_while_pushing_nothing_answered_for_is_lost_and_nothing_counts_twice(server: Server) -> None:
    ids = furnish(server, machines={"saw": "band_saw"})
    token = enrolled(server)
    queue = [
        {
            "id": new_id(),
            "kind": "note.made",
            "machine": ids["saw"],
            "by": ids["ann"],
            "at": instant_text(now_ms()),
            "seq": seq,
            "body": {"text": f"note {seq}"},
        }
        for seq in range(1, 601)
    ]
    promised: set[str] = set()
    unknown = 0
    dice = random.Random(11)
    for _ in range(4):
        server.start()
        killer = threading.Timer(0.05 + dice.random() * 0.3, server.stop)
        killer.start()
        while killer.is_alive():
            size = dice.choice([1, 7, 20])
            start = dice.randrange(len(queue) - size)
            outcomes = push(server, token, queue[start : start + size])
            if outcomes is None:
                unknown += 1
                time.sleep(0.005)
            else:
                promised |= set(outcomes)
        killer.join()
        with sqlite3.connect(server.data / "wayround.sqlite3") as held:
            stored = {row[0] for row in held.execute("SELECT id FROM entry")}
        assert promised <= stored, "an answer was given for what a kill could still take away"
    assert unknown, "no kill met a push"
    server.start()
    for start in range(0, len(queue), 100):
        outcomes = push(server, token, queue[start : start + 100])
        assert outcomes is not None and set(outcomes.values()) <= {"stored", "known"}
        assert all(outcomes[id_] == "known" for id_ in promised & set(outcomes))
    with sqlite3.connect(server.data / "wayround.sqlite3") as held:
        texts = held.execute("SELECT document FROM entry WHERE kind = 'note.made'").fetchall()
        positions = [row[0] for row in held.execute("SELECT position FROM entry ORDER BY position")]
    assert sorted(json.loads(text)["seq"] for (text,) in texts) == list(range(1, 601))
    assert positions == list(range(1, len(positions) + 1))
    assert "every link of the chain holds" in server.run("verify")
