"""CSV out: every kind, every field, units in the headings, nothing a spreadsheet would run."""

from __future__ import annotations

import csv
import io
import re
import zipfile
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from marshmallow.fields import Dict, List, Nested

from tests.cli.conftest import Run
from tests.problem import assert_problem
from tests.reports.conftest import Told
from webapp.records.fields import Number
from webapp.records.kinds import KINDS
from webapp.reports.spreadsheets import cell, plain
from webapp.reports.tables import header, layout


def tables(data: bytes) -> dict[str, list[dict[str, str]]]:
    found = {}
    with zipfile.ZipFile(io.BytesIO(data)) as zipped:
        assert zipped.testzip() is None
        for name in zipped.namelist():
            raw = zipped.read(name)
            assert raw.startswith(b"\xef\xbb\xbf"), "spreadsheets know UTF-8 by its mark"
            found[name] = list(csv.DictReader(io.StringIO(raw.decode("utf-8-sig"), newline="")))
    return found


@pytest.fixture(scope="module")
def found(told: Told, request: pytest.FixtureRequest) -> dict[str, list[dict[str, str]]]:
    with told[0].app.app_context():
        from webapp.database import db, writing
        from webapp.security.devices import let_owner_in

        with writing() as session:
            let_owner_in(session, told[0].device, told[0].owner)
        db.session.remove()
    answer = told[0].get("/reports/entries")
    assert answer.status_code == 200 and answer.content_type == "application/zip"
    return tables(answer.data)


def test_every_kind_has_its_table_and_every_entry_its_row(found: dict[str, Any], told: Told) -> None:
    assert {name for name in found if name.count(".") == 2} == {f"{kind}.csv" for kind in KINDS}
    ids = {row["entry id"] for name, rows in found.items() if name.count(".") == 2 for row in rows}
    assert {entry["id"] for entry in told[1].values()} <= ids


UNITLESS = {"revision", "cuts", "factor", "severity"}
"""Numbers that count or rank: a revision, cuts of a batch, a fit factor, a severity from 1 to 4."""


