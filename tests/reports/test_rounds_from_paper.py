"""Rounds from printed sheets: they count at the sheet's time whatever the clock of who types them in says."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import Run
from tests.conftest import Shop
from tests.reports.conftest import at, plated, round_of
from webapp.core.instants import instant_text
from webapp.setup.ids import now_ms

HEADER = "machine,list,at,by,check,answer,value,note\n"
LINES = "Mill 1,start-up,2026-03-02 06:40,AQ,1,ok,,\nMill 1,start-up,2026-03-02 06:40,AQ,2,ok,7.5,\n"


def rounds(shop: Shop) -> list[dict[str, Any]]:
    return [
        row for row in shop.get("/records").get_json()["entries"] if row["kind"] in ("round.done", "finding.opened")
    ]


@pytest.fixture
def sheet(shop: Shop, tmp_path: Path) -> Path:
    plated(shop)
    return tmp_path / "rounds.csv"


@pytest.mark.parametrize("typed_in", [True, False])
def test_a_wrong_clock_does_not_move_a_time_from_paper(shop: Shop, typed_in: bool) -> None:
    """A phone three hours slow sends a round of last March: from paper its time is the paper's, else it is corrected."""
    plated(shop)
    entry = round_of(shop, 0, **({"typed_in": True} if typed_in else {}))
    slow = instant_text(now_ms() - 3 * 3_600_000)
    body = {"sent_at": slow, "entries": [entry]}
    assert shop.app.test_client().post("/api/v1/sync/push", json=body, headers=shop.headers()).status_code == 200
    row = next(row for row in rounds(shop) if row["kind"] == "round.done")
    if typed_in:
        assert "marked" not in row["receipt"] and row["order"].startswith("1772452800000,")
        assert row["line"].endswith("typed in from paper")
    else:
        assert row["receipt"]["marked"] and int(row["order"].split(",")[0]) - 1772452800000 == pytest.approx(
            10_800_000, abs=5000
        )


def test_a_time_from_paper_that_lies_ahead_is_when_it_came(shop: Shop) -> None:
    plated(shop)
    ahead = round_of(shop, 0, typed_in=True) | {"at": instant_text(now_ms() + 86_400_000)}
    shop.push(ahead)
    row = next(row for row in rounds(shop) if row["kind"] == "round.done")
    assert row["receipt"]["marked"] and int(row["order"].split(",")[0]) <= now_ms()


def test_typed_in_is_true_or_false(shop: Shop) -> None:
    plated(shop)
    result = shop.push(round_of(shop, 0, typed_in="yes")).get_json()["results"][0]
    assert result["problem"]["errors"][0]["field"] == "body.typed_in"


def test_a_file_of_sheets_is_brought_in_once(shop: Shop, run: Run, sheet: Path) -> None:
    data = shop.app.config["WAYROUND"].data
    shop.push(round_of(shop, 1))
    sheet.write_text(HEADER + LINES.replace("AQ,1,ok,,", "AQ,1,not ok,,Below the line"), "utf-8")
    tried = run("import", "rounds", sheet, "--dry-run", data=data)
    assert tried.exit_code == 0 and "1 rounds would be added" in tried.output and len(rounds(shop)) == 1
    done = run("import", "rounds", sheet, data=data)
    assert done.exit_code == 0 and "not fit" in done.output, done.output
    again = run("import", "rounds", sheet, data=data)
    assert "0 rounds added, 1 were in the record already" in again.output
    found = {row["kind"]: row for row in rounds(shop) if row["at"].startswith("2026-03-02T12:40")}
    body = found["round.done"]["body"]
    assert body["typed_in"] and body["outcome"] == "not fit" and body["started_at"].startswith("2026-03-02T06:40")
    reading = body["checks"][1]
    assert (reading["value"], reading["unit"], reading["verdict"], reading["quantity"]) == (
        7.5,
        "%",
        "within",
        "coolant.strength",
    )
    finding = found["finding.opened"]["body"]
    assert finding["text"] == "Below the line" and finding["stop"] and finding["round"] == found["round.done"]["id"]
    assert run("verify", data=data).exit_code == 0


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [("Mill 1", "Mill 9", "machine “Mill 9”"), ("start-up", "weekly", "list “weekly”"), ("AQ", "ZZ", "person “ZZ”"),
     ("AQ,1,ok", "AQ,9,ok", "check “9”"), ("AQ,1,ok", "AQ,1,fine", "answer “fine”"), ("7.5", "seven", "value “seven”"),
     ("7.5", "nan", "value “nan”"), ("2026-03-02 06:40", "Monday", "at “Monday”"), ("AQ,2,ok", "AQ,1,ok", "stands"),
     ("Mill 1,start-up,2026-03-02 06:40,AQ,2,ok,7.5,\n", "", "lacks «Read the coolant strength»"),
     (HEADER, "machine,list\n", "column “at” is missing"), (HEADER, HEADER.replace("note", "colour"), "“colour” is not known")],
)  # fmt: skip
def test_a_wrong_line_is_named_and_nothing_is_kept(
    old: str, new: str, said: str, shop: Shop, run: Run, sheet: Path
) -> None:
    sheet.write_text((HEADER + LINES).replace(old, new), "utf-8")
    result = run("import", "rounds", sheet, data=shop.app.config["WAYROUND"].data)
    assert result.exit_code == 1 and said in result.stderr, result.stderr
    assert not rounds(shop)


def test_the_sheets_day_is_the_shops(shop: Shop, run: Run, sheet: Path) -> None:
    """06:40 in Chicago is 12:40 UTC in winter and 11:40 in summer."""
    sheet.write_text(HEADER + LINES + LINES.replace("03-02", "07-02"), "utf-8")
    assert run("import", "rounds", sheet, data=shop.app.config["WAYROUND"].data).exit_code == 0
    assert sorted(row["at"] for row in rounds(shop)) == ["2026-03-02T12:40:00.000Z", "2026-07-02T11:40:00.000Z"]
    assert at(0) == "2026-03-02T12:00:00.000Z"
