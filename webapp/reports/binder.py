"""The records binder: what happened in a span of days, as a PDF that stands by itself."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Collection
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import IO, Any

from sqlalchemy.orm import Session

from webapp.library import DEFERENCE
from webapp.records.append import head
from webapp.records.faults import Fault, Refused
from webapp.reports import parts
from webapp.reports.book import Book
from webapp.reports.entries import Names, Reader, Span, when
from webapp.reports.flow import Paper
from webapp.reports.pdf import Pdf
from webapp.setup import definitions

Progress = Callable[[int, str], None]


@dataclass(frozen=True)
class Made:
    """What was printed."""

    pages: int
    entries: int
    position: int
    chain: str
    unprintable: str
    """Letters that the typeface does not have; they stand as empty boxes."""


def write_binder(
    session: Session, out: IO[bytes], span: Span, now_ms: int, *, photo: Callable[[str], bytes | None],
    machines: Collection[str] = (), progress: Progress = lambda percent, what: None,
) -> Made:  # fmt: skip
    """Write the binder of a span, of all machines or of those named. Raises Refused for one that is not known.

    `photo`: the bytes of a photo by its SHA-256, or None.

    The same record, span and machines give the same pages, the time of making on cover and last page apart.
    """
    known_machines(session, machines)
    names = Names(session)
    at = head(session)
    reader = Reader(session, at.position, frozenset(machines))
    counts = reader.count(span.start_ms, span.end_ms)
    shop = names.rows["shop"][0]
    title = f"Records binder, {shop['name']}, {span}"
    told = f"{at.chain} {span} {sorted(machines)}"
    made = datetime.fromtimestamp(now_ms / 1000, UTC)
    pdf = Pdf(out, title=title, made=made, identity=hashlib.sha256(told.encode()).digest()[:16])
    paper = Paper(pdf, "A4" if shop["units"] == "metric" else "Letter", title)
    book = Book(session, reader, names, span, paper, counts, progress, now_ms, photo)
    _cover(book, at, now_ms)
    order = len(pdf.open[-1].kids)
    for section in parts.SECTIONS:
        section(book)
    _closing(book, at, now_ms)
    _contents(book, order)
    progress(97, "Closing the file")
    pdf.finish()
    letters = "".join(sorted(pdf.faces["F1"].unprintable | pdf.faces["F2"].unprintable))
    return Made(pdf.page_count, sum(counts.values()), at.position, at.chain, letters)


def known_machines(session: Session, machines: Collection[str]) -> None:
    """Raises Refused for an id that is no machine's."""
    there = {row["id"] for row in definitions.list_all(session, "machine")}
    faults = [Fault("machines", f"names {one}, no machine of this shop", "choose machines that are set up, by their id")
              for one in sorted(set(machines) - there)]  # fmt: skip
    if faults:
        raise Refused(*faults)


def _cover(book: Book, at: Any, now_ms: int) -> None:
    paper, shop = book.paper, book.names.rows["shop"][0]
    paper.new_page(front=True)
    paper.pdf.push("Sect")
    paper.y = 62
    paper.heading(1, "Records binder", listed=False)
    paper.text(shop["name"], 26, bold=True, after=10)
    paper.text(f"{book.span.first:%B} {book.span.first.day}, {book.span.first.year} to "
               f"{book.span.last:%B} {book.span.last.day}, {book.span.last.year}", 15, after=14)  # fmt: skip
    zone = shop["time_zone"]
    chosen = ", ".join(book.names(one) for one in sorted(book.reader.machines, key=book.names)) or "all of the shop"
    owners = ", ".join(
        row["name"] for row in book.names.rows["person"] if row["role"] == "owner" and not row["retired"]
    )
    paper.facts(
        [
            ("Machines", chosen),
            ("Entries in the span", f"{sum(book.counts.values()):,}"),
            ("Entries in the record", f"{at.position:,}"),
            ("Owner", owners),
            ("Made", f"{when(now_ms, zone)}, {zone}"),
            ("Times", f"of the shop's wall clock, {zone}"),
        ],
        size=11,
    )
    paper.y += 8
    paper.text(
        "Entries are printed in the order of the time at which they happened. Nothing is taken out of the record: what "
        "was amended or voided is marked, with who did it and why. The last page shows how to check that this paper "
        "and the record agree.",
        10.5,
    )
    paper.text(DEFERENCE, 10.5, bold=True)
    paper.pdf.pop()


