"""Check sheets to print for a day without phones: one machine a page, to be typed in afterwards."""

from __future__ import annotations

import hashlib
from collections.abc import Collection
from datetime import UTC, datetime
from typing import IO, Any

from sqlalchemy.orm import Session

from webapp.core.bands import LIMITS
from webapp.library import DEFERENCE
from webapp.records.faults import Fault, Refused
from webapp.records.kinds.rounds import FORMS
from webapp.reports.codes import QUIET, address, modules
from webapp.reports.entries import figure
from webapp.reports.flow import POINT, Paper, wrap
from webapp.reports.pdf import Element, Pdf
from webapp.setup import definitions

_BOX = 5.0
_SHARES = (7.0, 0.0, 33.0, 13.0, 13.0, 13.0)
"""Widths in mm: number, the check (what is left), value, ok, not ok, n/a."""


def write_sheets(
    session: Session, out: IO[bytes], now_ms: int, base: str, *, machines: Collection[str] = (), form: str = "start-up"
) -> int:
    """Write a sheet for each machine (or those named) that has lists of this form; how many pages. Raises Refused."""
    if form not in FORMS:
        raise Refused(Fault("form", f"is «{form}»", f"choose one of: {', '.join(FORMS)}"))
    shop = definitions.list_all(session, "shop")[0]
    rows = {row["id"]: row for row in definitions.list_all(session, "machine") if not row["retired"]}
    bays = {row["id"]: row["name"] for row in definitions.list_all(session, "bay")}
    lists = [
        row for row in definitions.list_all(session, "checklist")
        if not row["retired"] and row["form"] == form and row["machine"] in rows
        and (not machines or row["machine"] in machines)
    ]  # fmt: skip
    if not lists:
        raise Refused(Fault("machines", f"have no {form} list", "name others, or set one up for them"))
    lists.sort(key=lambda row: (rows[row["machine"]]["name"], row["name"]))
    told = repr([(row["id"], row["revision"]) for row in lists] + [base])
    pdf = Pdf(out, title=f"Check sheets, {shop['name']}", made=datetime.fromtimestamp(now_ms / 1000, UTC),
              identity=hashlib.sha256(told.encode()).digest()[:16])  # fmt: skip
    paper = Paper(pdf, "A4" if shop["units"] == "metric" else "Letter", f"Check sheet, {shop['name']}")
    for row in lists:
        _sheet(paper, rows[row["machine"]], bays, row, base)
    pages = pdf.page_count
    pdf.finish()
    return pages


def _sheet(paper: Paper, machine: dict[str, Any], bays: dict[str, str], row: dict[str, Any], base: str) -> None:
    pdf = paper.pdf
    pdf.push("Sect")
    paper.new_page()
    _code(paper, address(base, "machine", machine["id"]))
    right, paper.right = paper.right, paper.right - 34
    paper.heading(1, machine["name"])
    bay = f" · {bays[machine['bay']]}" if machine["bay"] in bays else ""
    paper.text(f"{row['name']} · revision {row['revision']}{bay}", 11, bold=True)
    paper.right = right
    paper.y = max(paper.y, 46)
    _blanks(paper, (("Date", 34), ("Begun at", 26), ("Ended at", 26), ("Name or initials", 60)))
    _checks(paper, row["checks"])
    if machine["meters"]:
        paper.text("Counters", 9.5, bold=True, after=1)
        _blanks(paper, [(f"{meter['name']} ({meter['unit']})", 56) for meter in machine["meters"]])
    paper.text("What was found, and what was done about it", 9.5, bold=True, after=1)
    _lines(paper, 3)
    ends = ("Fit to start", "NOT fit to start: tag hung") if row["form"] == "start-up" else ("Done",)
    _ends(paper, ends)
    paper.text(
        "A stop check that is not ok: do not start the machine, hang the tag. Type this sheet in afterwards with its "
        "date and time; it is then marked as typed in from paper.", 8.5, after=1,
    )  # fmt: skip
    paper.text(DEFERENCE, 8.5, bold=True, after=0)
    pdf.pop()


def _code(paper: Paper, text: str) -> None:
    """The machine's QR code in the upper right corner."""
    pdf, code = paper.pdf, modules(text)
    side = 28 / (len(code) + 2 * QUIET)
    pdf.push_figure(f"QR code that opens {text}", paper.right - 28, 12, 28, 28)
    pdf.begin_content()
    pdf.squares(paper.right - 28 + QUIET * side, 12 + QUIET * side, side, code)
    pdf.end_content()
    pdf.pop()


def _blanks(paper: Paper, blanks: Any) -> None:
    """Labels with a line to write on, side by side, as many rows as they take."""
    pdf, x = paper.pdf, paper.left
    paper.need(13)
    for label, width in blanks:
        if x + width > paper.right + 1:
            x = paper.left
            paper.y += 13
            paper.need(13)
        pdf.push("P")
        pdf.begin_content()
        pdf.text(x, paper.y + 3, label, 8)
        pdf.end_content()
        pdf.pop()
        pdf.begin_artifact()
        pdf.line(x, paper.y + 10, x + width - 4, paper.y + 10, 0.3)
        pdf.end_content()
        x += width
    paper.y += 14


