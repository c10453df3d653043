"""The exhaust of a machine: what its gauges show beside commissioning, and how its filter loads.

Readings come from rounds, from checks of the air and from single readings alike. A filter's story begins with its last
change; cleaning it sets the gauge back without making the filter new.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass, field
from datetime import date, timedelta
from statistics import median
from typing import Any

from sqlalchemy.orm import Session

from webapp.core import filters
from webapp.core.dates import say_date
from webapp.core.instants import instant_text, parse_instant, shop_date
from webapp.core.numbers import say, tidy
from webapp.core.problems import Problem
from webapp.records.kinds.hazards import QUANTITIES, air_quantity
from webapp.records.state import Effective
from webapp.upkeep.recent import entries
from webapp.upkeep.shop import Shop

Doc = dict[str, Any]
Points = list[tuple[int, float]]

KINDS = ("round.done", "reading.taken", "air.checked", "part.changed", "task.done")
DAY_MS = 86_400_000
WINDOW_DAYS = 52 * 7
TREND_DAYS = 60
"""Days of readings that a filter's line goes through (own choice): older ones tell of other work."""
CLEAN_READINGS = 3
"""The first readings of a new filter whose median is taken as its clean drop, where none was logged as such."""
LISTED = 60
LEAST = 1e-4
"""A commissioning figure nearer to nought than this is none to compare with."""
DROP = QUANTITIES["filter drop"]
STATIC = QUANTITIES["static pressure"]
_OF_AIR = {quantity: check for check, quantity in QUANTITIES.items()}
# To Pa, m/s and m3/s: the inch of water at 4 C is 249.0889 Pa (NIST SP 811, B.8), foot and hour by definition.
FACTORS = {
    "Pa": ("pressure", 1.0),
    "in H2O": ("pressure", 249.0889),
    "m/s": ("speed", 1.0),
    "ft/min": ("speed", 0.00508),
    "m3/s": ("flow", 1.0),
    "m3/h": ("flow", 1 / 3600),
    "L/s": ("flow", 0.001),
    "cfm": ("flow", 0.028316846592 / 60),
}


@dataclass
class Story:
    """What happened to a machine's air, oldest first: (ms, value, unit) by quantity; when its filters were new, and
    when they were cleaned."""

    shown: dict[str, list[tuple[int, float, str]]] = field(default_factory=dict)
    renewed: list[int] = field(default_factory=list)
    cleaned: list[int] = field(default_factory=list)


def exhaust(session: Session, shop: Shop, machine: Doc, checks: dict[str, Doc]) -> Doc:
    """A machine's exhaust; {} where none was ever read. `checks`: the machine's checks by quantity."""
    doc = shop.doc(machine["id"])
    read = [quantity for quantity in doc["readings"] if _base(quantity) in _OF_AIR]
    made: Doc = {}
    if read:
        story = tell(machine, _cleaning_tasks(shop, machine["id"]), _entries(session, shop, machine["id"]))
        made = {
            "gauges": {quantity: _gauge(quantity, doc, checks, story, shop) for quantity in sorted(read)},
            "filters": {
                quantity: _filter(quantity, doc, checks, story, shop, machine)
                for quantity in sorted(read)
                if _base(quantity) == DROP
            },
        }
    if doc.get("purge"):
        purge = doc["purge"]
        made["purge"] = purge | {"whole": purge["seconds"] >= purge["needed"]}
    return made


def tell(machine: Doc, cleaning: set[str], happened: Iterable[tuple[int, Effective]]) -> Story:
    """The story from a machine's entries of `KINDS`, as they count; `cleaning`: the tasks that clean its filter."""
    parts = {part["id"] for part in machine["parts"] if part["kind"] == "filter"}
    story = Story()
    for ms, entry in happened:
        body = entry.body
        if entry.kind == "part.changed" and body["part"] in parts:
            story.renewed.append(ms)
        elif entry.kind == "task.done" and body["task"] in cleaning:
            story.cleaned.append(ms)
        for quantity, value, unit in _values(entry):
            if _base(quantity) in _OF_AIR:
                story.shown.setdefault(quantity, []).append((ms, value, unit))
    return story


