"""Coolant in its sump: what the instrument may be trusted with, how much stands in the sump, and where it goes.

Volumes are in one unit throughout (L or gal) unless a name says otherwise, strengths in per cent by volume of
concentrate. What a phone works out without signal (readings, depth, volume) has its twin in
static/src/core/coolant.js, held to tests/vectors/coolant.json.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from itertools import pairwise
from typing import Any

from webapp.core.mix import strength, sump_volume
from webapp.core.numbers import is_number, say, tidy
from webapp.core.problems import MixError
from webapp.core.units import convert

ZERO_TOLERANCE = 0.2
"""How far from 0 a refractometer may show on water, in Brix: the usual accuracy of a hand instrument (common
practice, no source). Beyond it the reading is refused until the instrument is set."""
LENGTHS = ("in", "cm", "mm")
_SLACK = 1.001
"""A capacity or a depth that was rounded when it was written down is not called too much for that."""


@dataclass(frozen=True)
class Strength:
    """A strength in % from a reading, and whether the instrument was tried on water before."""

    percent: float
    zeroed: bool

    def to_dict(self) -> dict[str, object]:
        """The strength as JSON carries it."""
        return asdict(self)


@dataclass(frozen=True)
class Losses:
    """What left a sump between two fills.

    `lost` in all, of it `water` evaporated and `mix` dragged out at the mean strength; `concentrate` is what
    the mix took along. `share` is evaporation's share of the loss, 0 to 1; None when nothing was lost. `beyond`
    says when the two readings cannot come from evaporation and drag-out alone: "stronger" than evaporation of
    everything lost would make it, or "weaker" than before (oil is being lost, or water gets in).
    """

    lost: float
    water: float
    mix: float
    concentrate: float
    share: float | None
    beyond: str | None

    def to_dict(self) -> dict[str, object]:
        """The losses as JSON carries them."""
        return asdict(self)


def zero_check(shown: float, tolerance: float = ZERO_TOLERANCE) -> bool:
    """Whether the instrument may be used: on water it shows 0 within `tolerance` (Brix)."""
    _finite(shown, "zero")
    # A print of 0.2 may come as 0.20000000000000001.
    return abs(shown) <= tolerance + 1e-9


def read_strength(
    reading: float, factor: float, zero: float | None = None, tolerance: float = ZERO_TOLERANCE
) -> Strength:
    """Strength from a refractometer reading; `zero` is what the instrument showed on water just before.

    MixError on `zero` when that is off by more than `tolerance`: the reading is not to be used until the
    instrument is set. Without a zero check the strength is given and marked so.
    """
    if zero is not None and not zero_check(zero, tolerance):
        raise MixError(
            "zero",
            f"On water the instrument shows {say(zero)}, more than {say(tolerance)} off.",
            "Set it to 0 on water, then read the coolant again.",
        )
    return Strength(strength(reading, factor), zero is not None)


def check_sump(sump: Mapping[str, Any], capacity: float, unit: str) -> None:
    """MixError unless the sump's shape can be: flat with `length`, `width`, `unit`, or a rising `table`."""
    if sump.get("unit") not in LENGTHS:
        raise MixError("unit", f'"{sump.get("unit")}" is no unit of depth here.', f"Give one of: {', '.join(LENGTHS)}.")
    if "table" in sump:
        _check_table(sump["table"], capacity, unit)
    elif sump.get("shape") == "flat":
        for name in ("length", "width"):
            if not is_number(sump.get(name)) or sump[name] <= 0:
                raise MixError(name, "It is not a number above zero.", "Measure the sump inside.")
    else:
        raise MixError("shape", "It is neither flat nor a table.", 'Give shape "flat", or a table of depth and volume.')


def volume_at(sump: Mapping[str, Any], depth: float, capacity: float, unit: str) -> float:
    """What stands in the sump at a depth (in the sump's unit), in `unit` (L or gal).

    Flat bottom: length x width x depth. Table: straight between its rows, from nothing at depth 0. MixError for
    a depth below zero, beyond the table, or that makes more than the sump holds.
    """
    _not_below_zero(depth, "depth")
    if "table" in sump:
        return tidy(_between(_rows(sump["table"]), depth, "depth", sump["unit"]))
    held = _flat(sump, depth, unit)
    if held > capacity * _SLACK:
        raise MixError(
            "depth",
            f"{say(depth)} {sump['unit']} makes {say(held)} {unit}, more than the sump holds ({say(capacity)}).",
            "Measure again, or mend the sump's length and width.",
        )
    return tidy(min(held, capacity))


def depth_at(sump: Mapping[str, Any], volume: float, capacity: float, unit: str) -> float:
    """How deep a volume stands: the mark to fill to, in the sump's unit. The inverse of `volume_at`."""
    _not_below_zero(volume, "volume")
    if volume > capacity * _SLACK:
        raise MixError("volume", f"{say(volume)} is more than the sump holds ({say(capacity)}).", "Give less.")
    if "table" in sump:
        return tidy(_between([(held, depth) for depth, held in _rows(sump["table"])], volume, "volume", unit))
    return tidy(volume / _flat(sump, 1, unit))


