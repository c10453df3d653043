"""Way oil and other oils of one machine: use, alarms, days left."""

from __future__ import annotations

from typing import Any

from webapp.core import lubrication
from webapp.core.instants import instant_text
from webapp.core.lubrication import Event, OilError, Stretch, Tank, Use, Verdict
from webapp.core.numbers import say, tidy
from webapp.core.problems import MixError
from webapp.core.units import convert
from webapp.upkeep.fluid_past import DAY_MS, FluidPast, Poured, Shown, shop_day

PACE_DAYS = 28
SHOWN = 40
"""Stretches listed, newest last."""
_RUN_DRY = (
    "Stop and look: pulse the lubricator and see oil at the far end of every way. Pump, dose screw, filter, then each"
    " metering unit. Ways that ran dry score in one shift."
)
_LEAK = "Look for the leak: couplings, lines behind the covers, a metering unit that stays open; oil in the coolant."
_LOOK = (
    "Look at the glass now. Low: fill it, and log it. Still high: the pump does not dose, and the ways run dry:"
    " stop, pulse the lubricator and see oil at the far end of every way."
)


def oil(fluid: dict[str, Any], past: FluidPast, glasses: set[str], now_ms: int) -> dict[str, Any]:
    """The document of one oil. `glasses`: ids of the checks that look at its level."""
    faults: list[str] = []
    events = events_of(fluid, past, faults)
    known, tank, more = lubrication.stretches(events, fluid["capacity"])
    verdicts, use = lubrication.judge(known, fluid["capacity"])
    now = _now(use, tank, past, known, verdicts)
    looked = [row for key in glasses for row in past.checks.get(key, ())]
    return {
        "meter": past.meter and {name: past.meter[name] for name in ("id", "kind", "name", "unit")},
        "use": use and use.to_dict(),
        "say": _say_use(fluid, past, use, len(known)),
        **_alarm(fluid, past, now, use, tank, looked),
        "since": _since(tank, now),
        "left": _left(fluid, past, use, tank, now_ms),
        "stretches": [_row(one, verdict) for one, verdict in zip(known, verdicts, strict=True)][-SHOWN:],
        "grade": _grade(fluid),
        "faults": faults + more,
    }


def events_of(fluid: dict[str, Any], past: FluidPast, faults: list[str]) -> list[Event]:
    """What says where an oil's tank stands, in order; what cannot be counted is added to `faults`."""
    found: list[Event] = []
    for row in past.poured.get(fluid["id"], ()):
        amount = in_unit(row, fluid, faults)
        if row.fresh:
            found.append(Event(row.at, row.hours, "renewed", amount or 0.0))
        elif amount is not None:
            found.append(Event(row.at, row.hours, "fill", amount))
    if fluid["kind"] == "way_oil":
        found += [Event(at, hours, "renewed") for at, hours in past.filters]
    for shown in past.shown.get(f"{fluid['kind']}.level", ()):
        level = level_in_unit(shown, fluid, faults)
        if level is not None:
            found.append(Event(shown.at, past.hours_at(shown.at), "level", level))
    return sorted(found, key=lambda event: (event.at, event.hours))


def in_unit(row: Poured, fluid: dict[str, Any], faults: list[str]) -> float | None:
    """An amount poured, in the fluid's unit; None when none was noted, and with a fault when its unit is no volume."""
    if row.body.get("amount") is None:
        return None
    try:
        return convert(row.body["amount"], row.body["unit"], fluid["unit"])
    except MixError:
        faults.append(f"{say(row.body['amount'])} {row.body['unit']} added on {row.day}: no unit of volume.")
        return None


def level_in_unit(shown: Shown, fluid: dict[str, Any], faults: list[str]) -> float | None:
    """A level as a volume in the fluid's unit: read as a volume or as per cent of the tank."""
    if shown.value is None:
        return None
    try:
        share = shown.unit == "%"
        level = fluid["capacity"] * shown.value / 100 if share else convert(shown.value, shown.unit, fluid["unit"])
    except MixError:
        faults.append(f"A level of {say(shown.value)} {shown.unit} on {shown.day}: no unit of volume.")
        return None
    if not 0 <= level <= fluid["capacity"] * 1.001:
        faults.append(f"A level of {say(shown.value)} {shown.unit} on {shown.day} is not inside the tank.")
        return None
    return level


def _now(
    use: Use | None, tank: Tank | None, past: FluidPast, known: list[Stretch], verdicts: list[Verdict]
) -> Verdict | None:
    """How it stands: out of the ordinary by the last stretch that ended, or by what has run since."""
    if tank is None:
        return None
    since = lubrication.since_last(use, tank, past.hours)
    last = verdicts[-1] if verdicts and known[-1].to_at == tank.at else None
    if since.state == "look" or last is None or last.state in ("few", "usual"):
        return since
    return last