def _values(entry: Effective) -> list[tuple[str, float, str]]:
    body = entry.body
    if entry.kind == "air.checked":
        return [(air_quantity(body), body["value"], body["unit"])]
    if entry.kind == "reading.taken":
        return [(body["quantity"], body["value"], body["unit"])]
    if entry.kind != "round.done":
        return []
    return [
        (one["quantity"], one["value"], one.get("unit") or "")
        for one in body["checks"]
        if one.get("quantity") and one.get("value") is not None and one["answer"] != "n/a"
    ]


def _entries(session: Session, shop: Shop, machine: str) -> Iterable[tuple[int, Effective]]:
    found = entries(session, KINDS, shop.now_ms - WINDOW_DAYS * DAY_MS, machine)
    return ((ms, entry) for ms, entry in found if ms <= shop.now_ms)


def _cleaning_tasks(shop: Shop, machine: str) -> set[str]:
    """Tasks that fall due by the filter's drop: whoever did one cleaned or changed it."""
    return {task["id"] for task in shop.tasks if task["machine"] == machine and _by_drop(task["rule"])}


def _by_drop(rule: Doc) -> bool:
    if "first_of" in rule:
        return any(_by_drop(one) for one in rule["first_of"])
    return _base(str(rule.get("when", {}).get("reading", ""))) == DROP


def _base(quantity: str) -> str:
    """A quantity without its place."""
    return quantity.partition("/")[0]


def convert(value: float, unit: str, to: str) -> float | None:
    """A reading in another unit of the same kind; None when there is no way between them."""
    if unit == to:
        return value
    one, other = FACTORS.get(unit), FACTORS.get(to)
    if one is None or other is None or one[0] != other[0]:
        return None
    return tidy(value * one[1] / other[1], 4)


def _in_unit(rows: list[tuple[int, float, str]], to: str) -> Points:
    found = ((ms, convert(value, unit, to)) for ms, value, unit in rows)
    return [(ms, value) for ms, value in found if value is not None]


def _gauge(quantity: str, doc: Doc, checks: dict[str, Doc], story: Story, shop: Shop) -> Doc:
    """The newest reading with its band, beside what was found at commissioning, and the series for a chart."""
    base, _, place = quantity.partition("/")
    newest = doc["readings"][quantity][0]
    value, unit = newest["value"], newest["unit"] or ""
    check = checks.get(quantity) or checks.get(base) or {}
    made: Doc = {"check": _OF_AIR[base], "place": place or None, "value": value, "unit": unit, "at": newest["at"]}
    made |= {"band": check.get("band") if check.get("unit") == unit else None, "text": check.get("text")}
    made["series"] = [[ms, one] for ms, one in _in_unit(story.shown.get(quantity, []), unit)][-LISTED:]
    then = doc.get("commissioned", {}).get(quantity)
    if base == DROP:  # a filter's drop is judged by how it loads, not by its day one
        return made | {"commissioned": then, "change": None, "static": None, "say": None}
    return made | _beside(base == STATIC, value, unit, then, shop)


def _beside(static: bool, value: float, unit: str, then: Doc | None, shop: Shop) -> Doc:
    """How far a reading lies from the commissioning figure: {commissioned, change (%), static, say}."""
    if then is None:
        said = "No commissioning figure yet: measure it with the exhaust as it should be, and log it as such."
        return {"commissioned": None, "change": None, "static": None, "say": said}
    first = convert(then["value"], then["unit"], unit)
    made: Doc = {"commissioned": then | {"in_unit": first}, "change": None, "static": None}
    if first is None or abs(first) < LEAST:
        return made | {"say": f"Read in {unit or 'no unit'}, commissioned as {say(then['value'])} {then['unit']}."}
    change = tidy((abs(value) / abs(first) - 1) * 100, 1)
    day = say_date(shop_date(parse_instant(then["at"]), shop.zone))
    said = f"{say(value)} {unit} beside {say(first)} at commissioning on {day}: {change:+g} %."
    if static:
        try:
            # The sign of a suction depends on how the gauge is joined; only its amount is compared.
            found = filters.static_pressure(abs(value), abs(first))
            made["static"], said = asdict(found), f"{found.why} {found.todo}"
        except Problem as problem:
            said = str(problem)
    return made | {"change": change, "say": said}


