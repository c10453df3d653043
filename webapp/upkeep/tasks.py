"""When each task falls due: the `tasks` section. Meter rules get a range of dates, calendar rules their date."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from webapp.core.dates import say_date, say_days
from webapp.core.due import Due, judge
from webapp.core.forecast import BEYOND, Asked, chance, crossings
from webapp.core.numbers import say, tidy
from webapp.core.pace import basis_of
from webapp.core.rules import After, Each, FirstOf, Meter, Rule, When, parse
from webapp.core.usage import say_rate
from webapp.upkeep.shop import Definition, Shop
from webapp.upkeep.use import Uses

LIKELY_REACHED = 0.5


@dataclass(frozen=True)
class Range:
    """Dates by which it is 10, 50 and 90 % likely; None lies beyond the horizon. `passed`: how likely the figure
    has been reached already, on a meter that is only read now and then."""

    early: date | None
    likely: date | None
    late: date | None
    passed: float = 0.0


@dataclass(frozen=True)
class Part:
    """One meter rule of a task: what is left on which meter, and when it will have run out."""

    meter: str
    left: float
    every: float
    unit: str
    range: Range


@dataclass(frozen=True)
class Foreseen:
    """A task with its verdict, the forecasts of its meter rules, and the date of its others: `calendar`, which comes
    of a date or, when `by_condition`, of something that holds today."""

    task: Definition
    rule: Rule
    due: Due
    parts: tuple[Part, ...] = ()
    calendar: date | None = None
    by_condition: bool = False
    deferred: date | None = None
    done_today: bool = False

    @property
    def first(self) -> Part | None:
        """The meter rule that most likely comes first."""
        return min(self.parts, key=lambda part: part.range.likely or date.max, default=None)

    @property
    def range(self) -> Range:
        """The whole rule's: whichever comes first. Meters of one machine run together, so the range of the first
        of several is the first of their ranges."""
        ranges = [part.range for part in self.parts]
        if self.calendar:
            ranges.append(Range(self.calendar, self.calendar, self.calendar))
        return Range(
            min((one.early for one in ranges if one.early), default=None),
            min((one.likely for one in ranges if one.likely), default=None),
            min((one.late for one in ranges if one.late), default=None),
            max((one.passed for one in ranges), default=0.0),
        )


def foresee(shop: Shop, uses: Uses) -> list[Foreseen]:
    """Every task in use; the meter rules of all of them are forecast at once."""
    gathered = [_gather(task, shop, uses) for task in shop.tasks]
    ranges = iter(_ranges([(one.task["machine"], left) for one, lefts in gathered for left in lefts], shop, uses))
    return [replace(one, parts=tuple(Part(*left, next(ranges)) for left in lefts)) for one, lefts in gathered]


_Left = tuple[str, float, float, str]
"""Meter, what is left on it, the interval, the unit."""


def _gather(task: Definition, shop: Shop, uses: Uses) -> tuple[Foreseen, list[_Left]]:
    """A task judged, with its dates; and what its meter rules have left."""
    facts, rule = shop.facts(task), parse(task["rule"])
    lefts: list[_Left] = []
    dates: list[tuple[date, bool]] = []
    # A meter that never moved stands where the task's count began.
    still = {meter["kind"]: facts["meter_start"].get(meter["kind"], 0) for meter in shop.meters(task["machine"])}
    undeferred = facts | {"deferred_to": None, "meters": still | facts["meters"]}
    for one in rule.parts if isinstance(rule, FirstOf) else (rule,):
        verdict = judge(one, undeferred)
        meter = shop.meter(task["machine"], one.meter) if isinstance(one, (Meter, After)) and one.meter else None
        if meter and meter["id"] in uses.row and verdict.left is not None and verdict.every is not None:
            lefts.append((meter["id"], verdict.left, verdict.every, meter["unit"]))
        elif verdict.due_on:
            dates.append((verdict.due_on, isinstance(one, (When, Each))))
    day, by_condition = min(dates, default=(None, False))
    deferred = date.fromisoformat(facts["deferred_to"]) if facts["deferred_to"] else None
    made = Foreseen(
        task, rule, judge(rule, facts), (), day, by_condition, deferred, done_today=bool(facts["done_today"])
    )
    return made, lefts


def _ranges(asked: list[tuple[str | None, _Left]], shop: Shop, uses: Uses) -> list[Range]:
    """The dates for each part; for a machine out of service as if it came back today."""
    import numpy as np

    if not asked:
        return []
    today = (shop.today - uses.ahead.first).days
    back = [not shop.in_service(machine) for machine, _ in asked]
    rows = [uses.row[part[0]] for _, part in asked]
    starts = [today if out else uses.starts[row] for row, out in zip(rows, back, strict=True)]
    shares = [1.0 if out else uses.shares[row] for row, out in zip(rows, back, strict=True)]
    # Where the days since the last reading are still to be reckoned, what was counted in them is part of that.
    again = [
        0.0 if out or uses.tolds[row].counted else uses.tolds[row].since for row, out in zip(rows, back, strict=True)
    ]
    needs = [left[1] + more for (_, left), more in zip(asked, again, strict=True)]
    question = Asked(np.array(rows), np.array(needs), np.array(starts), np.array(shares))
    found = crossings(uses.pace, uses.ahead, question)
    passed = chance(uses.pace, uses.ahead, question, today - 1)

    def day(place: int) -> date | None:
        return None if place == BEYOND else max(uses.ahead.date_of(place), shop.today)

    triples = zip(found.early.tolist(), found.likely.tolist(), found.late.tolist(), passed.tolist(), strict=True)
    return [Range(day(early), day(likely), day(late), chances) for early, likely, late, chances in triples]


def document(foreseen: list[Foreseen], shop: Shop, uses: Uses, machine: str | None) -> dict[str, Any]:
    """The tasks of a machine (None: the shop's own): id -> dates, what they rest on, and a sentence."""
    return {one.task["id"]: _task(one, shop, uses) for one in foreseen if one.task["machine"] == machine}


def _task(one: Foreseen, shop: Shop, uses: Uses) -> dict[str, Any]:
    part, whole = one.first, one.range
    rests = bool(one.parts) and not shop.in_service(one.task["machine"])
    row = uses.row[part.meter] if part else None
    by_meter = part is not None and part.range.likely is not None and part.range.likely == whole.likely
    shown = _calendar_only(one) if rests else whole
    return {
        "state": one.due.state,
        "due_on": _iso(one.due.due_on),
        "earliest": _iso(shown.early),
        "likely": _iso(shown.likely),
        "latest": _iso(shown.late),
        "by": "meter" if by_meter and not rests else _by_date(one) if shown.likely else None,
        "meter": part.meter if part else None,
        "left": tidy(part.left, 3) if part else None,
        "every": tidy(part.every, 3) if part else None,
        "unit": part.unit if part else None,
        "a_week": tidy(float(uses.pace.a_week[row]), 3) if row is not None else None,
        "basis": basis_of(float(uses.pace.days[row])) if row is not None and uses.pace.a_week[row] > 0 else None,
        "days": int(uses.pace.days[row]) if row is not None else None,
        "reached": tidy(whole.passed, 3) if part and not rests else None,
        "deferred_to": _iso(one.deferred),
        "resting": rests,
        "after_return": _after_return(part, shop) if part and rests else None,
        "why": _why(one, part, shop, uses, rests),
    }


def _by_date(one: Foreseen) -> str:
    return "condition" if one.by_condition else "calendar"


def _calendar_only(one: Foreseen) -> Range:
    return Range(one.calendar, one.calendar, one.calendar)


def _after_return(part: Part, shop: Shop) -> list[int | None]:
    """Days from the return to service to the 10, 50 and 90 % dates."""
    days = (part.range.early, part.range.likely, part.range.late)
    return [(day - shop.today).days if day else None for day in days]


def _why(one: Foreseen, part: Part | None, shop: Shop, uses: Uses, rests: bool) -> str:
    if part is None or (one.by_condition and one.calendar):
        return one.due.why
    row = uses.row[part.meter]
    rate = float(uses.pace.a_week[row])
    left = f"{say(part.left)} {part.unit} left" if part.left > 0 else f"{say(-part.left)} {part.unit} over"
    said = f"{left} at about {say_rate(rate, part.unit)}{_rests_on(uses, row)}"
    if rests and rate > 0:
        return f"{said}: the clock rests while the machine is out of service{_say_return(part, shop)}."
    if part.left <= 0:
        return f"{left}: due now."
    tail = _say_range(part.range)
    if part.range.passed >= LIKELY_REACHED:
        tail = f"probably reached since the last reading ({part.range.passed:.0%}): read the counter"
    if not rate > 0:
        said, tail = left, "no use recorded yet on this meter, so it gives no date"
    if one.calendar and (part.range.likely is None or one.calendar < part.range.likely):
        tail += f"; the calendar comes first, on {say_date(one.calendar)}"
    return f"{said}: {tail}."


def _rests_on(uses: Uses, row: int) -> str:
    days = int(uses.pace.days[row])
    basis = basis_of(days)
    if basis == "declared":
        return " (by the shop's hours alone, nothing measured yet)"
    return f" ({say_days(days)} of data{', few yet' if basis == 'mixed' else ''})"


def _say_range(found: Range) -> str:
    if found.likely is None:
        return "beyond three years" if found.early is None else f"not before {say_date(found.early)}"
    late = f"{say_date(found.late)}" if found.late else "beyond three years"
    early = say_date(found.early or found.likely)
    return f"likely on {say_date(found.likely)}, eight times in ten between {early} and {late}"


def _say_return(part: Part, shop: Shop) -> str:
    early, likely, late = _after_return(part, shop)
    if likely is None:
        return ""
    until = say_days(late) if late is not None else "more than three years"
    return f"; due {say_days(likely)} after its return, between {say_days(early or 0)} and {until}"


def _iso(day: date | None) -> str | None:
    return day.isoformat() if day else None
