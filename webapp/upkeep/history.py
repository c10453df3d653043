"""What the arithmetic needs of the past: movements of meters and days out of service, for a bounded window.

Asked of the entries by kind and time, which is indexed, so the answer costs the same however old the shop is, and
kept between requests (`recent.py`). Amended and voided entries count as they do in the fold.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from webapp.core.instants import parse_instant
from webapp.core.usage import Movement
from webapp.records.models import Entry
from webapp.records.state import Doc, Effective
from webapp.upkeep.recent import entries

WINDOW_DAYS = 52 * 7
METER_KINDS = ("meter.read", "meter.added", "batch.run")
TAG_KINDS = ("tag.on", "tag.off")
DOING_KINDS = ("task.done",)
NOON = 12


def beginning(session: Session, zone: str) -> date | None:
    """The shop's date of the first movement of any meter; None before there is one."""
    first = session.execute(select(func.min(Entry.ms)).where(Entry.kind.in_(METER_KINDS))).scalar()
    return None if first is None else local(zone)(first).date()


def local(zone: str) -> Callable[[int], datetime]:
    """A function from ms since 1970 to the shop's wall clock."""
    info = ZoneInfo(zone)
    return lambda ms: datetime.fromtimestamp(ms / 1000, UTC).astimezone(info)


def day_start_ms(day: date, zone: str, hour: int = 0) -> int:
    """The instant of an hour of the shop's day, in ms."""
    return int(datetime.combine(day, time(hour), ZoneInfo(zone)).timestamp()) * 1000


@dataclass
class Past:
    """Movements by meter, and by machine the days on which it was out of service (at noon)."""

    movements: dict[str, list[Movement]] = field(default_factory=dict)
    out: dict[str, set[date]] = field(default_factory=dict)


def past(session: Session, first: date, today: date, zone: str, docs: dict[str, Doc]) -> Past:
    """The past from `first` up to and with `today`, both dates of the shop. `docs`: the states by subject."""
    found = Past()
    clock = local(zone)
    tags: list[tuple[int, Effective]] = []
    for ms, entry in entries(session, METER_KINDS + TAG_KINDS, day_start_ms(first, zone)):
        if entry.kind in TAG_KINDS:
            tags.append((ms, entry))
            continue
        at = clock(ms)
        if at.date() <= today:
            for meter, movement in moved(entry, at):
                found.movements.setdefault(meter, []).append(movement)
    found.out = _days_out(tags, docs, first, today, zone)
    return found


def moved(entry: Effective, at: datetime) -> Iterator[tuple[str, Movement]]:
    """The meters that an entry moves. A reading before noon tells of the days before its own alone."""
    body = entry.body
    if entry.kind == "meter.read":
        replaced, ran = body.get("replaced") is True, body.get("ran") is True
        yield body["meter"], Movement(at.date(), None, body["value"], replaced, early=at.hour < NOON, ran=ran)
    elif entry.kind == "meter.added":
        yield body["meter"], Movement(at.date(), amount=body["amount"])
    else:
        for meter, amount in body["adds"].items():
            yield meter, Movement(at.date(), amount=amount)


def _days_out(
    tags: list[tuple[int, Effective]], docs: dict[str, Doc], first: date, today: date, zone: str
) -> dict[str, set[date]]:
    """Days on which a tag hung at noon. A tag taken off in the window and not hung in it hung from its start."""
    hung = {entry.id: ms for ms, entry in tags if entry.kind == "tag.on"}
    begin = day_start_ms(first, zone)
    out: dict[str, set[date]] = {}
    for ms, entry in tags:
        if entry.kind == "tag.off" and entry.machine:
            _mark(out, entry.machine, hung.get(entry.body["tag"], begin), ms, first, zone)
    end = day_start_ms(today + timedelta(days=1), zone)
    for subject, doc in docs.items():
        for tag in doc["tags"].values():
            _mark(out, subject.removeprefix("machine:"), parse_instant(tag["at"]), end, first, zone)
    return out


def _mark(out: dict[str, set[date]], machine: str, start_ms: int, end_ms: int, first: date, zone: str) -> None:
    day = max(first, local(zone)(start_ms).date())
    while (noon := day_start_ms(day, zone, NOON)) < end_ms:
        if noon >= start_ms:
            out.setdefault(machine, set()).add(day)
        day += timedelta(days=1)


def set_up_on(id_: str, zone: str) -> date:
    """The shop's date on which something was set up: a UUIDv7 begins with its ms (RFC 9562, 5.7); any other id tells
    nothing, and counts as old."""
    digits = id_.replace("-", "")
    return local(zone)(int(digits[:12], 16)).date() if digits[12:13] == "7" else date.min
