"""A machine's own CSV file: its columns named by a mapping, units turned, and a dry run that says what would change."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import Run
from tests.conftest import Shop

MAPPING = """
at = "Time"
at_format = "%d.%m.%Y %H:%M"
decimal = ","
machine = "Mill 1"
[[meter]]
column = "Spindle on (min)"
meter = "Spindle hours"
unit = "min"
"""
LOG = """Time;Program;Spindle on (min);Parts
02.03.2026 07:00;O0001;6000;3
02.03.2026 15:00;O0001;6210,5;9

03.03.2026 07:00;O0002;;0
"""


@pytest.fixture
def data(shop: Shop) -> Path:
    """The data folder of the small shop."""
    return Path(shop.app.config["WAYROUND"].data)


@pytest.fixture
def files(tmp_path: Path) -> tuple[Path, Path]:
    """A log and its mapping."""
    log, mapping = tmp_path / "log.csv", tmp_path / "mill.toml"
    log.write_text(LOG, encoding="utf-8")
    mapping.write_text(MAPPING, encoding="utf-8")
    return log, mapping


def meter(shop: Shop, machine_meter: str = "") -> dict[str, Any]:
    """A meter's state, or an empty one."""
    state = shop.get("/sync/snapshot").get_json()["state"]
    return dict(state["meters"].get(machine_meter or shop.spindle) or {})


def test_mapped_columns_become_readings_in_the_meters_unit(
    run: Run, shop: Shop, data: Path, files: tuple[Path, Path]
) -> None:
    log, mapping = files
    result = run("import", "meters", log, "--mapping", mapping, data=data)
    assert result.exit_code == 0, result.output
    assert "Mill 1, Spindle hours: went from 0 to 103.508 h, 2 readings" in result.stdout
    assert meter(shop)["face"] == 103.508333
    again = run("import", "meters", log, "--mapping", mapping, data=data)
    assert "0 readings added, 2 were in the record already" in again.stdout and "went" not in again.stdout


def test_a_dry_run_says_what_would_change_and_stores_nothing(
    run: Run, shop: Shop, data: Path, files: tuple[Path, Path]
) -> None:
    shop.push(shop.added(2))
    head = shop.get("/sync/snapshot").get_json()["head"]
    result = run("import", "meters", files[0], "--mapping", files[1], "--dry-run", data=data)
    assert result.exit_code == 0
    assert "Mill 1, Spindle hours: would go from 2 to" in result.stdout
    assert "2 readings would be added" in result.stdout
    assert shop.get("/sync/snapshot").get_json()["head"] == head and meter(shop)["total"] == 2


def test_a_json_mapping_with_a_column_for_the_machine(run: Run, shop: Shop, data: Path, tmp_path: Path) -> None:
    log, mapping = tmp_path / "log.csv", tmp_path / "shop.json"
    log.write_text("At,Which,Sec,Area\n2026-03-02T07:00:00Z,Mill 1,7200,\n2026-03-02T07:00:00Z,Band saw,,88.5\n")
    columns = [{"column": "Sec", "meter": "spindle_hours", "unit": "s"}, {"column": "Area", "meter": "cut_area"}]
    mapping.write_text(json.dumps({"at": "At", "machine_column": "Which", "meter": columns}))
    result = run("import", "meters", log, "--mapping", mapping, data=data)
    assert result.exit_code == 0, result.output
    assert meter(shop)["face"] == 2 and meter(shop, shop.area)["face"] == 88.5


def test_each_column_may_belong_to_a_machine_of_its_own(run: Run, shop: Shop, data: Path, tmp_path: Path) -> None:
    log, mapping = tmp_path / "log.csv", tmp_path / "shop.toml"
    log.write_text("At,Mill,Saw\n2026-03-02 07:00,5,60\n")
    mapping.write_text(
        'at = "At"\n[[meter]]\ncolumn = "Mill"\nmeter = "spindle_hours"\nmachine = "Mill 1"\n'
        '[[meter]]\ncolumn = "Saw"\nmeter = "cut_area"\nmachine = "Band saw"\n'
    )
    result = run("import", "meters", log, "--mapping", mapping, data=data)
    assert result.exit_code == 0, result.output
    assert result.stdout.index("Band saw, Cut area: went from 0 to 60 in2, 1 reading\n") < result.stdout.index("Mill 1")


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (("at = ", "when = "), "“when” is not known"),
        (('at = "Time"\n', ""), "at is missing"),
        (('unit = "min"', 'unit = "days"'), "unit “days” is not known: give one of h"),
        (('decimal = ","', 'decimal = ";"'), "decimal is neither . nor ,"),
        (('machine = "Mill 1"\n', ""), "names no machine"),
        (('meter = "Spindle hours"\n', ""), "meter is missing"),
        (('column = "Spindle on (min)"', "column = 3"), "column is no text"),
        (("[[meter]]", "[[meter"), "is no TOML"),
        (('column = "Spindle on (min)"', 'column = "Spindle"'), "column “Spindle” is missing in log.csv"),
        (("%d.%m.%Y %H:%M", "%m/%d/%Y"), "line 2: Time “02.03.2026 07:00” is not written like %m/%d/%Y"),
        (('meter = "Spindle hours"', 'meter = "Belt"'), "meter “Belt” is no meter here"),
        (('machine = "Mill 1"', 'machine = "Band saw"'), "is no meter here: use one of Cut area"),
        (('decimal = ","\n', ""), "value “6210,5” is no number"),
    ],
)
def test_a_wrong_mapping_is_named_and_brings_nothing_in(
    run: Run, shop: Shop, data: Path, files: tuple[Path, Path], change: tuple[str, str], told: str
) -> None:
    log, mapping = files
    assert change[0] in MAPPING
    mapping.write_text(MAPPING.replace(*change), encoding="utf-8")
    result = run("import", "meters", log, "--mapping", mapping, data=data)
    assert result.exit_code == 1 and told in result.stderr, result.output
    assert meter(shop) == {}


@pytest.mark.parametrize(
    ("text", "told"),
    [("[]", "is no table of names"), ("{", "is no JSON"), ('{"at": "T"}', "names no meter"), ('{"at": "T", "meter": [1]}', "is no table"), ("[" * 90_000, "is no JSON")],
)  # fmt: skip
def test_a_mapping_that_is_none(run: Run, data: Path, files: tuple[Path, Path], text: str, told: str) -> None:
    mapping = files[1].with_suffix(".json")
    mapping.write_text(text)
    result = run("import", "meters", files[0], "--mapping", mapping, data=data)
    assert result.exit_code == 1 and told in result.stderr, result.output


def test_time_cannot_become_area(run: Run, data: Path, tmp_path: Path) -> None:
    log, mapping = tmp_path / "log.csv", tmp_path / "saw.toml"
    log.write_text("At,Saw\n2026-03-02 07:00,60\n")
    mapping.write_text('at = "At"\nmachine = "Band saw"\n[[meter]]\ncolumn = "Saw"\nmeter = "cut_area"\nunit = "h"\n')
    result = run("import", "meters", log, "--mapping", mapping, data=data)
    assert result.exit_code == 1 and "counts in in2, not in h" in result.stderr


def test_a_number_with_marks_of_both_kinds_is_refused(run: Run, data: Path, files: tuple[Path, Path]) -> None:
    files[0].write_text(LOG.replace("6210,5", "6.210,5"))
    result = run("import", "meters", files[0], "--mapping", files[1], data=data)
    assert result.exit_code == 1 and "line 3: value “6.210,5” is no number" in result.stderr
