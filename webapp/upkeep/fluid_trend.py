"""How the strength of one charge goes: control chart, and the date at which it leaves its band."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from webapp.core import control, drift
from webapp.core.dates import say_date
from webapp.core.instants import instant_text, shop_date
from webapp.core.numbers import say, tidy
from webapp.upkeep.fluid_past import DAY_MS

BASELINE = 20
"""Readings of a charge that set its limits: the first so many (20 to 25 are usual; common practice, no source)."""
LISTED = 120
OVER_DAYS = 28
SIGNALS = 12
BEYOND_WESTERN = ("nelson3", "nelson4", "nelson7", "nelson8")
"""Nelson's tests that the Western Electric rules have nothing like: kept apart, for who wants them. A strength that
climbs between fills breaks the third as a matter of course."""

Points = list[tuple[int, float]]


def chart(points: Points) -> dict[str, Any]:
    """Individuals and EWMA chart, Western Electric rules and a CUSUM; limits from the charge's first readings."""
    values = [value for _, value in points]
    if len(values) < control.FEWEST:
        need = control.FEWEST
        return {"enough": False, "say": f"{len(values)} of {need} readings of this charge that limits need."}
    limits = control.individuals(values[:BASELINE])
    if limits.sigma <= 0:
        return {"enough": False, "say": "The first readings are all alike: they show no scatter to set limits by."}
    smooth = control.ewma(values, limits.centre, limits.sigma)
    sums = control.cusum(values, limits.centre, limits.sigma / 2, 5 * limits.sigma)
    signals = [*control.western_electric(values, limits.centre, limits.sigma), *smooth.signals, *sums.signals]
    signals.sort(key=lambda one: one.index)
    more = [one for one in control.nelson(values, limits.centre, limits.sigma) if one.rule in BEYOND_WESTERN]
    follows = control.follows_itself(values[:BASELINE])
    return {
        "enough": True,
        "limits": limits.to_dict(),
        "ewma": {"lower": tidy(smooth.lower, 3), "upper": tidy(smooth.upper, 3)},
        "points": [
            {"at": instant_text(at), "percent": value, "ewma": tidy(mean, 3)}
            for (at, value), mean in zip(points, smooth.values, strict=True)
        ][-LISTED:],
        "signals": _runs(signals, points)[-SIGNALS:],
        "nelson": _runs(more, points)[-SIGNALS:],
        "follows": follows,
        "say": _say_chart(limits, signals, len(values), follows),
    }


def _runs(signals: list[control.Signal], points: Points) -> list[dict[str, Any]]:
    """Signals of one rule at one reading after another told once, oldest first."""
    runs: dict[tuple[str, str, int], list[int]] = {}
    following: dict[tuple[str, str], tuple[str, str, int]] = {}
    says = {(one.rule, one.side): one.says for one in signals}
    for one in signals:
        key = following.get((one.rule, one.side))
        if key is None or runs[key][-1] != one.index - 1:
            key = following[one.rule, one.side] = (one.rule, one.side, one.index)
            runs[key] = []
        runs[key].append(one.index)
    rows = [
        {
            "rule": rule, "side": side, "says": says[rule, side], "readings": len(run),
            "from": instant_text(points[run[0]][0]), "to": instant_text(points[run[-1]][0]),
        }
        for (rule, side, _), run in runs.items()
    ]  # fmt: skip
    return sorted(rows, key=lambda row: str(row["to"]))


def _say_chart(limits: control.Individuals, signals: list[control.Signal], count: int, follows: bool) -> str:
    said = (
        f"Limits {say(limits.lower)} to {say(limits.upper)} %, from the first {limits.count} readings of this charge."
    )
    last = [one for one in signals if one.index == count - 1]
    said += f" The last reading signals: {last[0].says}." if last else " The last reading signals nothing."
    if follows:
        said += " Readings follow each other, so runs signal oftener than they should: go by the band first."
    return said


def leaving(points: Points, filled_at: int | None, band: dict[str, Any], now_ms: int, zone: str) -> dict[str, Any]:
    """When strength leaves the band: by the readings since the last fill, else by the last four weeks."""
    low, high = band.get("act_low"), band.get("act_high")
    since = [point for point in points if filled_at is not None and point[0] > filled_at]
    basis = "since the last fill"
    found = _leave(since, low, high, now_ms)
    if not found.enough:
        basis = f"the last {OVER_DAYS} days, over the fills"
        found = _leave([point for point in points if point[0] > now_ms - OVER_DAYS * DAY_MS], low, high, now_ms)
    today = shop_date(now_ms, zone)
    dates = {
        name: (today + timedelta(days=int(days))).isoformat() if days is not None else None
        for name, days in (("early", found.p10), ("likely", found.p50), ("late", found.p90))
    }
    return found.to_dict() | dates | {"basis": basis, "say": _say_leaving(found, dates, basis)}


def _leave(points: Points, low: float | None, high: float | None, now_ms: int) -> drift.Leaving:
    return drift.leaving([(at - now_ms) / DAY_MS for at, _ in points], [value for _, value in points], low, high)


def _say_leaving(found: drift.Leaving, dates: dict[str, str | None], basis: str) -> str:
    if not found.enough or not found.side:
        return found.why
    word = "above" if found.side == "high" else "below"
    place = f"{word} {say(found.limit or 0)} %"
    told = {name: say_date(date.fromisoformat(day)) if day else None for name, day in dates.items()}
    rest = f" ({found.count} readings, {basis})."
    if found.p50 == 0:
        return f"The line through the readings lies {place} already{rest}"
    if told["likely"] is None:
        return f"Not {place} before {told['early']} as it goes{rest}"
    return (
        f"Leaves the band {place} about {told['likely']}, from {told['early']} to {told['late'] or 'much later'}{rest}"
    )
