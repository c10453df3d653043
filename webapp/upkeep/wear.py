"""Wearing parts of a machine: lives, curve, age of least cost, groups, trend, spares and break-in, by part."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from webapp.core.instants import instant_text
from webapp.core.numbers import say, tidy
from webapp.core.replacement import least_cost, least_cost_range
from webapp.core.trend import trend
from webapp.core.wear import Life, Listed, Study, groups, how_ended, study
from webapp.core.weibull import Fit, Range, follows, gap, kaplan_meier
from webapp.records.models import State
from webapp.records.state import Doc, empty_doc
from webapp.setup import definitions
from webapp.upkeep.lives import (
    DAY_MS,
    MOST_LIVES,
    Batch,
    Measure,
    Row,
    batches_since,
    life_of,
    material_of,
    measure_of,
    rows_of,
    running_row,
)
from webapp.upkeep.spares import LOOK_BACK_DAYS, Drawer, open_drawer, spare

LEVEL = 0.9
"""Confidence of every interval, two-sided (common practice, no source)."""
METHOD = "profile likelihood"
# A trend is asked of the newest lives: what happened before them is past mending.
_TREND_LIVES = 30
_FEW_FOR_RANGES = 10
_CURVE_POINTS = 40
_CURVE_END = 0.98
_SHARES = (0.1, 0.5, 0.9)
# Where along the curve its range is worked out; between them the phone draws straight lines.
_BAND_SHARES = (0.02, 0.05, 0.1, 0.2, 0.35, 0.5, 0.65, 0.8, 0.9, 0.95)


@dataclass(frozen=True)
class Shared:
    """What the parts of every machine draw on: the drawer, tasks that a change arms, a year's batches by machine."""

    drawer: Drawer
    tasks: list[Row]
    batches: dict[str, list[Batch]]
    begin_ms: int


def share(session: Session, now_ms: int) -> Shared:
    """Read it once for all machines; the answer costs the same however old the shop is."""
    begin = now_ms - LOOK_BACK_DAYS * DAY_MS
    drawer = open_drawer(session, _doc(session, "shop"), now_ms, definitions.shop_zone(session))
    tasks = [task for task in definitions.list_all(session, "task") if not task["retired"] and _after(task)]
    return Shared(drawer, tasks, batches_since(session, begin), begin)


def parts_document(
    session: Session, machine: dict[str, Any], now_ms: int, shared: Shared | None = None
) -> dict[str, Any]:
    """Part id -> what the record and the arithmetic know of it. `machine` is its definition.

    Lengths are in `unit`: the part's meter, cut minutes from the batch log ("min"), or days where no meter counts.
    Give `shared` (see `share`) when more than one machine is asked for.
    """
    if not machine["parts"]:
        return {}
    around = _Around(machine, _doc(session, f"machine:{machine['id']}"), shared or share(session, now_ms))
    return {part["id"]: _part(session, part, around) for part in machine["parts"]}


@dataclass(frozen=True)
class _Around:
    """A machine with its state and what it shares."""

    machine: Row
    doc: Doc
    shared: Shared


def _doc(session: Session, subject: str) -> Doc:
    body = session.execute(select(State.body).where(State.subject == subject)).scalar()
    doc: Doc = json.loads(body) if body else empty_doc()
    return doc


