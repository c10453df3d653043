"""The trends of the binder: what was read, as a chart and its figures by month, machine by machine."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from webapp.core.bands import verdict
from webapp.core.numbers import tidy
from webapp.records.kinds.hazards import QUANTITIES, air_quantity
from webapp.reports.book import Book
from webapp.reports.charts import DEEP, Chart, Mark, draw
from webapp.reports.entries import Told, figure
from webapp.reports.oil_use import draw_use, used
from webapp.reports.scales import Scale, along, upright
from webapp.reports.traces import Trace, said
from webapp.upkeep.exhaust import convert

READ = ("round.done", "reading.taken", "air.checked")
_NAMES = {quantity: check for check, quantity in QUANTITIES.items()}
_LETTERS = {"ph": "pH"}


@dataclass
class _Machine:
    """The traces of one machine by quantity, the bands its checks and fluids have now, what it was commissioned at."""

    row: dict[str, Any]
    bands: dict[str, tuple[dict[str, Any], str]]
    factors: dict[str, float]
    traces: dict[str, Trace] = field(default_factory=dict)
    commissioned: dict[str, tuple[float, str]] = field(default_factory=dict)


def trends(book: Book) -> None:
    """Every quantity that was read twice or more, and the use of oil, machine by machine; then the shop's own."""
    if not book.has(*READ, "fluid.added"):
        return
    rows = sorted(book.names.rows["machine"], key=lambda one: str(one["name"]))
    chosen = [row for row in rows if not book.reader.machines or row["id"] in book.reader.machines]
    with book.section("Trends"):
        book.paper.text(
            "Readings as they were taken, in rounds and outside of them; voided ones are left out. A band is that of "
            "today's check list; a reading is counted as outside by the band that it was judged by."
        )
        for row in chosen:
            _machine(book, row)


def _machine(book: Book, row: dict[str, Any]) -> None:
    """The charts of one machine. One machine is held at a time."""
    found = _Machine(row, *_bands(book, row))
    for told in book.reader.stream(READ, book.span.start_ms, book.span.end_ms, row["id"]):
        if not told.voided:
            for quantity, value, unit, outside in _values(told, found):
                _add(book, found, quantity, told.ms, value, unit, outside)
    oils = used(book, row)
    drawn = {quantity: trace for quantity, trace in sorted(found.traces.items()) if trace.whole.count > 1}
    if not drawn and not oils:
        return
    book.part(str(row["name"]))
    for quantity, trace in drawn.items():
        _draw(book, found, quantity, trace)
    for fluid, stretches in oils:
        draw_use(book, row, fluid, stretches)
    single = [name(quantity) for quantity, trace in sorted(found.traces.items()) if trace.whole.count == 1]
    if single:
        book.paper.text(f"Read once in this span: {', '.join(single)}.", 9)


def _bands(book: Book, row: dict[str, Any]) -> tuple[dict[str, tuple[dict[str, Any], str]], dict[str, float]]:
    """By quantity the band and its unit, from fluids and then from checks; and what Brix is multiplied by."""
    bands: dict[str, tuple[dict[str, Any], str]] = {}
    factors: dict[str, float] = {}
    for fluid in row["fluids"]:
        quantity = str(fluid.get("quantity") or f"{fluid['kind']}.strength")
        factors[quantity] = fluid.get("factor") or 1
        if fluid.get("band"):
            bands[quantity] = (fluid["band"], "%")
    for checklist in book.names.rows["checklist"]:
        for check in checklist["checks"] if checklist["machine"] == row["id"] and not checklist["retired"] else ():
            if check.get("quantity") and check.get("band"):
                bands.setdefault(check["quantity"], (check["band"], str(check.get("unit") or "")))
    return bands, factors


def _values(told: Told, found: _Machine) -> Iterator[tuple[str, float, str, bool]]:
    """The figures of an entry: quantity, value, unit, and whether it lay outside its band."""
    body = told.body
    if told.kind == "round.done":
        for one in body["checks"]:
            if one.get("quantity") and one.get("value") is not None and one["answer"] != "n/a":
                outside = (one.get("verdict") or "within") != "within"
                yield one["quantity"], one["value"], one.get("unit") or "", outside
        return
    quantity = air_quantity(body) if told.kind == "air.checked" else body["quantity"]
    if body.get("commissioning"):
        found.commissioned[quantity] = (body["value"], body["unit"])
    band, unit = found.bands.get(quantity, ({}, ""))
    outside = bool(band) and unit == body["unit"] and verdict(body["value"], band) != "within"
    yield quantity, body["value"], body["unit"], outside


