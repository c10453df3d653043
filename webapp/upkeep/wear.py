"""Wearing parts of a machine: lives, curve, age of least cost, groups, trend, spares and break-in, by part."""

from __future__ import annotations

import json
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
from webapp.upkeep.lives import MOST_LIVES, Measure, Row, life_of, measure_of, rows_of, running_row
from webapp.upkeep.spares import Drawer, open_drawer, spare

LEVEL = 0.9
"""Confidence of every interval, two-sided (common practice, no source)."""
METHOD = "profile likelihood"
# A trend is asked of the newest lives: what happened before them is past mending.
_TREND_LIVES = 30
_CURVE_POINTS = 40
_CURVE_END = 0.98
_SHARES = (0.1, 0.5, 0.9)


def parts_document(session: Session, machine: dict[str, Any], now_ms: int) -> dict[str, Any]:
    """Part id -> what the record and the arithmetic know of it. `machine` is its definition.

    Lengths are in `unit`: the part's meter, cut minutes from the batch log ("min"), or days where no meter counts.
    """
    own, shop = (_doc(session, subject) for subject in (f"machine:{machine['id']}", "shop"))
    drawer = open_drawer(session, shop, now_ms, definitions.shop_zone(session))
    tasks = _armed(definitions.list_all(session, "task"), machine["id"])
    return {part["id"]: _part(session, machine, part, own, drawer, tasks) for part in machine["parts"]}


def _doc(session: Session, subject: str) -> Doc:
    body = session.execute(select(State.body).where(State.subject == subject)).scalar()
    doc: Doc = json.loads(body) if body else empty_doc()
    return doc


def _part(
    session: Session, machine: dict[str, Any], part: Row, doc: Doc, drawer: Drawer, tasks: list[dict[str, Any]]
) -> dict[str, Any]:
    rows = rows_of(session, machine["id"], part["id"], doc)
    fitted = doc["parts"].get(part["id"])
    running = running_row(fitted, doc, instant_text(drawer.now_ms)) if fitted else None
    everything = [running, *rows] if running else rows
    measure = measure_of(part, machine, everything)
    usual = part.get("grade")
    lives = [life for row in everything if (life := life_of(row, measure, usual)) is not None]
    known = study(lives, LEVEL)
    return {
        "name": part["name"],
        "kind": part["kind"],
        "by": measure.by,
        "unit": measure.unit,
        "fitted": _fitted(fitted, running, measure, usual),
        "lives": [_life(row, measure, usual) for row in rows],
        **_studied(known),
        "left": _left(known.fit, running, measure),
        "replacement": _replacement(known.fit, part, running, measure),
        "trend": _trend(rows, measure),
        **{f"by_{by}": _groups(lives, by) for by in ("grade", "material", "edge")},
        "stock": spare(drawer, part.get("item")),
        "break_in": _break_in(tasks, part, fitted, machine, doc),
        "said": [*_unmeasured(rows, fitted, measure), *known.said],
    }


def _fitted(fitted: Row | None, running: Row | None, measure: Measure, usual: str | None) -> dict[str, Any] | None:
    """What is fitted now, since when and how long it has run; None while no change of it is in the record."""
    if fitted is None or running is None:
        return None
    lived = life_of(running, measure, usual)
    noted = {key: fitted.get(key) for key in ("edge", "tool", "stick_out")}
    told = {"at": fitted["at"], "by": fitted["by"], "grade": fitted.get("grade") or usual, **noted}
    return told | {"lived": tidy(lived.lived, 4) if lived else None}


def _life(row: Row, measure: Measure, usual: str | None) -> dict[str, Any]:
    life = life_of(row, measure, usual)
    noted = {key: row.get(key) for key in ("material", "edge", "tool", "stick_out")}
    told = {"from": row["from"], "to": row["to"], "reason": row["reason"], "ended": how_ended(row["reason"])}
    return told | {"lived": tidy(life.lived, 4) if life else None, "grade": row.get("grade") or usual, **noted}


def _studied(known: Study) -> dict[str, Any]:
    return {"listed": _listed(known.listed), "fit": _fit(known.fit) if known.fit else None}


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
        "failed": len(fitted.failed),
        "censored": len(fitted.censored),
        "follows": follows(fitted),
        "gap": tidy(gap(fitted), 3),
        "curve": [[tidy(age, 4), tidy(fitted.surviving(age), 4)] for age in ages],
        "steps": [[tidy(age, 4), tidy(share, 4)] for age, share in kaplan_meier(fitted.failed, fitted.censored)],
        "say": _wear_said(fitted, shape),
    }


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
    life = life_of(running, measure, None) if running else None
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
    life = life_of(running, measure, None) if running else None
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


def _armed(tasks: list[dict[str, Any]], machine: str) -> list[dict[str, Any]]:
    """The machine's tasks that a part change arms by a meter."""
    return [task for task in tasks if task["machine"] == machine and not task["retired"] and list(_after(task))]


def _after(task: dict[str, Any]) -> list[dict[str, Any]]:
    rules = task["rule"].get("first_of", [task["rule"]])
    return [rule for rule in rules if rule.get("after") == "part.changed" and rule.get("meter") and rule.get("at")]


def _break_in(
    tasks: list[dict[str, Any]], part: Row, fitted: Row | None, machine: dict[str, Any], doc: Doc
) -> list[dict[str, Any]]:
    """Where each task that waits for a new part's first use stands: used since the change, and the mark ahead."""
    if fitted is None:
        return []
    return [
        _standing(task, rule, fitted, doc, meter)
        for task in tasks
        for rule in _after(task)
        for meter in machine["meters"]
        if rule["part"] == part["kind"] and rule["meter"] == meter["kind"]
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
