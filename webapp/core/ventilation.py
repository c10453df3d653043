"""Air that is drawn: velocities, flows, what a hood captures, air changes, and how long a cabinet must be purged.

"us": fpm, ft2 (inches for ducts and distances), cfm, ft3, inches of water. "metric": m/s, m2 (mm for ducts and
distances), m3/h, m3, Pa. V = 4005 sqrt(VP / density factor) in fpm, sqrt(2 dp / rho) in m/s; Q = V A; capture by
J. M. Dalla Valle: V = Q / (10 x^2 + A), with a flange 0.75 of the flow does the same (as engineeringtoolbox.com
prints it; near the hood only, some 1.5 diameters, from memory). Purging: t = k ln(1 / left) V / Q
(CDC, Guidelines for Environmental Infection Control, 2003, Table B.1; MMWR 43 RR-13 (1994), Table S3-1).
Pressures over time stand in filters.py. Twin: static/src/core/ventilation.js, tests/vectors/ventilation.json.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from webapp.core.figures import above_zero, from_zero, is_us, known
from webapp.core.numbers import is_number, say, tidy
from webapp.core.problems import HygieneError

PITOT_FACTOR, FLANGE = 4005, 0.75
_R, _KELVIN, _ATMOSPHERE_PA, _STANDARD = 287.05, 273.15, 101_325, 1.2014
_MOST = {
    "us": {"velocity": 50_000, "area": 10_000, "flow": 1_000_000_000, "length": 1200, "pressure": 100},
    "metric": {"velocity": 250, "area": 1000, "flow": 1_000_000_000, "length": 30_000, "pressure": 25_000},
}
PURGE_SOURCE = "CDC 2003, Table B.1; MMWR 43 RR-13 (1994), Table S3-1, for the mixing factor of 1 to 10"

# Share of the diameter from one wall, half of the points; the others mirror them. ISO 3966's log-linear rule.
_LOG_LINEAR = {6: (0.032, 0.135, 0.321), 8: (0.021, 0.117, 0.184, 0.345), 10: (0.019, 0.077, 0.153, 0.217, 0.361)}
# The same for the sides of a rectangular duct, by the log-Tchebycheff rule; the odd ones have a point in the middle.
_LOG_TCHEBYCHEFF = {5: (0.074, 0.288, 0.5), 6: (0.061, 0.235, 0.437), 7: (0.053, 0.203, 0.366, 0.5)}
_PRINTED = {"log-linear": _LOG_LINEAR, "log-Tchebycheff": _LOG_TCHEBYCHEFF}


@dataclass(frozen=True)
class Condition:
    """How dust or fume gets away, and the range of capture velocities (fpm, m/s) printed for it."""

    name: str
    fpm: tuple[float, float]
    metres: tuple[float, float]


@dataclass(frozen=True)
class Carried:
    """What a duct carries, and the range of least velocities (fpm, m/s) printed for it; None above is no upper end."""

    name: str
    fpm: tuple[float, float | None]
    metres: tuple[float, float | None]


CAPTURE_RANGES = {
    "still": Condition("leaves with practically no speed, into quiet air", (50, 100), (0.25, 0.5)),
    "slow": Condition("leaves slowly, into fairly still air: welding", (100, 200), (0.5, 1.0)),
    "active": Condition("is driven out, into moving air: filling, crushing", (200, 500), (1.0, 2.5)),
    "thrown": Condition("is thrown out fast: grinding, abrasive blasting, tumbling", (500, 2000), (2.5, 10.0)),
}
CAPTURE_RANGE_SOURCE = (
    "ACGIH Industrial Ventilation, table of capture velocities, as quoted in scribd.com 230630973 and 506085071"
)
CARRIED = {
    "fume": Carried("welding fume", (2000, 2500), (10, 13)),
    "light": Carried("very fine light dust", (2500, 3000), (12, 15)),
    "dry": Carried("dry dust and powder", (3000, 4000), (15, 20)),
    "grinding": Carried("grinding dust, dry buffing lint", (3500, 4000), (18, 20)),
    "heavy": Carried("metal turnings, brass turnings, blasting dust, lead dust", (4000, 4500), (20, 23)),
    "heavy or moist": Carried("lead dust with small chips, sticky buffing lint", (4500, None), (23, None)),
}
CARRIED_SOURCE = (
    "ACGIH Industrial Ventilation, minimum duct design velocities, as quoted by nordfab.com and scribd.com 230630973"
)


@dataclass(frozen=True)
class Traverse:
    """A traverse with a pitot tube: the mean velocity, its extremes and, with an area, the flow. `even` is False when
    the slowest point has less than half of the fastest's speed (own choice): then look for a straighter place."""

    velocity: float
    lowest: float
    highest: float
    flow: float | None
    unit: str
    flow_unit: str
    even: bool
    why: str


