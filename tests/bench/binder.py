"""How long a records binder takes and how much memory: of one year and of ten years of the demo shop's record.

    python -m tests.bench.binder [--years 10]

The demo's year is laid down once for each year, each a copy of its own 52 weeks earlier. Each binder is made in a process
of its own, so that its peak is its own. Reported, never asserted.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from itertools import chain
from pathlib import Path
from typing import Any

from flask_migrate import upgrade

from seed_demo import history
from seed_demo.log import Made
from seed_demo.write import write_definitions, write_entries
from webapp import create_app
from webapp.config import Settings
from webapp.core.instants import instant_text, parse_instant
from webapp.database import db
from webapp.reports.binder import write_binder
from webapp.reports.entries import span_of
from webapp.setup.ids import now_ms, uuid7

WEEKS = 52
YEAR_MS = WEEKS * 7 * 86_400_000


def lay_down(folder: Path, years: int, today: date) -> int:
    """A record of so many years; how many entries it has."""
    past = history(today)
    app = create_app(Settings(data=folder, plain=True))
    with app.app_context():
        upgrade()
        devices = write_definitions(past.shop, past.born_ms - (years - 1) * YEAR_MS)
        seqs: dict[str, int] = {}
        whole = chain.from_iterable(earlier(past.made, back, years, seqs) for back in range(years - 1, -1, -1))
        write_entries(whole, devices, len(past.made) * years, lambda percent, told: None)
        db.session.remove()
        db.engine.dispose()
    return len(past.made) * years


def earlier(made: list[Made], back: int, years: int, seqs: dict[str, int]) -> Iterator[Made]:
    """The year `back` years earlier: times and ids its own, counters further on with each year."""
    shift = back * YEAR_MS
    ids = {one.entry["id"]: uuid7(one.true_ms - shift, number & 0xFFF) for number, one in enumerate(made)}
    tops: dict[str, float] = {}
    for one in made:
        if one.entry["kind"] == "meter.read":
            meter = one.entry["body"]["meter"]
            tops[meter] = max(tops.get(meter, 0), one.entry["body"]["value"])
    for one in made:
        seqs[one.device] = seqs.get(one.device, 0) + 1
        body = moved(one.entry["body"], ids)
        if one.entry["kind"] == "meter.read":
            body = body | {"value": round(body["value"] + (years - 1 - back) * tops[body["meter"]], 1)}
        at = instant_text(parse_instant(one.entry["at"]) - shift)
        entry = one.entry | {"id": ids[one.entry["id"]], "at": at, "body": body, "seq": seqs[one.device]}
        yield replace(one, entry=entry, true_ms=one.true_ms - shift)


def moved(body: dict[str, Any], ids: dict[str, str]) -> dict[str, Any]:
    """A body that speaks of the copied entries."""
    found: dict[str, Any] = {
        key: moved(value, ids)
        if isinstance(value, dict)
        else ids.get(value, value)
        if isinstance(value, str)
        else value
        for key, value in body.items()
    }
    return found


def make(folder: Path, first: str) -> dict[str, Any]:
    """One binder in this process: its figures."""
    app = create_app(Settings(data=folder, plain=True))
    with app.app_context():
        session, before = db.session(), peak()
        span = span_of(session, first, None, now_ms())
        with tempfile.NamedTemporaryFile(dir=folder) as out:
            start = time.perf_counter()
            made = write_binder(session, out, span, now_ms(), photo=app.extensions["wayround_photos"].get)
            seconds = time.perf_counter() - start
            size = out.tell()
    return {"seconds": seconds, "pages": made.pages, "entries": made.entries, "before": before, "peak": peak(),
            "bytes": size}  # fmt: skip


def peak() -> float:
    """The most memory that this program has had, in MB. Linux only: elsewhere a process inherits its maker's peak."""
    status = Path("/proc/self/status").read_text("ascii")
    return int(status.partition("VmHWM:")[2].split()[0]) / 1024


def in_a_process(folder: Path, first: date) -> dict[str, Any]:
    command = [sys.executable, "-m", "tests.bench.binder", "--make", str(folder), "--first", first.isoformat()]
    found: dict[str, Any] = json.loads(subprocess.run(command, capture_output=True, check=True, text=True).stdout)
    return found


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--years", type=int, default=10)
    options.add_argument("--make", type=Path, help=argparse.SUPPRESS)
    options.add_argument("--first", help=argparse.SUPPRESS)
    asked = options.parse_args()
    if asked.make:
        print(json.dumps(make(asked.make, asked.first)))
        return
    today = date.today()
    with tempfile.TemporaryDirectory() as name:
        entries = lay_down(Path(name), asked.years, today)
        print(f"a record of {asked.years} years, {entries} entries")
        rows = {
            years: in_a_process(Path(name), today - timedelta(weeks=WEEKS * years + 2)) for years in (1, asked.years)
        }
    for years, row in rows.items():
        print(
            f"{years:3d} years: {row['entries']} entries, {row['pages']} pages, {row['seconds']:.1f} s, "
            f"{row['bytes'] / 1e6:.1f} MB of PDF, peak {row['peak']:.0f} MB ({row['before']:.0f} MB before)"
        )
    one, all_ = rows[1], rows[asked.years]
    for what in ("pages", "seconds", "bytes", "peak"):
        print(f"{what}: {all_[what] / one[what]:.2f} times")


if __name__ == "__main__":
    main()