def _lines(paper: Paper, count: int) -> None:
    for _ in range(count):
        paper.need(8)
        paper.y += 8
        paper.pdf.begin_artifact()
        paper.pdf.line(paper.left, paper.y, paper.right, paper.y, 0.2, 0.4)
        paper.pdf.end_content()
    paper.y += 3


def _ends(paper: Paper, ends: tuple[str, ...]) -> None:
    pdf, x = paper.pdf, paper.left
    paper.need(9)
    for text in ends:
        pdf.begin_artifact()
        pdf.box(x, paper.y, _BOX, _BOX, line=0.35)
        pdf.end_content()
        pdf.push("P")
        pdf.begin_content()
        pdf.text(x + _BOX + 2, paper.y + 4.2, text, 11, True)
        pdf.end_content()
        pdf.pop()
        x += 52
    paper.y += 9


def _checks(paper: Paper, checks: list[dict[str, Any]]) -> None:
    pdf = paper.pdf
    widths = [width or paper.inner - sum(_SHARES) for width in _SHARES]
    pdf.push("Table")
    _head(paper, widths, real=True)
    for number, check in enumerate(checks, 1):
        _check(paper, widths, number, check)
    pdf.pop()
    paper.y += 4


def _head(paper: Paper, widths: list[float], *, real: bool) -> None:
    """The columns' names; on a further page an artifact, for they are the table's already."""
    pdf, x = paper.pdf, paper.left
    if real:
        pdf.push("TR")
    for title, width in zip(("", "Check", "Value", "Ok", "Not ok", "n/a"), widths, strict=True):
        if real:
            pdf.push("TH", "/A<</O/Table/Scope/Column>>")
            pdf.begin_content()
        else:
            pdf.begin_artifact()
        middle = (width - paper.face(True).width(title, 8.5) * POINT) / 2 if width == 13 else 0
        pdf.text(x + middle, paper.y + 3.4, title, 8.5, True)
        pdf.end_content()
        if real:
            pdf.pop()
        x += width
    if real:
        pdf.pop()
    paper.y += 5
    paper.rule(0.4, 0)


def _check(paper: Paper, widths: list[float], number: int, check: dict[str, Any]) -> None:
    """A check: what to look at in large type, how and its limits small below it, and where to write."""
    pdf = paper.pdf
    mark = "STOP: " if check["stop"] else ""
    lines = wrap(paper.face(True), mark + check["text"], widths[1] - 2, 10.5)
    below = [text for text in (check["how"], limits(check)) if text]
    small = [line for text in below for line in wrap(paper.face(False), text, widths[1] - 2, 8)]
    deep = max(len(lines) * 4.7 + len(small) * 3.5 + 2.4, 9)
    if paper.y + deep > paper.bottom:
        paper.new_page()
        _head(paper, widths, real=False)
    pdf.push("TR")
    cells = [pdf.add("TD") for _ in range(3)]
    _write(paper, cells[0], paper.left, [(str(number), 10.5, True)])
    _write(
        paper, cells[1], paper.left + widths[0], [(one, 10.5, True) for one in lines] + [(s, 8, False) for s in small]
    )
    x = paper.left + sum(widths[:2])
    _write(paper, cells[2], x + 20.5, [("", 9, False), (_unit(check), 9, False)])
    for cell in cells:
        pdf.close(cell)
    pdf.pop()
    pdf.begin_artifact()
    if check["answer"] == "reading":
        pdf.line(x, paper.y + 8, x + 19, paper.y + 8, 0.3)
    x += widths[2]
    for width in widths[3:]:
        pdf.box(x + (width - _BOX) / 2, paper.y + 1.8, _BOX, _BOX, line=0.35)
        x += width
    if check["stop"]:
        pdf.line(paper.left - 2, paper.y + 0.6, paper.left - 2, paper.y + deep - 0.6, 1.2)
    pdf.end_content()
    paper.y += deep
    paper.rule(0.15, 0.4)


def _write(paper: Paper, cell: Element, x: float, lines: list[tuple[str, float, bool]]) -> None:
    pdf, y = paper.pdf, paper.y + 1
    pdf.begin_content(cell)
    for text, size, bold in lines:
        y += size * 1.27 * POINT
        pdf.text(x, y - size * 0.3 * POINT, text, size, bold)
    pdf.end_content()


def _unit(check: dict[str, Any]) -> str:
    """Beside the line on which a reading is written: its unit."""
    if check["answer"] != "reading":
        return ""
    return "as shown" if check.get("factor") not in (None, 1) else str(check.get("unit") or "")


def limits(check: dict[str, Any]) -> str:
    """A reading's limits with their unit, or a choice's answers, those in order first."""
    if check.get("choices"):
        good = ", ".join(one["text"] for one in check["choices"] if one["ok"])
        bad = ", ".join(one["text"] for one in check["choices"] if not one["ok"])
        return f"Ok: {good}. Not ok: {bad}." if bad else f"Ok: {good}."
    band, unit = check.get("band") or {}, check.get("unit") or ""
    words = {"stop_low": "stop below", "act_low": "act below", "target": "target", "act_high": "act above",
             "stop_high": "stop above"}  # fmt: skip
    factor = check.get("factor")
    times = [f"figure shown × {figure(factor)} = {unit}"] if factor not in (None, 1) else []
    told = times + [
        f"{words[name]} {figure(band[name])} {unit}".strip() for name in LIMITS if band.get(name) is not None
    ]
    return "; ".join(told)