@dataclass(frozen=True)
class Face:
    """Velocities over an opening: mean, lowest and highest, and how many points lie under the one asked for."""

    mean: float
    lowest: float
    highest: float
    under: int
    flow: float | None
    unit: str
    word: str
    why: str


@dataclass(frozen=True)
class Against:
    """A velocity beside a printed range: `word` is "below", "within" or "above"; `todo` what to do."""

    word: str
    low: float
    high: float | None
    unit: str
    todo: str
    source: str


@dataclass(frozen=True)
class PurgeTime:
    """Seconds to wait, rounded up; `exact` before that, air changes an hour, and what of the dust is left (%)."""

    seconds: int
    exact: float
    changes: float
    left: float
    why: str
    source: str


def duct_area(diameter: float, units: str) -> float:
    """The opening of a round duct: inches give ft2, mm give m2."""
    us = is_us(units)
    across = above_zero(diameter, "diameter", _MOST[units]["length"]) / (12 if us else 1000)
    return tidy(math.pi / 4 * across**2)


def opening_area(width: float, height: float, units: str) -> float:
    """A rectangular opening: inches give ft2, mm give m2."""
    us = is_us(units)
    square = above_zero(width, "width", _MOST[units]["length"]) * above_zero(height, "height", _MOST[units]["length"])
    return tidy(square / (144 if us else 1_000_000))


def flow(velocity: float, area: float, units: str) -> float:
    """Q = V A: fpm x ft2 give cfm, m/s x m2 give m3/h."""
    us = is_us(units)
    speed = above_zero(velocity, "velocity", _MOST[units]["velocity"])
    return tidy(speed * above_zero(area, "area", _MOST[units]["area"]) * (1 if us else 3600), 2)


def velocity(air: float, area: float, units: str) -> float:
    """V = Q / A: cfm through ft2 give fpm, m3/h through m2 give m/s."""
    us = is_us(units)
    moved = above_zero(air, "air", _MOST[units]["flow"])
    return tidy(moved / above_zero(area, "area", _MOST[units]["area"]) / (1 if us else 3600), 4)


def air_density(celsius: float, pascals: float = _ATMOSPHERE_PA) -> float:
    """Density of dry air in kg/m3: p / (287.05 T). HygieneError for no temperature or pressure of air that is
    breathed or ducted (-50 to 500 C, 50 to 110 kPa)."""
    if not is_number(celsius) or not -50 <= celsius <= 500:
        raise HygieneError("celsius", "It is not between -50 and 500 C.", "Measure the air in the duct.")
    if not is_number(pascals) or not 50_000 <= pascals <= 110_000:
        raise HygieneError("pascals", "It is not between 50 000 and 110 000 Pa.", "Read the station pressure.")
    return tidy(pascals / (_R * (celsius + _KELVIN)), 4)


def pitot_velocity(pressure: float, units: str, density: float | None = None) -> float:
    """Velocity from one velocity pressure (in of water: fpm; Pa: m/s), at `density` (kg/m3) or in standard air."""
    us = is_us(units)
    found = from_zero(pressure, "pressure", _MOST[units]["pressure"])
    return tidy(_pitot(found, us, _density(density)), 4)


