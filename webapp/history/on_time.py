"""Tasks through a span: each as its rule judged it day by day, by the definition that held then.

A task is looked at on the evening of a day and just before each doing; between two entries that can change anything
its verdict only grows more urgent, so that one look at the end of a quiet stretch tells whether it fell late in it.
"""

from __future__ import annotations

import json
from bisect import bisect_left
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import lru_cache
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from webapp.core.due import LATE_SHARE, Due, judge
from webapp.core.punctual import Course, can_be_late
from webapp.core.recurrence import dates_for
from webapp.core.rules import After, Each, FirstOf, Meter, Rule, parse
from webapp.history.span import Span
from webapp.records.canonical import canonical
from webapp.records.state import Doc, Effective
from webapp.reminders.today import facts
from webapp.setup.models import Definition, DefinitionRevision
from webapp.upkeep.history import METER_KINDS, day_start_ms

Row = dict[str, Any]
_DAY = timedelta(days=1)
_MOVES = ("part.changed", "fluid.changed", "tag.on", "tag.off")
"""What can move a task's date without speaking of the task."""


@dataclass(frozen=True)
class Version:
    """A task as it was defined from an instant on."""

    from_ms: int
    body: Row
    rule: Rule
    retired: bool
    counts: bool
    """Whether it can be late at all."""
    each: bool
    """Whether it is a round that is asked for before each day's first use."""


def versions(session: Session, span: Span) -> dict[str, list[Version]]:
    """Every task's definitions by its id, oldest first, with the fixed dates about the span."""
    rows = select(DefinitionRevision).join(Definition, Definition.id == DefinitionRevision.id)
    query = rows.where(Definition.type == "task").order_by(DefinitionRevision.id, DefinitionRevision.revision)
    found: dict[str, list[Version]] = {}
    for row in session.execute(query).scalars():
        body = json.loads(row.body) | {"id": row.id}
        body["dates"] = _dates(canonical(body["rule"]), span.zone, span.first, span.last)
        rule = parse(body["rule"])
        counts, each = can_be_late(rule) and not row.retired, isinstance(rule, Each) and body["checklist"] is not None
        made = Version(row.ms, body, rule, row.retired, counts, each)
        found.setdefault(row.id, []).append(made)
    return found


@lru_cache(maxsize=512)
def _dates(rule: str, zone: str, first: date, last: date) -> list[str]:
    about = {day for around in (first, last) for day in dates_for(json.loads(rule), zone, around)}
    return [day.isoformat() for day in sorted(about)]


