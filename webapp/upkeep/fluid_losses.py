"""Where a machine's coolant goes between fills: evaporated or dragged out, and what that does to its hardness."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from webapp.core.coolant import hardness_after_fill, hardness_after_loss, hardness_in_the_end, losses
from webapp.core.drift import through_nought
from webapp.core.instants import instant_text
from webapp.core.numbers import say, tidy
from webapp.core.units import convert
from webapp.upkeep.fluid_oil import in_unit
from webapp.upkeep.fluid_past import DAY_MS, FluidPast, Poured, Shown

BEFORE_MS = 36 * 3_600_000
"""How old a strength may be to speak for the sump just before it is filled: yesterday morning's still does."""
PAIR_MS = 2 * 3_600_000
"""How near a strength must lie to a depth reading to make a pair with it."""
FEWEST = 3


@dataclass(frozen=True)
class Interval:
    """Between two moments at which volume and strength were both known."""

    days: float
    before: float
    before_percent: float
    after: float
    after_percent: float


@dataclass(frozen=True)
class Known:
    """Volume and strength of the sump at an instant."""

    at: int
    volume: float
    percent: float


def intervals(
    fluid: dict[str, Any], past: FluidPast, strengths: list[tuple[int, float]], levels: list[tuple[int, float]]
) -> list[Interval]:
    """The intervals that the record gives. A fill with water is taken to go up to the full mark."""
    found: list[Interval] = []
    known: Known | None = None
    moments: list[tuple[int, Poured | float]] = [*((row.at, row) for row in past.poured.get(fluid["id"], ())), *levels]
    for at, what in sorted(moments, key=lambda one: one[0]):
        if isinstance(what, float):
            near = [percent for ms, percent in strengths if abs(ms - at) <= PAIR_MS]
            known = _close(found, known, Known(at, what, near[-1])) if near else known
        elif what.fresh:
            percent = what.body.get("strength")
            known = Known(at, fluid["capacity"], percent) if percent else None
        else:
            known = _filled(found, known, fluid, what, strengths)
    return found


def _filled(
    found: list[Interval], known: Known | None, fluid: dict[str, Any], row: Poured, strengths: list[tuple[int, float]]
) -> Known | None:
    """A fill ends an interval with the strength read before it, and the mix makes the next one's beginning."""
    added = in_unit(row, fluid, [])
    before = [percent for ms, percent in strengths if row.at - BEFORE_MS <= ms <= row.at]
    if (
        added is None
        or not to_the_mark(row)
        or row.body.get("concentrate") is None
        or not before
        or added >= fluid["capacity"]
    ):
        return None
    volume = fluid["capacity"] - added
    _close(found, known, Known(row.at, volume, before[-1]))
    strength = (volume * before[-1] + 100 * neat_of(row, added)) / fluid["capacity"]
    return Known(row.at, fluid["capacity"], strength)


def neat_of(row: Poured, added: float) -> float:
    """The concentrate in what was added, in the fluid's unit."""
    share = (row.body.get("concentrate") or 0.0) / row.body["amount"]
    return float(added * min(share, 1.0))


def to_the_mark(row: Poured) -> bool:
    """Concentrate alone strengthens; whatever has water in it fills up."""
    return row.body.get("water") is None or row.body["water"] > 0


def _close(found: list[Interval], known: Known | None, now: Known) -> Known:
    if known is not None and now.volume < known.volume and known.percent > 0 and now.percent > 0:
        days = (now.at - known.at) / DAY_MS
        found.append(Interval(days, known.volume, known.percent, now.volume, now.percent))
    return now


