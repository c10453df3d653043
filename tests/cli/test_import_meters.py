"""Counter readings from a file: all of them or none, and never twice."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import Run
from tests.conftest import Shop

HEADER = "machine,meter,at,value\n"


@pytest.fixture
def data(shop: Shop) -> Path:
    """The data folder of the small shop."""
    return Path(shop.app.config["WAYROUND"].data)


def write(tmp_path: Path, text: str, encoding: str = "utf-8") -> Path:
    file = tmp_path / "meters.csv"
    file.write_bytes(text.encode(encoding))
    return file


def meter(shop: Shop) -> dict[str, Any]:
    """The spindle meter's state, or an empty one."""
    state = shop.get("/sync/snapshot").get_json()["state"]
    return dict(state["meters"].get(shop.spindle) or {})


def test_readings_become_entries_of_the_owner_in_order_of_time(
    run: Run, shop: Shop, data: Path, tmp_path: Path
) -> None:
    rows = "Mill 1,spindle_hours,2026-03-03 07:00,112.5\nmill 1,Spindle hours,2026-03-02T07:00:00-06:00,100\n"
    result = run("import", "meters", write(tmp_path, HEADER + rows), data=data)
    assert result.exit_code == 0 and "2 readings added, 0" in result.stdout
    assert meter(shop)["face"] == 112.5
    entries = [e for e in shop.get("/sync/snapshot").get_json()["entries"] if e["kind"] == "meter.read"]
    entries += [e for e in shop.get("/sync/changes").get_json()["entries"] if e["kind"] == "meter.read"]
    by_value = {entry["body"]["value"]: entry for entry in entries}
    assert set(by_value) == {100, 112.5} and {e["by"] for e in entries} == {shop.owner}
    # Without an offset the time is the shop's: Chicago is six hours behind UTC before 8 March 2026 (IANA tzdata).
    assert by_value[112.5]["at"] == "2026-03-03T07:00:00.000-06:00"
    assert by_value[100]["seq"] == 1 and by_value[112.5]["seq"] == 2
    assert run("verify", data=data).exit_code == 0


def test_a_file_brought_in_twice_counts_once(run: Run, shop: Shop, data: Path, tmp_path: Path) -> None:
    file = write(tmp_path, HEADER + "Mill 1,spindle_hours,2026-03-03 07:00,112.5\n")
    run("import", "meters", file, data=data)
    write(tmp_path, file.read_text() + "Mill 1,spindle_hours,2026-03-04 07:00,118\n")
    again = run("import", "meters", file, data=data)
    assert again.exit_code == 0 and "1 readings added, 1 were in the record already" in again.stdout
    assert meter(shop)["face"] == 118


def test_a_dry_run_says_the_same_and_stores_nothing(run: Run, shop: Shop, data: Path, tmp_path: Path) -> None:
    head = shop.get("/sync/snapshot").get_json()["head"]
    file = write(tmp_path, HEADER + "Mill 1,spindle_hours,2026-03-03 07:00,112.5\n")
    result = run("import", "meters", file, "--dry-run", data=data)
    assert result.exit_code == 0 and "1 readings would be added" in result.stdout
    assert shop.get("/sync/snapshot").get_json()["head"] == head and meter(shop) == {}


@pytest.mark.parametrize("missing", ["machine", "meter", "at", "value"])
def test_a_missing_column_is_named(run: Run, data: Path, tmp_path: Path, missing: str) -> None:
    columns = [name for name in ("machine", "meter", "at", "value") if name != missing]
    result = run("import", "meters", write(tmp_path, ",".join(columns) + "\n"), data=data)
    assert result.exit_code == 1 and f"“{missing}” is missing" in result.stderr


@pytest.mark.parametrize(
    ("line", "told"),
    [
        (
            "Lathe 9,spindle_hours,2026-03-03 07:00,1",
            "machine “Lathe 9” is no machine here: use one of Band saw, Mill 1",
        ),
        ("Mill 1,cut_area,2026-03-03 07:00,1", "meter “cut_area” is no meter here: use one of Spindle hours"),
        ("Mill 1,spindle_hours,yesterday,1", "at “yesterday” is no date and time"),
        ("Mill 1,spindle_hours,2026-03-03,1", "at “2026-03-03” is no date and time"),
        ('Mill 1,spindle_hours,2026-03-03 07:00,"1,5"', "value “1,5” is no number"),
        ("Mill 1,spindle_hours,2026-03-03 07:00,nan", "value “nan” is no number"),
        ("Mill 1,spindle_hours,2026-03-03 07:00,-4", "is -4: send a number of at least 0"),
        ("Mill 1,spindle_hours,2026-03-03 07:00", "has 3 columns of 4"),
        ("Mill 1,spindle_hours,2026-03-05 07:00,50", "below the last reading of 100"),
    ],
)
def test_one_wrong_line_stops_the_whole_file_and_is_named(
    run: Run, shop: Shop, data: Path, tmp_path: Path, line: str, told: str
) -> None:
    file = write(tmp_path, f"{HEADER}Mill 1,spindle_hours,2026-03-04 07:00,100\n{line}\n")
    result = run("import", "meters", file, data=data)
    assert result.exit_code == 1 and "line 3" in result.stderr and told in result.stderr
    assert meter(shop) == {}


def test_a_spreadsheets_file_with_mark_and_semicolons_is_read(run: Run, shop: Shop, data: Path, tmp_path: Path) -> None:
    text = "Machine;Meter;Note;At;Value\r\nMill 1;Spindle hours;by hand, at seven;2026-03-03 07:00;7\r\n\r\n;;;;\r\n"
    result = run("import", "meters", write(tmp_path, text, "utf-8-sig"), data=data)
    assert result.exit_code == 0, result.output
    assert meter(shop)["face"] == 7


def test_a_file_that_is_no_text_is_said(run: Run, data: Path, tmp_path: Path) -> None:
    file = tmp_path / "meters.xls"
    file.write_bytes(b"\xd0\xcf\x11\xe0\xa1\xb1")
    result = run("import", "meters", file, data=data)
    assert result.exit_code == 1 and "save it as CSV" in result.stderr


def test_whoever_read_them_can_be_named(run: Run, shop: Shop, data: Path, tmp_path: Path) -> None:
    ben = run("person", "add", "Ben Okoro", data=data).stdout.splitlines()[-1]
    file = write(tmp_path, HEADER + "Mill 1,spindle_hours,2026-03-03 07:00,7\n")
    assert run("import", "meters", file, "--by", "Nobody", data=data).exit_code == 1
    assert run("import", "meters", file, "--by", "bo", data=data).exit_code == 0
    entries = shop.get("/sync/changes").get_json()["entries"]
    assert [e["by"] for e in entries if e["kind"] == "meter.read"] == [ben]


def test_a_long_file_is_brought_in_whole(run: Run, shop: Shop, data: Path, tmp_path: Path) -> None:
    rows = [
        f"Mill 1,spindle_hours,2026-01-{1 + n // 48:02d} {n // 2 % 24:02d}:{n % 2 * 30:02d},{n / 2}"
        for n in range(1200)
    ]
    result = run("import", "meters", write(tmp_path, HEADER + "\n".join(rows)), data=data)
    assert result.exit_code == 0 and "1200 readings added" in result.stdout
    assert meter(shop)["face"] == 599.5
    assert run("refold", "--check", data=data).exit_code == 0
