"""Ten years of a shop through the scheduler with a fake clock: what was told, and what was wrong with it.

    python -m tests.bench.reminders [--years N] [--looks N] [--seed N]

Two processes over one database compete, crash and are started again, computers rest over nights and holidays, clocks go
back a little or run weeks ahead for an hour. `looks`: how often on a working day a server has its turn. The run ends
with an error when a reminder came twice, in a quiet hour, when its need was over, to the owner too soon, or not at all. WAYROUND_TEST_POSTGRES, when it is set, names
the PostgreSQL that is used, emptied first.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, timedelta
from pathlib import Path

from flask_migrate import upgrade
from sqlalchemy import text

from tests.bench.sync import fresh
from tests.conftest import POSTGRES, Shop, set_up
from tests.reminders.simulated import Simulation, fake_clock
from webapp import create_app
from webapp.config import Settings
from webapp.database import db

START = date(2026, 1, 5)


@contextmanager
def shop_over(folder: Path) -> Iterator[Shop]:
    """A new small shop, on PostgreSQL when there is one."""
    if not POSTGRES:
        yield fresh(folder, "years")
        return
    app = create_app(Settings(data=folder, database=POSTGRES, plain=True))
    with app.app_context():
        with db.engine.begin() as connection:
            connection.execute(text("DROP SCHEMA public CASCADE"))
            connection.execute(text("CREATE SCHEMA public"))
        upgrade()
        db.session.remove()
    yield set_up(app)


def main() -> None:
    """Run and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    for name, usual in (("--years", 10), ("--looks", 3), ("--seed", 1)):
        parser.add_argument(name, type=int, default=usual)
    options = parser.parse_args()
    begun = time.monotonic()
    with tempfile.TemporaryDirectory() as where, fake_clock(START) as clock, shop_over(Path(where)) as shop:
        other = create_app(shop.app.config["WAYROUND"])
        simulation = Simulation(shop, other, clock, options.seed, START, options.looks)
        for year in range(options.years):
            book = simulation.run(365)
            simulation.start += timedelta(days=365)
            took = time.monotonic() - begun
            print(f"year {year + 1}: {book.looks} looks, {len(book.messages)} messages, {len(book.faults())} faults, "
                  f"{took:.0f} s", flush=True)  # fmt: skip
    faults, told = book.faults(), book.counts()
    print(f"{options.years} years in {took:.0f} s of {'PostgreSQL' if POSTGRES else 'SQLite'}: {book.looks} looks, "
          f"{book.restarts} restarts, {book.takeovers} takeovers, {book.jumps} jumps of the clock; "
          f"{sum(len(times) for times in book.tellings.values())} reminders in {len(book.messages)} messages "
          f"({', '.join(f'{count} {name}' for name, count in told.most_common())}); "
          f"{len(book.stood)} needs watched, {len(faults)} faults")  # fmt: skip
    if faults:
        raise SystemExit("\n".join(faults[:40]))


if __name__ == "__main__":
    main()