def _filter(quantity: str, doc: Doc, checks: dict[str, Doc], story: Story, shop: Shop, machine: Doc) -> Doc:
    """How loaded a filter is, and when it is to be changed as it goes."""
    unit = doc["readings"][quantity][0]["unit"] or ""
    points = _in_unit(story.shown.get(quantity, []), unit)
    changed = _changed(doc, story, machine)
    since = [point for point in points if changed is None or point[0] > changed]
    reset = max([changed or 0, *story.cleaned])
    lately = [point for point in since if point[0] > max(reset, shop.now_ms - TREND_DAYS * DAY_MS)]
    check = checks.get(quantity) or checks.get(DROP) or {}
    end = _change_at(check, unit)
    clean = _clean(quantity, doc, since, changed, unit)
    made: Doc = {
        "unit": unit, "changed_at": None if changed is None else instant_text(changed),
        "cleaned": sum(ms > (changed or 0) for ms in story.cleaned),
        "clean": clean, "change_at": end, "readings": len(since), "drop": None, "trend": None,
    }  # fmt: skip
    if not since:
        return made | {"say": "No reading since the filter was changed: read its gauge."}
    if clean is None or end is None:
        return made | {"say": _unknown(clean, end)}
    try:
        drop = filters.filter_drop(since[-1][1], clean, end, _before(since, reset))
        made |= {"drop": asdict(drop), "trend": _trend(lately, end, unit, shop)}
    except Problem as problem:
        return made | {"say": str(problem)}
    return made | {"say": f"{drop.why} {drop.todo} {made['trend']['say']}"}


def _changed(doc: Doc, story: Story, machine: Doc) -> int | None:
    """When the filter was last new: by the window's entries, or by the state where that was longer ago."""
    parts = [doc["parts"].get(part["id"], {}) for part in machine["parts"] if part["kind"] == "filter"]
    known = [*story.renewed, *(parse_instant(part["at"]) for part in parts if part.get("at"))]
    return max(known, default=None)


def _clean(quantity: str, doc: Doc, since: Points, changed: int | None, unit: str) -> float | None:
    """The clean filter's drop: logged as commissioning since its change, or shown by its first readings."""
    then = doc.get("commissioned", {}).get(quantity)
    if then and (changed is None or parse_instant(then["at"]) >= changed - DAY_MS):
        return convert(then["value"], then["unit"], unit)
    if changed is None or len(since) < CLEAN_READINGS:
        return None
    return tidy(median(value for _, value in since[:CLEAN_READINGS]), 4)


def _change_at(check: Doc, unit: str) -> float | None:
    band = check.get("band") or {}
    end = band.get("act_high", band.get("stop_high"))
    return None if end is None else convert(end, check.get("unit") or "", unit)


def _before(since: Points, reset: int) -> float | None:
    """The reading before the newest, unless the filter was cleaned between them."""
    return since[-2][1] if len(since) > 1 and since[-2][0] > reset else None


def _unknown(clean: float | None, end: float | None) -> str:
    if clean is None:
        return (
            f"Not known what a clean filter shows: log its gauge as commissioning, or read it {CLEAN_READINGS} times "
            "after the next change."
        )
    return "Not known at which drop to change it: set the upper limit of the check that reads the gauge."


def _trend(points: Points, end: float, unit: str, shop: Shop) -> Doc:
    found = filters.drop_trend([(ms - shop.now_ms) / DAY_MS for ms, _ in points], [value for _, value in points], end)
    dates = {
        name: (shop.today + timedelta(days=int(days))).isoformat() if days is not None else None
        for name, days in (("early", found.p10), ("likely", found.p50), ("late", found.p90))
    }
    if not found.enough or not found.side:
        said = found.why
    elif found.p50 == 0:
        said = f"The line through {found.count} readings lies above {say(end)} {unit} already."
    elif dates["likely"] is None:
        said = f"Not above {say(end)} {unit} before {say_date(date.fromisoformat(str(dates['early'])))} as it goes."
    else:
        early, likely, late = (say_date(date.fromisoformat(day)) if day else "much later" for day in dates.values())
        said = f"Reaches {say(end)} {unit} about {likely}, from {early} to {late} ({found.count} readings)."
    return found.to_dict() | dates | {"say": said}