def _alarm(
    fluid: dict[str, Any], past: FluidPast, now: Verdict | None, use: Use | None, tank: Tank | None, looked: list[Shown]
) -> dict[str, Any]:
    """`state`, `sure`, `why`, `do`, `cautions`. An overdue fill with the glass answered ok is a pump that starves."""
    if now is None or use is None:
        return {"state": "few", "sure": None, "why": "", "do": "", "cautions": []}
    state, unit, per = now.state, fluid["unit"], (past.meter or {}).get("unit", "h")
    why = f"Since the last fill {say(now.hours)} {per}, inside the usual." if state == "usual" else ""
    if state == "look" and tank is not None:
        answered = [row for row in looked if row.at > tank.at]
        why = (
            f"{say(now.hours)} {per} without a fill: {amount(now.expected)} {unit} would be gone at the usual use"
            f" ({amount(now.low)} to {amount(now.high)}), and never more than {amount(use.most)} went between fills."
        )
        if len(answered) >= 2 and answered[-1].ok:
            why += f" The glass was answered ok {len(answered)} times since: too little oil reaches the ways."
            state = "little"
    elif state in ("little", "much"):
        until = f" up to the fill or reading of {shop_day(tank.at, past.zone)}" if tank is not None else ""
        why = (
            f"{amount(now.used)} {unit} in {say(now.hours)} {per}{until}, {say((now.ratio or 0) * 100)} % of the usual"
            f" {amount(now.expected)} ({amount(now.low)} to {amount(now.high)})."
        )
        if now.stretches > 1:
            why += f" With the {now.stretches - 1} before it that is more than chance: look at each metering unit."
    do = {"little": _RUN_DRY, "much": _LEAK, "look": _LOOK}.get(state, "")
    sure = None if state in ("few", "usual") else now.sure
    return {
        "state": state,
        "sure": sure,
        "odds": None if sure is None else _odds(sure),
        "why": why,
        "do": do,
        "cautions": ["lock_out", "rotating_spindle"] if do else [],
    }


def _odds(sure: float) -> str:
    """How sure, in words a person can weigh."""
    chance = max(1 - sure, 1e-6)
    return f"by chance less than once in {round(1 / chance):,}".replace(",", " ")


def amount(value: float | None) -> str:
    """A volume to three figures or so."""
    return "" if value is None else f"{value:.3g}"


def _say_use(fluid: dict[str, Any], past: FluidPast, use: Use | None, count: int) -> str:
    if past.meter is None:
        return "This machine has no meter by which use could be told."
    if not past.totals:
        return f"Its meter ({past.meter['name'].lower()}) has not moved: log batches or read the counter."
    if use is None:
        need = lubrication.FEWEST
        return f"{count} of {need} fills or level readings in a row that are needed to know the usual use."
    per = past.meter["unit"]
    return (
        f"{amount(use.rate)} {fluid['unit']} per {per} ({amount(use.low)} to {amount(use.high)}, 95 %),"
        f" from {use.count} stretches between fills."
    )


def _since(tank: Tank | None, now: Verdict | None) -> dict[str, Any] | None:
    if tank is None or now is None:
        return None
    return {
        "at": instant_text(tank.at),
        "level": tidy(tank.level),
        "hours": tidy(now.hours),
        "used": now.used,
        "expected": now.expected,
        "low": now.low,
        "high": now.high,
    }


def _left(
    fluid: dict[str, Any], past: FluidPast, use: Use | None, tank: Tank | None, now_ms: int
) -> dict[str, Any] | None:
    """What is left in the tank and for how many days, at the pace of the last four weeks."""
    if use is None or tank is None:
        return None
    try:
        left = lubrication.left_in_tank(use.to_dict(), tank.level, past.hours - tank.hours)
    except OilError:
        return None
    a_day = (past.hours - past.hours_at(now_ms - PACE_DAYS * DAY_MS)) / PACE_DAYS
    days = {
        name.replace("hours", "days"): tidy(value / a_day, 1) if a_day > 0 and value is not None else None
        for name, value in left.items()
        if name.startswith("hours")
    }
    said = "Nothing ran in the last four weeks: no days can be given."
    if days["days"] is not None:
        spread = "" if days["days_most"] is None else f" ({days['days_least']} to {days['days_most']})"
        said = (
            f"About {amount(left['left'])} {fluid['unit']} left, {days['days']} days{spread} at the last weeks' pace."
        )
    return left | days | {"say": said}


def _row(one: Stretch, verdict: Verdict) -> dict[str, Any]:
    return {
        "from": instant_text(one.from_at),
        "to": instant_text(one.to_at),
        "hours": tidy(one.hours),
        "used": tidy(one.used),
        "expected": verdict.expected,
        "low": verdict.low,
        "high": verdict.high,
        "state": verdict.state,
        "sure": verdict.sure,
    }


def _grade(fluid: dict[str, Any]) -> dict[str, Any] | None:
    if not fluid.get("grade"):
        return None
    low, high = lubrication.viscosity(fluid["grade"])
    return {"vg": fluid["grade"], "low": low, "high": high, "unit": "mm2/s at 40 °C", "source": "ISO 3448"}
