"""One walk through a subject's entries of a span: rounds by day, what happened, tags, time spent, tasks on the way."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from sqlalchemy.orm import Session

from webapp.core.bands import verdict
from webapp.core.downtime import Stretch
from webapp.core.instants import parse_instant
from webapp.core.numbers import say
from webapp.core.roundlog import UNASKED, day_of_rounds
from webapp.history.on_time import Tracker
from webapp.history.span import Span
from webapp.records.folding import apply
from webapp.records.kinds import KINDS
from webapp.records.kinds.base import Name
from webapp.records.past import since, standing
from webapp.records.state import Doc, Effective
from webapp.upkeep.history import NOON, day_start_ms

Row = dict[str, Any]
LANES = ("rounds", "findings", "tags", "changes", "beyond", "tasks")
_LANE = {
    "finding.opened": "findings", "finding.closed": "findings", "tag.on": "tags", "tag.off": "tags",
    "part.changed": "changes", "fluid.changed": "changes", "fluid.added": "changes",
    "task.done": "tasks", "task.deferred": "tasks", "task.raised": "tasks",
}  # fmt: skip
_MINUTE_S = 60


@dataclass
class Spent:
    """Time of a month: rounds as measured, tasks as noted and, where nobody noted it, as set up; in seconds."""

    rounds: float = 0
    tasks: float = 0
    set_up: float = 0


@dataclass
class Tag:
    """A tag's time on the machine; `until` None: it hangs still."""

    id: str
    from_ms: int
    until: int | None
    why: str


