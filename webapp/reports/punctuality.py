"""Tasks done on time, as the due engine judged them day by day: a chart of the binder, and its figures by task."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from webapp.history.document import document
from webapp.history.span import Span as Judged
from webapp.reports.book import Book
from webapp.reports.charts import Bar, Chart, draw
from webapp.reports.scales import Scale, along
from webapp.reports.traces import LONG_DAYS, midnight, said

_PERCENT = Scale(0, 100, tuple((float(value), str(value)) for value in range(0, 101, 20)))
Counts = list[int]
"""[on time, late, of both put off]"""


def on_time(book: Book) -> None:
    """The share of tasks that were done on time, by month or year, then task by task."""
    months: dict[str, Counts] = {}
    tasks: dict[tuple[str, str], Counts] = {}
    for first, last in _years(book):
        book.progress(min(2 + 93 * book.read // (sum(book.counts.values()) or 1), 95), f"On time from {first}")
        judged = document(book.session, Judged(first, last, book.span.zone, book.now_ms))
        for row in judged["on_time"].values():
            machine = row["machine"]
            if book.reader.machines and machine is not None and machine not in book.reader.machines:
                continue
            for month, counts in row["months"].items():
                _add(months.setdefault(month, [0, 0, 0]), counts)
                _add(tasks.setdefault((book.where(machine), row["name"]), [0, 0, 0]), counts)
    if not any(counts[0] + counts[1] for counts in months.values()):
        return
    with book.section("Done on time"):
        book.paper.text(
            "Every task as its rule judged it, evening by evening, by the definition that held then. On time is what "
            "was done before it was late; what was put off by somebody with a reason is counted, and said beside."
        )
        periods = _periods(book, months)
        _draw(book, periods)
        with book.table(*_COLUMNS) as table:
            for key, counts in periods.items():
                table.row(said(key), *_cells(counts))
        with book.table(("Machine", 3, False), ("Task", 5, False), *_COLUMNS[1:]) as table:
            for (where, name), counts in sorted(tasks.items(), key=lambda one: (_share(one[1]), one[0])):
                table.row(where, name, *_cells(counts))


_COLUMNS = (("Span", 3, False), ("On time", 1.4, True), ("Late", 1.2, True), ("Put off", 1.2, True),
            ("Share (%)", 1.4, True))  # fmt: skip


def _years(book: Book) -> Iterator[tuple[date, date]]:
    """The span a year at a time, so that ten years are judged in the memory of one; cut at the ends of months."""
    first = book.span.first
    while first <= book.span.last:
        after = date(first.year + 1, first.month, 1)
        yield first, min(after - timedelta(days=1), book.span.last)
        first = after


def _add(to: Counts, counts: Counts) -> None:
    for place, count in enumerate(counts):
        to[place] += count


def _periods(book: Book, months: dict[str, Counts]) -> dict[tuple[int, int], Counts]:
    """By month, or by year where the span is long."""
    long = (book.span.last - book.span.first).days > LONG_DAYS
    found: dict[tuple[int, int], Counts] = {}
    for month in sorted(months):
        year, number = int(month[:4]), int(month[5:])
        _add(found.setdefault((year, 0 if long else number), [0, 0, 0]), months[month])
    return {key: counts for key, counts in found.items() if counts[0] + counts[1]}


def _share(counts: Counts) -> float:
    return 100 * counts[0] / (counts[0] + counts[1]) if counts[0] + counts[1] else 100.0


def _cells(counts: Counts) -> tuple[str, str, str, str]:
    return f"{counts[0]:,}", f"{counts[1]:,}", f"{counts[2]:,}", f"{_share(counts):.1f}"


def _draw(book: Book, periods: dict[tuple[int, int], Counts]) -> None:
    span, bars = book.span, []
    for (year, month), counts in periods.items():
        first, after = date(year, month or 1, 1), date(year + (month in (0, 12)), month % 12 + 1 if month else 1, 1)
        begin, end = max(midnight(first, span.zone), span.start_ms), min(midnight(after, span.zone), span.end_ms)
        bars.append(Bar(begin, end, (_share(counts),)))
    shares = [_share(counts) for counts in periods.values()]
    whole = [sum(place) for place in zip(*periods.values(), strict=True)]
    alt = (
        f"Bars of the share of tasks done on time, {span}: {whole[0]:,} on time and {whole[1]:,} late, "
        f"{_share(whole):.1f} % in all, from {min(shares):.1f} to {max(shares):.1f} %. The figures stand in the "
        "table below."
    )
    draw(book.paper, Chart(alt, "%", along(span.first, span.last, span.zone), _PERCENT, bars=bars))
