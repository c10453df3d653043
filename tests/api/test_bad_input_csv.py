"""A file of counter readings that is wrong somewhere: every wrong line is named, and nothing of it is brought in."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.api.intact import assert_sound, picture, unchanged
from tests.conftest import Shop
from webapp.cli import main

HEADER = b"machine,meter,at,value\n"
GOOD = b"Mill 1,spindle_hours,2026-03-03 07:00,100\n"
Bring = Callable[[bytes], Result]


@pytest.fixture
def bring(shop: Shop, tmp_path: Path) -> Bring:
    """Brings a file in by the command; one that breaks by an exception fails the test."""
    folder = shop.app.config["WAYROUND"].data

    def call(data: bytes) -> Result:
        file = tmp_path / "meters.csv"
        file.write_bytes(data)
        result = CliRunner().invoke(main, ["import", "meters", str(file), "--data", str(folder)])
        if result.exception is not None and not isinstance(result.exception, SystemExit):
            raise result.exception
        return result

    return call


FILES: dict[str, tuple[bytes, str]] = {
    "nothing": (b"", "column “machine” is missing"),
    "a mark and nothing": (b"\xef\xbb\xbf", "column “machine” is missing"),
    "empty lines": (b"\n\n\n", "column “machine” is missing"),
    "no heading": (GOOD, "column “machine” is missing"),
    "Latin 1": (HEADER + "Fräse 1,spindle_hours,2026-03-03 07:00,1\n".encode("latin-1"), "save it as CSV in UTF-8"),
    "UTF-16": ((HEADER + GOOD).decode().encode("utf-16"), "save it as CSV in UTF-8"),
    "UTF-16 without its mark": ((HEADER + GOOD).decode().encode("utf-16-le"), "column “machine” is missing"),
    "a spreadsheet": (b"PK\x03\x04\x14\x00\x06\x00\x08\x00\xff\xff", "save it as CSV in UTF-8"),
    "a cell without end": (
        HEADER + GOOD + b'Mill 1,"' + b"x" * 200_000 + b",2026-03-03 07:00,1\n",
        "line 3: is no CSV",
    ),
    "a heading without end": (b"x" * 200_000, "line 1: is no CSV"),
}
LINES: dict[str, tuple[bytes, str]] = {
    "a number beyond all": (b"Mill 1,spindle_hours,2026-03-04 07:00,1e400", "is no number"),
    "a huge number": (b"Mill 1,spindle_hours,2026-03-04 07:00,1e300", "at most 1e+09"),
    "thousands of digits": (b"Mill 1,spindle_hours,2026-03-04 07:00," + b"9" * 5000, "is no number"),
    "infinity": (b"Mill 1,spindle_hours,2026-03-04 07:00,-inf", "is no number"),
    "no number": (b"Mill 1,spindle_hours,2026-03-04 07:00,", "is no number"),
    "negative": (b"Mill 1,spindle_hours,2026-03-04 07:00,-0.5", "at least 0"),
    "backwards": (b"Mill 1,spindle_hours,2026-03-04 07:00,99", "below the last reading of 100"),
    "1970": (b"Mill 1,spindle_hours,1970-01-01 00:00,1", "before the year 2000"),
    "2100": (b"Mill 1,spindle_hours,2100-01-01 00:00,999", "far in the future"),
    "the year 1": (b"Mill 1,spindle_hours,0001-01-01 00:00,1", "out of range"),
    "the year 9999": (b"Mill 1,spindle_hours,9999-12-31 23:59,999", "out of range"),
    "no day": (b"Mill 1,spindle_hours,2026-02-30 07:00,999", "is no date and time"),
    "an unknown machine": (b"Lathe,spindle_hours,2026-03-04 07:00,999", "is no machine here"),
    "no machine": (b",spindle_hours,2026-03-04 07:00,999", "is no machine here"),
    "another machine's meter": (b"Mill 1,Cut area,2026-03-04 07:00,999", "is no meter here"),
    "NUL": (b"Mill 1\0,spindle_hours,2026-03-04 07:00,999", "is no machine here"),
    "too few cells": (b"Mill 1,spindle_hours", "has 2 columns of 4"),
}


@pytest.mark.parametrize("name", FILES)
def test_files_that_cannot_be_read(shop: Shop, bring: Bring, name: str) -> None:
    data, told = FILES[name]
    with unchanged(shop.app):
        result = bring(data)
    assert result.exit_code == 1 and told in result.stderr and "Nothing was brought in" in result.stderr, result.output


@pytest.mark.parametrize("name", LINES)
def test_one_wrong_line_of_three_is_named_and_none_is_brought_in(shop: Shop, bring: Bring, name: str) -> None:
    line, told = LINES[name]
    with unchanged(shop.app):
        result = bring(HEADER + GOOD + line + b"\nMill 1,spindle_hours,2026-03-05 07:00,1000\n")
    assert result.exit_code == 1 and "line 3: " in result.stderr and told in result.stderr, result.output
    assert len(result.stderr) < 1000, "a huge cell is not printed whole"


def test_a_heading_alone_brings_nothing_and_harms_nothing(shop: Shop, bring: Bring) -> None:
    before = picture(shop.app)["entry"]
    result = bring(HEADER)
    assert result.exit_code == 0 and "0 readings added" in result.stdout
    assert picture(shop.app)["entry"] == before


@given(
    data=st.lists(
        st.sampled_from([*HEADER.split(b","), *GOOD.split(b","), b",", b'"', b"\n", b"\0", b";", b"\xff", b"1e9"])
    )
)
@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
def test_any_file_is_brought_in_or_refused_in_words(shop: Shop, bring: Bring, data: list[bytes]) -> None:
    result = bring(HEADER + b"".join(data))
    assert result.exit_code == 0 or (result.exit_code == 1 and "Nothing was brought in" in result.stderr)
    assert_sound(shop.app)
