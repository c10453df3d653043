"""Text and tables set on pages one under the other: headings, paragraphs, facts, and tables that break across pages."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass

from webapp.reports.canvas import MM, Picture
from webapp.reports.fonts import Face
from webapp.reports.pdf import Element, Pdf
from webapp.reports.pictures import WIDE, placed

SIZES = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
POINT = 1 / MM
"""A point in mm."""
MARGIN, TOP, BOTTOM = 18.0, 16.0, 18.0
_HEADINGS = {1: (17, 10), 2: (12.5, 6), 3: (10.5, 4)}
"""Level -> (size in points, space above in mm)."""


def wrap(face: Face, text: str, width: float, size: float) -> list[str]:
    """A text in lines no wider than `width` mm; its own line breaks are kept."""
    lines: list[str] = []
    for part in clean(text).split("\n"):
        lines += _wrap_part(face, part, width / POINT, size)
    return lines


def clean(text: str) -> str:
    """A text without what paper cannot show: controls become spaces, line breaks stay."""
    return re.sub(r"[\x00-\x09\x0b-\x1f\x7f\u200b-\u200f\u2028-\u202e\ufeff]", " ", text.replace("\r\n", "\n"))


def _wrap_part(face: Face, text: str, width: float, size: float) -> list[str]:
    lines, now = [], ""
    for word in text.split():
        tried = f"{now} {word}" if now else word
        if face.width(tried, size) <= width:
            now = tried
            continue
        if now:
            lines.append(now)
        now = word
        while face.width(now, size) > width and len(now) > 1:
            fits = _fitting(face, now, width, size)
            lines.append(now[:fits])
            now = now[fits:]
    return [*lines, now]


def _fitting(face: Face, word: str, width: float, size: float) -> int:
    """How many letters of a word that is too long fit on a line; at least one."""
    return max(1, bisect_right(range(1, len(word) + 1), width, key=lambda letters: face.width(word[:letters], size)))


@dataclass(frozen=True)
class Column:
    """A column of a table: its heading, its share of the width, and whether figures stand to the right."""

    title: str
    share: float
    right: bool = False


class Paper:
    """The page that is being filled. `footer` stands at the foot of every page with its number."""

    def __init__(self, pdf: Pdf, size: str, footer: str) -> None:
        self.pdf, self.footer = pdf, footer
        self.width, self.height = SIZES[size]
        self.y, self.left, self.right = 0.0, MARGIN, self.width - MARGIN
        self.front, self.running = False, ""

    @property
    def inner(self) -> float:
        """The width between the margins."""
        return self.right - self.left

    @property
    def bottom(self) -> float:
        """Where the footer begins."""
        return self.height - BOTTOM

    def face(self, bold: bool) -> Face:
        return self.pdf.faces["F2" if bold else "F1"]

    def new_page(self, *, front: bool | None = None) -> None:
        """Go on at the top of a new page."""
        if front is not None:
            self.front = front
        self.pdf.begin_page(self.width, self.height, front=self.front)
        self.y = TOP
        self._draw_footer()

    def _draw_footer(self) -> None:
        pdf, base = self.pdf, self.height - 10
        pdf.begin_artifact()
        pdf.line(self.left, base - 4.5, self.right, base - 4.5, 0.15, 0.5)
        room = self.inner - 45
        told = f"{self.running} · {self.footer}" if self.running and not self.front else self.footer
        pdf.text(self.left, base, wrap(self.face(False), told, room, 8)[0], 8, grey=0.35)
        if not self.front:
            page = f"Page {pdf.page_count} of "
            x = self.right - self.face(False).width(page + "0000", 8) * POINT
            pdf.text(x, base, page, 8, grey=0.35)
            pdf.show_total(x + self.face(False).width(page, 8) * POINT, base)
        pdf.end_content()

    def need(self, height: float) -> None:
        """Go to a new page unless so many mm are free."""
        if self.pdf.page is None or self.y + height > self.bottom:
            self.new_page()

    @contextmanager
    def section(self, title: str) -> Iterator[int]:
        """A part of the paper on pages of its own; yields its bookmark."""
        self.pdf.push("Sect")
        self.running = title
        self.new_page(front=False)
        yield self.heading(1, title)
        self.pdf.pop()

    def heading(self, level: int, text: str, *, listed: bool = True, keep: float = 22) -> int:
        """A heading, kept with the `keep` mm that follow; in the outline when `listed` and of level 1 or 2.

        Returns its bookmark.
        """
        size, above = _HEADINGS[level]
        lines = wrap(self.face(True), text, self.inner, size)
        # A heading alone at the foot of a page leads nowhere.
        self.need(above + len(lines) * size * 1.25 * POINT + keep)
        self.y += above if self.y > TOP else 0
        mark = self.pdf.bookmark(level, text, self.y - 1) if listed and level < 3 else -1
        self.pdf.push(f"H{level}")
        self._lines(lines, size, bold=True)
        self.pdf.pop()
        self.y += 1.5
        return mark

    def text(self, text: str, size: float = 10, *, bold: bool = False, after: float = 2, indent: float = 0) -> None:
        """A paragraph."""
        self.pdf.push("P")
        self._lines(wrap(self.face(bold), text, self.inner - indent, size), size, bold=bold, indent=indent)
        self.pdf.pop()
        self.y += after

    def _lines(self, lines: list[str], size: float, *, bold: bool = False, indent: float = 0) -> None:
        """Lines belonging to the open element, over as many pages as they take."""
        leading, at = size * 1.25 * POINT, 0
        while at < len(lines):
            self.need(leading)
            fits = max(1, int((self.bottom - self.y) / leading))
            self.pdf.begin_content()
            for line in lines[at : at + fits]:
                self.y += leading
                self.pdf.text(self.left + indent, self.y - leading * 0.25, line, size, bold)
            self.pdf.end_content()
            at += fits

    def facts(self, rows: Sequence[tuple[str, str]], *, share: float = 0.28, size: float = 9.5) -> None:
        """What is said by name: a table of two columns, the names as row headings."""
        self.pdf.push("Table")
        for label, value in rows:
            self._row([label, value], [share * self.inner, (1 - share) * self.inner], size, heads=1)
        self.pdf.pop()
        self.y += 2

    @contextmanager
    def table(self, columns: Sequence[Column], size: float = 8.5) -> Iterator[Table]:
        """A table whose heading is repeated on every page."""
        self.pdf.push("Table")
        table = Table(self, columns, size)
        table.head()
        yield table
        self.rule()
        self.pdf.pop()
        self.y += 3

    def _row(
        self, cells: Sequence[str], widths: Sequence[float], size: float, *, heads: int = 0, bold: bool = False,
        rights: Sequence[bool] = (), indent: float = 0, span: int = 1, table: Table | None = None,
    ) -> None:  # fmt: skip
        """A row of a table, cut where the page ends; the first `heads` cells are row headings."""
        pdf, leading, gap = self.pdf, size * 1.22 * POINT, 1.6
        strong = [bold or place < heads for place in range(len(cells))]
        set_ = [wrap(self.face(s), c, w - gap, size) for c, w, s in zip(cells, widths, strong, strict=True)]
        count = max(map(len, set_))
        whole = count * leading + 1.4
        if self.pdf.page is None or (
            self.y + whole > self.bottom and (count <= 12 or self.y + 4 * leading > self.bottom)
        ):
            self._break(table)
        pdf.push("TR")
        elements = [pdf.add(*_cell(place < heads, span)) for place in range(len(cells))]
        at = 0
        while at < count:
            if at:
                self._break(table)
            fits = max(1, int((self.bottom - self.y - 1) / leading))
            slices = [lines[at : at + fits] for lines in set_]
            self._draw_cells(elements, slices, widths, strong, size, leading, rights, indent)
            at += fits
        for element in elements:
            pdf.close(element)
        pdf.pop()

    def _draw_cells(
        self, elements: list[Element], slices: list[list[str]], widths: Sequence[float], strong: list[bool],
        size: float, leading: float, rights: Sequence[bool], indent: float,
    ) -> None:  # fmt: skip
        x, top = self.left + indent, self.y + 0.6
        for place, lines in enumerate(slices):
            if lines:
                self.pdf.begin_content(elements[place])
                for number, line in enumerate(lines):
                    right = bool(rights) and rights[place]
                    shift = widths[place] - 1.6 - self.face(strong[place]).width(line, size) * POINT if right else 0
                    base = top + (number + 0.78) * leading
                    self.pdf.text(x + shift, base, line, size, strong[place])
                self.pdf.end_content()
            x += widths[place]
        self.y = top + max(map(len, slices)) * leading + 0.8

    def _break(self, table: Table | None) -> None:
        self.new_page()
        if table is not None:
            table.repeat()

    def rule(self, width: float = 0.1, grey: float = 0.6) -> None:
        """A line across the page."""
        self.pdf.begin_artifact()
        self.pdf.line(self.left, self.y, self.right, self.y, width, grey)
        self.pdf.end_content()


def _cell(head: bool, span: int) -> tuple[str, str]:
    """The role and attributes of a cell."""
    if head:
        return "TH", "/A<</O/Table/Scope/Row>>"
    return "TD", f"/A<</O/Table/ColSpan {span}>>" if span > 1 else ""


class Table:
    """Rows under a heading."""

    def __init__(self, paper: Paper, columns: Sequence[Column], size: float) -> None:
        self.paper, self.columns, self.size = paper, columns, size
        whole = sum(column.share for column in columns)
        self.widths = [paper.inner * column.share / whole for column in columns]
        self.rights = [column.right for column in columns]
        self.bare = True
        """Whether the heading's own rule is right above."""

    def head(self) -> None:
        """The column headings, as what readers announce with each cell."""
        pdf = self.paper.pdf
        self.paper.need(18)
        pdf.push("TR")
        elements = [pdf.add("TH", "/A<</O/Table/Scope/Column>>") for _ in self.columns]
        self._draw_head(elements)
        for element in elements:
            pdf.close(element)
        pdf.pop()

    def repeat(self) -> None:
        """The same on a further page, where it only helps the eye."""
        self._draw_head(None)

    def _draw_head(self, elements: list[Element] | None) -> None:
        paper, pdf, leading = self.paper, self.paper.pdf, self.size * 1.22 * POINT
        set_ = [wrap(paper.face(True), column.title, width - 1.6, self.size) for column, width in
                zip(self.columns, self.widths, strict=True)]  # fmt: skip
        deep = max(map(len, set_)) * leading
        x = paper.left
        for place, lines in enumerate(set_):
            pdf.begin_content(elements[place]) if elements else pdf.begin_artifact()
            for number, line in enumerate(lines):
                far = self.widths[place] - 1.6 - paper.face(True).width(line, self.size) * POINT
                base = paper.y + (number + 0.78) * leading + 0.4
                pdf.text(x + (far if self.rights[place] else 0), base, line, self.size, True)
            pdf.end_content()
            x += self.widths[place]
        paper.y += deep + 1.2
        paper.rule(0.35, 0)
        self.bare = True

    def row(self, *cells: str, bold: bool = False) -> None:
        """A row, ruled off from the one above."""
        if not self.bare:
            self.paper.rule()
        self.bare = False
        self.paper._row(cells, self.widths, self.size, bold=bold, rights=self.rights, table=self)

    def under(self, text: str, *, bold: bool = False) -> None:
        """What belongs to the row above, across the table and set in."""
        widths = [self.paper.inner - 6]
        self.paper._row([text], widths, self.size, bold=bold, indent=6, span=len(self.columns), table=self)

    def pictures(self, found: Sequence[tuple[Picture, str, str]]) -> None:
        """Pictures that belong to the row above, each with what is read aloud in its place and a line below it."""
        paper, pdf = self.paper, self.paper.pdf
        each = max(1, int((paper.inner - 6) / (WIDE + 3)))
        for first in range(0, len(found), each):
            group = found[first : first + each]
            sizes = [placed(one) for one, _, _ in group]
            deep = max(high for _, high in sizes) + 5
            if paper.y + deep > paper.bottom:
                paper._break(self)
            pdf.push("TR")
            pdf.push("TD", f"/A<</O/Table/ColSpan {len(self.columns)}>>")
            for place, ((one, told, below), (wide, high)) in enumerate(zip(group, sizes, strict=True)):
                x = paper.left + 6 + place * (WIDE + 3)
                pdf.push_figure(told, x, paper.y + 0.8, wide, high)
                pdf.begin_content()
                pdf.picture(one, x, paper.y + 0.8, wide, high)
                pdf.end_content()
                pdf.pop()
                pdf.begin_content()
                pdf.text(x, paper.y + high + 3.6, below, 7)
                pdf.end_content()
            pdf.pop()
            pdf.pop()
            paper.y += deep
