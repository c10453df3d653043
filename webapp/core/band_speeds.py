"""Band speed by metal, size, coolant and blade: what each published table gives, with its source.

Speeds in ft/min ("us") or m/min ("metric"). The sources start from different stock (4 in, 6 in) and differ: each
is shown with its own figure. A metal that no table here names is said, never guessed.
Twin: static/src/core/band-speeds.js, held to tests/vectors/sawing.json.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import pairwise

from webapp.core.figures import above_zero, is_us
from webapp.core.numbers import tidy
from webapp.core.problems import FigureError
from webapp.core.sawing import MANUAL, MH31

CHART_6_IN = "a band-saw maker's chart for 6 in round, with coolant (manualshive.com, H-550A, p. 28)"
CHART_DRY = "a band-saw maker's chart for dry cutting (manualsdump.com, SB1021, p. 27)"
_FPM_M_MIN = 0.3048

# Copper alloys by the last digits of their UNS number as the table prints them (1751 is C17510), steels by AISI.
_FOUR_INCH: tuple[tuple[str, float, str], ...] = (
    ("173 932", 314, MANUAL),
    ("330 365", 284, MANUAL),
    ("623 624", 264, MANUAL),
    ("230 260 272 280 264 632 655", 244, MANUAL),
    ("101 102 110 122 172 1751 182 220 510 625 706 715 934", 234, MANUAL),
    ("630", 229, MANUAL),
    ("811", 214, MANUAL),
    ("1117", 339, MANUAL),
    ("1137", 289, MANUAL),
    ("1141 1144", 279, MANUAL),
    ("304", 120, MH31),
)
_SIX_INCH: tuple[tuple[str, float, float], ...] = (
    ("302 304", 80, 90),
    ("303", 90, 100),
    ("316 420", 70, 80),
    ("321 347", 90, 100),
    ("410", 100, 110),
    ("416", 140, 150),
)
# Speeds for stock up to 1/2 in, up to 1 in, and above.
_DRY: dict[str, tuple[float, float, float]] = {
    "aluminium": (185, 250, 315),
    "hard brass": (150, 200, 250),
    "soft brass": (375, 500, 625),
    "bronze": (150, 200, 250),
    "copper": (185, 250, 315),
    "cast iron": (90, 125, 160),
    "low carbon steel": (90, 125, 160),
    "medium carbon steel": (75, 100, 125),
    "alloy steel": (90, 125, 160),
}
# Stock (in) and what it changes the 4 in figure by, in per cent.
_SIZE: dict[str, tuple[tuple[float, float], ...]] = {
    MH31: ((0.25, 15), (0.75, 12), (1.25, 10), (4, 0), (8, -12)),
    MANUAL: ((0.25, 15), (0.75, 12), (1.25, 10), (2.5, 5), (4, 0), (8, -12)),
}
_DRY_LOW, _DRY_HIGH, _CARBON = 0.5, 0.7, 0.5


@dataclass(frozen=True)
class Speed:
    """One source's band speed for this cut, and how it came from the printed figure."""

    low: float
    high: float
    printed: str
    changes: tuple[str, ...]
    unit: str
    source: str


def metals() -> tuple[str, ...]:
    """Every metal that a table here names."""
    listed = [name for row in (*_FOUR_INCH, *_SIX_INCH) for name in row[0].split()]
    return tuple(dict.fromkeys([*listed, *_DRY]))


def band_speed(metal: str, size: float, units: str, dry: bool = False, carbon: bool = False) -> tuple[Speed, ...]:
    """What each source gives for a metal in stock of `size` (in or mm; the length of the cut).

    `dry`: without coolant. `carbon`: a carbon steel blade instead of bimetal. FigureError for a metal that no table
    names, and for a size that cannot be.
    """
    us = is_us(units)
    inches = above_zero(size, "size", 100 if us else 2540) / (1 if us else 25.4)
    key = _key(metal)
    rows = [_four_inch(fpm, source, inches, dry, carbon) for names, fpm, source in _FOUR_INCH if key in names.split()]
    rows += [_six_inch(low, high, dry, carbon) for names, low, high in _SIX_INCH if key in names.split()]
    if key in _DRY:
        rows.append(_dry(_DRY[key], inches, carbon))
    if not rows:
        mend = "Use the blade maker's figure, or ask for a metal in general, such as copper or bronze."
        raise FigureError("metal", f'"{metal}" stands in no band-speed table here.', mend)
    return tuple(rows if us else map(_metric, rows))


def _key(metal: object) -> str:
    """A metal as the tables write it: C17200 is 172, C17510 is 1751."""
    text = metal.strip().lower() if isinstance(metal, str) else ""
    uns = re.fullmatch(r"c(\d{3})(?:00|(\d)0)", text, re.ASCII)
    return uns[1] + (uns[2] or "") if uns else text


def _four_inch(fpm: float, source: str, inches: float, dry: bool, carbon: bool) -> Speed:
    per_cent = _size_change(_SIZE[source], inches)
    low = high = fpm * (1 + per_cent / 100)
    changes = []
    if per_cent:
        changes.append(f"{'+' if per_cent > 0 else ''}{tidy(per_cent, 1)} % for the size")
    low, high = _dried(low, high, dry, changes)
    low, high = _carbon(low, high, carbon, changes, MH31)
    return Speed(tidy(low, 1), tidy(high, 1), f"{fpm} ft/min at 4 in", tuple(changes), "ft/min", source)


def _six_inch(low: float, high: float, dry: bool, carbon: bool) -> Speed:
    printed = f"{low} to {high} ft/min at 6 in; smaller stock faster, larger slower, by how much is not given"
    changes: list[str] = []
    low, high = _dried(low, high, dry, changes)
    low, high = _carbon(low, high, carbon, changes, CHART_6_IN)
    return Speed(tidy(low, 1), tidy(high, 1), printed, tuple(changes), "ft/min", CHART_6_IN)


def _dry(speeds: tuple[float, float, float], inches: float, carbon: bool) -> Speed:
    place = 0 if inches <= 0.5 else 1 if inches <= 1 else 2
    printed = f"{speeds[place]} ft/min dry, {('up to 1/2 in', '1/2 to 1 in', 'over 1 in')[place]}"
    changes: list[str] = []
    low, high = _carbon(speeds[place], speeds[place], carbon, changes, MH31)
    return Speed(tidy(low, 1), tidy(high, 1), printed, tuple(changes), "ft/min", CHART_DRY)


def _dried(low: float, high: float, dry: bool, changes: list[str]) -> tuple[float, float]:
    if not dry:
        return low, high
    changes.append(f"-30 to -50 % without coolant ({MH31})")
    return low * _DRY_LOW, high * _DRY_HIGH


def _carbon(low: float, high: float, carbon: bool, changes: list[str], source: str) -> tuple[float, float]:
    if not carbon:
        return low, high
    changes.append(f"-50 % for a carbon blade ({source})")
    return low * _CARBON, high * _CARBON


def _size_change(points: tuple[tuple[float, float], ...], inches: float) -> float:
    """Per cent by which the size changes the speed: straight lines between the printed sizes, level beyond them."""
    if inches <= points[0][0]:
        return points[0][1]
    for (size, change), (further, next_change) in pairwise(points):
        if inches <= further:
            return change + (next_change - change) * (inches - size) / (further - size)
    return points[-1][1]


def _metric(speed: Speed) -> Speed:
    low, high = tidy(speed.low * _FPM_M_MIN, 1), tidy(speed.high * _FPM_M_MIN, 1)
    return Speed(low, high, speed.printed, speed.changes, "m/min", speed.source)
