"""How fast dates are forecast, as ratios in one run, and whether a new entry costs the same in an old shop.

    python -m tests.bench.forecast [--rules N]

Reported, never asserted: the figures stand in DEVELOPERS.md. The two slower ways give the same days: the run ends
with an error when they do not.
"""

from __future__ import annotations

import argparse
import tempfile
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
from dateutil.rrule import DAILY, FR, MO, SA, TH, TU, WE, rrule, rruleset
from scipy.special import gammaincc

from tests.bench.sync import BATCH, fresh, timed
from tests.conftest import Shop
from webapp.core.forecast import BEYOND, DRIFT_WEEKS, HIGH, LOW, Asked, Calendar, calendar, crossings
from webapp.core.instants import instant_text
from webapp.core.pace import Pace
from webapp.database import db
from webapp.setup.ids import now_ms
from webapp.upkeep.document import document

TODAY = date(2027, 3, 2)
DAYS = 3 * 366
HOLIDAYS = frozenset(date(2027, 7, 26) + timedelta(days=n) for n in range(12))
Found = tuple[int, int, int]
AGES = {"a month": 1, "a year": 12, "two years": 24, "ten years": 120}
"""Months of history."""


def rules(count: int) -> tuple[Pace, Asked]:
    """As many meters, each with one rule that has 5 to 300 h left; short Fridays, some Saturdays."""
    rng = np.random.default_rng(11)
    mean = rng.uniform(1, 6, (count, 1)) * np.array([1, 1, 1, 1, 0.6, 0.05, 0])
    column = np.ones(count)
    pace = Pace(mean, (0.6 * mean) ** 2, 1.5 * column, 0.01 * column, 0.001 * column, column, column, mean)
    need = rng.uniform(5, 300, count)
    return pace, Asked(np.arange(count), need, np.zeros(count, dtype=np.int64), column)


def each_with_numpy(pace: Pace, days: Calendar, asked: Asked, row: int) -> Found:
    """One rule at a time: the chances of all days in arrays, then the first that are enough."""
    counts = np.stack([days.counts[1:], (days.counts[1:] + days.counts[:-1]) / 2])
    mean = counts @ pace.mean[row]
    level = pace.psi[row] + pace.drift[row] * np.minimum(mean / pace.a_week[row], DRIFT_WEEKS)
    var = pace.kappa[row] * (counts @ pace.var[row]) + level * mean**2
    with np.errstate(divide="ignore", invalid="ignore"):
        chances = np.where(mean > 0, gammaincc(mean**2 / var, asked.need[row] * mean / var), 0.0)
    runs = (np.diff(days.counts, axis=0) @ pace.mean[row]) > 0
    return _ends(chances[0], chances[1], runs)


def _ends(whole: np.ndarray, middle: np.ndarray, runs: np.ndarray) -> Found:
    likely = int(np.argmax(whole >= 0.5))
    early = min(int(np.argmax((middle >= LOW) & runs)), likely)
    late = int(np.argmax(middle >= HIGH)) - 1
    late = int(np.flatnonzero(runs[: late + 1])[-1]) if runs[: late + 1].any() else 0
    return early, likely, max(late, likely)


def each_with_dateutil(pace: Pace, asked: Asked, row: int) -> Found:
    """One rule, one working day at a time, from python-dateutil's rule with the holidays as exceptions."""
    calendar_ = rruleset()
    start = datetime.combine(TODAY, datetime.min.time())
    calendar_.rrule(rrule(DAILY, dtstart=start, count=DAYS, byweekday=(MO, TU, WE, TH, FR, SA)))
    for day in HOLIDAYS:
        calendar_.exdate(datetime.combine(day, datetime.min.time()))
    need, a_week = float(asked.need[row]), float(pace.a_week[row])
    means, variances = pace.mean[row].tolist(), pace.var[row].tolist()
    kappa, psi, drift = float(pace.kappa[row]), float(pace.psi[row]), float(pace.drift[row])

    def chance(mean: float, spread: float) -> float:
        var = kappa * spread + (psi + drift * min(mean / a_week, DRIFT_WEEKS)) * mean**2
        return float(gammaincc(mean**2 / var, need * mean / var))

    mean = spread = 0.0
    early = likely = before = -1
    for moment in calendar_:
        place, weekday = (moment - start).days, moment.weekday()
        middle = chance(mean + means[weekday] / 2, spread + variances[weekday] / 2)
        mean, spread = mean + means[weekday], spread + variances[weekday]
        if early < 0 and middle >= LOW:
            early = place
        if middle >= HIGH:
            return min(early, likely if likely >= 0 else early), likely, max(before, likely)
        if likely < 0 and chance(mean, spread) >= 0.5:
            likely = place
        before = place
    return BEYOND, BEYOND, BEYOND