def _part(session: Session, part: Row, around: _Around) -> dict[str, Any]:
    doc, machine = around.doc, around.machine
    fitted = doc["parts"].get(part["id"])
    ended = rows_of(session, machine["id"], part["id"], doc)
    started = [running_row(fitted, doc, instant_text(around.shared.drawer.now_ms))] if fitted else []
    measure = measure_of(part, machine, [*started, *ended])
    rows = [_filled(row, part, measure, around) for row in (*started, *ended)]
    running, ended = (rows[0], rows[1:]) if fitted else (None, rows)
    lives = [life for row in rows if (life := life_of(row, measure)) is not None]
    known = study(lives, LEVEL)
    return {
        "name": part["name"],
        "kind": part["kind"],
        "by": measure.by,
        "unit": measure.unit,
        "fitted": _told(running, measure) | {"at": fitted["at"], "by": fitted["by"]} if fitted and running else None,
        "lives": [_ended(row, measure) for row in ended],
        **_with_band(_studied(known), known.fit),
        "left": _left(known.fit, running, measure),
        "replacement": _replacement(known.fit, part, running, measure),
        "trend": _trend(ended, measure),
        **{f"by_{by}": _groups(lives, by) for by in ("grade", "material", "edge")},
        "stock": spare(around.shared.drawer, part.get("item")),
        "break_in": _break_in(around, part, fitted),
        "said": [*_unmeasured(ended, fitted, measure), *known.said],
    }


def _filled(row: Row, part: Row, measure: Measure, around: _Around) -> Row:
    """A life with what nobody noted: the usual grade, and the material that the batch log says it cut mostly."""
    batches = around.shared.batches.get(around.machine["id"], [])
    material = material_of(row, batches, around.shared.begin_ms, measure, part["id"])
    return row | {"grade": row.get("grade") or part.get("grade"), "material": material}


def _told(row: Row, measure: Measure) -> dict[str, Any]:
    """How long a life is or has been, and what is known of it."""
    life = life_of(row, measure)
    noted = {key: row[key] for key in ("grade", "material", "edge", "tool", "stick_out") if row.get(key)}
    return {"lived": tidy(life.lived, 4) if life else None, **noted}


def _ended(row: Row, measure: Measure) -> dict[str, Any]:
    told = {"from": row["from"], "to": row["to"], "reason": row["reason"], "ended": how_ended(row["reason"])}
    return told | _told(row, measure)


def _studied(known: Study) -> dict[str, Any]:
    return {"listed": _listed(known.listed), "fit": _fit(known.fit) if known.fit else None}


def _with_band(studied: dict[str, Any], fitted: Fit | None) -> dict[str, Any]:
    """The same with the range of the whole curve: for shares of the parts, between which ages so many survive."""
    if fitted is not None:
        ranges = [(share, fitted.life_range(share, LEVEL)) for share in _BAND_SHARES]
        rows = [{"surviving": tidy(1 - share, 2), "low": _tidy(at.low), "high": _tidy(at.high)} for share, at in ranges]
        studied["fit"]["band"] = rows
    return studied


def _listed(listed: Listed) -> dict[str, Any]:
    lengths = {
        name: _tidy(value)
        for name, value in (
            ("use", listed.use),
            ("shortest", listed.shortest),
            ("median", listed.median),
            ("longest", listed.longest),
            ("mean", listed.mean),
        )
    }
    counts = {"ended": listed.ended, "failed": listed.failed, "early": listed.early}
    return counts | lengths | {"mean_range": _range(listed.mean_range), "level": LEVEL}


def _fit(fitted: Fit) -> dict[str, Any]:
    """The curve with its intervals, points to draw it by, and the lives' own steps beside it."""
    end = max(fitted.life(_CURVE_END), *fitted.failed, *fitted.censored)
    ages = [end * step / _CURVE_POINTS for step in range(_CURVE_POINTS + 1)]
    shape = fitted.shape_range(LEVEL)
    return {
        "shape": tidy(fitted.shape, 4),
        "shape_range": _range(shape),
        "scale": tidy(fitted.scale, 4),
        "scale_range": _range(fitted.scale_range(LEVEL)),
        "b10": tidy(fitted.life(0.1), 4),
        "b10_range": _range(fitted.life_range(0.1, LEVEL)),
        "median": tidy(fitted.life(0.5), 4),
        "median_range": _range(fitted.life_range(0.5, LEVEL)),
        "mean": tidy(fitted.mean, 4),
        "level": LEVEL,
        "method": METHOD,
        "sure": _sure(len(fitted.failed) + len(fitted.censored)),
        "failed": len(fitted.failed),
        "censored": len(fitted.censored),
        "follows": follows(fitted),
        "gap": tidy(gap(fitted), 3),
        "curve": [[tidy(age, 4), tidy(fitted.surviving(age), 4)] for age in ages],
        "steps": [[tidy(age, 4), tidy(share, 4)] for age, share in kaplan_meier(fitted.failed, fitted.censored)],
        "say": _wear_said(fitted, shape),
    }