@dataclass
class Walk:
    """What one subject's entries told; `events`: (day's number, lane, entry, text)."""

    span: Span
    machine: Row | None
    minutes: Mapping[str, float]
    """A task's minutes as set up, by its id."""
    trackers: Sequence[Tracker]
    name: Name
    bands: Mapping[str, Mapping[str, float | None]]
    """The machine's bands by quantity, for readings taken outside a round."""
    uses: dict[date, list[int]] = field(default_factory=lambda: defaultdict(list))
    rounds: dict[date, list[int]] = field(default_factory=lambda: defaultdict(list))
    backs: dict[date, list[int]] = field(default_factory=lambda: defaultdict(list))
    spent: dict[str, Spent] = field(default_factory=lambda: defaultdict(Spent))
    tags: dict[str, Tag] = field(default_factory=dict)
    events: list[tuple[int, str, str, str]] = field(default_factory=list)
    raised: dict[str, float] = field(default_factory=dict)
    opened: dict[str, int] = field(default_factory=dict)
    days_open: list[float] = field(default_factory=list)
    alloys: set[str] = field(default_factory=set)

    def go(self, session: Session) -> Walk:
        """Through the span, from the state as it stood at its beginning."""
        subject = f"machine:{self.machine['id']}" if self.machine else "shop"
        doc = standing(session, subject, self.span.start_ms).body
        self._begin(doc)
        day = self.span.first
        for (ms, _), entry in since(session, subject, self.span.start_ms, self.span.end_ms):
            if self.machine is None and entry.machine is not None:
                continue
            today = self.span.day_of(ms)
            for tracker in self.trackers:
                if today != day:
                    tracker.evenings(today, doc)
                tracker.take(entry, ms, today, doc)
            day = today
            self._take(entry, ms)
            used = doc["used_at"]
            apply(doc, subject, entry)
            if doc["used_at"] != used:
                self.uses[day].append(ms)
        # The evening of the last day has not come yet when that day is today.
        over = self.span.end_ms < self.span.now_ms
        for tracker in self.trackers:
            tracker.evenings(self.span.last + timedelta(days=over), doc)
        return self

    def _begin(self, doc: Doc) -> None:
        for id_, tag in doc["tags"].items():
            self.tags[id_] = Tag(id_, parse_instant(tag["at"]), None, tag["why"])
        for id_, finding in doc["findings"].items():
            self.opened[id_] = parse_instant(finding["at"])
        for id_, task in doc["raised"].items():
            self.raised[id_] = task["minutes"] or 0

    def _take(self, entry: Effective, ms: int) -> None:
        lane = _LANE.get(entry.kind)
        if entry.kind == "round.done":
            self._round(entry, ms)
        elif lane:
            self._event(ms, lane, entry)
        if take := _TAKES.get(entry.kind):
            take(self, entry, ms)
        if alloy := entry.body.get("alloy"):
            self.alloys.add(alloy)

    def _event(self, ms: int, lane: str, entry: Effective, text: str | None = None) -> None:
        said = text or KINDS[entry.kind].summary(entry.body, self.name)
        self.events.append((self.span.number(ms), lane, entry.id, said))

    def _month(self, ms: int) -> Spent:
        return self.spent[f"{self.span.day_of(ms):%Y-%m}"]

    def _round(self, entry: Effective, ms: int) -> None:
        body = entry.body
        self._month(ms).rounds += body["seconds"]
        if body["form"] == "start-up":
            self.rounds[self.span.day_of(ms)].append(ms)
        # A start-up round that found nothing is told by its day's letter alone.
        if body["form"] != "start-up" or body["outcome"] != "fit":
            self._event(ms, "rounds", entry)
        for check in body["checks"]:
            if (found := check.get("verdict")) and found != "within" and check.get("value") is not None:
                self._event(ms, "beyond", entry, self._beyond(check, check["value"], found))

    def _beyond(self, row: Row, value: float, found: str) -> str:
        what = str(row.get("quantity") or self.name(row["check"])).replace(".", " ").replace("_", " ")
        return f"{what} {say(value)} {row.get('unit') or ''}".strip() + f": {found}"

    def _reading(self, entry: Effective, ms: int) -> None:
        body = entry.body
        band = self.bands.get(body["quantity"])
        if band and (found := verdict(body["value"], band)) != "within":
            self._event(ms, "beyond", entry, self._beyond(body, body["value"], found))

    def _tag_on(self, entry: Effective, ms: int) -> None:
        self.tags[entry.id] = Tag(entry.id, ms, None, entry.body["why"])

    def _tag_off(self, entry: Effective, ms: int) -> None:
        self.backs[self.span.day_of(ms)].append(ms)
        if tag := self.tags.get(entry.body["tag"]):
            tag.until = ms

    def _opened(self, entry: Effective, ms: int) -> None:
        self.opened[entry.id] = ms

    def _closed(self, entry: Effective, ms: int) -> None:
        begun = self.opened.pop(entry.body["finding"], None)
        if begun is not None:
            self.days_open.append((ms - begun) / 86_400_000)

    def _raised(self, entry: Effective, _ms: int) -> None:
        self.raised[entry.id] = entry.body.get("minutes") or 0

    def _did(self, entry: Effective, ms: int) -> None:
        noted, task = entry.body.get("minutes"), entry.body["task"]
        if noted is not None:
            self._month(ms).tasks += noted * _MINUTE_S
        else:
            self._month(ms).set_up += _MINUTE_S * self.minutes.get(task, self.raised.get(task, 0))

    def letters(self, asked_from: date, asked_until: date | None, works_on: Callable[[date], bool]) -> str:
        """A letter a day (`core/roundlog.py`)."""
        found = []
        for number in range(self.span.days):
            day = self.span.first + timedelta(days=number)
            if day < asked_from or (asked_until and day > asked_until):
                found.append(UNASKED)
                continue
            noon = day_start_ms(day, self.span.zone, NOON)
            out = any(tag.from_ms <= noon < (tag.until or self.span.end_ms + 1) for tag in self.tags.values())
            moments = (sorted(rows.get(day, ())) for rows in (self.uses, self.rounds, self.backs))
            found.append(day_of_rounds(*moments, open_=works_on(day), out=out))
        return "".join(found)

    def down(self) -> list[Stretch]:
        """Out of service within the span, as stretches in no order."""
        span = self.span
        return [
            (max(tag.from_ms, span.start_ms), end)
            for tag in self.tags.values()
            if (end := min(tag.until or span.end_ms, span.end_ms)) > max(tag.from_ms, span.start_ms)
        ]


_TAKES = {
    "reading.taken": Walk._reading, "tag.on": Walk._tag_on, "tag.off": Walk._tag_off, "task.done": Walk._did,
    "task.raised": Walk._raised, "finding.opened": Walk._opened, "finding.closed": Walk._closed,
}  # fmt: skip
