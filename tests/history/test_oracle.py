"""The demo's year told by the document, and told once more, naively, from the entries as they were written.

The naive telling reads the pushed entries themselves (`seeded.past`), knows nothing of folds and checkpoints, counts
hours a minute at a time, and holds a task's rule by its own few lines.
"""

from __future__ import annotations

import json
from collections import Counter, defaultdict
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from statistics import median
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from tests.seed.conftest import TODAY, Seeded, seeded  # noqa: F401  (a fixture)
from webapp.core.recurrence import expand
from webapp.database import db
from webapp.history.document import document
from webapp.history.span import Span, asked_for
from webapp.upkeep.history import day_start_ms

ZONE = "America/New_York"
WALL = ZoneInfo(ZONE)
MORNING = day_start_ms(TODAY, ZONE, 8)
Row = dict[str, Any]


@pytest.fixture(scope="module")
def span() -> Span:
    return asked_for(None, None, TODAY, ZONE, MORNING)


@pytest.fixture(scope="module")
def told(seeded: Seeded, span: Span) -> Row:  # noqa: F811
    with seeded.app.app_context():
        return json.loads(json.dumps(document(db.session(), span)))


@pytest.fixture(scope="module")
def counted(seeded: Seeded) -> list[Row]:  # noqa: F811
    """Every entry that counts, amended, in order of its true time: {kind, machine, body, id, ms, day}."""
    raws = [(one.true_ms, one.entry) for one in seeded.past.made]
    gone = {entry["body"]["entry"] for _, entry in raws if entry["kind"] == "entry.voided"}
    mended = {entry["body"]["entry"]: entry["body"]["body"] for _, entry in raws if entry["kind"] == "entry.amended"}
    rows = [
        {key: entry[key] for key in ("kind", "machine", "id")}
        | {"body": mended.get(entry["id"], entry["body"]), "ms": ms, "day": day(ms)}
        for ms, entry in raws
        if entry["id"] not in gone
    ]
    return sorted(rows, key=lambda row: (row["ms"], row["id"]))


def day(ms: float) -> date:
    return datetime.fromtimestamp(ms / 1000, UTC).astimezone(WALL).date()


def defined(seeded: Seeded, type_: str) -> Iterator[Row]:  # noqa: F811
    return (body for kind, body in seeded.past.shop.definitions if kind == type_)


def of_day(told: Row, machine: str, when: date) -> str:
    return str(told["machines"][machine]["rounds"][(when - date.fromisoformat(told["from"])).days])


def test_the_span_is_whole_weeks_up_to_today(told: Row) -> None:
    assert date.fromisoformat(told["from"]).weekday() == 0 and told["to"] == TODAY.isoformat()
    lengths = {len(row["rounds"]) for row in told["machines"].values() if row["rounds"] is not None}
    assert lengths == {(TODAY - date.fromisoformat(told["from"])).days + 1}


def test_rounds_by_day(told: Row, counted: list[Row]) -> None:
    """Of every day without a return to service: a use before any round of its day, and whether one came at all."""
    uses: dict[tuple[str, date], list[float]] = defaultdict(list)
    rounds: dict[tuple[str, date], list[float]] = defaultdict(list)
    backs = {(row["machine"], row["day"]) for row in counted if row["kind"] == "tag.off"}
    for row in counted:
        place = (row["machine"], row["day"])
        if row["kind"] in ("batch.run", "meter.added"):
            uses[place].append(row["ms"])
        if row["kind"] == "round.done" and row["body"]["form"] == "start-up":
            rounds[place].append(row["ms"])
    first, tried = date.fromisoformat(told["from"]), Counter[str]()
    for machine, row in told["machines"].items():
        for number, letter in enumerate(row["rounds"] or ""):
            place = (machine, first + timedelta(days=number))
            if place in backs:
                continue
            if not uses[place]:
                assert (letter == "d") == bool(rounds[place]) and letter in "d.co", (place, letter)
            elif not rounds[place]:
                assert letter == "m", (place, letter)
            else:
                assert letter == ("d" if rounds[place][0] <= uses[place][0] else "l"), (place, letter)
            tried[letter] += 1
    assert tried["d"] > 2000 and tried["m"] > 50 and tried["c"] > 1000 and sum(tried.values()) > 4000


def test_days_that_were_closed(seeded: Seeded, told: Row) -> None:  # noqa: F811
    (shop,) = defined(seeded, "shop")
    first = date.fromisoformat(told["from"])
    off = set(shop["holidays"])
    weekdays = {
        name
        for shift in shop.get("shifts") or [{"days": ["mon", "tue", "wed", "thu", "fri"]}]
        for name in shift["days"]
    }
    for row in told["machines"].values():
        for number, letter in enumerate(row["rounds"] or ""):
            when = first + timedelta(days=number)
            open_ = when.isoformat() not in off and f"{when:%a}".lower() in weekdays
            assert letter != ("c" if open_ else "."), (when, letter)