def losses_document(fluid: dict[str, Any], found: list[Interval]) -> dict[str, Any]:
    """Losses a week and evaporation's share with its 95 % bounds; `enough` False below three intervals."""
    unit, count = fluid["unit"], len(found)
    if count < FEWEST:
        return {
            "enough": False,
            "intervals": count,
            "say": f"{count} of {FEWEST} fills with strength before and mix known.",
        }
    from scipy.special import stdtrit

    line = through_nought(
        [math.log(one.before / one.after) for one in found],
        [math.log(one.after_percent / one.before_percent) for one in found],
    )
    room = float(stdtrit(count - 1, 0.975)) * line.slope_sd
    share, low, high = (min(max(value, 0.0), 1.0) for value in (line.slope, line.slope - room, line.slope + room))
    each = [losses(one.before, one.before_percent, one.after, one.after_percent) for one in found]
    weeks = sum(one.days for one in found) / 7
    lost = sum(one.lost for one in each) / weeks
    gone = sum(one.concentrate for one in each) / weeks
    return {
        "enough": True, "intervals": count, "share": tidy(share), "low": tidy(low), "high": tidy(high), "unit": unit,
        "lost_a_week": tidy(lost), "water_a_week": tidy(lost * share), "mix_a_week": tidy(lost * (1 - share)),
        "concentrate_a_week": tidy(max(gone, 0.0)), "beyond": _beyond(each),
        "say": (
            f"About {say(lost)} {unit} lost a week: {share * 100:.0f} % evaporated"
            f" ({low * 100:.0f} to {high * 100:.0f} %), the rest dragged out with parts and chips."
            f" From {count} fills. {_trend(low, high, share)}"
        ),
    }  # fmt: skip


def _beyond(each: list[Any]) -> dict[str, int]:
    """How many intervals evaporation and drag-out alone cannot explain."""
    return {word: sum(one.beyond == word for one in each) for word in ("stronger", "weaker")}


def _trend(low: float, high: float, share: float) -> str:
    if high < 0.05:
        return "Strength does not rise between fills: what is lost is mix, so make up at the strength aimed at."
    if low <= 0:
        return "Too scattered to say whether strength rises between fills."
    return f"Strength rises between fills: make-up at {(1 - share) * 100:.0f} % of the aimed strength holds it."


def hardness_document(
    fluid: dict[str, Any],
    past: FluidPast,
    measured: Shown | None,
    share: float | None,
    percent: float | None,
) -> dict[str, Any] | None:
    """Hardness in the sump now and in the end, in ppm; None when neither water nor sump was ever measured.

    `measured`: the newest reading that can be; `share` evaporated and `percent` of strength, None where not known.
    """
    made_of = fluid.get("hardness")
    ppm = convert(made_of["value"], made_of["unit"], "ppm") if made_of else None
    start = _start(fluid, past, measured, ppm, percent)
    if ppm is None and start is None:
        return None
    doc: dict[str, Any] = {"water_ppm": tidy(ppm, 1) if ppm is not None else None, "now_ppm": None, "end_ppm": None}
    doc |= {"since": None, "measured": False}
    if start is not None:
        at, value = start
        grown = _grow(fluid, past, start, ppm, share)
        known = measured is not None and at == measured.at and grown == value
        doc |= {"now_ppm": tidy(grown, 1), "since": instant_text(at), "measured": known}
    if ppm is not None and share is not None and share < 1:
        doc["end_ppm"] = tidy(hardness_in_the_end(ppm, share, percent or 0), 1)
    return doc


def _start(
    fluid: dict[str, Any], past: FluidPast, measured: Shown | None, ppm: float | None, percent: float | None
) -> tuple[int, float] | None:
    """Where hardness was last known: measured, or a fresh charge made with water of known hardness."""
    fresh = [row.at for row in past.poured.get(fluid["id"], ()) if row.fresh]
    if measured is not None and measured.value is not None and (not fresh or measured.at >= fresh[-1]):
        return measured.at, convert(measured.value, measured.unit, "ppm")
    return (fresh[-1], ppm * (1 - (percent or 0) / 100)) if fresh and ppm is not None else None


def _grow(
    fluid: dict[str, Any], past: FluidPast, start: tuple[int, float], ppm: float | None, share: float | None
) -> float:
    """Carry hardness over the fills since: salts stay when water evaporates, and come in with the water."""
    at, hardness = start
    if ppm is None or share is None:
        return hardness
    for row in past.poured.get(fluid["id"], ()):
        added = None if row.fresh or row.at <= at else in_unit(row, fluid, [])
        if added is None or not to_the_mark(row) or added >= fluid["capacity"]:
            continue
        level = fluid["capacity"] - added
        neat = neat_of(row, added)
        hardness = hardness_after_loss(hardness, fluid["capacity"], level, share)
        hardness = hardness_after_fill(hardness, level, added - neat, ppm, neat)
    return hardness
