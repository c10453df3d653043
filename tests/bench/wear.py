"""How long wearing parts take: a fit against SciPy's and lifelines', a machine's page as its record grows, and the demo
shop's whole document of what is ahead, anew and after one more entry.

    python -m tests.bench.wear [--years 10]

Reported, never asserted.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from random import Random
from statistics import median
from typing import Any

from flask import Flask
from flask_migrate import upgrade

import seed_demo
from tests.conftest import Shop, set_up
from webapp import create_app
from webapp.config import Settings
from webapp.core.instants import instant_text
from webapp.core.weibull import Fit, fit, forget
from webapp.database import db, writing
from webapp.security import devices
from webapp.setup import definitions
from webapp.setup.ids import new_id, now_ms
from webapp.upkeep.document import document
from webapp.upkeep.wear import parts_document

DAY_MS, BATCH = 86_400_000, 500
CHANGE_EVERY, ENTRIES_A_DAY = 12, 6


def seconds(run: Callable[[], Any], times: int) -> float:
    """The median of so many runs, each with no fit kept from the one before."""
    taken = []
    for _ in range(times):
        forget()
        start = time.perf_counter()
        run()
        taken.append(time.perf_counter() - start)
    return median(taken)


def with_intervals(failed: list[float], censored: list[float]) -> Fit:
    """A fit with what the page shows of it."""
    found = fit(failed, censored)
    for interval in (found.shape_range, found.scale_range):
        interval(0.9)
    for share in (0.1, 0.5):
        found.life_range(share, 0.9)
    return found


def fits(count: int) -> None:
    """One sample of `count` lives, a fifth of them changed early, fitted by each."""
    from lifelines import WeibullFitter
    from scipy import stats

    rng = Random("bench")
    lives = [rng.weibullvariate(2300, 2.4) for _ in range(count)]
    failed, censored = lives[count // 5 :], lives[: count // 5]
    data = stats.CensoredData(uncensored=failed, right=censored)
    flags = [1] * len(failed) + [0] * len(censored)
    own = seconds(lambda: fit(failed, censored), 50)
    full = seconds(lambda: with_intervals(failed, censored), 20)
    scipy = seconds(lambda: stats.weibull_min.fit(data, floc=0, scale=2000), 5)
    lifelines = seconds(lambda: WeibullFitter().fit([*failed, *censored], flags), 5)
    print(f"{count:4d} lives: fit {own * 1e3:.2f} ms, with four intervals {full * 1e3:.1f} ms; ", end="")
    print(
        f"SciPy {scipy * 1e3:.0f} ms ({scipy / own:.0f}x), lifelines {lifelines * 1e3:.0f} ms ({lifelines / own:.0f}x)"
    )


def fill(shop: Shop, days: int) -> int:
    """Six cuts every day and a new blade every twelfth, as one machine's record; how many entries."""
    start, rng, made = now_ms() - days * DAY_MS, Random("record"), []
    for day in range(days):
        for hour in range(ENTRIES_A_DAY):
            at = instant_text(start + day * DAY_MS + hour * 3_600_000)
            amount = {"meter": shop.area, "amount": rng.randint(5, 60)}
            made.append(shop.entry("meter.added", amount, machine=shop.saw, at=at))
        if day % CHANGE_EVERY == 0:
            body = {"part": shop.blade, "reason": "Worn out", "item": shop.blades}
            at = instant_text(start + day * DAY_MS + 8 * 3_600_000)
            made.append(shop.entry("part.changed", body, machine=shop.saw, at=at))
    for at in range(0, len(made), BATCH):
        shop.push(*made[at : at + BATCH])
    return len(made)


def page(days: int) -> None:
    """A saw whose record is so many days long: what its parts' document takes."""
    with tempfile.TemporaryDirectory() as folder:
        app = create_app(Settings(data=Path(folder), plain=True))
        with app.app_context():
            upgrade()
        shop = set_up(app)
        entries = fill(shop, days)
        with app.app_context():
            session = db.session()
            machine = definitions.get(session, "machine", shop.saw)
            assert machine is not None
            taken = seconds(lambda: parts_document(session, machine, now_ms()), 9)
            lives = len(parts_document(session, machine, now_ms())[shop.blade]["lives"])
            db.session.remove()
            db.engine.dispose()
    print(f"{days / 365:5.1f} years, {entries:6d} entries, {lives:3d} lives: {taken * 1e3:.0f} ms")


def add_cuts(app: Flask, token: str, saw: dict[str, Any], seq: int) -> None:
    """One more entry: a few cuts at the saw, whose blade runs on by as much."""
    area = next(meter["id"] for meter in saw["meters"] if meter["kind"] == "cut_area")
    body = {"meter": area, "amount": 4.5}
    person = definitions.list_all(db.session(), "person")[0]["id"]
    entry = {"id": new_id(), "kind": "meter.added", "machine": saw["id"], "by": person, "seq": seq, "body": body}
    sent = {"sent_at": instant_text(now_ms()), "entries": [entry | {"at": instant_text(now_ms())}]}
    app.test_client().post("/api/v1/sync/push", json=sent, headers={"Authorization": f"Bearer {token}"})


def whole(times: int = 7) -> None:
    """The demo shop's document: with no fit kept, and after one more entry each time."""
    with tempfile.TemporaryDirectory() as folder:
        app = create_app(Settings(data=Path(folder), plain=True))
        with app.app_context():
            upgrade()
            seed_demo.seed(app, lambda percent, told: None)
            with writing() as session:
                token = devices.enrol(session, "bench", "script")[1]
            saw = next(one for one in definitions.list_all(db.session(), "machine") if one["starter"] == "band_saw")
            anew = seconds(lambda: document(db.session(), now_ms()), times)
            again = []
            for seq in range(1, times + 1):
                add_cuts(app, token, saw, seq)
                db.session.remove()
                start = time.perf_counter()
                document(db.session(), now_ms())
                again.append(time.perf_counter() - start)
            db.session.remove()
            db.engine.dispose()
    print(f"the demo's whole document: anew {anew * 1e3:.0f} ms, after one more entry {median(again) * 1e3:.0f} ms")


def main() -> None:
    """Print the figures."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--years", type=int, default=10)
    years = asked.parse_args().years
    for count in (6, 20, 100):
        fits(count)
    for days in (30, 365, years * 365):
        page(days)
    whole()


if __name__ == "__main__":
    main()