def traverse_points(points: int, rule: str) -> list[float]:
    """Where to hold a pitot tube, as shares of the way from one wall to the other.

    Round ducts, along a diameter: "log-linear" with 6, 8 or 10 points, or the centres of "equal areas" with any even
    number of them from 2 to 24. Rectangular ducts, along each side: "log-Tchebycheff" with 5, 6 or 7.
    """
    if known(rule, "rule", (*_PRINTED, "equal areas")) in _PRINTED:
        printed = _PRINTED[rule]
        if points not in printed or isinstance(points, bool):
            choice = ", ".join(str(one) for one in printed)
            raise HygieneError("points", f"The {rule} rule has none for {points}.", f"Choose one of: {choice}.")
        half = list(printed[points])
    else:
        if not is_number(points) or points not in tuple(range(2, 25, 2)):
            raise HygieneError("points", f"{points} is no even number from 2 to 24.", "Choose one, such as 6 or 10.")
        half = [(1 - math.sqrt((2 * ring - 1) / points)) / 2 for ring in range(points // 2, 0, -1)]
    return [tidy(one, 3) for one in [*half, *(1 - one for one in reversed(half) if one < 0.5)]]


def traverse(
    pressures: Sequence[float], units: str, area: float | None = None, density: float | None = None
) -> Traverse:
    """The mean velocity of a traverse: the mean of the roots, never the root of the mean.

    HygieneError for no readings and for one below nought, which tells of air that runs back there.
    """
    us = is_us(units)
    if not pressures:
        raise HygieneError("pressures", "There are none.", "Give the velocity pressure at each point.")
    thick = _density(density)
    speeds = []
    for place, one in enumerate(pressures):
        if not is_number(one) or one < 0:
            raise HygieneError(
                f"pressures[{place}]",
                "It is not a number of 0 or more.",
                "Where air runs back, choose a straighter place.",
            )
        speeds.append(_pitot(one, us, thick))
    mean = math.fsum(speeds) / len(speeds)
    moved = (
        None if area is None else tidy(mean * above_zero(area, "area", _MOST[units]["area"]) * (1 if us else 3600), 2)
    )
    even = min(speeds) * 2 >= max(speeds)
    why = f"Mean of the roots at {len(speeds)} points."
    if not even:
        why += " The slowest is under half of the fastest: look for a place with more straight duct before it."
    low, high = tidy(min(speeds), 2), tidy(max(speeds), 2)
    return Traverse(tidy(mean, 2), low, high, moved, _speed_unit(us), _flow_unit(us), even, why)


def face(readings: Sequence[float], units: str, least: float | None = None, area: float | None = None) -> Face:
    """Velocities read over a grid on an opening, beside the one that its design asks at least.

    word: "no figure to hold it to", "below the design", "uneven" (the mean reaches it, a point does not) or "reaches
    the design".
    """
    us = is_us(units)
    if not readings:
        raise HygieneError("readings", "There are none.", "Read the velocity over a grid on the opening.")
    speeds = [from_zero(one, f"readings[{place}]", _MOST[units]["velocity"]) for place, one in enumerate(readings)]
    asked = None if least is None else above_zero(least, "least", _MOST[units]["velocity"])
    mean = math.fsum(speeds) / len(speeds)
    moved = (
        None if area is None else tidy(mean * above_zero(area, "area", _MOST[units]["area"]) * (1 if us else 3600), 2)
    )
    under = 0 if asked is None else sum(one < asked * (1 - 1e-9) for one in speeds)
    word, why = _face_words(mean, asked, under, _speed_unit(us))
    return Face(tidy(mean, 2), min(speeds), max(speeds), under, moved, _speed_unit(us), word, why)


def capture_velocity(air: float, distance: float, area: float, units: str, flanged: bool = False) -> float:
    """Velocity on the axis before a hood that draws `air`, at `distance` (in or mm) from its opening (ft2 or m2)."""
    us = is_us(units)
    moved = above_zero(air, "air", _MOST[units]["flow"]) / (1 if us else 3600)
    return tidy(moved / _reach(distance, area, units, flanged), 4)


def capture_flow(speed: float, distance: float, area: float, units: str, flanged: bool = False) -> float:
    """The air a hood must draw for a velocity at a distance: Q = V (10 x^2 + A), 0.75 of it with a flange."""
    us = is_us(units)
    asked = above_zero(speed, "speed", _MOST[units]["velocity"])
    return tidy(asked * _reach(distance, area, units, flanged) * (1 if us else 3600), 2)


def capture_against(speed: float, condition: str, units: str) -> Against:
    """A capture velocity beside the printed range for how the dust gets away (a key of CAPTURE_RANGES)."""
    us = is_us(units)
    found = from_zero(speed, "speed", _MOST[units]["velocity"])
    one = CAPTURE_RANGES[known(condition, "condition", CAPTURE_RANGES)]
    low, high = one.fpm if us else one.metres
    todo = {
        "below": "Bring the hood nearer, put a flange on it, enclose more, or draw more air.",
        "within": "Keep the hood where it is; towards the upper end for poisonous dust, draughts and long work.",
        "above": "More than the print asks: watch that it does not carry media or small parts off.",
    }
    return _against(found, low, high, us, todo, CAPTURE_RANGE_SOURCE)


def transport_against(speed: float, carried: str, units: str) -> Against:
    """A duct's velocity beside the least that keeps its dust moving (a key of CARRIED)."""
    us = is_us(units)
    found = from_zero(speed, "speed", _MOST[units]["velocity"])
    one = CARRIED[known(carried, "carried", CARRIED)]
    low, high = one.fpm if us else one.metres
    todo = {
        "below": "Dust settles in the duct: look in at the clean-outs, clear it, and find what takes the air.",
        "within": "Dust is carried. Look into the clean-outs all the same.",
        "above": "Dust is carried, at the cost of wear in the bends, of noise and of power.",
    }
    return _against(found, low, high, us, todo, CARRIED_SOURCE)


def hood_flow(static: float, entry: float, area: float, units: str, density: float | None = None) -> float:
    """The air that a hood draws, from the static pressure just behind it (an amount, in of water or Pa), its
    coefficient of entry and the duct's area: Q = 4005 Ce A sqrt(SP), as long as hood and duct are undamaged."""
    us = is_us(units)
    found = above_zero(static, "static", _MOST[units]["pressure"])
    if not is_number(entry) or not 0 < entry <= 1:
        raise HygieneError("entry", "It is not above 0 and up to 1.", "Take it from the table for the hood's shape.")
    opening = above_zero(area, "area", _MOST[units]["area"])
    return tidy(_pitot(found, us, _density(density)) * entry * opening * (1 if us else 3600), 2)


def air_changes(air: float, volume: float, units: str) -> float:
    """Air changes an hour: cfm and ft3, or m3/h and m3."""
    us = is_us(units)
    moved = above_zero(air, "air", _MOST[units]["flow"]) * (60 if us else 1)
    return tidy(moved / above_zero(volume, "volume", _MOST[units]["flow"]), 2)


def purge_time(air: float, volume: float, units: str, removed: float = 99.9, mixing: float = 1) -> PurgeTime:
    """How long an enclosure must be exhausted after the dust has stopped until `removed` % of it is gone.

    `mixing` is 1 where every corner is swept and up to 10 where air is badly spread. Rounded up to whole seconds.
    """
    us = is_us(units)
    moved = above_zero(air, "air", _MOST[units]["flow"]) / (1 if us else 60)
    space = above_zero(volume, "volume", _MOST[units]["flow"])
    if not is_number(removed) or not 0 < removed < 100:
        raise HygieneError("removed", "It is not between 0 and 100 %.", "Give 99 or 99.9.")
    if not is_number(mixing) or not 1 <= mixing <= 10:
        raise HygieneError("mixing", "It is not between 1 and 10.", "Give 3 where nobody measured it; 10 is the worst.")
    left = 100 - removed
    minutes = mixing * math.log(100 / left) * space / moved
    exact = tidy(minutes * 60, 3)
    changes = tidy(moved * 60 / space, 2)
    why = f"{say(changes)} air changes an hour, mixing factor {say(mixing)}: {say(left)} % of the dust is left."
    return PurgeTime(math.ceil(exact), exact, changes, tidy(left), why, PURGE_SOURCE)


def _reach(distance: float, area: float, units: str, flanged: bool) -> float:
    """10 x^2 + A in ft2 or m2, times 0.75 with a flange."""
    away = from_zero(distance, "distance", _MOST[units]["length"]) / (12 if units == "us" else 1000)
    opening = above_zero(area, "area", _MOST[units]["area"])
    return (10 * away**2 + opening) * (FLANGE if flanged else 1)


def _pitot(pressure: float, us: bool, density: float) -> float:
    if us:
        return PITOT_FACTOR * math.sqrt(pressure / (density / _STANDARD))
    return math.sqrt(2 * pressure / density)


def _density(density: float | None) -> float:
    """Standard air is 0.075 lb/ft3, 1.2014 kg/m3: the air for which 4005 is printed."""
    if density is None:
        return _STANDARD
    if not is_number(density) or not 0.3 <= density <= 2:
        raise HygieneError(
            "density", "It is not between 0.3 and 2 kg/m3.", "Work it out from temperature and pressure."
        )
    return density


def _face_words(mean: float, asked: float | None, under: int, unit: str) -> tuple[str, str]:
    if asked is None:
        return "no figure to hold it to", "Enter the velocity that the maker or the commissioning report names."
    beside = f"Mean {say(mean)} {unit} beside {say(asked)} {unit}"
    if mean < asked * (1 - 1e-9):
        return "below the design", f"{beside}: look at filters, fan belt, dampers and leaks before working."
    if under:
        return "uneven", f"{beside}, but {under} points lie under it: look for a blocked baffle or a draught."
    return "reaches the design", f"{beside}."


def _against(found: float, low: float, high: float | None, us: bool, todo: dict[str, str], source: str) -> Against:
    word = "below" if found < low * (1 - 1e-9) else "above" if high is not None and found > high else "within"
    return Against(word, low, high, _speed_unit(us), todo[word], source)


def _speed_unit(us: bool) -> str:
    return "fpm" if us else "m/s"


def _flow_unit(us: bool) -> str:
    return "cfm" if us else "m3/h"
