"""Surface speed of wheels, bands and belts, and the spindle speed that gives it.

SFM = pi D N / 12 with D in inches (ft/min); in metric pi D N / 1000 with D in mm (m/min).
Twin: static/src/core/speeds.js, held to tests/vectors/sawing.json.
"""

from __future__ import annotations

import math

from webapp.core.figures import above_zero, is_us
from webapp.core.numbers import tidy

MOST_RPM = 100_000
_MOST = {"us": (1000, 1_000_000), "metric": (25_400, 304_800)}
"""The largest diameter (in, mm) and surface speed (ft/min, m/min) that are taken for meant."""


def _inches_in(units: str) -> int:
    return 12 if is_us(units) else 1000


def surface_speed(diameter: float, rpm: float, units: str) -> float:
    """Speed of a wheel's rim: inches give ft/min ("us"), millimetres give m/min ("metric")."""
    per = _inches_in(units)
    above_zero(diameter, "diameter", _MOST[units][0])
    above_zero(rpm, "rpm", MOST_RPM)
    return tidy(math.pi * diameter * rpm / per, 4)


def rpm_for(speed: float, diameter: float, units: str) -> float:
    """Turns a minute of a wheel for a surface speed in ft/min ("us") or m/min ("metric")."""
    per = _inches_in(units)
    above_zero(speed, "speed", _MOST[units][1])
    above_zero(diameter, "diameter", _MOST[units][0])
    return tidy(per * speed / (math.pi * diameter), 4)