def _sure(lives: int) -> str:
    """What the intervals are worth: simulated, a 90 % one holds 83 % of the time with 6 lives, 87 % with 10."""
    often = "rather five times in six than nine in ten" if lives < _FEW_FOR_RANGES else "about nine times in ten"
    return f"The ranges are by {METHOD} and hold {often}, if parts and work stay as they were."


def _wear_said(fitted: Fit, shape: Range) -> str:
    """What the shape says, and whether the lives are enough to say it."""
    if shape.low is not None and shape.low > 1:
        told = "They wear out: the longer one has run, the sooner it goes."
    elif shape.high is not None and shape.high < 1:
        told = "They go early or last: look for what kills new ones."
    else:
        lean = "wearing out" if fitted.shape > 1 else "early failures"
        told = f"The lives lean to {lean}, but are too few to tell it from chance."
    if follows(fitted) == "poorly":
        told += " The lives do not follow the curve: two causes may be mixed, so trust the list first."
    return told


def _left(fitted: Fit | None, running: Row | None, measure: Measure) -> dict[str, Any] | None:
    """How much longer the part that runs now lasts, by the curve: at 10, 50 and 90 %."""
    life = life_of(running, measure) if running else None
    if fitted is None or life is None:
        return None
    return {"shares": list(_SHARES), "left": [tidy(fitted.left(life.lived, share), 4) for share in _SHARES]}


def _replacement(fitted: Fit | None, part: Row, running: Row | None, measure: Measure) -> dict[str, Any] | None:
    """The age of least cost, how far it may move, and what that means for the part that runs now."""
    planned, unplanned = part.get("planned_cost"), part.get("unplanned_cost")
    if fitted is None or not planned or not unplanned:
        mend = "Give the part's planned and unplanned cost to see at what age changing it is cheapest."
        return {"age": None, "say": mend} if fitted is not None else None
    best = least_cost(fitted, planned, unplanned)
    told = {
        "planned_cost": planned,
        "unplanned_cost": unplanned,
        "age": _tidy(best.age),
        "age_range": _range(least_cost_range(fitted, planned, unplanned, LEVEL)),
        "level": LEVEL,
        "cost_rate": tidy(best.rate, 6),
        "run_cost_rate": tidy(best.run_rate, 6),
        "saving": tidy(best.saving, 4),
        "unplanned_share": tidy(best.unplanned_share, 4),
    }
    life = life_of(running, measure) if running else None
    to_go = best.age - life.lived if best.age is not None and life is not None else None
    return told | {"to_go": _tidy(to_go), "say": _replace_said(best.age, best.saving, best.why, measure.unit, to_go)}


def _replace_said(age: float | None, saving: float, why: str, unit: str, to_go: float | None) -> str:
    if age is None:
        return f"Run it until it is worn or broken. {why}"
    told = f"Cheapest changed at {_figure(age)} {unit}: saves {saving:.0%} against running to the end. {why}"
    if to_go is None:
        return told
    return f"{told} This one has {_figure(to_go)} {unit} to go." if to_go > 0 else f"{told} This one has passed it."


def _figure(value: float) -> str:
    """Three figures are more than the lives can tell."""
    return say(float(f"{value:.3g}"))


