"""The coolant desk: one charge of coolant as the record shows it, and what to do about it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

from webapp.core import coolant, coolant_signs, lubrication, mix
from webapp.core.bands import verdict
from webapp.core.instants import instant_text
from webapp.core.lubrication import Event
from webapp.core.numbers import is_number, say, tidy
from webapp.core.problems import MixError, Problem
from webapp.core.units import celsius, convert
from webapp.upkeep import fluid_trend
from webapp.upkeep.fluid_losses import hardness_document, intervals, losses_document, to_the_mark
from webapp.upkeep.fluid_oil import in_unit, level_in_unit
from webapp.upkeep.fluid_past import DAY_MS, FluidPast, Shown

STEPS = {"gal": 0.05, "L": 0.1}
"""The smallest mark of a usual jug, in the fluid's unit (common practice, no source)."""
PH_BAND = {"act_low": 8.5, "act_high": 9.5}
"""Where a machine's lists give none (common practice, no source)."""
PREMIX_MOST = 25.0
"""Above this make-up strength, in %, the water at hand does not take the concentrate up (common practice); never
straight into the sump: lubricorinc.com/tips."""
SIGN_DAYS = 60
COPPER_DAYS = 60
LISTED = 120
FAULTS = 12
_COPPER_WORDS = ("brass", "bronze", "copper")


@dataclass
class Charge:
    """A coolant with its past, read once: trusted strengths and levels as (ms, value), what was doubtful or wrong."""

    fluid: dict[str, Any]
    past: FluidPast
    checks: dict[str, dict[str, Any]]
    now_ms: int
    zone: str
    strengths: list[tuple[int, float]] = field(default_factory=list)
    doubtful: list[tuple[int, float]] = field(default_factory=list)
    levels: list[tuple[int, float]] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)

    @property
    def prefix(self) -> str:
        """What its quantities begin with: "coolant" of "coolant.strength"."""
        return str(self.fluid.get("quantity") or f"{self.fluid['kind']}.strength").rsplit(".", 1)[0]

    @property
    def target(self) -> float | None:
        """The strength aimed at, in %."""
        aim = self.fluid.get("target") or (self.fluid.get("band") or {}).get("target")
        return float(aim) if aim else None

    @property
    def changed_at(self) -> int | None:
        """When the charge was changed, within the window."""
        return max((row.at for row in self.past.poured.get(self.fluid["id"], ()) if row.fresh), default=None)

    @property
    def touched_at(self) -> int | None:
        """When anything was filled in or changed last."""
        return max((row.at for row in self.past.poured.get(self.fluid["id"], ())), default=None)


def coolant_document(
    fluid: dict[str, Any],
    past: FluidPast,
    checks: dict[str, dict[str, Any]],
    now_ms: int,
    zone: str,
) -> dict[str, Any]:
    """The document of one coolant. `checks`: the machine's checks by quantity."""
    charge = Charge(fluid, past, checks, now_ms, zone)
    _read(charge)
    found = intervals(fluid, past, charge.strengths, charge.levels)
    lost = losses_document(fluid, found)
    level = _level(charge)
    own = [point for point in charge.strengths if charge.changed_at is None or point[0] >= charge.changed_at]
    percent = charge.strengths[-1][1] if charge.strengths else None
    hardness = hardness_document(fluid, past, _hardness(charge), lost.get("share"), percent)
    signs = _signs(charge, hardness)
    return {
        "target": charge.target,
        "strength": _strength(charge),
        "zero": _zero(charge),
        "level": level,
        "mix": _mix(charge, level),
        "series": _series(charge),
        "acidity": _acidity(charge),
        "chart": fluid_trend.chart(own),
        "leaving": fluid_trend.leaving(own, charge.touched_at, fluid.get("band") or {}, now_ms, zone),
        "losses": lost,
        "hardness": hardness,
        "signs": signs,
        "cautions": sorted({key for sign in signs for key in sign["cautions"]} | {"concentrate", "coolant_skin"}),
        "faults": charge.faults[-FAULTS:],
    }


