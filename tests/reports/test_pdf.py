"""The writer itself: memory that does not grow with the pages, any text, and files that other readers take whole."""

from __future__ import annotations

import gc
import io
import tracemalloc
from datetime import UTC, datetime
from typing import IO

import pypdfium2
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.reports.conftest import read
from webapp.reports.flow import Column, Paper, wrap
from webapp.reports.fonts import Face
from webapp.reports.pdf import Pdf

MADE = datetime(2026, 3, 2, tzinfo=UTC)


def paper_of(out: IO[bytes], rows: list[str], size: str = "A4") -> Paper:
    paper = Paper(Pdf(out, title="A (try) \\ ü", made=MADE, identity=bytes(16)), size, "Try")
    with (
        paper.section("Rows"),
        paper.table([Column("Number", 1, True), Column("Text", 6)]) as table,
    ):
        for number, text in enumerate(rows):
            table.row(str(number), text)
    return paper


class Sink(io.RawIOBase):
    """Takes bytes and forgets them."""

    def write(self, data: object) -> int:
        return len(data)  # type: ignore[arg-type]


def peak(pages: int) -> int:
    """The most memory, in bytes, that so many pages take on top of what is loaded."""
    # Python collects the later the more it holds already, and other tests leave much: what they left is set aside.
    gc.freeze()
    gc.collect()
    tracemalloc.start()
    paper = Paper(Pdf(Sink(), title="Try", made=MADE, identity=bytes(16)), "A4", "Try")  # type: ignore[arg-type]
    for _ in range(pages // 10):
        with paper.section("A part"), paper.table([Column("Text", 1)]) as table:
            for row in range(600):
                table.row(f"row {row}, in words that fill the line of a page")
    paper.pdf.finish()
    assert pages * 0.8 < paper.pdf.page_count < pages * 1.6
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    gc.unfreeze()
    return most


def test_memory_does_not_grow_with_the_pages() -> None:
    """Ten times the pages: a few bytes for each object's place in the file, and nothing else."""
    peak(10)
    few, many = peak(30), peak(300)
    assert many < few * 1.3, (few, many)


@given(rows=st.lists(st.text(max_size=300), max_size=12), size=st.sampled_from(["A4", "Letter"]))
@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
def test_any_text_makes_a_file_that_is_read_back_whole(rows: list[str], size: str) -> None:
    out = io.BytesIO()
    paper = paper_of(out, rows, size)
    paper.pdf.finish()
    reader = read(out.getvalue())
    text = "".join("".join(page.extract_text().split()) for page in reader.pages)
    for row in rows:
        plain = "".join(letter for letter in row if letter.isascii() and letter.isalnum())
        if plain == row:
            assert plain in text
    assert reader.metadata is not None and reader.metadata.title == "A (try) \\ ü"


@given(text=st.text(st.characters(exclude_categories=("Cc", "Cs", "Cf", "Zl", "Zp", "Zs")) | st.just(" "), max_size=200),
       width=st.floats(2, 200))  # fmt: skip
@settings(max_examples=100, deadline=None)
def test_lines_hold_every_letter_and_keep_to_their_width(text: str, width: float) -> None:
    face = Face("regular")
    lines = wrap(face, text, width, 9)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")
    for line in lines:
        assert len(line) <= 1 or face.width(line, 9) * 25.4 / 72 <= width + 1e-6


def test_another_renderer_draws_every_page() -> None:
    """PDFium (the engine of a browser) reads the same file: as many pages, the same words, ink on each."""
    out = io.BytesIO()
    paper_of(out, ["one", "two ≤ three", "日本"] * 300).pdf.finish()
    document = pypdfium2.PdfDocument(out.getvalue())
    assert len(document) == len(read(out.getvalue()).pages) > 10
    for page in document:
        assert "two ≤ three" in page.get_textpage().get_text_range()
        assert page.render(scale=0.5, grayscale=True).to_pil().getextrema()[0] < 128
