"""Compressed air: what a blast nozzle draws, what a compressor gives, what leaks, what a receiver holds.

Pressures are gauge, in psi ("us") or bar ("metric"); free air in cfm or L/min at 70 F (21 C) and one atmosphere.
Flow through a nozzle is isentropic with a discharge coefficient, choked where the atmosphere is below 0.528 of the
pressure before it; air as an ideal gas with k = 1.4 and R = 287.05 J/(kg K) (textbook values, from memory; held to
the published discharge table in tests/reference/test_air.py). Twin: static/src/core/air.js, tests/vectors/air.json.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from webapp.core.figures import above_zero, from_zero, is_us, known
from webapp.core.numbers import say, tidy
from webapp.core.problems import FigureError

ATMOSPHERE_KPA = 101.325
PSI_KPA, BAR_KPA = 6.894757293168, 100
CUBIC_FOOT_L, GALLON_CUBIC_FOOT = 28.316846592, 231 / 1728
MOST_PRESSURE = {"us": 500, "metric": 35}
MOST_BORE = {"us": 2, "metric": 51}
MOST_VOLUME = {"us": 100_000, "metric": 400_000}
_MOST_FLOW = {"us": 100_000, "metric": 3_000_000}
_K, _R, _KELVIN = 1.4, 287.05, 294.26
_CHOKED = (2 / (_K + 1)) ** (_K / (_K - 1))

# Kind of opening -> discharge coefficient and where it is from.
NOZZLES: dict[str, tuple[float, str]] = {
    "blast": (
        0.8,
        "fitted to a published table of nozzle use measured while blasting (blastandpaint.com), which it meets within "
        "7 %: media in the nozzle takes room from the air",
    ),
    "jet": (
        1.0,
        "the air jet of a suction gun carries no media; 1.0 meets a published table (istsurface.com) within 4 %",
    ),
    "rounded": (0.97, "well-rounded entrance: note to the table of discharge of air through an orifice"),
    "sharp": (0.65, "sharp-edged hole: note to the table of discharge of air through an orifice"),
}
RESERVE = 0.5
RESERVE_SOURCE = "blastandpaint.com: add up what is drawn and add 50 percent"
WEAR_LIMIT_IN = 1 / 16
WEAR_SOURCE = "blastone.com: replace the nozzle when its bore has grown by 1/16 in"
HAZARDOUS_KJ = 100
ENERGY_SOURCE = (
    "ehs.berkeley.edu: stored energy over 100 kJ is highly hazardous; isentropic expansion to the atmosphere"
)
LEAK_SOURCE = "leak test by decay: V x fall / (time x atmosphere), as accurateair.com and US Navy MO-209 print it"
WELL_KEPT_LEAK = 10
SHARE_SOURCE = "load and unload times: T / (T + t); below 10 % where it is well kept, 20 to 30 % where it is not"


@dataclass(frozen=True)
class NozzleAir:
    """Free air that an opening draws, and how that was worked out."""

    air: float
    unit: str
    choked: bool
    coefficient: float
    source: str


@dataclass(frozen=True)
class Supply:
    """Demand beside delivery: `share` in %, `spare` may be below zero, `wanted` is demand with the reserve."""

    share: float
    spare: float
    wanted: float
    unit: str
    verdict: str
    why: str
    source: str


@dataclass(frozen=True)
class Wear:
    """A worn bore: how much more air at the same pressure, and whether it has grown by 1/16 in."""

    ratio: float
    before: float
    now: float
    extra: float
    unit: str
    worn_out: bool
    why: str
    source: str


@dataclass(frozen=True)
class Flow:
    """Free air from a test on a receiver, and what it says."""

    air: float
    unit: str
    share: float | None
    why: str
    source: str


@dataclass(frozen=True)
class Energy:
    """What a receiver lets go when it bursts. `caution`: the library's key for stored pressure, always raised."""

    kj: float
    over: bool
    caution: str
    why: str
    source: str


@dataclass(frozen=True)
class Duty:
    """Hours loaded and idle as a share, and the loads an hour."""

    per_cent: float
    loads_an_hour: float | None
    why: str


@dataclass(frozen=True)
class Media:
    """Blast media used an hour, and the hours until the hopper is down to its least."""

    per_hour: float
    hours_left: float | None
    few: bool
    why: str


def nozzle_air(bore: float, pressure: float, kind: str, units: str, atmosphere: float | None = None) -> NozzleAir:
    """Free air through an opening of `bore` (in or mm) at `pressure` before it (gauge, psi or bar).

    `kind`: "blast" (nozzle with media through it), "jet" (the air jet of a suction gun: give the jet's bore),
    "rounded", "sharp". `atmosphere` in kPa where the shop lies high. FigureError for figures that cannot be.
    """
    us = is_us(units)
    coefficient, source = NOZZLES[known(kind, "kind", NOZZLES)]
    inches_or_mm = above_zero(bore, "bore", MOST_BORE[units])
    gauge = above_zero(pressure, "pressure", MOST_PRESSURE[units]) * (PSI_KPA if us else BAR_KPA)
    outside = _atmosphere(atmosphere)
    area = math.pi / 4 * (inches_or_mm * (0.0254 if us else 0.001)) ** 2
    litres = 60_000 * coefficient * area * _free_speed(gauge + outside, outside)
    air = litres / CUBIC_FOOT_L if us else litres
    return NozzleAir(tidy(air, 2), _flow_unit(us), outside / (gauge + outside) <= _CHOKED, coefficient, source)


