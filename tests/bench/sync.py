"""How fast the record takes entries in and gives them out, as ratios against raw SQLite in the same run.

    python -m tests.bench.sync [--entries N]

Reported, never asserted: the figures stand in DEVELOPERS.md.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import sqlite3
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from flask_migrate import upgrade

from tests.conftest import Shop, set_up
from webapp import create_app
from webapp.config import Settings
from webapp.core.instants import instant_text
from webapp.setup.ids import now_ms

BATCH = 500
PADDING = "x" * 110


def timed(run: Callable[[], Any]) -> float:
    """Seconds that a call takes."""
    start = time.perf_counter()
    run()
    return time.perf_counter() - start


def documents(shop: Shop, count: int) -> list[dict[str, Any]]:
    """Entries of about 345 bytes, in order of time."""
    start = now_ms() - count * 1000
    return [shop.note(f"{n} {PADDING}", at=instant_text(start + n * 1000)) for n in range(count)]


def raw_sqlite(folder: Path, rows: list[str]) -> float:
    """Rows a second that SQLite alone takes, durable, in the same batches."""
    connection = sqlite3.connect(folder / "raw.sqlite3", isolation_level=None)
    connection.execute("PRAGMA journal_mode=WAL")
    connection.execute("PRAGMA synchronous=FULL")
    connection.execute("CREATE TABLE t (id TEXT PRIMARY KEY, document TEXT)")

    def run() -> None:
        for at in range(0, len(rows), BATCH):
            connection.execute("BEGIN IMMEDIATE")
            pairs = [
                (hashlib.md5(row.encode(), usedforsecurity=False).hexdigest(), row) for row in rows[at : at + BATCH]
            ]
            connection.executemany("INSERT INTO t VALUES (?, ?)", pairs)
            connection.execute("COMMIT")

    return len(rows) / timed(run)


def late_entries(shop: Shop, history: int) -> float:
    """Seconds to take one entry a day late on top of a machine's history of so many entries."""
    start = now_ms() - (history + 200) * 3_600_000
    for at in range(0, history, BATCH):
        batch = [shop.added(0.5, at=instant_text(start + n * 3_600_000)) for n in range(at, min(at + BATCH, history))]
        shop.push(*batch)
    late = [shop.added(0.5, at=instant_text(start + (history - 24) * 3_600_000 + 1 + n)) for n in range(20)]
    return timed(lambda: [shop.push(entry) for entry in late]) / len(late)


def in_order(shop: Shop) -> float:
    """Seconds to take one entry that comes last."""
    return timed(lambda: [shop.push(shop.added(0.5)) for _ in range(20)]) / 20


def fresh(folder: Path, name: str) -> Shop:
    """A new small shop over a migrated database."""
    app = create_app(Settings(data=folder / name, plain=True))
    app.testing = True
    with app.app_context():
        upgrade()
    return set_up(app)


def main() -> None:
    """Measure and print."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--entries", type=int, default=10_000)
    count = options.parse_args().entries
    with tempfile.TemporaryDirectory() as where:
        folder = Path(where)
        shop = fresh(folder, "push")
        entries = documents(shop, count)
        raw = raw_sqlite(folder, [json.dumps(entry) for entry in entries])
        batches = [entries[at : at + BATCH] for at in range(0, count, BATCH)]
        push = count / timed(lambda: [shop.push(*batch) for batch in batches])
        _, token = shop.enrol()
        pull = count / timed(lambda: [shop.get("/sync/changes", token=token, after=at, limit=1000).get_data()
                                      for at in range(0, count, 1000)])  # fmt: skip
        again = count / timed(lambda: [shop.push(*batch) for batch in batches])
        print(f"raw SQLite         {raw:10,.0f} rows/s      1")
        print(f"push               {push:10,.0f} entries/s   {push / raw:.3f} of raw")
        print(f"push again (known) {again:10,.0f} entries/s   {again / raw:.3f} of raw")
        print(f"pull               {pull:10,.0f} entries/s   {pull / raw:.3f} of raw")
        base: dict[str, float] = {}
        for name, history in (("a month", 200), ("a year", 2_500), ("ten years", 25_000)):
            other = fresh(folder, name.replace(" ", "-"))
            late, last = late_entries(other, history), in_order(other)
            base = base or {"late": late, "last": last}
            print(f"one entry after {name:10} in order {last * 1e3:6.1f} ms ({last / base['last']:.2f})   "
                  f"a day late {late * 1e3:6.1f} ms ({late / base['late']:.2f})")  # fmt: skip


if __name__ == "__main__":
    main()