@dataclass
class Tracker:
    """One task on its way through the span."""

    versions: list[Version]
    span: Span
    machine: Row | None
    course: Course = field(default_factory=Course)
    looked: date = field(init=False)
    """The evening up to which it was looked at."""
    stirred: bool = True
    """Something happened that its next look must reckon with."""
    ran: bool = False
    """A meter may have moved since."""
    limit: date | None = None
    """The day up to which it cannot fall late by the calendar alone."""
    bounds: dict[str, float] | None = None
    """By kind of meter, the total up to which it cannot fall late by that alone; None: look whenever one moved."""
    meters: dict[str, str] = field(init=False)
    """The machine's meters by their kind; the last one when it has several, as the facts take it."""

    def __post_init__(self) -> None:
        self.looked = self.span.first - _DAY
        own = sorted((self.machine or {}).get("meters", ()), key=lambda meter: str(meter["id"]))
        self.meters = {meter["kind"]: meter["id"] for meter in own}

    @property
    def id(self) -> str:
        return str(self.versions[0].body["id"])

    def now(self, ms: int) -> Version | None:
        """The definition that held at an instant; None before the first, and once it was taken out."""
        place = bisect_left(self.versions, ms + 1, key=lambda one: one.from_ms)
        held = self.versions[place - 1] if place else None
        return held if held and held.counts else None

    def take(self, entry: Effective, ms: int, day: date, doc: Doc) -> None:
        """An entry of its subject, before it is folded into `doc`; the evenings before its day were looked at."""
        held = self.now(ms)
        if held is None:
            return
        if entry.kind in METER_KINDS:
            self.ran = True
        elif entry.kind in _MOVES:
            self.stirred = True
        elif entry.kind == "task.deferred" and entry.body["task"] == self.id:
            self.course.deferred()
            self.stirred = True
        elif _does(entry, held.body):
            self.course.done(day, late=self._judge(held, doc, ms).state == "late")
            self.stirred = True

    def evenings(self, until: date, doc: Doc) -> None:
        """Look at the evenings up to the day before one, in which nothing changed but the date."""
        last = until - _DAY
        if last <= self.looked:
            return
        first, self.looked = self.looked + _DAY, last
        due = self.stirred or self.limit is None or last > self.limit or (self.ran and self._ran_out(doc))
        self.ran = False
        if self.course.late_since is not None or not due:
            return
        for from_, to, held in self._stretches(first, last):
            if self._evening(held, doc, to).state == "late":
                while from_ < to and self._evening(held, doc, from_).state != "late":
                    from_ += _DAY
                self.course.fell_late(from_)
                return

    def _ran_out(self, doc: Doc) -> bool:
        """Whether a meter has gone past where its rule could make the task late."""
        if self.bounds is None:
            return True
        return any(
            doc["meters"].get(self.meters[kind], {"total": 0})["total"] > bound for kind, bound in self.bounds.items()
        )

    def _stretches(self, first: date, last: date) -> Iterable[tuple[date, date, Version]]:
        """The days in pieces of one definition each."""
        begun = {self.span.day_of(one.from_ms) for one in self.versions}
        edges = sorted(day for day in begun if first < day <= last)
        for from_, to in zip([first, *edges], [*(edge - _DAY for edge in edges), last], strict=True):
            held = self.now(self._end_of(to))
            if held is not None:
                yield from_, to, held

    def _evening(self, held: Version, doc: Doc, day: date) -> Due:
        verdict = self._judge(held, doc, self._end_of(day))
        self.stirred = False
        return verdict

    def _end_of(self, day: date) -> int:
        return day_start_ms(day + _DAY, self.span.zone) - 1

    def _judge(self, held: Version, doc: Doc, ms: int) -> Due:
        known = facts(held.body, self.machine, doc, ms, self.span.zone)
        verdict = judge(held.rule, known)
        self.limit, self.bounds = verdict.due_on or date.max, {}
        if known["deferred_to"]:
            return verdict
        parts = held.rule.parts if isinstance(held.rule, FirstOf) else (held.rule,)
        for part in parts:
            own = judge(part, known) if len(parts) > 1 else verdict
            self.limit = min(self.limit, own.due_on or date.max)
            if isinstance(part, After) and part.meter:
                self.bounds = None
            elif isinstance(part, Meter) and self.bounds is not None and own.left is not None and own.every is not None:
                # Looked at a little early rather than late: the due engine decides.
                self.bounds[part.meter] = known["meters"][part.meter] + own.left + own.every * (LATE_SHARE - 1) * 0.999
        return verdict


def _does(entry: Effective, task: Row) -> bool:
    """Whether an entry is a doing of the task: done by hand, or its checklist walked."""
    if entry.kind == "task.done":
        return bool(entry.body["task"] == task["id"])
    return entry.kind == "round.done" and entry.body["checklist"] == task["checklist"]


def told(tracker: Tracker) -> Row | None:
    """A task's row: by month how often it was done on time, fell late, and, of both, had been put off."""
    months: dict[str, list[int]] = {}
    for one in tracker.course.settled:
        row = months.setdefault(f"{one.day:%Y-%m}", [0, 0, 0])
        row[0 if one.on_time else 1] += 1
        row[2] += one.put_off
    newest = tracker.versions[-1]
    if not months:
        return None
    late = tracker.course.late_since
    return {
        "name": newest.body["name"],
        "machine": newest.body["machine"],
        "months": months,
        "late_since": late.isoformat() if late and not newest.retired else None,
    }