def forecasts(count: int) -> None:
    """All rules at once against each by itself; the slower ways on a part of the rules, by the rule."""
    pace, asked = rules(count)
    days = calendar(TODAY, DAYS, HOLIDAYS)
    crossings(pace, days, Asked(*(part[:10] for part in (asked.row, asked.need, asked.start, asked.share))))
    found: list[Any] = []
    at_once = min(timed(lambda: found.append(crossings(pace, days, asked))) for _ in range(3)) / count
    ways = (("NumPy, each rule by itself", 500, lambda row: each_with_numpy(pace, days, asked, row)),
            ("loop over dateutil's days", 100, lambda row: each_with_dateutil(pace, asked, row)))  # fmt: skip
    print(f"{'all rules at once':28} {count * at_once:9.2f} s for {count:,} rules      1")
    for name, part, way in ways:
        got: list[Found] = []
        seconds = timed(lambda got=got, part=part, way=way: got.extend(way(row) for row in range(part))) / part
        wrong = [
            row
            for row, one in enumerate(got)
            if one != tuple(int(x[row]) for x in (found[0].early, found[0].likely, found[0].late))
        ]
        if wrong:
            raise SystemExit(f"{name}: other days for rules {wrong[:5]}")
        print(f"{name:28} {count * seconds:9.2f} s (from {part} rules)   {seconds / at_once:8.0f}")


def aged(shop: Shop, months: int) -> Shop:
    """A shop with a history of so many months: ten entries a working day."""
    begin = now_ms() - months * 30 * 86_400_000
    made = [
        shop.added(0.5, at=instant_text(begin + day * 86_400_000 + n * 3_000_000))
        for day in range(months * 30)
        if day % 7 < 5
        for n in range(10)
    ]
    for start in range(0, len(made), BATCH):
        shop.push(*made[start : start + BATCH])
    return shop


def recompute(shop: Shop) -> tuple[float, float]:
    """Seconds for one new entry, and for the document after it."""
    with shop.app.app_context():
        db.session.remove()
        entry = timed(lambda: shop.push(shop.added(0.5)))
        return entry, timed(lambda: document(db.session(), now_ms()))


def ages(turns: int = 50) -> None:
    """Shops of four ages in turn, so that what else the computer does falls on all alike; the best of each."""
    with tempfile.TemporaryDirectory() as where:
        shops = {name: aged(fresh(Path(where), name.replace(" ", "-")), months) for name, months in AGES.items()}
        best = {name: recompute(shop) for name, shop in shops.items()}
        first = {name: after for name, (_, after) in best.items()}
        for _ in range(turns):
            for name, shop in shops.items():
                entry, after = recompute(shop)
                best[name] = (min(entry, best[name][0]), min(after, best[name][1]))
    base = best["a month"]
    for name, (entry, after) in best.items():
        print(f"after {name:10} one entry {entry * 1e3:6.1f} ms ({entry / base[0]:.2f})   "
              f"document {after * 1e3:6.1f} ms ({after / base[1]:.2f}), the first {first[name] * 1e3:6.1f} ms")  # fmt: skip


def main() -> None:
    """Measure and print."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--rules", type=int, default=100_000)
    forecasts(options.parse_args().rules)
    ages()


if __name__ == "__main__":
    main()
