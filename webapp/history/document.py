"""The history of a span in one document: phones keep that of the last 53 weeks and show it without signal."""

from __future__ import annotations

import json
import threading
from collections.abc import Iterable
from datetime import date, datetime
from statistics import median
from typing import Any
from weakref import WeakKeyDictionary
from zoneinfo import ZoneInfo

from sqlalchemy import Engine
from sqlalchemy.orm import Session

from webapp.core.downtime import HOUR_MS, Stretch, availability, cut, length, mean_downtime, overlap, union
from webapp.core.instants import instant_text
from webapp.core.numbers import tidy
from webapp.history.on_time import Tracker, told, versions
from webapp.history.span import Span, working
from webapp.history.walk import Walk
from webapp.records.append import head
from webapp.reminders.hours import Hours, hours_of
from webapp.security.devices import named
from webapp.setup import definitions
from webapp.setup.names import namer
from webapp.upkeep.history import day_start_ms, set_up_on

Row = dict[str, Any]
SHAPE = 1
"""Counted up when the document's shape changes, so that a phone asks for it again after an update."""


def version(session: Session, span: Span) -> str:
    """What the document depends on: its shape, where the record stands, the span, and today's date. Its ETag."""
    at = head(session)
    return f"{SHAPE}-{at.epoch}-{at.position}-{span.first}-{span.last}-{span.day_of(span.now_ms)}"


_lock = threading.Lock()
_newest: WeakKeyDictionary[Engine, tuple[str, str]] = WeakKeyDictionary()


def text(session: Session, span: Span) -> str:
    """The document as JSON. The newest is kept: every phone of a shop asks for the same one."""
    tag = version(session, span)
    with _lock:
        kept = _newest.get(session.get_bind().engine)
        if kept is None or kept[0] != tag:
            kept = _newest[session.get_bind().engine] = (tag, json.dumps(document(session, span)))
    return kept[1]


def document(session: Session, span: Span) -> Row:
    """Rounds by day, what happened, time out of service and spent, of every machine and the shop; tasks on time."""
    shops = definitions.list_all(session, "shop")
    hours = hours_of(shops[0] if shops else {})
    shifts, edges = working(hours, span), span.month_edges()
    walks, trackers = _walk(session, span)
    lists = definitions.list_all(session, "checklist")
    at = datetime.fromtimestamp(span.now_ms / 1000, ZoneInfo(span.zone))
    return {
        "as_of": at.isoformat(timespec="seconds"),
        "time_zone": span.zone,
        "head": head(session).position,
        "from": span.first.isoformat(),
        "to": span.last.isoformat(),
        "months": span.months(),
        "machines": {
            walk.machine["id"]: _subject(walk, shifts, edges) | {"rounds": _letters(walk, trackers, lists, hours)}
            for walk in walks
            if walk.machine
        },
        "shop": next(_subject(walk, shifts, edges) for walk in walks if walk.machine is None),
        "on_time": {one.id: row for one in trackers if (row := told(one))},
        "put_right": _put_right(walks),
        "alloys": sorted({alloy for walk in walks for alloy in walk.alloys}),
        "devices": named(session),
    }


def _walk(session: Session, span: Span) -> tuple[list[Walk], list[Tracker]]:
    """Every machine's walk, and the shop's own last."""
    name = namer(session)
    machines: list[Row] = definitions.list_all(session, "machine")
    by_id = {row["id"]: row for row in machines}
    trackers = [
        Tracker(rows, span, by_id.get(rows[-1].body["machine"] or "")) for rows in versions(session, span).values()
    ]
    minutes = {row["id"]: float(row["minutes"] or 0) for row in definitions.list_all(session, "task")}
    walks = []
    for machine in [*machines, None]:
        own = [one for one in trackers if one.versions[-1].body["machine"] == (machine and machine["id"])]
        walks.append(Walk(span, machine, minutes, own, name, _bands(machine)).go(session))
    return walks, trackers


def _bands(machine: Row | None) -> dict[str, dict[str, float | None]]:
    """The machine's fluids' bands, as they are set up now, by the quantity that is read."""
    fluids = machine["fluids"] if machine else []
    return {row.get("quantity") or f"{row['kind']}.strength": row["band"] for row in fluids if row.get("band")}