def figures(schema: Any, path: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    """The paths of every figure in a body, those of nested bodies too."""
    for name, about in schema.fields.items():
        inner = about.inner if isinstance(about, List) else about
        if isinstance(inner, Nested):
            yield from figures(inner.schema, (*path, name))
        elif isinstance(inner, Number):
            yield (*path, name)


def test_every_figure_has_its_unit_in_the_heading() -> None:
    looked = 0
    for kind in KINDS.values():
        how = layout(kind.name)
        headings = {column.path: column.header for column in how.columns}
        for path in figures(kind.schema):
            own = header(path[1:], "unit" in how.lists[path[0]].fields) if path[0] in how.lists else headings[path]
            looked += 1
            assert path[-1] in UNITLESS or re.search(r"\(.+\)$", own), f"{kind.name}: {own}"
    assert looked > 20


def test_every_field_has_a_column() -> None:
    for kind in KINDS.values():
        how = layout(kind.name)
        there = {column.path[0] for column in how.columns} | set(how.lists) | set(how.amounts)
        assert there == set(kind.schema.fields), kind.name


def test_figures_carry_their_units(found: dict[str, Any]) -> None:
    """Each number's unit stands in its heading, or beside it in the row."""
    assert found["round.done.csv"][0]["seconds (s)"] == "95"
    assert found["task.done.csv"][0]["minutes (min)"] == "12"
    assert found["purge.run.csv"][0]["needed (s)"] == "60"
    assert found["fluid.changed.csv"][0]["strength (%)"] == "8"
    fluid = found["fluid.added.csv"][0]
    assert (fluid["water (in unit)"], fluid["unit"]) == ("2.8", "gal")
    counter = found["meter.read.csv"][0]
    assert (counter["value (in unit of the meter)"], counter["unit of the meter"]) == ("1203.5", "h")
    batch = found["batch.run.adds.csv"][0]
    assert (batch["amount (in unit)"], batch["unit"], batch["name"]) == ("812.5", "in2", "Cut area")
    sample = found["exposure.measured.samples.csv"][1]
    assert (sample["minutes (min)"], sample["value (in unit)"], sample["unit"]) == ("240", "20", "ug/m3")
    answers = found["round.done.checks.csv"]
    assert [row["value (in unit)"] for row in answers if row["unit"] == "%"] == ["7.5", "5.25"]
    assert answers[0]["check text"] == "Look at the way oil"


def test_what_counts_is_told_and_what_mended_it(found: dict[str, Any], told: Told) -> None:
    rows = {row["entry id"]: row for row in found["meter.added.csv"]}
    mistyped = rows[told[1]["mistyped"]["id"]]
    assert (mistyped["amount (in unit of the meter)"], mistyped["amended"]) == ("48", "yes")
    notes = {row["entry id"]: row for row in found["note.made.csv"]}
    assert notes[told[1]["twice"]["id"]]["voided"] == "yes"
    assert notes[told[1]["note"]["id"]]["text"].startswith("'=HYPERLINK")
    first = found["round.done.csv"][0]
    assert first["at (America/Chicago)"] == "2026-03-02 06:00" and first["at (UTC)"] == "2026-03-02T12:00:00.000Z"


def test_fields_that_are_not_known_are_kept_too(found: dict[str, Any], told: Told) -> None:
    entry = told[0].note("with more", colour={"b": 1})
    entry["body"]["later"] = [1, "x"]
    told[0].push(entry)
    rows = tables(told[0].get("/reports/entries").data)["note.made.csv"]
    assert next(row for row in rows if row["entry id"] == entry["id"])["other fields (JSON)"] == '{"later": [1, "x"]}'


def test_lists_and_nested_fields_are_all_laid_out() -> None:
    """A field of a shape that the tables do not know would come out as JSON in a cell; none does today but two."""
    as_json = {
        f"{kind.name}.{name}"
        for kind in KINDS.values()
        for name, about in kind.schema.fields.items()
        if isinstance(about, List | Dict) and not isinstance(getattr(about, "inner", None), Nested)
        and name not in layout(kind.name).amounts
    }  # fmt: skip
    assert as_json == {"hazard.noted.controls", "hazard.noted.seen", "hazard.noted.exposed", "entry.amended.body"}


@given(st.text())
def test_no_cell_runs_and_every_text_comes_back(text: str) -> None:
    """OWASP, CSV injection: a cell that begins with = + - @, a tab or a line end may be run by a spreadsheet."""
    shown = cell(text)
    assert not shown.startswith(("=", "+", "-", "@", "\t", "\r", "\n"))
    assert plain(shown) == text


@pytest.mark.parametrize(("value", "shown"), [(-1.5, "-1.5"), (7, "7"), (0.1 + 0.2, "0.3"), (None, ""), (True, "yes")])
def test_numbers_stay_numbers(value: Any, shown: str) -> None:
    assert cell(value) == shown


def test_the_same_span_gives_the_same_file(told: Told, run: Run, tmp_path: Any) -> None:
    data = told[0].app.config["WAYROUND"].data
    for name in ("one.zip", "two.zip"):
        result = run("export", "entries", tmp_path / name, "--to", "2026-12-31", data=data)
        assert result.exit_code == 0, result.output
    assert (tmp_path / "one.zip").read_bytes() == (tmp_path / "two.zip").read_bytes()
    refused = run("export", "entries", tmp_path / "no.zip", "--from", "2026-03-02", "--to", "2026-03-01", data=data)
    assert refused.exit_code == 1 and "--to" in refused.stderr


def test_a_reversed_span_is_refused(found: dict[str, Any], told: Told) -> None:
    assert_problem(told[0].get("/reports/entries", **{"from": "2026-03-02", "to": "2026-03-01"}), 422, "to")
