"""The hygienist's functions as the shared vectors call them: dates as ISO text, the purge timer as a row of steps."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict
from datetime import date
from typing import Any

from webapp.core import (
    exposure,
    filters,
    measured,
    measuring,
    noise,
    noise_daily,
    ppe,
    purge,
    rates,
    respirators,
    risk,
    sampling,
    ventilation,
)
from webapp.core.limits import Limit
from webapp.core.sources import Source


def _day(text: str | None) -> date | None:
    return None if text is None else date.fromisoformat(text)


def _standing(found: ppe.Standing) -> dict[str, Any]:
    return asdict(found) | {"until": found.until.isoformat() if found.until else None}


def _signed(rows: list[dict[str, Any]]) -> list[ppe.SignOff]:
    return [
        ppe.SignOff(row["person"], row["machine"], date.fromisoformat(row["on"]), row["by"], _day(row.get("until")))
        for row in rows
    ]


def _wanted(limits: list[dict[str, Any]], controls: dict[str, list[str]]) -> measuring.Wanted:
    source = Source("key", "text", "where", "2027", "seen")
    return measuring.wanted([Limit(**one, source=source) for one in limits], controls)


def beside(**args: Any) -> dict[str, Any]:
    """A measurement beside limits and noise values that name their sources by key."""
    limits = [Limit(**one | {"source": _named(one["source"])}) for one in args.pop("limits")]
    noises = [measured.NoiseValue(**one | {"source": _named(one["source"])}) for one in args.pop("noises")]
    return measured.beside(limits=limits, noises=noises, **args)


def _named(key: str) -> Source:
    return Source(key, "text", "where", "2027", "seen")


def run_purge(steps: list[list[Any]]) -> list[Any]:
    """After each step: the state, the seconds left and whether the door is held."""
    state: purge.Purge | None = None
    seen = []
    for name, *args in steps:
        if name == "blast":
            state = purge.blast(*args)
        elif name == "reload":
            state = purge.from_stored(asdict(state) if state else None)
        else:
            assert state is not None
            state = {"start": purge.start, "exhaust_off": purge.exhaust_off, "look": purge.look}[name](state, *args)
        seen.append(
            [asdict(state) if state else None, purge.seconds_left(state) if state else None, purge.holds(state)]
        )
    return seen


FUNCTIONS: dict[str, dict[str, Callable[..., Any]]] = {
    "exposure": {
        "figure": exposure.figure,
        "average": exposure.average,
        "compare": exposure.compare,
        "short_term": exposure.short_term,
        "ceiling": exposure.ceiling,
        "mixture": exposure.mixture,
        "lead_shift": exposure.lead_shift,
        "long_day": exposure.long_day,
        "long_week": exposure.long_week,
    },
    "sampling": {
        "air_volume": sampling.air_volume,
        "concentration": sampling.concentration,
        "below_detection": sampling.below_detection,
        "least_minutes": sampling.least_minutes,
        "plan": sampling.plan,
        "by_balance": sampling.by_balance,
        "dust_for": sampling.dust_for,
    },
    "measured": {"beside": beside},
    "measuring": {"wanted": _wanted},
    "noise": {
        "allowed_hours": noise.allowed_hours,
        "dose": noise.dose,
        "day": noise.day,
        "action_level": noise.action_level,
        "protected": noise.protected,
        "impulse": noise.impulse,
    },
    "noise_daily": {
        "daily": noise_daily.daily,
        "weekly": noise_daily.weekly,
        "stands": noise_daily.stands,
        "hours_to": noise_daily.hours_to,
        "worn": noise_daily.worn,
    },
    "rates": {"rate": rates.rate, "rates": rates.rates},
    "respirators": {
        "apf": respirators.apf,
        "hazard_ratio": respirators.hazard_ratio,
        "maximum_use": respirators.maximum_use,
        "choose": respirators.choose,
        "needs": respirators.needs,
        "fit_factor": respirators.fit_factor,
        "cartridge": respirators.cartridge,
    },
    "ventilation": {
        "duct_area": ventilation.duct_area,
        "opening_area": ventilation.opening_area,
        "flow": ventilation.flow,
        "velocity": ventilation.velocity,
        "air_density": ventilation.air_density,
        "pitot_velocity": ventilation.pitot_velocity,
        "traverse_points": ventilation.traverse_points,
        "traverse": ventilation.traverse,
        "face": ventilation.face,
        "capture_velocity": ventilation.capture_velocity,
        "capture_flow": ventilation.capture_flow,
        "capture_against": ventilation.capture_against,
        "transport_against": ventilation.transport_against,
        "hood_flow": ventilation.hood_flow,
        "air_changes": ventilation.air_changes,
        "purge_time": ventilation.purge_time,
    },
    "filters": {"filter_drop": filters.filter_drop, "static_pressure": filters.static_pressure},
    "purge": {"run": run_purge, "from_stored": lambda stored: purge.from_stored(stored)},
    "risk": {
        "cell": risk.cell,
        "probability_of": risk.probability_of,
        "estimate": lambda before, after, controls, on: risk.estimate(
            tuple(before), tuple(after), controls, date.fromisoformat(on)
        ),
        "skipped": risk.skipped,
    },
    "ppe": {
        "next_due": lambda last, unit, count: ppe.next_due(date.fromisoformat(last), unit, count).isoformat(),
        "standing": lambda done, until, today: _standing(
            ppe.standing(_day(done), _day(until), date.fromisoformat(today))
        ),
        "renewed": lambda done, unit, count, today: _standing(
            ppe.renewed(_day(done), unit, count, date.fromisoformat(today))
        ),
        "sign_off": lambda signed, person, machine, today: _standing(
            ppe.sign_off(_signed(signed), person, machine, date.fromisoformat(today))
        ),
        "lacking": lambda signed, people, machine, today: ppe.lacking(
            _signed(signed), people, machine, date.fromisoformat(today)
        ),
    },
}