def _trend(rows: list[Row], measure: Measure) -> dict[str, Any] | None:
    """Whether the lives that ended worn or broken grow shorter; early changes would speak of habits instead."""
    failed = [row for row in rows if how_ended(row["reason"]) == "failed"]
    lengths = [lived for row in failed if (lived := measure.lived(row)) is not None]
    found = trend(lengths[:_TREND_LIVES][::-1])
    if found is None:
        return None
    words = {
        "shorter": "Lives grow shorter: look at set-up, coolant, speed or the maker's grade.",
        "longer": "Lives grow longer.",
        "none seen": "No trend seen in the lives.",
    }
    told = {"reversals": found.reversals, "pairs": found.pairs, "chance": tidy(found.chance, 4), "word": found.word}
    return told | {"say": words[found.word]}


def _groups(lives: list[Life], by: Any) -> dict[str, Any]:
    """Each maker's grade, material or edge by itself, where two at least are noted."""
    found = groups(lives, by, LEVEL)
    return {key: _studied(one) | {"said": list(one.said)} for key, one in found.items()}


def _after(task: dict[str, Any]) -> list[dict[str, Any]]:
    """The rules of a task that a part's change arms by a meter."""
    rules = task["rule"].get("first_of", [task["rule"]])
    return [rule for rule in rules if rule.get("after") == "part.changed" and rule.get("meter") and rule.get("at")]


def _break_in(around: _Around, part: Row, fitted: Row | None) -> list[dict[str, Any]]:
    """Where each task that waits for a new part's first use stands: used since the change, and the mark ahead."""
    if fitted is None:
        return []
    return [
        _standing(task, rule, fitted, around.doc, meter)
        for task in around.shared.tasks
        for rule in _after(task)
        for meter in around.machine["meters"]
        if task["machine"] == around.machine["id"] and rule["part"] == part["kind"] and rule["meter"] == meter["kind"]
        if rule.get("only", part["id"]) == part["id"]
    ]


def _standing(task: Row, rule: Row, fitted: Row, doc: Doc, meter: Row) -> dict[str, Any]:
    total = doc["meters"].get(meter["id"], {"total": 0})["total"]
    since = max(total - fitted["meters"].get(meter["id"], 0), 0)
    done = _last_done(task, doc)
    ahead = next((mark for mark in rule["at"] if mark > since), None)
    over = done > fitted["at"] and since >= rule["at"][0]
    state = "over" if over else "breaking in" if ahead is not None else "to be ended"
    said = {
        "breaking in": f"{say(since)} of {say(ahead or 0)} {meter['unit']} since the change.",
        "to be ended": f"{say(since)} {meter['unit']} since the change: {task['name'][0].lower()}{task['name'][1:]}.",
        "over": f"Done, {say(since)} {meter['unit']} since the change.",
    }
    told = {"task": task["id"], "name": task["name"], "meter": meter["kind"], "unit": meter["unit"], "at": rule["at"]}
    return told | {"since": tidy(since, 4), "next": ahead, "state": state, "source": task["source"], "say": said[state]}


def _last_done(task: Row, doc: Doc) -> str:
    """When the task, or its checklist's round, was last done; empty before the first time."""
    rows = (doc["tasks"].get(task["id"]), doc["rounds"].get(task["checklist"] or ""))
    return max((row["at"] for row in rows if row and row["at"]), default="")


def _unmeasured(rows: list[Row], fitted: Row | None, measure: Measure) -> list[str]:
    """What the list leaves out, and what to note so that it need not."""
    said = []
    if fitted is None:
        said.append("No change of it is in the record. Log one when it is fitted, and its life counts from there.")
    blind = sum(measure.lived(row) is None for row in rows)
    if blind:
        what = "no batch named the cutter" if measure.by == "minutes" else "the meter was not there yet"
        lives = "1 life has" if blind == 1 else f"{blind} lives have"
        said.append(f"{lives} no length, for {what}; left out.")
    if len(rows) == MOST_LIVES:
        said.append(f"Only the newest {MOST_LIVES} lives are counted.")
    return said


def _range(found: Range) -> list[float | None]:
    return [_tidy(found.low), _tidy(found.high)]


def _tidy(value: float | None) -> float | None:
    return None if value is None else tidy(value, 4)