def losses(before: float, before_percent: float, after: float, after_percent: float) -> Losses:
    """Where the coolant went between two fills: evaporated as water, or dragged out as mix.

    Evaporation takes water and leaves concentrate, drag-out takes mix as it is. When both go on together at a
    steady proportion, d(Vc) = (1 - e) c dV, so that e = ln(c2/c1) / ln(V1/V2): the share of the loss that
    evaporated (derived here; the same balance as for salts in a cooling tower). MixError when the level rose.
    """
    for value, field in ((before, "before"), (after, "after")):
        _above_zero(value, field)
    for value, field in ((before_percent, "before_percent"), (after_percent, "after_percent")):
        _above_zero(value, field)
        if value > 100:
            raise MixError(field, f"{say(value)} % is more than pure concentrate.", "Give 0 to 100 %.")
    if after > before * (1 + 1e-9):
        raise MixError(
            "after",
            f"The level rose from {say(before)} to {say(after)}.",
            "Log what was filled in, then look again.",
        )
    lost = before - after
    if lost <= before * 1e-9:
        return Losses(0, 0, 0, 0, None, None)
    raw = math.log(after_percent / before_percent) / math.log(before / after)
    share = min(max(raw, 0.0), 1.0)
    water = lost * share
    beyond = "stronger" if raw > 1 + 1e-9 else "weaker" if raw < -1e-9 else None
    gone = (before * before_percent - after * after_percent) / 100
    return Losses(tidy(lost), tidy(water), tidy(lost - water), tidy(gone), tidy(share), beyond)


def hardness_after_loss(hardness: float, before: float, after: float, share: float) -> float:
    """Hardness when a sump fell from `before` to `after` and `share` of that evaporated: h (V1/V2)^e.

    Any unit of hardness. Salts stay behind as concentrate does (same balance as `losses`).
    """
    _not_below_zero(hardness, "hardness")
    _above_zero(after, "after")
    _share(share)
    if not is_number(before) or before < after:
        raise MixError("before", "It is less than what is left.", "Give the level before the loss.")
    return tidy(hardness * (before / after) ** share)


def hardness_after_fill(
    hardness: float, level: float, water: float, water_hardness: float, concentrate: float = 0
) -> float:
    """Hardness when `water` of `water_hardness` and `concentrate` are poured to `level`: all salts in the whole.

    Concentrate brings no salts but takes its room.
    """
    for value, field in ((hardness, "hardness"), (level, "level"), (water, "water"), (concentrate, "concentrate")):
        _not_below_zero(value, field)
    _not_below_zero(water_hardness, "water_hardness")
    held = level + water + concentrate
    return tidy((hardness * level + water_hardness * water) / held) if held else 0


def hardness_in_the_end(water_hardness: float, share: float, percent: float) -> float:
    """Where hardness settles when losses go on as they do: water_hardness x (1 / (1 - e) - c).

    What comes in as salts with the make-up goes out with the drag-out alone; c is the coolant's strength.
    """
    _not_below_zero(water_hardness, "water_hardness")
    _share(share)
    if share >= 1:
        raise MixError("share", "Nothing but water leaves the sump: salts pile up for ever.", "Change the charge.")
    return tidy(water_hardness * (1 / (1 - share) - percent / 100))


def _flat(sump: Mapping[str, Any], depth: float, unit: str) -> float:
    if depth == 0:
        return 0.0
    if sump["unit"] == "in":
        return convert(sump_volume(sump["length"], sump["width"], depth, "us"), "gal", unit)
    long, wide, deep = (convert(value, sump["unit"], "cm") for value in (sump["length"], sump["width"], depth))
    return convert(sump_volume(long, wide, deep, "metric"), "L", unit)


def _rows(table: Sequence[Sequence[float]]) -> list[tuple[float, float]]:
    rows = [(depth, volume) for depth, volume in table]
    return rows if rows[0][0] == 0 else [(0.0, 0.0), *rows]


def _between(rows: Sequence[tuple[float, float]], at: float, field: str, unit: str) -> float:
    """Straight between two rows, both columns rising; below the first (a rest no dipstick reaches) that row holds."""
    if at < rows[0][0]:
        return rows[0][1]
    for (low, from_), (high, to) in pairwise(rows):
        if at <= high:
            return from_ + (to - from_) * (at - low) / (high - low)
    top = rows[-1][0]
    if at <= top * _SLACK:
        return rows[-1][1]
    raise MixError(field, f"{say(at)} {unit} is beyond the sump's table ({say(top)}).", "Measure again, or extend it.")


def _check_table(table: Any, capacity: float, unit: str) -> None:
    rows = list(table) if isinstance(table, list | tuple) else []
    if len(rows) < 2 or not all(map(_is_row, rows)):
        raise MixError("table", "It is no list of depth and volume.", "Give rows such as [[2, 8], [4, 17]].")
    if rows[0][0] < 0 or rows[0][1] < 0 or any(b[0] <= a[0] or b[1] <= a[1] for a, b in pairwise(rows)):
        raise MixError("table", "Depth and volume do not both rise.", "Put the rows in order from the bottom.")
    if rows[0][0] > 0 and rows[0][1] <= 0:
        raise MixError("table", "The first depth above 0 holds nothing.", "Begin at the depth where the sump begins.")
    if rows[-1][1] > capacity * _SLACK:
        raise MixError(
            "table",
            f"It ends at {say(rows[-1][1])} {unit}, more than the sump holds ({say(capacity)}).",
            "Mend the table or the capacity.",
        )


def _is_row(row: object) -> bool:
    return isinstance(row, list | tuple) and len(row) == 2 and all(map(is_number, row))


def _share(share: float) -> None:
    if not is_number(share) or not 0 <= share <= 1:
        raise MixError("share", "It is not a share from 0 to 1.", "Give evaporation's part of the loss.")


def _finite(value: object, field: str) -> None:
    if not is_number(value):
        raise MixError(field, "It is not a number.", "Read it again.")


def _above_zero(value: float, field: str) -> None:
    if not is_number(value) or value <= 0:
        raise MixError(field, "It is not a number above zero.", "Measure it, or look on the data sheet.")


def _not_below_zero(value: float, field: str) -> None:
    if not is_number(value) or value < 0:
        raise MixError(field, "It is not a number of 0 or more.", "Measure it again.")
