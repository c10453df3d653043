"""Belt sander and bench grinder: gaps, wheel and belt speed, flanges and belt lives.

A figure at or below its limit is "at or below the limit", nothing more. Sources stand with every figure; where
sources differ each is shown. Metals whose dust must not meet are in mixed_dust.py.
Twin: static/src/core/abrasives.js, held to tests/vectors/abrasives.json.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from webapp.core.figures import above_zero, from_zero, is_us, known
from webapp.core.numbers import tidy
from webapp.core.problems import FigureError
from webapp.core.speeds import MOST_RPM, surface_speed

REST_LIMIT_IN, TONGUE_LIMIT_IN = 0.125, 0.25
REST_SOURCE = "29 CFR 1910.215(a)(4), OSHA STD 01-12-008: work rest within 1/8 in of the wheel"
TONGUE_SOURCE = "29 CFR 1910.215(b)(9): tongue guard within 1/4 in of the wheel"
SPEED_SOURCE = "29 CFR 1910.215(d)(1), WAC 296-806-40512: spindle speed not above the speed marked on the wheel"
FLANGE_SOURCE = "WAC 296-806-40516: flanges at least one third of the wheel's diameter"
BELT_RATING_SOURCE = "the belt maker's highest speed (common practice, no source)"
FEWEST_LIVES = 5
_MM = 25.4
# A gauge's last digit: 1/8 in set to the gauge must not read as above it.
_SLACK = 1e-9

SHOP_TABLE = "a finishing supplier's table (paperzz.com 7943063), ft/min"
METRIC_TABLE = "an abrasive maker's table (media.saint-gobain.com), m/s"
MH31_BELTS = "Machinery's Handbook, 31st edition, Table 1 on abrasive belts, ft/min"
_FPM_M_S = 0.00508
# Material -> (what, low, high, source), in the source's unit: ft/min, but m/s in METRIC_TABLE.
_BELTS: dict[str, tuple[tuple[str, float, float, str], ...]] = {
    "carbon steel": (("offhand", 6500, 6500, SHOP_TABLE), ("grinding", 30, 40, METRIC_TABLE)),
    "stainless": (
        ("offhand", 6500, 7000, SHOP_TABLE),
        ("grinding", 20, 30, METRIC_TABLE),
        ("roughing", 3500, 5000, MH31_BELTS),
        ("polishing", 4000, 5500, MH31_BELTS),
    ),
    "aluminium": (
        ("coarse", 7500, 8000, SHOP_TABLE),
        ("fine", 6500, 7000, SHOP_TABLE),
        ("grinding", 20, 35, METRIC_TABLE),
        ("roughing", 5000, 6500, MH31_BELTS),
        ("polishing", 4500, 6500, MH31_BELTS),
    ),
    "brass": (
        ("offhand", 7000, 8000, SHOP_TABLE),
        ("grinding", 25, 35, METRIC_TABLE),
        ("roughing", 2200, 4500, MH31_BELTS),
        ("polishing", 4000, 6500, MH31_BELTS),
    ),
    "copper": (
        ("grinding", 25, 35, METRIC_TABLE),
        ("roughing", 2200, 4500, MH31_BELTS),
        ("polishing", 4000, 6500, MH31_BELTS),
    ),
    "titanium": (("offhand", 2500, 3000, SHOP_TABLE), ("grinding", 8, 15, METRIC_TABLE)),
    "cast iron": (("offhand", 7000, 7000, SHOP_TABLE), ("grinding", 30, 40, METRIC_TABLE)),
}


@dataclass(frozen=True)
class Limit:
    """A measured figure beside its limit, in the same unit. `over`: above it (or, for a flange, below it)."""

    value: float
    limit: float
    unit: str
    over: bool
    why: str
    source: str


@dataclass(frozen=True)
class Gaps:
    """Both gaps of a grinder; `caution` is the library's key while one is above its limit."""

    rest: Limit
    tongue: Limit
    caution: str | None


@dataclass(frozen=True)
class BeltSpeed:
    """What one source gives for a material, in the shop's unit and as printed."""

    what: str
    low: float
    high: float
    unit: str
    printed: str
    source: str


@dataclass(frozen=True)
class Lives:
    """Belts that were worn out on one material: how many, and their minutes. Fewer than five make no curve."""

    material: str
    count: int
    shortest: float
    middle: float
    longest: float
    few: bool


