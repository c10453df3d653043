"""Machines and tasks as spreadsheets: out and in without a change, what an edit changes, and all or nothing."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from typing import Any

import pytest

from tests.cli.conftest import Run
from tests.conftest import Shop
from tests.problem import assert_problem
from tests.reports.conftest import plated
from webapp.database import db, writing
from webapp.records.append import head
from webapp.security.devices import let_owner_in
from webapp.setup import definitions


@pytest.fixture
def owned(shop: Shop) -> Iterator[Shop]:
    """The shop with the owner signed in on its device."""
    with shop.app.app_context(), writing() as session:
        let_owner_in(session, shop.device, shop.owner)
    yield plated(shop)


def sheet(shop: Shop, what: str) -> list[dict[str, str]]:
    answer = shop.get(f"/reports/setup/{what}")
    assert answer.status_code == 200 and answer.content_type == "text/csv; charset=utf-8"
    assert answer.data.startswith(b"\xef\xbb\xbf")
    return list(csv.DictReader(io.StringIO(answer.data.decode("utf-8-sig"), newline="")))


def text_of(rows: list[dict[str, str]], delimiter: str = ",") -> str:
    out = io.StringIO()
    writer = csv.DictWriter(out, rows[0].keys(), delimiter=delimiter)
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def send(shop: Shop, what: str, text: str, *, dry_run: bool = False) -> Any:
    body = {"csv": text, "dry_run": dry_run}
    return shop.app.test_client().post(f"/api/v1/reports/setup/{what}", json=body, headers=shop.headers())


def position(shop: Shop) -> int:
    with shop.app.app_context():
        found = head(db.session()).position
        db.session.remove()
    return found


def test_out_and_in_changes_nothing(owned: Shop) -> None:
    before = position(owned)
    for what, count in (("machines", 2), ("tasks", 1)):
        answer = send(owned, what, text_of(sheet(owned, what))).get_json()
        assert [one["action"] for one in answer["changes"]] == ["leave"] * count
    assert position(owned) == before


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_an_edit_is_told_by_a_dry_run_and_done_by_a_real_one(owned: Shop, delimiter: str) -> None:
    rows = sheet(owned, "machines")
    mill = next(row for row in rows if row["name"] == "Mill 1")
    mill |= {"serial": "'=1+1", "bay": ""}
    rows.append(dict.fromkeys(mill, "") | {"name": "Lathe", "bay": "long WALL"})
    before = position(owned)
    tried = send(owned, "machines", text_of(rows, delimiter), dry_run=True).get_json()
    assert not tried["kept"] and position(owned) == before and len(sheet(owned, "machines")) == 2
    done = send(owned, "machines", text_of(rows, delimiter)).get_json()
    assert done["kept"] and done["changes"] == tried["changes"]
    changed = {one["name"]: one for one in done["changes"] if one["action"] != "leave"}
    assert changed["Mill 1"]["fields"] == [
        {"column": "bay", "before": "Long wall", "after": ""},
        {"column": "serial", "before": "Ł-0042", "after": "=1+1"},
    ]
    assert changed["Lathe"]["action"] == "add"
    with owned.app.app_context():
        machines = {row["name"]: row for row in definitions.list_all(db.session(), "machine")}
        assert machines["Mill 1"]["serial"] == "=1+1" and machines["Mill 1"]["bay"] is None
        assert machines["Mill 1"]["meters"][0]["id"] == owned.spindle, "what the sheet does not show stays"
        assert machines["Lathe"]["bay"] and machines["Lathe"]["family"] == "other"
        db.session.remove()


def test_tasks_change_and_come(owned: Shop) -> None:
    rows = sheet(owned, "tasks")
    assert rows[0]["machine"] == "Mill 1" and rows[0]["rule (JSON)"] == '{"every": 250, "meter": "spindle_hours"}'
    rows[0] |= {"minutes (min)": "7.5", "steps": "Lock out\nSwap\nLog it", "retired": "yes"}
    new = rows[0] | {
        "id": "",
        "name": "Belt",
        "machine": owned.saw,
        "rule (JSON)": '{"every": {"months": 6}}',
        "retired": "no",
    }
    answer = send(owned, "tasks", text_of([*rows, new]))
    assert answer.status_code == 200, answer.get_json()
    with owned.app.app_context():
        tasks = {row["name"]: row for row in definitions.list_all(db.session(), "task")}
        assert tasks["Way-oil filter"]["steps"] == ["Lock out", "Swap", "Log it"] and tasks["Way-oil filter"]["retired"]
        assert tasks["Way-oil filter"]["minutes"] == 7.5 and tasks["Belt"]["machine"] == owned.saw
        db.session.remove()


@pytest.mark.parametrize(
    ("what", "change", "field"),
    [("machines", {"name": ""}, "line 2, name"), ("machines", {"bay": "Nowhere"}, "line 2, bay"),
     ("machines", {"retired": "maybe"}, "line 2, retired"), ("machines", {"id": "x"}, "line 2, id"),
     ("tasks", {"rule (JSON)": "soon"}, "line 2, rule (JSON)"), ("tasks", {"rule (JSON)": '{"every": {"moons": 1}}'}, None),
     ("tasks", {"minutes (min)": "few"}, "line 2, minutes (min)"), ("tasks", {"minutes (min)": "nan"}, "line 2, minutes (min)"),
     ("tasks", {"minutes (min)": "1e999"}, "line 2, minutes (min)"),
     ("tasks", {"start": "soon"}, "line 2, start"), ("tasks", {"machine": "Nix"}, "line 2, machine"),
     ("tasks", {"id": "", "why": ""}, "line 2, why")],
)  # fmt: skip
def test_a_wrong_line_names_itself_and_nothing_is_kept(
    what: str, change: dict[str, str], field: str | None, owned: Shop
) -> None:
    rows = sheet(owned, what)
    rows.append(dict(rows[0]) | {"id": "", "name": "Good one"})
    rows[0] |= change
    before = position(owned)
    assert_problem(send(owned, what, text_of(rows)), 422, field)
    assert position(owned) == before


@pytest.mark.parametrize(
    ("text", "field"),
    [("colour\nred\n", "line 1"), ("id\n\n", "line 1"), ("name,name\nx,y\n", "line 1"), ("name,bay\nx\n", "line 2"),
     ('name\n"open', None), ("\n", "csv"), ("\ufeff", "line 1"), ("name,id\nA,B,C\n", "line 2")],
)  # fmt: skip
def test_what_is_no_such_sheet_is_refused(text: str, field: str | None, owned: Shop) -> None:
    answer = send(owned, "machines", text)
    if field:
        assert_problem(answer, 422, field)
    else:
        assert answer.status_code in (200, 422)


def test_by_command(owned: Shop, run: Run, tmp_path: Any) -> None:
    file, data = tmp_path / "machines.csv", owned.app.config["WAYROUND"].data
    assert run("export", "machines", file, data=data).exit_code == 0
    file.write_text(file.read_text("utf-8").replace("V-30", "V-31"), "utf-8")
    tried = run("import", "machines", file, "--dry-run", data=data)
    assert tried.exit_code == 0 and "model: V-30 -> V-31" in tried.output and "1 would be changed" in tried.output
    assert run("import", "machines", file, data=data).exit_code == 0
    again = run("import", "machines", file, data=data)
    assert "0 added, 0 changed, 2 left" in again.output
    file.write_text("name,bay\nx,Nowhere\n", "utf-8")
    refused = run("import", "machines", file, data=data)
    assert refused.exit_code == 1 and "line 2, bay" in refused.stderr and "Nothing was changed" in refused.stderr
