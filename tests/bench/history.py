"""How long the history document takes on a record of a month, a year and ten years, and the record asked by filters.

    python -m tests.bench.history [--years 10]

The demo's year is laid down once for each year (as `tests.bench.binder` does it). The document tells of the last 53
weeks whatever the record's age; the month's is asked of the last 30 days. Reported, never asserted.
"""

from __future__ import annotations

import argparse
import gzip
import json
import tempfile
import time
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from sqlalchemy import select

from tests.bench.binder import lay_down
from webapp import create_app
from webapp.config import Settings
from webapp.core.instants import shop_date
from webapp.database import db
from webapp.history.document import document
from webapp.history.span import asked_for
from webapp.records.models import Entry
from webapp.records.reading import Wanted, newest
from webapp.setup.definitions import shop_zone
from webapp.setup.ids import new_id, now_ms
from webapp.setup.names import namer

TIMES = 5


def best(run: Callable[[], Any]) -> float:
    """The least processor time of so many runs, in ms."""
    taken = []
    for _ in range(TIMES):
        start = time.process_time()
        run()
        taken.append(time.process_time() - start)
    return 1e3 * min(taken)


def documents(years: int) -> None:
    """The document of 30 days and of 53 weeks."""
    session, now = db.session(), now_ms()
    zone = shop_zone(session)
    today = shop_date(now, zone)
    for name, first in (("a month", today - timedelta(days=30)), ("53 weeks", None)):
        span = asked_for(first, None, today, zone, now)
        text = json.dumps(document(session, span)).encode()
        packed = len(gzip.compress(text, 3))
        ms = best(lambda span=span: document(session, span))  # type: ignore[misc]
        print(
            f"{years:2d} years of record, {name}: {ms:.0f} ms, {len(text) / 1e3:.0f} kB ({packed / 1e3:.0f} kB packed)"
        )


def questions() -> None:
    """A page of 100 under each filter, found at once or not at all."""
    session = db.session()
    name = namer(session)
    finding = session.scalar(select(Entry.id).where(Entry.kind == "finding.opened").order_by(Entry.ms).limit(1))
    person = session.scalar(select(Entry.person).order_by(Entry.ms).limit(1))
    asked = {
        "a person": Wanted(person=person), "nobody's": Wanted(person=new_id()), "a metal": Wanted(alloy="C36000"),
        "no such metal": Wanted(alloy="none"), "a finding": Wanted(finding=finding),
    }  # fmt: skip
    for label, wanted in asked.items():
        ms = best(lambda wanted=wanted: newest(session, name, wanted, 101))  # type: ignore[misc]
        print(f"   {label}: {ms:.0f} ms")


def main() -> None:
    """Print the figures."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--years", type=int, default=10)
    for years in (1, options.parse_args().years):
        with tempfile.TemporaryDirectory() as folder:
            lay_down(Path(folder), years, date.today())
            app = create_app(Settings(data=Path(folder), plain=True))
            with app.app_context():
                documents(years)
                questions()
                db.session.remove()
                db.engine.dispose()


if __name__ == "__main__":
    main()