def _contents(book: Book, order: int) -> None:
    """The contents, drawn last because the pages are known then, and bound in behind the cover."""
    paper, pdf = book.paper, book.paper.pdf
    paper.new_page(front=True)
    part = pdf.push("Sect")
    kids = pdf.open[-2].kids
    kids.insert(order, kids.pop())
    paper.heading(1, "Contents", listed=False)
    pdf.push("TOC")
    for mark, page in book.places:
        level, title, _, _ = pdf.bookmarks[mark]
        _contents_line(paper, level, title, page, mark)
    pdf.pop()
    assert pdf.open[-1] is part
    pdf.pop()


def _contents_line(paper: Paper, level: int, title: str, page: int, mark: int) -> None:
    pdf, size = paper.pdf, 11 if level == 1 else 9.5
    height = 6.4 if level == 1 else 4.9
    paper.need(height)
    paper.y += height
    pdf.push("TOCI")
    pdf.push("Link")
    bold, left = level == 1, paper.left + (0 if level == 1 else 7)
    wide = paper.face(bold).width(str(page), size) * 25.4 / 72
    pdf.begin_content()
    pdf.text(left, paper.y, title, size, bold)
    pdf.text(paper.right - wide, paper.y, str(page), size, bold)
    pdf.end_content()
    start = left + paper.face(bold).width(title, size) * 25.4 / 72 + 2
    pdf.begin_artifact()
    pdf.line(start, paper.y, paper.right - wide - 2, paper.y, 0.1, 0.6)
    pdf.end_content()
    pdf.link(left, paper.y - height + 1, paper.right - left, height, mark)
    pdf.pop()
    pdf.pop()


def _closing(book: Book, at: Any, now_ms: int) -> None:
    """The last page: where the chain stood, and how anybody can check it."""
    paper, zone = book.paper, book.span.zone
    with book.section("The chain, and how to check it"):
        paper.facts(
            [
                ("Entries in the record", f"{at.position:,}"),
                ("Entries in this binder's span", f"{sum(book.counts.values()):,}"),
                ("Head of the chain", at.chain),
                ("Read", f"{when(now_ms, zone)}, {zone}"),
            ],
            size=10.5,
        )
        for text in (
            "Each entry is chained to the one before it: its link is the SHA-256 of the link before it and of the "
            "entry's own text (RFC 8785 JSON) with who sent it and when it came. Whoever alters, removes or slips in "
            "one entry changes every link after it, and the head above.",
            "To check the record: run “wayround verify” on the shop's computer. It reads every entry and prints the "
            f"head. When the record has grown since, its link at position {at.position} must be the head above.",
            "To check without this program: “wayround export record FILE” writes the whole record, a line an entry. "
            "The short program in the guide for contributors (DEVELOPERS.md, “A verifier that stands alone”) reads "
            "such a file with nothing but Python's standard library and prints the link at any position.",
            "Keep this page, or the head written elsewhere: a record made anew as a whole would have another head, and "
            "only a note of the old one tells them apart.",
        ):
            paper.text(text, 10.5, after=3)
        counted = ", ".join(f"{kind} {count:,}" for kind, count in sorted(book.counts.items()))
        paper.text(f"Entries of this span by kind: {counted or 'none'}.", 9, after=3)
        letters = "".join(sorted(paper.pdf.faces["F1"].unprintable | paper.pdf.faces["F2"].unprintable))
        if letters:
            codes = ", ".join(f"U+{ord(letter):04X}" for letter in letters[:60])
            paper.text(f"Letters that this typeface does not have stand as empty boxes: {codes}.", 9)