def gaps(rest: float, tongue: float, units: str) -> Gaps:
    """The work rest's and the tongue guard's gap (in or mm) beside the regulation's 1/8 in and 1/4 in.

    FigureError for a gap below zero or over 12 in. Measured with the wheel standing.
    """
    us = is_us(units)
    most = 12 if us else 305
    from_zero(rest, "rest", most)
    from_zero(tongue, "tongue", most)
    factor, unit = (1, "in") if us else (_MM, "mm")
    one = _at_most(rest, tidy(REST_LIMIT_IN * factor, 4), unit, "work rest", REST_SOURCE)
    two = _at_most(tongue, tidy(TONGUE_LIMIT_IN * factor, 4), unit, "tongue guard", TONGUE_SOURCE)
    return Gaps(one, two, "grinder_gaps" if one.over or two.over else None)


def _at_most(value: float, limit: float, unit: str, what: str, source: str) -> Limit:
    over = value > limit + _SLACK
    ending = "above the limit: wheel stopped, reset it." if over else "at or below the limit."
    return Limit(tidy(value, 4), limit, unit, over, f"Gap of the {what}: {ending}", source)


def wheel_speed(diameter: float, rpm: float, marked: float, units: str) -> Limit:
    """Surface speed of a wheel (diameter in or mm) beside that of its marked rpm, in ft/min or m/min.

    The marked rpm is for the new wheel: a worn one may never be sped up past the marked rpm here.
    """
    above_zero(marked, "marked", MOST_RPM)
    speed = surface_speed(diameter, rpm, units)
    limit = surface_speed(diameter, marked, units)
    over = rpm > marked
    why = "Spindle faster than the wheel is marked for: do not mount it." if over else "At or below the marked speed."
    return Limit(speed, limit, "ft/min" if is_us(units) else "m/min", over, why, SPEED_SOURCE)


def belt_speed(diameter: float, rpm: float, rated: float, units: str) -> Limit:
    """Surface speed of a belt over its drive wheel (in or mm) beside the belt's rating, in ft/min or m/s.

    `rated` is in the unit of the belt: ft/min ("us") or m/s ("metric").
    """
    us = is_us(units)
    above_zero(rated, "rated", 20_000 if us else 100)
    per_minute = surface_speed(diameter, rpm, units)
    speed = per_minute if us else tidy(per_minute / 60, 4)
    over = speed > rated
    why = "Faster than the belt is rated for: do not run it." if over else "At or below the belt's rating."
    return Limit(speed, tidy(rated, 4), "ft/min" if us else "m/s", over, why, BELT_RATING_SOURCE)


def belt_advice(material: str, units: str) -> tuple[BeltSpeed, ...]:
    """Belt speeds that each source gives for a material, in ft/min ("us") or m/s ("metric"); they differ."""
    us = is_us(units)
    rows = _BELTS[known(material, "material", _BELTS)]
    return tuple(_belt_row(*row, us=us) for row in rows)


def _belt_row(what: str, low: float, high: float, source: str, *, us: bool) -> BeltSpeed:
    printed_unit = "m/s" if source == METRIC_TABLE else "ft/min"
    printed = f"{low} {printed_unit}" if low == high else f"{low} to {high} {printed_unit}"
    unit = "ft/min" if us else "m/s"
    if unit == printed_unit:
        return BeltSpeed(what, low, high, unit, printed, source)
    factor, places = (1 / _FPM_M_S, 0) if us else (_FPM_M_S, 1)
    return BeltSpeed(what, tidy(low * factor, places), tidy(high * factor, places), unit, printed, source)


def flange(wheel: float, size: float, units: str) -> Limit:
    """A flange's diameter beside the least for its wheel, one third of the diameter (in or mm). `over`: too small."""
    us = is_us(units)
    above_zero(wheel, "wheel", 1000 if us else 25_400)
    above_zero(size, "flange", 1000 if us else 25_400)
    least = tidy(wheel / 3, 4)
    small = size < wheel / 3 - _SLACK
    why = "Smaller than one third of the wheel: do not mount it." if small else "At least one third of the wheel."
    return Limit(tidy(size, 4), least, "in" if us else "mm", small, why, FLANGE_SOURCE)


def belt_lives(lives: Sequence[tuple[str, float]]) -> tuple[Lives, ...]:
    """Belt lives (material, minutes) by material in order of the alphabet; the middle one is the median."""
    by: dict[str, list[float]] = {}
    for material, minutes in lives:
        name = " ".join(str(material).split()).lower()
        if not name:
            raise FigureError("material", "It is empty.", "Name the metal that the belt wore out on.")
        by.setdefault(name, []).append(above_zero(minutes, "minutes", 1_000_000))
    return tuple(_lives(name, sorted(by[name])) for name in sorted(by))


def _lives(name: str, minutes: list[float]) -> Lives:
    half = len(minutes) // 2
    middle = minutes[half] if len(minutes) % 2 else (minutes[half - 1] + minutes[half]) / 2
    few = len(minutes) < FEWEST_LIVES
    return Lives(name, len(minutes), tidy(minutes[0], 4), tidy(middle, 4), tidy(minutes[-1], 4), few)
