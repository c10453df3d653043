"""Labels for machines and bays: a QR code that opens the place, with the name in words, on any size of paper."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import IO

from webapp.records.faults import Fault, Refused
from webapp.reports.codes import QUIET, modules
from webapp.reports.flow import POINT, SIZES, wrap
from webapp.reports.pdf import Pdf

SMALLEST, LARGEST = 15.0, 300.0
_GAP = 2.0
"""Printers miss by a millimetre or so: nothing stands nearer to a label's edge."""


@dataclass(frozen=True)
class Label:
    """One label: what it opens, the name in large type, and a line below it."""

    address: str
    name: str
    below: str


@dataclass(frozen=True)
class Layout:
    """A sheet in mm: page, label, how many across and down, and the margins left and top."""

    page: tuple[float, float]
    label: tuple[float, float]
    across: int
    down: int
    margin: tuple[float, float]


def layout(size: str, paper: str) -> Layout:
    """The grid of labels of `size` (width x height in mm, as 62x29) on `paper`: A4, Letter, or roll (a label a page).

    As many as fit, in the middle of the sheet and side by side, as label papers are cut. Raises Refused.
    """
    match = re.fullmatch(r"(\d{1,3}(?:\.\d)?)x(\d{1,3}(?:\.\d)?)", size)
    width, height = (float(part) for part in match.groups()) if match else (0.0, 0.0)
    if not (min(width, height) >= SMALLEST and max(width, height) <= LARGEST):
        mend = f"write width x height in mm, such as 62x29, 70x37 or 105x74, each from {SMALLEST:g} to {LARGEST:g}"
        raise Refused(Fault("size", f"is «{size}»", mend))
    if paper == "roll":
        return Layout((width, height), (width, height), 1, 1, (0, 0))
    if paper not in SIZES:
        raise Refused(Fault("paper", f"is «{paper}»", "choose A4, Letter or roll"))
    page = SIZES[paper]
    across, down = int(page[0] / width + 1e-6), int(page[1] / height + 1e-6)
    if not across or not down:
        raise Refused(Fault("size", f"of {size} mm is larger than {paper} paper", "choose a smaller one, or roll"))
    return Layout(page, (width, height), across, down, ((page[0] - across * width) / 2, (page[1] - down * height) / 2))


def write_labels(
    out: IO[bytes], labels: Sequence[Label], sheet: Layout, now_ms: int, *, skip: int = 0, outlines: bool = False
) -> int:
    """Write the labels as PDF; `skip`: places of the first sheet that are used up; `outlines`: to cut along.

    Returns the number of pages. Raises Refused when there is nothing to print.
    """
    if not labels:
        raise Refused(Fault("machines", "leave nothing to print", "set up a machine or a bay first, or name others"))
    told = hashlib.sha256(repr((labels, sheet, skip)).encode()).digest()[:16]
    pdf = Pdf(out, title="Labels", made=datetime.fromtimestamp(now_ms / 1000, UTC), identity=told)
    each = sheet.across * sheet.down
    for number, label in enumerate(labels, skip % each):
        place = number % each
        if pdf.page is None or place == 0:
            pdf.begin_page(*sheet.page)
        x = sheet.margin[0] + place % sheet.across * sheet.label[0]
        y = sheet.margin[1] + place // sheet.across * sheet.label[1]
        if outlines:
            pdf.begin_artifact()
            pdf.box(x, y, *sheet.label, line=0.1)
            pdf.end_content()
        _draw(pdf, label, x, y, *sheet.label)
    pages = pdf.page_count
    pdf.finish()
    return pages


def _draw(pdf: Pdf, label: Label, x: float, y: float, width: float, height: float) -> None:
    """The code to the left and the words beside it; on one about as tall as wide the words stand below."""
    code = modules(label.address)
    tall = height > width * 0.8
    room = min(width - 2 * _GAP, (height - 2 * _GAP) * (0.62 if tall else 1), width * (1 if tall else 0.55))
    side = room / (len(code) + 2 * QUIET)
    left = x + ((width - room) / 2 if tall else _GAP)
    top = y + (_GAP if tall else (height - room) / 2)
    pdf.push_figure(f"QR code that opens {label.address}", left, top, room, room)
    pdf.begin_content()
    pdf.squares(left + QUIET * side, top + QUIET * side, side, code)
    pdf.end_content()
    pdf.pop()
    if tall:
        _words(pdf, label, x + _GAP, y + _GAP + room, width - 2 * _GAP, height - room - 2 * _GAP)
    else:
        _words(pdf, label, x + room + _GAP + 1, y + _GAP, width - room - 2 * _GAP - 1, height - 2 * _GAP)


def _words(pdf: Pdf, label: Label, x: float, y: float, width: float, height: float) -> None:
    """The name as large as it fits, the line below it small, both in the middle of their room."""
    size, names, below = _fitted(pdf, label, width, height)
    small = min(size * 0.62, 9.0)
    deep = (len(names) * size * 1.15 + len(below) * small * 1.2) * POINT
    y += max(0.0, (height - deep) / 2)
    pdf.push("P")
    pdf.begin_content()
    for line in names:
        y += size * 1.15 * POINT
        pdf.text(x, y - size * 0.25 * POINT, line, size, True)
    for line in below:
        y += small * 1.2 * POINT
        pdf.text(x, y - small * 0.25 * POINT, line, small)
    pdf.end_content()
    pdf.pop()


def _fitted(pdf: Pdf, label: Label, width: float, height: float) -> tuple[float, list[str], list[str]]:
    """The largest size of type at which everything fits without a word broken; what is too long is cut at the least."""
    size = min(30.0, height / POINT * 0.4)
    while size > 5:
        names = wrap(pdf.faces["F2"], label.name, width, size)
        below = wrap(pdf.faces["F1"], label.below, width, min(size * 0.62, 9.0)) if label.below else []
        whole = (len(names) * size * 1.15 + len(below) * min(size * 0.62, 9.0) * 1.2) * POINT
        small = min(size * 0.62, 9.0)
        fits = all(pdf.faces["F2"].width(word, size) * POINT <= width for word in label.name.split())
        fits = fits and all(pdf.faces["F1"].width(word, small) * POINT <= width for word in label.below.split())
        if whole <= height and fits:
            return size, names, below
        size -= 0.5
    return 5, wrap(pdf.faces["F2"], label.name, width, 5)[: max(1, int(height / POINT / 5.75))], []
