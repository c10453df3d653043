"""CSV as spreadsheets take it: UTF-8 with its mark, and no cell that a spreadsheet would run as a formula."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from typing import IO, Any

from webapp.reports.entries import figure

BOM = "\ufeff"
# What begins so is a formula to some spreadsheet, or hides one behind a blank (OWASP, CSV injection).
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


def cell(value: Any) -> str:
    """A value as a cell. A text that could be run is set behind an apostrophe; numbers stay numbers."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return figure(value)
    text = str(value)
    return f"'{text}" if text.startswith(_FORMULA) or (text.startswith("'") and text[1:].startswith(_FORMULA)) else text


def plain(text: str) -> str:
    """A cell as it was before `cell` set it behind an apostrophe."""
    return text[1:] if text.startswith("'") and text[1:].lstrip("'").startswith(_FORMULA) else text


class Sheet:
    """A CSV file being written, a row at a time."""

    def __init__(self, out: IO[bytes], header: Sequence[str]) -> None:
        self.text = io.TextIOWrapper(out, encoding="utf-8", newline="", write_through=True)
        self.text.write(BOM)
        self.writer = csv.writer(self.text)
        self.writer.writerow(header)

    def row(self, values: Iterable[Any]) -> None:
        self.writer.writerow([cell(value) for value in values])

    def close(self) -> None:
        """Everything is written; the file underneath stays open."""
        self.text.detach()
