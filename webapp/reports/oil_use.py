"""How much oil a machine used per hour between fills, as a chart of the binder."""

from __future__ import annotations

from typing import Any

from webapp.core import lubrication
from webapp.core.instants import instant_text
from webapp.core.lubrication import Stretch
from webapp.core.numbers import tidy
from webapp.core.problems import Problem
from webapp.records.state import Effective
from webapp.reports.book import Book
from webapp.reports.charts import DEEP, Chart, Mark, draw
from webapp.reports.entries import Told, figure
from webapp.reports.scales import along, upright
from webapp.reports.traces import Trace
from webapp.upkeep.fluid_oil import events_of
from webapp.upkeep.fluid_past import KINDS, METERS, gather


def used(book: Book, row: dict[str, Any]) -> list[tuple[dict[str, Any], list[Stretch]]]:
    """The machine's oils, each with its stretches between known levels in the span; none where they do not add up."""
    oils = [fluid for fluid in row["fluids"] if str(fluid["kind"]).endswith("oil")]
    if not oils:
        return []
    stream = book.reader.stream(KINDS, book.span.start_ms, book.span.end_ms, row["id"])
    past = gather(row, {}, ((told.ms, _effective(told)) for told in stream if not told.voided), book.span.zone)
    found = []
    for fluid in oils:
        try:
            known = lubrication.stretches(events_of(fluid, past, []), fluid["capacity"])[0]
        except Problem:
            continue
        known = [one for one in known if one.hours > 0]
        if len(known) > 1:
            found.append((fluid, known))
    return found


def _effective(told: Told) -> Effective:
    """As the fold sees it; of a round only the levels of tanks, for ten years of other answers would be held for
    nothing."""
    body = told.body
    if told.kind == "round.done":
        body = body | {"checks": [one for one in body["checks"] if str(one.get("quantity")).endswith(".level")]}
    return Effective(told.id, told.kind, told.machine, told.by, instant_text(told.ms), body)


def draw_use(book: Book, row: dict[str, Any], fluid: dict[str, Any], known: list[Stretch]) -> None:
    """Oil used per hour in each stretch, drawn at the stretch's end, with the figures below."""
    meters = {meter["kind"]: meter for meter in row["meters"]}
    per = next((str(meters[kind]["unit"]) for kind in METERS if kind in meters), "h")
    unit, trace = f"{fluid['unit']} per {per}", Trace(book.span, "")
    for one in known:
        trace.add(one.to_at, tidy(one.used / one.hours, 5))
    book.paper.heading(3, f"{fluid['name']} used, {unit}", keep=DEEP)
    alt = (
        f"Line chart of {fluid['name']} used per {per} between fills at {row['name']}, {book.span}: {len(known)} "
        f"stretches, lowest {trace.whole.low:.3g}, highest {trace.whole.high:.3g} {unit}. The figures stand in the "
        "table below."
    )
    marks = [Mark(ms, value) for ms, value, _ in trace.points()]
    days = along(book.span.first, book.span.last, book.span.zone)
    draw(book.paper, Chart(alt, unit, days, upright([one.y for one in marks], from_zero=True), marks))
    columns = (("Filled or read", 2, False), (f"Run since the last time ({per})", 2, True),
               (f"Used ({fluid['unit']})", 2, True), (f"Used ({unit})", 2, True))  # fmt: skip
    with book.table(*columns) as table:
        for one in known:
            rate = f"{one.used / one.hours:.3g}"
            table.row(book.when(one.to_at)[:10], figure(round(one.hours, 1)), f"{one.used:.3g}", rate)
