"""The sections of the binder, in their order."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from webapp.core.instants import parse_instant
from webapp.library import DEFERENCE
from webapp.records.kinds import KINDS
from webapp.records.kinds.base import alloy_said
from webapp.reports.book import Book
from webapp.reports.entries import Told, figure
from webapp.reports.exposures import measured
from webapp.reports.life_charts import lives_charts, time_spent
from webapp.reports.lives import folded, life_of, totals_at
from webapp.reports.punctuality import on_time
from webapp.reports.trends import trends

OUTCOMES = {"fit": "Fit to start", "not fit": "NOT fit to start", "done": "Done"}


def machines(book: Book) -> None:
    """Every machine with its plate, what its meters stood at, its parts and fluids."""
    chosen = [
        row for row in book.names.rows["machine"] if not book.reader.machines or row["id"] in book.reader.machines
    ]
    with book.section("Machines"):
        if not chosen:
            book.paper.text("No machine is set up.")
        for row in sorted(chosen, key=lambda one: one["name"]):
            book.progress(1, row["name"])
            book.part(row["name"])
            book.paper.facts(_plate(book, row))
            _meters(book, row)


def _plate(book: Book, row: dict[str, Any]) -> list[tuple[str, str]]:
    plate = [
        ("Maker", row.get("maker") or "not noted"),
        ("Model", row.get("model") or "not noted"),
        ("Serial number", row.get("serial") or "not noted"),
        ("Bay", book.names(row["bay"]) if row["bay"] else "none"),
    ]
    for label, key in (("Wearing parts", "parts"), ("Fluids", "fluids")):
        if row[key]:
            plate.append((label, ", ".join(_thing(one) for one in row[key])))
    if row.get("notes"):
        plate.append(("Notes", row["notes"]))
    state = "out of the shop (retired)" if row["retired"] else "in the shop"
    return [*plate, ("Set up", f"revision {row['revision']}, {state}"), ("Id", row["id"])]


def _thing(one: dict[str, Any]) -> str:
    return f"{one['name']} ({figure(one['capacity'])} {one['unit']})" if "capacity" in one else str(one["name"])


def _meters(book: Book, row: dict[str, Any]) -> None:
    if not row["meters"]:
        return
    first = totals_at(book.session, row["id"], book.span.start_ms)
    last = totals_at(book.session, row["id"], book.span.end_ms)
    with book.table(
        ("Meter", 3, False), ("At the start", 2, True), ("At the end", 2, True), ("In the span", 2, True)
    ) as t:
        for meter in row["meters"]:
            begun, ended = first.get(meter["id"], 0), last.get(meter["id"], 0)
            figures = (f"{value:,.1f} {meter['unit']}" for value in (begun, ended, ended - begun))
            t.row(meter["name"], *figures)


def rounds(book: Book) -> None:
    """Every round with its readings and what was not in order, by month."""
    if not book.has("round.done"):
        return
    with book.section("Rounds"):
        book.paper.text(
            "Readings stand with their unit; what was not ok, or lay outside its band, stands below its round."
        )
        for month, rows in book.by_month("round.done"):
            book.part(month)
            with book.table(("When", 2, False), ("Machine and list", 4, False), ("Who", 2.2, False),
                            ("Outcome", 2, False), ("Checks", 1, True), ("Min", 0.8, True)) as table:  # fmt: skip
                for told in rows:
                    body = told.body
                    what = f"{book.where(told.machine)}: {book.names(body['checklist'])}"
                    end = OUTCOMES[body["outcome"]] + (" (typed in from paper)" if body.get("typed_in") else "")
                    size = (str(len(body["checks"])), f"{body['seconds'] / 60:.1f}")
                    book.row(table, told, book.when(told.ms), what, book.names(told.by), end, *size)
                    for line, bad in _answers(book, body["checks"]):
                        table.under(line, bold=bad)
                    book.photos(table, [(one.get("photo"), _check(book, one)) for one in body["checks"]])


def _answers(book: Book, checks: list[dict[str, Any]]) -> list[tuple[str, bool]]:
    """The readings of a round in one line, then a line for each check that was not ok or not applicable."""
    readings = [_reading(book, one) for one in checks if one.get("value") is not None]
    lines = [("; ".join(readings), False)] if readings else []
    for one in checks:
        if one["answer"] == "ok" and not one.get("note"):
            continue
        word = {"ok": "Ok", "not ok": "NOT OK", "n/a": "Not applicable"}[one["answer"]]
        stop = " (stop check)" if one["stop"] and one["answer"] == "not ok" else ""
        note = f": {one['note']}" if one.get("note") else ""
        lines.append((f"{word}{stop}, {_check(book, one)}{note}", one["answer"] == "not ok"))
    return lines


def _check(book: Book, one: dict[str, Any]) -> str:
    known = book.names.checks.get(one["check"])
    return str(known["text"]) if known else f"a check no longer listed ({one['check'][:8]})"


def _reading(book: Book, one: dict[str, Any]) -> str:
    unit = f" {one['unit']}" if one.get("unit") else ""
    lies = one.get("verdict")
    return f"{_check(book, one)}: {figure(one['value'])}{unit}{f' ({lies})' if lies and lies != 'within' else ''}"


def _closed(
    book: Book, title: str, opened: str, closed: str, field: str, line: Callable[[dict[str, Any]], str]
) -> None:
    """Things that are opened and closed again: those of the span, and those that were open when it began."""
    start, end = book.span.start_ms, book.span.end_ms
    closings = book.reader.closings(closed, field)
    with book.table(("Opened", 2, False), ("Where", 2.4, False), (title, 5, False), ("Who", 2, False)) as table:
        shown = 0
        for told in book.reader.stream((opened,), -(2**62), end):
            position = closings.get(told.id)
            closing = book.reader.at(position) if position else None
            if told.ms < start and (told.voided or (closing is not None and closing.ms < start)):
                continue
            shown += 1
            book.row(table, told, book.when(told.ms), book.where(told.machine), line(told.body), book.names(told.by))
            book.photos(table, [(told.body.get("photo"), line(told.body))])
            if told.voided is None:
                table.under(_how_closed(book, closing, end), bold=closing is None or closing.ms >= end)
        if not shown:
            table.row("", "", "None in this span.", "")


def _how_closed(book: Book, closing: Told | None, end: int) -> str:
    if closing is None:
        return "Still open when this was printed."
    told = f"Closed {book.when(closing.ms)} by {book.names(closing.by)}: {closing.body['done']}"
    return told if closing.ms < end else f"Open at the end of this span. {told}"


def findings(book: Book) -> None:
    """Findings and tags, and how they were closed."""
    with book.section("Findings and tags"):
        book.part("Findings, and how they were closed")
        _closed(book, "Found", "finding.opened", "finding.closed", "finding", _finding)
        book.part("«Do not operate» tags, and how they came off")
        _closed(book, "Why", "tag.on", "tag.off", "tag", lambda body: str(body["why"]))


def _finding(body: dict[str, Any]) -> str:
    return f"{'STOP: ' if body['stop'] else ''}{body['text']}"


def changes(book: Book) -> None:
    """Parts changed, with the life that ended, machine by machine."""
    if not book.has("part.changed"):
        return
    with book.section("Changes of parts"):
        book.paper.text("A life is counted from the change before, in the meters of its machine.")
        for row in sorted(book.names.rows["machine"], key=lambda one: one["name"]):
            if row["parts"] and (not book.reader.machines or row["id"] in book.reader.machines):
                _lives(book, row)


def _lives(book: Book, row: dict[str, Any]) -> None:
    units = {meter["id"]: meter for meter in row["meters"]}
    kept, ended = {}, []
    for doc, order, entry in folded(book.session, row["id"], book.span.start_ms, book.span.end_ms):
        if entry is not None and entry.kind == "part.changed":
            life = kept[order[1]] = life_of(doc, entry.body["part"], entry.at)
            ended += [(entry.body["part"], life)] if life else []
    if not kept:
        return
    book.part(row["name"])
    with book.table(("When", 2, False), ("Part", 3, False), ("Why", 2.4, False), ("Life that ended", 4, False),
                    ("Who", 2, False)) as table:  # fmt: skip
        for told in book.reader.stream(("part.changed",), book.span.start_ms, book.span.end_ms, row["id"]):
            body = told.body
            life = kept.get(told.id)
            note = f": {body['note']}" if body.get("note") else ""
            book.row(table, told, book.when(told.ms), book.names(body["part"]), f"{body['reason']}{note}",
                     _life(book, life, units), book.names(told.by))  # fmt: skip
    lives_charts(book, row, ended)


def _life(book: Book, life: dict[str, Any] | None, units: dict[str, dict[str, Any]]) -> str:
    if life is None:
        return "not known: no change before it"
    days = (parse_instant(life["to"]) - parse_instant(life["from"])) / 86_400_000
    lived = [_lived(value, units[meter]) for meter, value in life["meters"].items() if meter in units and value]
    cut = [f"{figure(life['minutes'])} min of cutting"] if life.get("minutes") else []
    return ", ".join([f"{days:.0f} days", *lived, *cut])


def _lived(value: float, meter: dict[str, Any]) -> str:
    name = meter["name"].lower()
    return f"{figure(round(value, 1))} {meter['unit']}" + (f" ({name})" if name != meter["unit"].lower() else "")


def fluids(book: Book) -> None:
    _lines(book, "Fluids", "fluid.added", "fluid.changed", extra=_mixed)


def _mixed(book: Book, told: Told) -> str:
    body = told.body
    unit = body.get("unit") or ""
    made = [f"{key} {figure(body[key])} {unit}" for key in ("water", "concentrate") if body.get(key) is not None]
    made += [f"strength {figure(body['strength'])} %"] if body.get("strength") is not None else []
    return ", ".join([*made, *([body["note"]] if body.get("note") else [])])


def tasks(book: Book) -> None:
    _lines(book, "Tasks", "task.done", "task.deferred", "task.raised", extra=_minutes)


def _minutes(book: Book, told: Told) -> str:
    minutes = told.body.get("minutes")
    return f"{figure(minutes)} min" if minutes is not None else ""


def readings(book: Book) -> None:
    _lines(book, "Readings and counters outside of rounds", "reading.taken", "meter.read", extra=_instrument)


def _instrument(book: Book, told: Told) -> str:
    body = told.body
    return ", ".join(str(body[key]) for key in ("instrument", "note") if body.get(key))


def air(book: Book) -> None:
    """Ventilation and protective equipment; what was noted as a hazard."""
    if not book.has("air.checked", "purge.run", "ppe.checked", "fit.tested", "hazard.noted", "chips.collected"):
        return
    with book.section("Hazards, ventilation and protective equipment"):
        book.paper.text(DEFERENCE, bold=True)
        if book.has("hazard.noted"):
            book.part("Hazards noted, and how they were settled")
            line = KINDS["hazard.noted"].summary
            _closed(book, "Noted", "hazard.noted", "hazard.closed", "hazard", lambda body: line(body, book.names))
        for title, kinds in (
            ("Ventilation", ("air.checked", "purge.run")),
            ("Protective equipment and fit tests", ("ppe.checked", "fit.tested")),
            ("Chips and dust collected", ("chips.collected",)),
        ):
            if book.has(*kinds):
                book.part(title)
                _table(book, kinds, _notes)


def _notes(book: Book, told: Told) -> str:
    body = told.body
    names = ("instrument", "make_note", "method", "expires", "note")
    return ", ".join(f"{key.replace('_', ' ')}: {body[key]}" for key in names if body.get(key))


def exposures(book: Book) -> None:
    """Exposure results beside the limits in print, with their sources."""
    if not book.has("exposure.measured"):
        return
    with book.section("Exposure results"):
        book.paper.text(DEFERENCE, bold=True)
        book.paper.text(
            "A result below a limit is below the limit and nothing more. Limits are those in force on the day sampled."
        )
        for told in book.stream("exposure.measured"):
            measured(book, told)


def training(book: Book) -> None:
    _lines(book, "Training signed off", "training.signed", extra=_trainer)


def _trainer(book: Book, told: Told) -> str:
    body = told.body
    by = book.names(body["trainer"]) if body.get("trainer") else body.get("outside")
    return ", ".join(text for text in (f"trained by {by}" if by else "", body.get("note") or "") if text)


def work(book: Book) -> None:
    _lines(
        book,
        "Work logged, stock and notes",
        "batch.run",
        "meter.added",
        "stock.counted",
        "stock.ordered",
        "note.made",
        extra=_work,
    )


def _work(book: Book, told: Told) -> str:
    body = told.body
    amounts = body.get("adds") or ({body["meter"]: body["amount"]} if told.kind == "meter.added" else {})
    adds = [f"{figure(value)} {book.names.things.get(meter, {}).get('unit', '')}" for meter, value in amounts.items()]
    alloy = [alloy_said(body["alloy"], book.names)] if body.get("alloy") else []
    return ", ".join([*adds, *alloy, *([str(body["note"])] if body.get("note") else [])])


def mended(book: Book) -> None:
    """Amendments and voidings made in the span, whatever they speak of."""
    if not book.has("entry.amended", "entry.voided"):
        return
    with book.section("Amendments and voidings"):
        book.paper.text(
            "Made in this span. The entries they speak of may lie before it, and are marked where they stand."
        )
        with book.table(
            ("When", 2, False), ("Who", 2, False), ("What", 1.4, False), ("Entry", 4, False), ("Why", 4, False)
        ) as t:
            for told in book.stream("entry.amended", "entry.voided"):
                word = "Voided" if told.kind == "entry.voided" else "Amended"
                t.row(
                    book.when(told.ms),
                    book.names(told.by),
                    word,
                    book.names.entry_line(told.body["entry"]),
                    told.body["why"],
                )


def set_up(book: Book) -> None:
    """What set-up was changed to, with the hash that the chain covers."""
    if not book.has("definition.revised"):
        return
    with (
        book.section("Set-up"),
        book.table(
            ("When", 2, False),
            ("Who", 2, False),
            ("What", 4, False),
            ("Revision", 1, True),
            ("SHA-256 begins", 2.4, False),
        ) as table,
    ):
        for told in book.stream("definition.revised"):
            body = told.body
            what = f"{body['type']}: {book.names.of.get(body['id'], body['id'])}"
            table.row(book.when(told.ms), book.names(told.by), what, str(body["revision"]), body["sha256"][:16])


def other(book: Book) -> None:
    """What no section above shows, so that nothing of the span is left out."""
    rest = set(KINDS) - SHOWN
    if book.has(*rest):
        _lines(book, "Everything else", *rest, extra=lambda book, told: "")


def _lines(book: Book, title: str, *kinds: str, extra: Callable[[Book, Told], str]) -> None:
    """A section of one line an entry, by month."""
    if not book.has(*kinds):
        return
    with book.section(title):
        for month, rows in book.by_month(*kinds):
            book.part(month)
            _rows(book, rows, extra)


def _table(book: Book, kinds: tuple[str, ...], extra: Callable[[Book, Told], str]) -> None:
    _rows(book, book.stream(*kinds), extra)


def _rows(book: Book, rows: Any, extra: Callable[[Book, Told], str]) -> None:
    with book.table(
        ("When", 2, False), ("Where", 2.4, False), ("What", 5, False), ("Further", 2.6, False), ("Who", 2, False)
    ) as t:
        for told in rows:
            line = KINDS[told.kind].summary(told.body, book.names)
            where, who = book.where(told.machine), book.names(told.by)
            book.row(t, told, book.when(told.ms), where, line, extra(book, told), who)
            book.photos(t, [(told.body.get("photo"), line)])


SECTIONS = (
    machines, rounds, findings, changes, fluids, tasks, time_spent, on_time, readings, trends, air, exposures, training,
    work, mended, set_up, other,
)  # fmt: skip
SHOWN = {
    "round.done", "finding.opened", "finding.closed", "tag.on", "tag.off", "part.changed", "fluid.added",
    "fluid.changed", "task.done", "task.deferred", "task.raised", "reading.taken", "meter.read", "air.checked",
    "purge.run", "ppe.checked", "fit.tested", "hazard.noted", "hazard.closed", "chips.collected", "exposure.measured",
    "training.signed", "batch.run", "meter.added", "stock.counted", "stock.ordered", "note.made", "entry.amended",
    "entry.voided",
    "definition.revised",
}  # fmt: skip
"""Kinds that a section above shows in its own way."""
