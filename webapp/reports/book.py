"""What every section of the binder is given: the reader, the names, the paper, and how far it has come."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass, field
from itertools import groupby
from typing import Any

from sqlalchemy.orm import Session

from webapp.core.instants import shop_date
from webapp.reports.entries import Names, Reader, Span, Told, when
from webapp.reports.flow import Column, Paper, Table
from webapp.reports.pictures import small
from webapp.reports.traces import MONTHS


@dataclass
class Book:
    """The binder being written."""

    session: Session
    reader: Reader
    names: Names
    span: Span
    paper: Paper
    counts: dict[str, int]
    """Entries of the span by kind."""
    progress: Callable[[int, str], None]
    now_ms: int
    photo: Callable[[str], bytes | None]
    """The bytes of a photo by its SHA-256, None for one that is not kept."""
    places: list[tuple[int, int]] = field(default_factory=list)
    """(bookmark, page) of each line of the contents."""
    read: int = 0

    @contextmanager
    def section(self, title: str) -> Iterator[None]:
        """A section on pages of its own, in outline and contents."""
        with self.paper.section(title) as mark:
            self.places.append((mark, self.paper.pdf.page_count))
            yield

    def part(self, title: str) -> None:
        """A heading within the section, in outline and contents."""
        mark = self.paper.heading(2, title)
        self.places.append((mark, self.paper.pdf.page_count))

    def table(self, *columns: tuple[str, float, bool]) -> AbstractContextManager[Table]:
        """A table of (heading, share of the width, figures to the right)."""
        return self.paper.table([Column(*column) for column in columns])

    def has(self, *kinds: str) -> bool:
        """Whether the span has an entry of these kinds."""
        return any(self.counts.get(kind) for kind in kinds)

    def stream(self, *kinds: str) -> Iterator[Told]:
        """The span's entries of these kinds, oldest first, counted for the progress bar."""
        whole = sum(self.counts.values()) or 1
        for told in self.reader.stream(kinds, self.span.start_ms, self.span.end_ms):
            self.read += 1
            if self.read % 200 == 0:
                self.progress(min(2 + 93 * self.read // whole, 95), f"Entries of {self.when(told.ms)[:10]}")
            yield told

    def by_month(self, *kinds: str) -> Iterator[tuple[str, Iterator[Told]]]:
        """The same, a month of the shop at a time: (its name, its entries)."""

        def month(told: Told) -> tuple[int, int]:
            day = shop_date(told.ms, self.span.zone)
            return day.year, day.month

        for (year, number), rows in groupby(self.stream(*kinds), key=month):
            yield f"{MONTHS[number - 1]} {year}", rows

    def when(self, ms: int) -> str:
        return when(ms, self.span.zone)

    def where(self, machine: str | None) -> str:
        return self.names(machine) if machine else "the shop"

    def row(self, table: Table, told: Told, *cells: str) -> None:
        """A row, and below it what mended the entry; one that was voided says so first."""
        marked = list(cells)
        if told.voided:
            marked[0] = f"{marked[0]} VOIDED"
        elif told.amended:
            marked[0] = f"{marked[0]} amended"
        table.row(*marked)
        for mending, word in ((told.voided, "Voided"), (told.amended, "Amended; what counts now is printed")):
            if mending:
                table.under(f"{word}: {mending['body']['why']} ({self._who_when(mending)}; position {told.position})")

    def photos(self, table: Table, of: Iterable[tuple[str | None, str]]) -> None:
        """Photos, as (SHA-256, what is told of it), small below the row above; one that is not there is said so."""
        found, missing = [], []
        for sha256, told in of:
            if sha256:
                kept = self.photo(sha256)
                one = small(kept) if kept else None
                found += [(one, f"Photo: {told}", f"photo {sha256[:8]}")] if one else []
                missing += [] if one else [sha256[:8]]
        if found:
            table.pictures(found)
        if missing:
            table.under(f"Photo {', '.join(missing)}: not on the server when this was printed.")

    def _who_when(self, entry: dict[str, Any]) -> str:
        from webapp.core.instants import parse_instant

        at = entry["receipt"].get("effective_at", entry["at"])
        return f"{self.names(entry['by'])}, {self.when(parse_instant(at))}"