def _free_speed(before: float, outside: float) -> float:
    """Free air (m3/s) through each m2 of an ideal opening, from `before` to `outside` (kPa absolute)."""
    sound = math.sqrt(_K * _R * _KELVIN)
    ratio = outside / before
    if ratio <= _CHOKED:
        return float(before / outside * sound * (2 / (_K + 1)) ** ((_K + 1) / (2 * (_K - 1))))
    spread = ratio ** (2 / _K) - ratio ** ((_K + 1) / _K)
    return float(before / outside * sound * math.sqrt(2 / (_K - 1) * spread))


def against(demand: float, delivered: float, units: str) -> Supply:
    """What is drawn beside what the compressor delivers at that pressure (cfm or L/min).

    verdict: "short", "tight" (within the reserve) or "enough".
    """
    us = is_us(units)
    above_zero(demand, "demand", _MOST_FLOW[units])
    above_zero(delivered, "delivered", _MOST_FLOW[units])
    wanted = demand * (1 + RESERVE)
    verdict = "short" if demand > delivered else "tight" if wanted > delivered else "enough"
    why = {
        "short": "More is drawn than is delivered: the pressure falls while you work.",
        "tight": "Enough for this alone, but less than half of it in reserve for leaks, wear and other users.",
        "enough": "Delivered with at least half as much again in reserve.",
    }[verdict]
    share, spare = tidy(demand / delivered * 100, 1), tidy(delivered - demand, 2)
    return Supply(share, spare, tidy(wanted, 2), _flow_unit(us), verdict, why, RESERVE_SOURCE)


def nozzle_wear(new: float, now: float, pressure: float, kind: str, units: str) -> Wear:
    """What the growth of a bore from `new` to `now` (in or mm) costs in air: the ratio of the areas.

    FigureError for a bore that has shrunk: then one of the two was measured wrong.
    """
    us = is_us(units)
    before = nozzle_air(new, pressure, kind, units)
    if above_zero(now, "now", MOST_BORE[units]) < new:
        raise FigureError("now", "It is smaller than the new bore.", "Measure both with the same pins.")
    after = nozzle_air(now, pressure, kind, units)
    grown = (now - new) / (1 if us else 25.4)
    worn_out = grown >= WEAR_LIMIT_IN - 1e-9
    ratio = tidy((now / new) ** 2, 4)
    more = say((now / new) ** 2 * 100 - 100)
    why = f"{more} % more air at the same pressure." + (" Grown by 1/16 in: time for a new one." if worn_out else "")
    return Wear(ratio, before.air, after.air, tidy(after.air - before.air, 2), before.unit, worn_out, why, WEAR_SOURCE)


def pump_up(
    volume: float, start: float, end: float, seconds: float, units: str, atmosphere: float | None = None
) -> Flow:
    """Delivered free air from the time to pump a shut receiver up: V x rise / (time x atmosphere).

    `volume` (gal or L) of receiver and pipes up to the valve. The air is taken as cool again; hot air in the receiver
    shows more than was delivered. FigureError when the pressure did not rise.
    """
    us = is_us(units)
    if _rise(start, end, units) <= 0:
        raise FigureError("end", "It is not above the pressure at the start.", "Read the gauge at both ends again.")
    air = _free_air(volume, end - start, seconds, units, atmosphere)
    why = "Three runs or more, and their mean: a warm receiver shows too much."
    return Flow(tidy(air, 2), _flow_unit(us), None, why, "accurateair.com: volume x pressure / atmosphere / time")


def leak_by_decay(
    volume: float,
    start: float,
    end: float,
    seconds: float,
    units: str,
    delivered: float | None = None,
    atmosphere: float | None = None,
) -> Flow:
    """Free air that leaks while nothing is drawn and nothing pumped, from the fall of the pressure.

    It is the leak at the middle of the fall; at a higher pressure more leaks. `delivered` (cfm or L/min) gives the
    share of the compressor's air in %. FigureError when the pressure did not fall.
    """
    us = is_us(units)
    if _rise(start, end, units) >= 0:
        raise FigureError("end", "It is not below the pressure at the start.", "Read the gauge at both ends again.")
    air = _free_air(volume, start - end, seconds, units, atmosphere)
    if delivered is None:
        return Flow(tidy(air, 2), _flow_unit(us), None, "Leak at the middle of the fall.", LEAK_SOURCE)
    share = tidy(air / above_zero(delivered, "delivered", _MOST_FLOW[units]) * 100, 1)
    return Flow(tidy(air, 2), _flow_unit(us), share, _leak_words(share), LEAK_SOURCE)