def test_minutes_spent(seeded: Seeded, told: Row, counted: list[Row]) -> None:  # noqa: F811
    """Rounds by their seconds, tasks as noted: the year's sum of each machine, from the entries."""
    first = date.fromisoformat(told["from"])
    rounds: Counter[str | None] = Counter()
    noted: Counter[str | None] = Counter()
    for row in counted:
        if row["day"] < first:
            continue
        if row["kind"] == "round.done":
            rounds[row["machine"]] += row["body"]["seconds"]
        if row["kind"] == "task.done":
            noted[row["machine"]] += 60 * (row["body"].get("minutes") or 0)
    subjects: list[tuple[str | None, Row]] = [*told["machines"].items(), (None, told["shop"])]
    for machine, row in subjects:
        months = row["months"].values()
        assert sum(month["rounds_min"] for month in months) == pytest.approx(rounds[machine] / 60, abs=1)
        assert sum(month["tasks_min"] for month in months) == pytest.approx(noted[machine] / 60, abs=1)
    assert rounds.total() > 200 * 3600


def test_hours_out_of_service(seeded: Seeded, told: Row, counted: list[Row]) -> None:  # noqa: F811
    """A minute at a time: is a tag on, and does a shift run?"""
    (shop,) = defined(seeded, "shop")
    shifts = shop.get("shifts") or [{"days": ["mon", "tue", "wed", "thu", "fri"], "begins": "06:00", "ends": "18:00"}]
    off = set(shop["holidays"])
    begun = day_start_ms(date.fromisoformat(told["from"]), ZONE)
    ends = {row["body"]["tag"]: row["ms"] for row in counted if row["kind"] == "tag.off"}
    clock: dict[str, Counter[str]] = defaultdict(Counter)
    works: dict[str, Counter[str]] = defaultdict(Counter)
    minutes: dict[str, set[int]] = defaultdict(set)
    for row in counted:
        if row["kind"] == "tag.on":
            end = ends.get(row["id"], MORNING)
            minutes[row["machine"]] |= set(range(max(row["ms"], begun) // 60_000, min(end, MORNING) // 60_000))
    for machine, all_ in minutes.items():
        for minute in all_:
            at = datetime.fromtimestamp(minute * 60, UTC).astimezone(WALL)
            clock[machine][f"{at:%Y-%m}"] += 1
            runs = any(
                f"{at:%a}".lower() in one["days"] and one["begins"] <= f"{at:%H:%M}" < one["ends"] for one in shifts
            )
            works[machine][f"{at:%Y-%m}"] += runs and at.date().isoformat() not in off
    assert len(clock) >= 2
    for machine, row in told["machines"].items():
        for month in told["months"]:
            found = row["months"].get(month, {"out_h": 0, "out_shop_h": 0})
            assert found["out_h"] == pytest.approx(clock[machine][month] / 60, abs=0.1), (machine, month)
            assert found["out_shop_h"] == pytest.approx(works[machine][month] / 60, abs=0.1), (machine, month)
        lost, planned = (sum(month[key] for month in row["months"].values()) for key in ("out_shop_h", "shop_h"))
        assert row["available"] == pytest.approx(1 - lost / planned, abs=2e-4)


def doings(counted: list[Row], task: Row) -> list[date]:
    return [
        row["day"] for row in counted
        if (row["kind"] == "task.done" and row["body"]["task"] == task["id"])
        or (row["kind"] == "round.done" and task["checklist"] and row["body"]["checklist"] == task["checklist"])
    ]  # fmt: skip


def test_tasks_by_the_calendar(seeded: Seeded, told: Row, counted: list[Row]) -> None:  # noqa: F811
    """Tasks that float by days, weeks or months: the next is due one interval after the last, or after the start."""
    put_off = {row["body"]["task"] for row in counted if row["kind"] == "task.deferred"}
    first, tried = date.fromisoformat(told["from"]), 0
    for task in defined(seeded, "task"):
        every = task["rule"].get("every")
        if not isinstance(every, dict) or "meter" in task["rule"] or task["id"] in put_off:
            continue
        ((unit, count),) = every.items()
        if unit not in ("days", "weeks"):
            continue
        step = timedelta(days=count * (7 if unit == "weeks" else 1))
        base, months = date.fromisoformat(task["start"]), defaultdict(lambda: [0, 0, 0])
        for done in [*doings(counted, task), None]:
            limit = base + step
            if limit < (done or TODAY):
                if limit + timedelta(days=1) >= first:
                    months[f"{limit + timedelta(days=1):%Y-%m}"][1] += 1
            elif done and done >= first:
                months[f"{done:%Y-%m}"][0] += 1
            base = done or base
        assert told["on_time"].get(task["id"], {"months": {}})["months"] == months, task["name"]
        tried += bool(months)
    assert tried >= 2


def test_tasks_on_fixed_dates(seeded: Seeded, told: Row, counted: list[Row]) -> None:  # noqa: F811
    """Weekly dates: a date is kept when it was done since the date before it and not after its own; done a day before
    a date counts for that date (a fifth of a week)."""
    put_off = {row["body"]["task"] for row in counted if row["kind"] == "task.deferred"}
    first, tried = date.fromisoformat(told["from"]), 0
    for task in defined(seeded, "task"):
        if not str(task["rule"].get("rrule", "")).startswith("FREQ=WEEKLY;BYDAY=") or task["id"] in put_off:
            continue
        dates = list(expand(task["rule"], ZONE, date.fromisoformat(task["start"]), TODAY + timedelta(days=14)))
        if len({(b - a).days for a, b in pairwise(dates)}) != 1:
            continue
        late: Counter[str] = Counter()
        done_on, standing = None, 0
        for when in [*doings(counted, task), None]:
            while (
                standing < len(dates)
                and done_on
                and (done_on >= dates[standing] or (dates[standing] - done_on).days <= 1)
            ):
                standing += 1
            due = dates[standing] if standing < len(dates) else date.max
            if due < (when or TODAY) and due + timedelta(days=1) >= first:
                late[f"{due + timedelta(days=1):%Y-%m}"] += 1
            done_on = when or done_on
        found = told["on_time"].get(task["id"], {"months": {}})["months"]
        assert {month: row[1] for month, row in found.items() if row[1]} == dict(late), task["name"]
        tried += 1
    assert tried >= 2


def test_findings_put_right(told: Row, counted: list[Row]) -> None:
    first = date.fromisoformat(told["from"])
    opened = {row["id"]: row["ms"] for row in counted if row["kind"] == "finding.opened"}
    took = [
        (row["ms"] - opened[row["body"]["finding"]]) / 86_400_000
        for row in counted
        if row["kind"] == "finding.closed" and row["day"] >= first and row["body"]["finding"] in opened
    ]
    right = told["put_right"]
    assert right["times"] == len(took) > 10
    assert right["median_days"] == pytest.approx(median(took), abs=0.06)
    assert right["longest_days"] == pytest.approx(max(took), abs=0.06)


def test_what_happened_is_told_once_and_on_its_day(told: Row, counted: list[Row]) -> None:
    first = date.fromisoformat(told["from"])
    by_id = {row["id"]: row for row in counted}
    subjects = [*told["machines"].items(), (None, told["shop"])]
    lanes: Counter[str] = Counter()
    for machine, row in subjects:
        for number, lane, entry, text in row["events"]:
            assert by_id[entry]["machine"] == machine and by_id[entry]["day"] == first + timedelta(days=number) and text
            lanes[lane] += 1
    in_span = [row for row in counted if row["day"] >= first]
    for lane, kinds in {"findings": ("finding.opened", "finding.closed"), "tags": ("tag.on", "tag.off"),
                        "tasks": ("task.done", "task.deferred", "task.raised"),
                        "changes": ("part.changed", "fluid.changed", "fluid.added")}.items():  # fmt: skip
        assert lanes[lane] == sum(row["kind"] in kinds for row in in_span), lane


def test_the_same_record_gives_the_same_bytes(seeded: Seeded, span: Span, told: Row) -> None:  # noqa: F811
    with seeded.app.app_context():
        assert json.loads(json.dumps(document(db.session(), span))) == told


def test_half_a_year_agrees_with_the_whole(seeded: Seeded, told: Row) -> None:  # noqa: F811
    """A span that begins later stands on a checkpoint of the fold: its days and months say the same."""
    later = date.fromisoformat(told["months"][6] + "-01")
    with seeded.app.app_context():
        half = json.loads(json.dumps(document(db.session(), asked_for(later, TODAY, TODAY, ZONE, MORNING))))
    number = (later - date.fromisoformat(told["from"])).days
    for machine, row in half["machines"].items():
        whole = told["machines"][machine]
        assert row["rounds"] == (whole["rounds"] and whole["rounds"][number:])
        assert row["months"] == {month: one for month, one in whole["months"].items() if month in half["months"]}
        assert [event[1:] for event in row["events"]] == [event[1:] for event in whole["events"] if event[0] >= number]
    months = half["months"]
    for task, row in half["on_time"].items():
        # What was late already when the later span began is found late on its first day.
        own = {month: one for month, one in told["on_time"][task]["months"].items() if month in months[1:]}
        assert {month: one for month, one in row["months"].items() if month in months[1:]} == own