def _add(book: Book, found: _Machine, quantity: str, ms: int, value: float, unit: str, outside: bool) -> None:
    """A reading put to its trace; in a unit that does not go with the first one's it begins a trace of its own."""
    if unit.lower() in ("brix", "°bx", "bx") and quantity in found.factors:
        value, unit = tidy(value * found.factors[quantity], 3), "%"
    trace = found.traces.setdefault(quantity, Trace(book.span, unit))
    same = convert(value, unit, trace.unit)
    if same is None:
        trace, same = found.traces.setdefault(f"{quantity} ({unit})", Trace(book.span, unit)), value
    trace.add(ms, same, outside)


def name(quantity: str) -> str:
    """ "Coolant strength", "Filter drop, booth 2"."""
    base, _, place = quantity.partition("/")
    words = _NAMES.get(base) or " ".join(_LETTERS.get(word, word) for word in base.replace("_", " ").split("."))
    told = words[:1].upper() + words[1:]
    return f"{told}, {place}" if place else told


def _draw(book: Book, found: _Machine, quantity: str, trace: Trace) -> None:
    """One quantity: its chart, then the figures of each month or year."""
    paper, unit = book.paper, trace.unit
    title = name(quantity)
    paper.heading(3, f"{title}, {unit}" if unit and unit not in title else title, keep=DEEP)
    band, of = found.bands.get(quantity, ({}, ""))
    levels = _levels(band) if of == unit else []
    then, measured = found.commissioned.get(quantity, (None, ""))
    same = convert(then, measured, unit) if then is not None else None
    if same is not None:
        levels.append((same, f"commissioned at {figure(same)}"))
    marks = [Mark(ms, value, "diamond" if outside else "dot") for ms, value, outside in trace.points()]
    key = (("line", "readings"), ("diamond", "outside its band")) if trace.whole.outside else ()
    near = [value for value, _ in levels if _near(value, trace)]
    up = upright([*(one.y for one in marks), *near])
    shaded = _stretch(band, up) if of == unit else None
    alt, days = _alt(book, found.row, quantity, trace), along(book.span.first, book.span.last, book.span.zone)
    draw(paper, Chart(alt, unit or "figure", days, up, marks, levels=levels, band=shaded, key=key))
    _figures(book, trace)


def _near(value: float, trace: Trace) -> bool:
    """Whether a limit is drawn: one so far off that the readings would be a flat line is only said in words."""
    spread = (trace.whole.high - trace.whole.low) or abs(trace.whole.high) or 1.0
    return trace.whole.low - 3 * spread <= value <= trace.whole.high + 3 * spread


def _levels(band: dict[str, Any]) -> list[tuple[float, str]]:
    words = {"stop_low": "stop below", "act_low": "act below", "target": "target", "act_high": "act above",
             "stop_high": "stop above"}  # fmt: skip
    return [(band[key], f"{told} {figure(band[key])}") for key, told in words.items() if band.get(key) is not None]


def _stretch(band: dict[str, Any], up: Scale) -> tuple[float, float] | None:
    """Where all is well, from the lower limit to the upper; a side without one is open."""
    low = band.get("act_low") if band.get("act_low") is not None else band.get("stop_low")
    high = band.get("act_high") if band.get("act_high") is not None else band.get("stop_high")
    if low is None and high is None:
        return None
    return up.low if low is None else low, up.high if high is None else high


def _alt(book: Book, row: dict[str, Any], quantity: str, trace: Trace) -> str:
    """What is read aloud in the chart's place."""
    whole, unit = trace.whole, f" {trace.unit}" if trace.unit else ""
    (begun, first, _), *_, (ended, last, _) = trace.points()
    told = (
        f"Line chart of {name(quantity).lower()} at {row['name']}, {book.span}: {whole.count} readings, from "
        f"{figure(first)}{unit} on {book.when(begun)[:10]} to {figure(last)}{unit} on {book.when(ended)[:10]}, "
        f"lowest {figure(whole.low)}{unit}, highest {figure(whole.high)}{unit}"
    )
    return f"{told}, {whole.outside} outside their band. The figures stand in the table below."


def _figures(book: Book, trace: Trace) -> None:
    unit = f" ({trace.unit})" if trace.unit else ""
    with book.table(("Span", 3, False), ("Readings", 1.4, True), (f"Lowest{unit}", 2, True), (f"Mean{unit}", 2, True),
                    (f"Highest{unit}", 2, True), ("Outside the band", 2, True)) as table:  # fmt: skip
        for key, one in trace.periods.items():
            cells = (f"{value:,.4g}" for value in (one.low, one.total / one.count, one.high))
            table.row(said(key), str(one.count), *cells, str(one.outside))