def _read(charge: Charge) -> None:
    """Sort the strengths into trusted and doubtful by the zero checks before them, and the depths into volumes."""
    past, prefix = charge.past, charge.prefix
    zeros = past.shown.get(f"{prefix}.zero", [])
    name = charge.fluid.get("quantity") or f"{prefix}.strength"
    for row in past.shown.get(name, ()):
        percent = _percent(charge, row)
        if percent is None:
            continue
        before = [zero.value for zero in zeros if zero.at <= row.at and zero.value is not None]
        good = not before or coolant.zero_check(before[-1])
        (charge.strengths if good else charge.doubtful).append((row.at, percent))
    for row in past.shown.get(f"{prefix}.depth", ()):
        _depth(charge, row)
    for row in past.shown.get(f"{prefix}.level", ()):
        volume = level_in_unit(row, charge.fluid, charge.faults)
        if volume is not None:
            charge.levels.append((row.at, float(volume)))
    charge.levels.sort()


def _percent(charge: Charge, row: Shown) -> float | None:
    """A strength in %, from % or from a bare refractometer reading; None, with a fault, for what cannot be."""
    if row.value is None:
        return None
    try:
        if row.unit.lower() in ("brix", "°bx", "bx"):
            return mix.strength(row.value, charge.fluid.get("factor") or 1)
        return mix.strength(row.value, 1)
    except MixError as wrong:
        charge.faults.append(f"Strength of {row.day} left out: {wrong.problem} {wrong.mend}")
        return None


def _depth(charge: Charge, row: Shown) -> None:
    sump = charge.fluid.get("sump")
    if row.value is None:
        return
    if not sump:
        charge.faults.append("Depth is read, but the sump's shape is not set: give its length and width in set-up.")
        return
    try:
        depth = convert(row.value, row.unit, sump["unit"])
        volume = coolant.volume_at(sump, depth, charge.fluid["capacity"], charge.fluid["unit"])
        charge.levels.append((row.at, float(volume)))
    except MixError as wrong:
        charge.faults.append(f"Depth of {row.day} left out: {wrong.problem} {wrong.mend}")


def _hardness(charge: Charge) -> Shown | None:
    """The newest hardness that can be."""
    row = charge.past.latest(f"{charge.prefix}.hardness")
    if row is None or row.value is None:
        return None
    try:
        if convert(row.value, row.unit, "ppm") >= 0:
            return row
        charge.faults.append(f"Hardness of {row.day} left out: it is below 0. Test it again.")
    except MixError as wrong:
        charge.faults.append(f"Hardness of {row.day} left out: {wrong.problem} {wrong.mend}")
    return None


def _strength(charge: Charge) -> dict[str, Any] | None:
    newest = max(charge.strengths[-1:] + charge.doubtful[-1:], default=None)
    if newest is None:
        return None
    at, percent = newest
    band, factor = charge.fluid.get("band") or {}, charge.fluid.get("factor") or 1
    aim = charge.target
    return {
        "at": instant_text(at),
        "percent": percent,
        "verdict": verdict(percent, band) if band else None,
        "brix_to_aim_at": mix.reading_for(aim, factor) if aim else None,
        "doubtful": newest in charge.doubtful,
    }


def _zero(charge: Charge) -> dict[str, Any] | None:
    """The instrument on water, as it was tried last."""
    row = charge.past.latest(f"{charge.prefix}.zero")
    if row is None or row.value is None:
        return None
    good = coolant.zero_check(row.value)
    unit = f" {row.unit}" if row.unit else ""
    said = f"On water it showed {say(row.value)}{unit} on {row.day}."
    do = "" if good else "Set it to 0 on water; the strengths read since are left out until then."
    return {"at": instant_text(row.at), "shown": row.value, "ok": good, "say": said, "do": do}


def _level(charge: Charge) -> dict[str, Any] | None:
    """What stands in the sump: read since the last fill, or reckoned from the fill and the usual loss."""
    events = _events(charge)
    known, tank, faults = lubrication.stretches(events, charge.fluid["capacity"])
    charge.faults += faults
    if tank is None:
        return None
    _, use = lubrication.judge(known, charge.fluid["capacity"])
    run = charge.past.hours - tank.hours
    if charge.past.meter is None and charge.now_ms - tank.at > DAY_MS:
        # Without a meter nothing says how much has gone since.
        return None
    if use is None:
        if run > 0:
            return None
        low = high = tank.level
        volume = tank.level
    else:
        left = lubrication.left_in_tank(use.to_dict(), tank.level, max(run, 0))
        volume, low, high = (float(left[name] or 0) for name in ("left", "least", "most"))
    if run <= 0:
        volume = low = high = tank.level
    sump, capacity, unit = charge.fluid.get("sump"), charge.fluid["capacity"], charge.fluid["unit"]
    return {
        "volume": tidy(volume),
        "low": tidy(low),
        "high": tidy(high),
        "at": instant_text(tank.at),
        "basis": "read" if run <= 0 and charge.levels and charge.levels[-1][0] == tank.at else "reckoned",
        "full_depth": _full_depth(sump, capacity, unit) if sump else None,
        "depth_unit": sump["unit"] if sump else None,
    }


