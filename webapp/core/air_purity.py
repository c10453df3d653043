"""Purity classes of compressed air, ISO 8573-1:2010: what a designation such as [2:4:2] allows, and the class of a
measured dew point or oil content.

Figures as printed in easymanua.ls (p. 17) and meat-co.nl, which agree. Twin: static/src/core/air-purity.js, held to
tests/vectors/air.json.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from webapp.core.figures import known
from webapp.core.numbers import is_number
from webapp.core.problems import FigureError

SOURCE = "ISO 8573-1:2010, as printed in a dryer maker's manual (easymanua.ls, p. 17)"
# Particles a cubic metre at most: 0.1 to 0.5 um, 0.5 to 1 um, 1 to 5 um (None: no limit given).
_PARTICLES: dict[str, tuple[int | None, int | None, int]] = {
    "1": (20_000, 400, 10),
    "2": (400_000, 6_000, 100),
    "3": (None, 90_000, 1_000),
    "4": (None, None, 10_000),
    "5": (None, None, 100_000),
}
_PARTICLE_MASS = {"6": "over 0 to 5 mg/m3", "7": "over 5 to 10 mg/m3"}
_DEW_POINT: dict[str, float] = {"1": -70, "2": -40, "3": -20, "4": 3, "5": 7, "6": 10}
_LIQUID_WATER = {"7": "at most 0.5 g/m3", "8": "over 0.5 to 5 g/m3", "9": "over 5 to 10 g/m3"}
_OIL: dict[str, float] = {"1": 0.01, "2": 0.1, "3": 1, "4": 5}
_SIZES = ("0.1 to 0.5 um", "0.5 to 1 um", "1 to 5 um")


@dataclass(frozen=True)
class Purity:
    """What a designation allows, in words with units; "-" for a part that is not specified."""

    designation: str
    particles: str
    water: str
    oil: str
    source: str


def purity(designation: str) -> Purity:
    """The limits of a designation "[particles:water:oil]", such as "[2:4:2]" or "2:-:1".

    FigureError for anything else. Class 0 (stricter than 1, agreed with the supplier) and X (worse) have no figures.
    """
    text = designation if isinstance(designation, str) else ""
    found = re.fullmatch(r"\s*\[?\s*([0-7X-])\s*:\s*([0-9X-])\s*:\s*([0-4X-])\s*\]?\s*", text.upper(), re.ASCII)
    if not found:
        raise FigureError("designation", f'"{designation}" is no purity.', "Write particles, water, oil: [2:4:2].")
    particles, water, oil = found.groups()
    return Purity(f"[{particles}:{water}:{oil}]", _particles(particles), _water(water), _oil(oil), SOURCE)


def purity_class(quantity: str, value: float) -> str:
    """The class of a measured "dew point" (C, at pressure) or "oil" (mg/m3); "X" when it is worse than all of them."""
    limits = {"dew point": _DEW_POINT, "oil": _OIL}[known(quantity, "quantity", ("dew point", "oil"))]
    if not is_number(value) or (quantity == "oil" and value < 0) or not -150 <= value <= 100:
        raise FigureError("value", "It is no dew point or oil content.", "Give degrees C, or mg of oil in a m3.")
    return next((name for name, limit in limits.items() if value <= limit), "X")


def _plain(name: str) -> str | None:
    """What the classes without figures mean."""
    return {"-": "not specified", "0": "stricter than class 1, as agreed", "X": "worse than the last class"}.get(name)


def _particles(name: str) -> str:
    if name in _PARTICLE_MASS:
        return _PARTICLE_MASS[name]
    limits = _PARTICLES.get(name)
    if limits is None:
        return str(_plain(name))
    told = [f"{limit} of {size}" for limit, size in zip(limits, _SIZES, strict=True) if limit is not None]
    return f"at most {', '.join(told)} in a m3"


def _water(name: str) -> str:
    if name in _LIQUID_WATER:
        return _LIQUID_WATER[name]
    return f"dew point at pressure {_DEW_POINT[name]} C or lower" if name in _DEW_POINT else str(_plain(name))


def _oil(name: str) -> str:
    return f"at most {_OIL[name]} mg/m3" if name in _OIL else str(_plain(name))