def leak_by_loads(loaded: float, idle: float) -> Flow:
    """Leak in % of the compressor's air from its times on load and off load (same unit) while nothing is drawn."""
    above_zero(loaded, "loaded", 1_000_000)
    above_zero(idle, "idle", 1_000_000)
    share = tidy(loaded / (loaded + idle) * 100, 1)
    return Flow(share, "%", share, _leak_words(share), SHARE_SOURCE)


def _leak_words(share: float) -> str:
    if share <= WELL_KEPT_LEAK:
        return f"{say(share)} % of the air leaks: below the 10 % of a well-kept system."
    return f"{say(share)} % of the air leaks: more than the 10 % of a well-kept system. Look for hissing joints."


def _rise(start: float, end: float, units: str) -> float:
    """How far the gauge rose; FigureError for a pressure that cannot be."""
    for value, field in ((start, "start"), (end, "end")):
        from_zero(value, field, MOST_PRESSURE[units])
    return end - start


def _free_air(volume: float, change: float, seconds: float, units: str, atmosphere: float | None) -> float:
    """cfm or L/min of free air that changes a receiver's pressure by so much in so many seconds."""
    us = is_us(units)
    held = above_zero(volume, "volume", MOST_VOLUME[units]) * (GALLON_CUBIC_FOOT if us else 1)
    above_zero(seconds, "seconds", 1_000_000)
    return held * change * (PSI_KPA if us else BAR_KPA) / _atmosphere(atmosphere) / (seconds / 60)


def receiver_energy(volume: float, pressure: float, units: str, atmosphere: float | None = None) -> Energy:
    """What a receiver (gal or L) at a gauge pressure (psi or bar) holds, in kJ: isentropic expansion to outside.

    E = P1 V / (k - 1) x (1 - (P0 / P1) ** ((k - 1) / k)).
    """
    us = is_us(units)
    litres = above_zero(volume, "volume", MOST_VOLUME[units]) * (GALLON_CUBIC_FOOT * CUBIC_FOOT_L if us else 1)
    outside = _atmosphere(atmosphere)
    inside = above_zero(pressure, "pressure", MOST_PRESSURE[units]) * (PSI_KPA if us else BAR_KPA) + outside
    kj = tidy(inside * litres / 1000 / (_K - 1) * (1 - (outside / inside) ** ((_K - 1) / _K)), 2)
    over = kj > HAZARDOUS_KJ
    why = "Highly hazardous when it lets go." if over else "Below 100 kJ, and still enough to maim."
    return Energy(kj, over, "pressure", f"{say(kj)} kJ. {why}", ENERGY_SOURCE)


def atmosphere_at(height: float, units: str) -> float:
    """Pressure of the outside air (kPa) at a height in ft or m: 101.325 (1 - 0.0000225577 h) ** 5.25588, h in m."""
    us = is_us(units)
    metres = from_zero(height, "height", 15_000 if us else 4500) * (0.3048 if us else 1)
    return tidy(ATMOSPHERE_KPA * (1 - 0.0000225577 * metres) ** 5.25588, 3)


def duty(loaded: float, total: float, loads: float | None = None) -> Duty:
    """Share of the running hours that the compressor spent loaded, and how often an hour it loaded."""
    above_zero(total, "total", 1_000_000)
    if from_zero(loaded, "loaded", 1_000_000) > total:
        raise FigureError("loaded", "It is more than the total hours.", "Read both hour meters again.")
    per_cent = tidy(loaded / total * 100, 1)
    often = None if loads is None else tidy(from_zero(loads, "loads", 1_000_000_000) / total, 2)
    return Duty(per_cent, often, f"Loaded {say(per_cent)} % of its running hours.")


def media_use(top_ups: Sequence[tuple[float, float]], hopper: float | None = None, least: float = 0) -> Media:
    """Media used an hour from top-ups (blast hours since the last one, amount that filled it up again).

    `hopper`: what is in it now; `least`: what it must not fall below. Fewer than three top-ups are said to be few.
    """
    if not top_ups:
        raise FigureError("top_ups", "There is none yet.", "Log two top-ups with the blast hours between them.")
    hours = sum(above_zero(hours, "hours", 1_000_000) for hours, _ in top_ups)
    amount = sum(from_zero(amount, "amount", 1_000_000) for _, amount in top_ups)
    per_hour, few = amount / hours, len(top_ups) < 3
    from_zero(least, "least", 1_000_000)
    left = None
    if hopper is not None and per_hour > 0:
        left = tidy(max(from_zero(hopper, "hopper", 1_000_000) - least, 0) / per_hour, 2)
    why = f"From {len(top_ups)} top-up{'' if len(top_ups) == 1 else 's'}" + (": too few to trust." if few else ".")
    return Media(tidy(per_hour, 4), left, few, why)


def _atmosphere(kpa: float | None) -> float:
    return ATMOSPHERE_KPA if kpa is None else above_zero(kpa, "atmosphere", 110)


def _flow_unit(us: bool) -> str:
    return "cfm" if us else "L/min"