def _full_depth(sump: dict[str, Any], capacity: float, unit: str) -> float | None:
    """How deep the full sump stands; None where its table ends below."""
    try:
        return coolant.depth_at(sump, capacity, capacity, unit)
    except MixError:
        return None


def _events(charge: Charge) -> list[Event]:
    found: list[Event] = []
    for row in charge.past.poured.get(charge.fluid["id"], ()):
        amount = in_unit(row, charge.fluid, charge.faults)
        if row.fresh:
            found.append(Event(row.at, row.hours, "renewed", amount or 0.0))
        elif amount is not None:
            found.append(Event(row.at, row.hours, "fill" if to_the_mark(row) else "part", amount))
    found += [Event(at, charge.past.hours_at(at), "level", volume) for at, volume in charge.levels]
    return sorted(found, key=lambda event: (event.at, event.hours))


def _mix(charge: Charge, level: dict[str, Any] | None) -> dict[str, Any]:
    """What to pour in now to reach the mark and the target, or why that cannot be said."""
    aim = charge.target
    if aim is None:
        return {"enough": False, "say": "No target strength is set: give the coolant's band in set-up."}
    if not charge.strengths or (charge.touched_at or 0) > charge.strengths[-1][0]:
        return {"enough": False, "say": "Read the strength first: something was filled in since it was read last."}
    if level is None:
        return {"enough": False, "say": "Read the depth first: what stands in the sump is not known."}
    percent, capacity = charge.strengths[-1][1], charge.fluid["capacity"]
    step = charge.fluid.get("jug") or STEPS[charge.fluid["unit"]]
    volume = min(level["volume"], capacity)
    try:
        made = mix.top_up(capacity, volume, percent, aim, step=step)
        reached = mix.reach(capacity, volume, percent)
        strengthen = mix.neat(volume, percent, aim) if percent < aim else 0.0
    except MixError as wrong:
        return {"enough": False, "say": f"{wrong.problem} {wrong.mend}"}
    return {
        "enough": True, "basis": level["basis"], "jug": step, "from": {"volume": volume, "percent": percent},
        **made.to_dict(), "reach": reached.to_dict(),
        "strengthen": strengthen if volume + strengthen <= capacity else None,
        "say": _say_mix(charge, made, reached, level),
    }  # fmt: skip


def _say_mix(charge: Charge, made: mix.TopUp, reached: mix.Reach, level: dict[str, Any]) -> str:
    unit, percent = charge.fluid["unit"], charge.strengths[-1][1]
    about = "about " if level["basis"] == "reckoned" else ""
    said = f"With {about}{say(level['volume'])} {unit} at {say(percent)} % in the sump: "
    if made.drain:
        reach = f"filling alone gives {say(reached.low)} to {say(reached.high)} %" if reached.room else "it is full"
        said += f"take {say(made.drain)} {unit} out ({reach}), then "
    if not made.concentrate and not made.water:
        return f"{said}nothing to add."
    poured = [f"{say(made.concentrate)} {unit} concentrate"] if made.concentrate else []
    poured += [f"{say(made.water)} {unit} water"] if made.water else []
    said += f"{' into '.join(poured)}. Then {say(made.volume)} {unit} at {say(made.strength)} %."
    if made.concentrate:
        said += " Concentrate goes into water, never water into concentrate."
    if made.makeup is not None and made.makeup > PREMIX_MOST:
        said += " Never neat into the sump: stir it into a bucket drawn from the sump and pour that back, pump running."
    if made.drain and percent < made.strength:
        said += f" Or wait until use has taken the sump down to {say(level['volume'] - made.exact_drain)} {unit}."
    return said


def _series(charge: Charge) -> list[dict[str, Any]]:
    rows = [(at, percent, False) for at, percent in charge.strengths]
    rows += [(at, percent, True) for at, percent in charge.doubtful]
    return [
        {"at": instant_text(at), "percent": percent, "doubtful": doubt} for at, percent, doubt in sorted(rows)[-LISTED:]
    ]


