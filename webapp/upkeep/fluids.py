"""The fluids of a machine in one document: coolants with their desk, oils with their alarms, others with their age."""

from __future__ import annotations

import json
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from webapp.core.dates import say_days
from webapp.core.instants import parse_instant
from webapp.core.numbers import say
from webapp.records.models import State
from webapp.setup import definitions
from webapp.upkeep.fluid_coolant import coolant_document
from webapp.upkeep.fluid_oil import oil
from webapp.upkeep.fluid_past import DAY_MS, collect


def fluids_document(session: Session, machine: dict[str, Any], now_ms: int) -> dict[str, Any]:
    """Fluid id -> document of each fluid of a machine (a definition as on the wire), as of `now_ms`.

    Every document: `kind, name, capacity, unit, band, factor, target`, `charge {changed_at, days, added, say}` and
    `desk`: "coolant", "oil" or None. Volumes are in the fluid's unit, strengths in %, times RFC 3339 in UTC, dates
    the shop's. What is not known is None or `enough: False`, and `say` tells what is missing.

    coolant: `strength {at, percent, verdict, brix_to_aim_at, doubtful}`, `zero {at, shown, ok, say, do}`,
    `level {volume, low, high, at, basis: read | reckoned, full_depth, depth_unit}`, `mix` (core/mix.TopUp with
    `reach`, `strengthen`, `jug`, `from`, `say`), `series [{at, percent, doubtful}]`, `chart {limits, ewma, points,
    signals and nelson [{rule, side, says, readings, from, to}], follows, say}`, `leaving {side, limit, early, likely,
    late, slope, basis, say}`, `losses {share, low, high, lost_a_week, water_a_week, mix_a_week, intervals, say}`,
    `hardness {now_ppm, water_ppm, end_ppm, measured, since}`, `signs [{key, level: within | look | act, says, do,
    source, cautions, at}]` the worst first, `cautions [key]`, `faults [text]`: what was left out, and why.

    oil: `meter`, `use` (core/lubrication.Use, what the phone reckons with), `say`, `state`: few | usual | look |
    little | much, `sure` 0 to 1, `odds`, `why`, `do`, `cautions`, `since {at, level, hours, used, expected, low,
    high}`, `left {left, least, most, days, days_least, days_most, say}`, `stretches`, `grade`, `faults`.
    """
    if not machine["fluids"]:
        return {}
    lists = [one for one in definitions.list_all(session, "checklist") if one["machine"] == machine["id"]]
    checks = [check for one in lists if not one["retired"] for check in one["checks"]]
    by_quantity = {check["quantity"]: check for check in checks if check.get("quantity")}
    zone = definitions.shop_zone(session)
    past = collect(session, machine, {check["id"]: check.get("quantity") or "" for check in checks}, now_ms, zone)
    row = session.execute(select(State.body).where(State.subject == f"machine:{machine['id']}")).scalar()
    states = json.loads(row)["fluids"] if row else {}
    found = {}
    for fluid in machine["fluids"]:
        plain = {name: fluid.get(name) for name in ("kind", "name", "capacity", "unit", "band", "factor", "target")}
        plain["charge"] = _charge(fluid, states.get(fluid["id"]), now_ms)
        if is_mixed(fluid):
            found[fluid["id"]] = plain | {"desk": "coolant"} | coolant_document(fluid, past, by_quantity, now_ms, zone)
        elif fluid["kind"].endswith("oil"):
            name = fluid["name"].lower()
            glasses = {check["id"] for check in checks if check["answer"] == "ok" and name in check["text"].lower()}
            found[fluid["id"]] = plain | {"desk": "oil"} | oil(fluid, past, glasses, now_ms)
        else:
            found[fluid["id"]] = plain | {"desk": None}
    return found


def _charge(fluid: dict[str, Any], state: dict[str, Any] | None, now_ms: int) -> dict[str, Any]:
    """Since when the charge is in, and what has been added to it. `state`: the fold's row of the fluid."""
    changed = (state or {}).get("changed_at")
    if not state or not changed:
        said = "Not known since when this charge is in: log its next change."
        return {"changed_at": None, "days": None, "added": (state or {}).get("added", 0), "say": said}
    days = (now_ms - parse_instant(changed)) // DAY_MS
    said = f"In for {say_days(days)}, {say(state['added'])} {fluid['unit']} added since."
    return {"changed_at": changed, "days": days, "added": state["added"], "say": said}


def is_mixed(fluid: dict[str, Any]) -> bool:
    """Fluids whose strength has a band or a factor: those that are mixed with water."""
    return fluid["kind"] == "coolant" or bool(fluid.get("band") or fluid.get("factor"))