def _letters(walk: Walk, trackers: Iterable[Tracker], lists: Iterable[Row], hours: Hours) -> str | None:
    """From when on a round was asked for before use, by a task or by a start-up list that no task speaks of, and until
    it, or the machine, was taken out; None where none ever was."""
    assert walk.machine is not None
    machine, span = walk.machine["id"], walk.span
    own = [tracker.versions for tracker in trackers if tracker.versions[-1].body["machine"] == machine]
    spoken = {one.body["checklist"] for versions_ in own for one in versions_}
    alone = [
        row for row in lists if row["machine"] == machine and row["form"] == "start-up" and row["id"] not in spoken
    ]
    begun = [span.day_of(one.from_ms) for versions_ in own for one in versions_ if one.each]
    begun += [set_up_on(row["id"], span.zone) for row in alone]
    if not begun:
        return None
    stands = any(rows[-1].each and not rows[-1].retired for rows in own) or any(not row["retired"] for row in alone)
    over = None if stands and not walk.machine["retired"] else max([*walk.rounds, *walk.uses], default=date.min)
    # Rounds that were walked before it was set up here were typed in from before.
    return walk.letters(min([*begun, *walk.rounds]), over, hours.works_on)


def _subject(walk: Walk, shifts: list[Stretch], edges: list[int]) -> Row:
    """A machine's part of the document, or the shop's."""
    down = union(walk.down())
    begun = _since(walk)
    planned = overlap(shifts, [(begun, walk.span.end_ms)]) if begun < walk.span.end_ms else []
    lost = overlap(down, planned)
    return {
        "events": [list(event) for event in sorted(walk.events)],
        "out": [
            {
                "tag": tag.id,
                "from": instant_text(tag.from_ms),
                "to": tag.until and instant_text(tag.until),
                "why": tag.why,
            }
            for tag in walk.tags.values()
            if (tag.until or walk.span.end_ms) > walk.span.start_ms
        ],
        "months": _months(walk, down, planned, lost, edges),
        "times_out": len(down),
        "mean_out_h": _hours(mean_downtime(length(down), len(down))),
        "available": _share(availability(length(planned) - length(lost), length(lost))),
    }


def _since(walk: Walk) -> int:
    """From when on the machine counts as there: it was set up, or something was told of it; or the span begins."""
    if walk.machine is None:
        return walk.span.start_ms
    days = [set_up_on(walk.machine["id"], walk.span.zone), *walk.uses, *walk.rounds]
    begun = [day_start_ms(min(days), walk.span.zone)] if min(days) > walk.span.first else [walk.span.start_ms]
    return max(walk.span.start_ms, min([*begun, *(tag.from_ms for tag in walk.tags.values())]))


def _months(
    walk: Walk, down: list[Stretch], planned: list[Stretch], lost: list[Stretch], edges: list[int]
) -> dict[str, Row]:
    """By month: minutes of rounds, of tasks as noted and as set up; hours out of service by the clock and within the
    shop's own, of which there were `shop_h`."""
    found = {}
    pieces = (cut(stretches, edges) for stretches in (down, lost, planned))
    for month, out, out_shop, shop in zip(walk.span.months(), *pieces, strict=True):
        spent = walk.spent.get(month)
        row = {
            "rounds_min": tidy(spent.rounds / 60, 1) if spent else 0,
            "tasks_min": tidy(spent.tasks / 60, 1) if spent else 0,
            "set_up_min": tidy(spent.set_up / 60, 1) if spent else 0,
            "out_h": _hours(length(out)),
            "out_shop_h": _hours(length(out_shop)),
            "shop_h": _hours(length(shop)),
        }
        if any(row.values()):
            found[month] = row
    return found


def _put_right(walks: list[Walk]) -> Row:
    """Findings closed in the span: how many, and how many days they had been open."""
    days = sorted(one for walk in walks for one in walk.days_open)
    return {
        "times": len(days),
        "median_days": tidy(median(days), 1) if days else None,
        "longest_days": tidy(days[-1], 1) if days else None,
    }


def _hours(ms: float | None) -> float | None:
    return None if ms is None else tidy(ms / HOUR_MS, 2)


def _share(share: float | None) -> float | None:
    return None if share is None else tidy(share, 4)