def _acidity(charge: Charge) -> dict[str, Any]:
    """The pH readings of the window, oldest first, and the band of the check that takes them."""
    band = (charge.checks.get(f"{charge.prefix}.ph") or {}).get("band") or PH_BAND
    rows = [row for row in charge.past.shown.get(f"{charge.prefix}.ph", ()) if row.value is not None]
    return {"band": band, "series": [{"at": instant_text(row.at), "value": row.value} for row in rows][-LISTED:]}


def _signs(charge: Charge, hardness: dict[str, Any] | None) -> list[dict[str, Any]]:
    """Every sign that was read in the last two months, newest of each, the worst first."""
    copper = _cuts_copper(charge)
    ph = _fresh(charge, "ph")
    found: list[dict[str, Any]] = []

    def add(row: Shown | None, make: Any) -> None:
        if row is None:
            return
        try:
            found.append(make(row).to_dict() | {"at": instant_text(row.at)})
        except Problem as wrong:
            charge.faults.append(f"{wrong.field} of {row.day} left out: {wrong.problem} {wrong.mend}")

    band = (charge.checks.get(f"{charge.prefix}.ph") or {}).get("band") or PH_BAND
    add(ph, lambda row: coolant_signs.acidity(_value(row), band, copper))
    add(_fresh(charge, "tramp_oil"), lambda row: _chosen(row, coolant_signs.tramp_oil, (2, 3, 3)))
    add(_fresh(charge, "dip_slide"), lambda row: _slide(charge, row))
    add(_fresh(charge, "temperature"), lambda row: coolant_signs.warmth(_celsius(row)))
    add(_fresh(charge, "smell"), lambda row: coolant_signs.smell(row.ok, row.choice or ("ok" if row.ok else "not ok")))
    add(_fresh(charge, "tint"), lambda row: _tint(row, ph))
    if hardness and hardness["now_ppm"] is not None:
        found.append(coolant_signs.sump_hardness(hardness["now_ppm"], hardness["measured"]).to_dict() | {"at": None})
    if hardness and hardness["water_ppm"] is not None:
        found.append(coolant_signs.make_up_water(hardness["water_ppm"]).to_dict() | {"at": None})
    return sorted(found, key=lambda sign: ("act", "look", "within").index(sign["level"]))


def _fresh(charge: Charge, name: str) -> Shown | None:
    row = charge.past.latest(f"{charge.prefix}.{name}")
    since = max(charge.now_ms - SIGN_DAYS * DAY_MS, charge.changed_at or 0)
    return row if row is not None and row.at >= since else None


def _value(row: Shown) -> float:
    """The reading's value; a look that was only answered has none."""
    return row.value if is_number(row.value) else float("nan")


def _celsius(row: Shown) -> float:
    return celsius(_value(row)) if row.unit.upper().lstrip("°") == "F" else _value(row)


def _chosen(row: Shown, judge: Any, stands_for: tuple[float, ...], rank: int | None = None) -> coolant_signs.Sign:
    """A sign from a number, or from a choice whose class a number stands for."""
    if row.choice is None:
        found: coolant_signs.Sign = judge(_value(row))
        return found
    place = rank if rank is not None else (0 if row.ok else 1)
    made: coolant_signs.Sign = judge(stands_for[min(place, len(stands_for) - 1)])
    return replace(made, says=f"{row.choice}.")


def _slide(charge: Charge, row: Shown) -> coolant_signs.Sign:
    """A dip slide by count, or by the class that was chosen from the check's list."""
    listed = (charge.checks.get(f"{charge.prefix}.dip_slide") or {}).get("choices") or []
    places = {one["text"]: place for place, one in enumerate(listed)}
    return _chosen(row, coolant_signs.dip_slide, (0, 1e5, 1e6), places.get(row.choice or ""))


def _tint(row: Shown, ph: Shown | None) -> coolant_signs.Sign:
    said = row.choice or ("ok" if row.ok else "not ok")
    stains = "stain" in said.lower()
    shown = ph.value if ph is not None and is_number(ph.value) and ph.value <= 14 else None
    return coolant_signs.copper(not row.ok and not stains, not row.ok and stains, said, shown)


def _cuts_copper(charge: Charge) -> bool:
    """Whether copper alloys (UNS C-numbers, or by name) were cut lately on this machine."""
    since = charge.now_ms - COPPER_DAYS * DAY_MS
    names = {alloy.lower() for at, alloy in charge.past.alloys if at >= since}
    uns = any(name[:1] == "c" and name[1:].isdigit() and len(name) == 6 for name in names)
    return uns or any(word in name for name in names for word in _COPPER_WORDS)
