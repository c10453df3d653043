"""Lives of wearing parts and time spent on rounds and tasks, as charts of the binder."""

from __future__ import annotations

from datetime import date, timedelta
from statistics import median
from typing import Any

from webapp.core.instants import parse_instant
from webapp.core.wear import how_ended
from webapp.reports.book import Book
from webapp.reports.charts import DEEP, Bar, Chart, Mark, draw
from webapp.reports.entries import figure
from webapp.reports.scales import along, upright
from webapp.reports.traces import LONG_DAYS, midnight, period, said
from webapp.upkeep.lives import measure_of

_SHAPES = {"failed": "diamond", "early": "ring"}
_KEY = (("diamond", "worn or broken"), ("ring", "changed early"))
_SPENT = (("bar0", "rounds"), ("bar1", "tasks"))


def lives_charts(book: Book, row: dict[str, Any], ended: list[tuple[str, dict[str, Any]]]) -> None:
    """For each part of a machine with two lives or more that ended in the span: how long each was.

    `ended`: (part, life as the fold keeps it), oldest first. The figures stand in the table of changes above.
    """
    for part in row["parts"]:
        own = [life for id_, life in ended if id_ == part["id"]]
        measure = measure_of(part, row, own)
        rows = [(parse_instant(life["to"]), lived, how_ended(life["reason"])) for life in own
                if (lived := measure.lived(life)) is not None]  # fmt: skip
        if len(rows) > 1:
            _lives(book, row, part, rows, measure.unit)


def _lives(
    book: Book, row: dict[str, Any], part: dict[str, Any], rows: list[tuple[int, float, str]], unit: str
) -> None:
    lengths = [lived for _, lived, _ in rows]
    failed = sum(how == "failed" for _, _, how in rows)
    alt = (
        f"Lives of {part['name']} at {row['name']}, {book.span}, by the day on which they ended: {len(rows)} lives, "
        f"{failed} worn or broken, {len(rows) - failed} changed early; shortest {figure(round(min(lengths), 1))}, "
        f"middle {figure(round(median(lengths), 1))}, longest {figure(round(max(lengths), 1))} {unit}. The figures "
        "stand in the table above."
    )
    book.paper.heading(3, f"{part['name']}: lives by the day they ended, {unit}", keep=DEEP)
    marks = [Mark(ms, lived, _SHAPES[how]) for ms, lived, how in rows]
    middle = [(median(lengths), f"middle {figure(round(median(lengths), 1))}")]
    days, up = along(book.span.first, book.span.last, book.span.zone), upright(lengths, from_zero=True)
    draw(book.paper, Chart(alt, unit, days, up, marks, joined=False, levels=middle, key=_KEY))


def time_spent(book: Book) -> None:
    """Minutes of rounds and tasks by month, or by year where the span is long: a chart, and its table."""
    if not book.has("round.done", "task.done"):
        return
    sums: dict[tuple[int, int], list[float]] = {}
    counts: dict[tuple[int, int], list[int]] = {}
    for told in book.reader.stream(("round.done", "task.done"), book.span.start_ms, book.span.end_ms):
        if not told.voided:
            body, place = told.body, int(told.kind == "task.done")
            minutes = (body.get("minutes") or 0) if place else body["seconds"] / 60
            key = period(book.span, told.ms)
            sums.setdefault(key, [0.0, 0.0])[place] += minutes / 60
            counts.setdefault(key, [0, 0])[place] += 1
    if not sums:
        return
    with book.section("Time of rounds and tasks"):
        book.paper.text(
            "Rounds by the time from begin to end, tasks by the minutes that were noted; what was done without a note "
            "of its time is counted, with no time."
        )
        _spent_chart(book, sums)
        with book.table(("Span", 3, False), ("Rounds", 1.4, True), ("Rounds (h)", 2, True), ("Tasks", 1.4, True),
                        ("Tasks (h)", 2, True), ("Together (h)", 2, True)) as table:  # fmt: skip
            for key, hours in sums.items():
                first, second = counts[key]
                figures = (f"{one:,.1f}" for one in (hours[0], hours[1], sum(hours)))
                walked, own, both = figures
                table.row(said(key), f"{first:,}", walked, f"{second:,}", own, both)


def _spent_chart(book: Book, sums: dict[tuple[int, int], list[float]]) -> None:
    span = book.span
    by = "year" if (span.last - span.first).days > LONG_DAYS else "month"
    whole = [sum(pair) for pair in zip(*sums.values(), strict=True)]
    alt = (
        f"Bars of hours spent, {span}, by {by}: {whole[0]:,.1f} h of rounds and "
        f"{whole[1]:,.1f} h of tasks. The figures stand in the table below."
    )
    bars = []
    for (year, month), hours in sums.items():
        first, last = date(year, month or 1, 1), date(year + (month in (0, 12)), month % 12 + 1 if month else 1, 1)
        begin, end = max(midnight(first, span.zone), span.start_ms), min(midnight(last, span.zone), span.end_ms)
        bars.append(Bar(begin, end, tuple(hours)))
    up = upright([0.0, *(sum(bar.pieces) for bar in bars)], from_zero=True)
    days = along(span.first, max(span.last, span.first + timedelta(days=1)), span.zone)
    draw(book.paper, Chart(alt, "h", days, up, bars=bars, key=_SPENT))
