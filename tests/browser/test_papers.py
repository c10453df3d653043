"""Papers as people use them: a printed sheet typed in with the server gone, codes that open their place, the binder."""

from __future__ import annotations

import io
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pypdf
import pypdfium2
import pytest
import zxingcpp

from tests.browser.conftest import DESK, Works
from tests.browser.shop_in_server import (
    ANN,
    ANNS_PASSWORD,
    BEN,
    enrol,
    go,
    keep,
    open_as,
    record,
    unsent,
    wait_sent,
)
from webapp import create_app
from webapp.config import Settings
from webapp.database import db, writing
from webapp.setup import definitions

pytestmark = pytest.mark.browser
YESTERDAY = date.today() - timedelta(days=1)


def lists_of(works: Works, machine: str) -> list[dict[str, Any]]:
    """The checklists of a machine, from the server's folder."""
    app = create_app(Settings(data=works.server.data, plain=True))
    with app.app_context():
        found = [one for one in definitions.list_all(db.session(), "checklist") if one["machine"] == works.ids[machine]]
        db.session.remove()
        db.engine.dispose()
    return found


def typed(page: Any, checklist: dict[str, Any]) -> None:
    """Type a whole sheet: all in order, but for the first plain check."""
    page.get_by_label("Date on the sheet").fill(YESTERDAY.isoformat())
    page.get_by_label("Begun at").fill("06:40")
    page.get_by_label("Ended at").fill("06:48")
    page.get_by_label("Who walked it").select_option(label=BEN)
    first = True
    for number, check in enumerate(checklist["checks"], 1):
        line = page.locator(".sheet-line").nth(number - 1)
        if check["answer"] == "reading":
            band = check.get("band") or {}
            value = band.get("target") or band.get("act_low") or band.get("act_high") or band.get("stop_high") or 1
            line.get_by_label("Value").fill(str(value / (check.get("factor") or 1)))
        elif check["answer"] == "choice":
            line.get_by_label("What is ticked").select_option(
                next(one["text"] for one in check["choices"] if one["ok"])
            )
        elif first:
            first = False
            line.get_by_text("Not ok", exact=True).click()
            line.get_by_label("What was found").fill("Guard hung loose")
            line.get_by_label("What was done about it").fill("Screwed on")
        else:
            line.get_by_text("Ok", exact=True).click()


def test_a_printed_sheet_is_typed_in_with_the_server_gone_and_keeps_its_own_day(
    works: Works, device: Callable[..., Any]
) -> None:
    context = device()
    enrol(works.server, context, "Typing phone")
    page = open_as(works.server, context, ANN)
    before, checklist = (
        len(record(works.server)),
        next(one for one in lists_of(works, "mill") if one["form"] == "start-up"),
    )
    works.server.stop()
    go(page, f"machine/{works.ids['mill']}")
    page.get_by_role("link", name="Type in a sheet").click()
    page.get_by_label("Machine and list").select_option(label=f"Mill 1: {checklist['name']}")
    assert page.locator(".sheet-line").count() == len(checklist["checks"]), "all of the sheet on one screen"
    page.get_by_role("button", name="Keep the sheet").click()
    page.get_by_text("Something is missing").wait_for()
    assert not unsent(page), "nothing is kept of half a sheet"
    typed(page, checklist)
    keep(page, "Keep the sheet")
    assert [entry["kind"] for entry in unsent(page)] == ["round.done", "finding.opened", "finding.closed"]
    go(page, "records")
    page.get_by_text("typed in from paper").first.wait_for()
    works.server.start()
    wait_sent(page)
    made = [one for one in record(works.server)[before:] if one["kind"] != "definition.revised"]
    round_, finding, closing = made
    wall = datetime.combine(YESTERDAY, datetime.min.time(), ZoneInfo("Europe/Berlin")).replace(hour=6, minute=48)
    assert datetime.fromisoformat(round_["at"]) == wall.astimezone(UTC)
    assert round_["by"] == works.ids["ben"] and round_["body"]["typed_in"] is True
    assert round_["body"]["outcome"] == ("not fit" if finding["body"]["stop"] else "fit")
    assert (finding["body"]["text"], closing["body"]["done"]) == ("Guard hung loose", "Screwed on")
    assert not round_["receipt"].get("marked")


def opened_by(page: Any, works: Works, address: str) -> None:
    """Open what a code says, at the address under which this test has the server."""
    page.goto("about:blank")
    page.goto(works.server.base + "/" + address.partition("/#/")[1].lstrip("/") + address.partition("/#/")[2])


def test_the_codes_on_labels_open_the_bay_and_the_round_also_without_the_server(
    works: Works, device: Callable[..., Any]
) -> None:
    app = create_app(Settings(data=works.server.data, plain=True))
    with app.app_context():
        with writing() as session:
            bay = definitions.create(session, "bay", {"name": "Long wall"}, works.ids["ann"])["id"]
            now = definitions.get(session, "machine", works.ids["saw"])
            assert now is not None
            body = {key: value for key, value in now.items() if key not in ("id", "revision", "retired")} | {"bay": bay}
            definitions.update(session, "machine", works.ids["saw"], body, now["revision"], works.ids["ann"])
        db.session.remove()
        db.engine.dispose()
    context = device()
    enrol(works.server, context, "Scanning phone")
    page = open_as(works.server, context, BEN)
    codes = {}
    for of, id_ in (("bay", bay), ("machine", works.ids["saw"])):
        answer = context.request.get(f"{works.server.base}/api/v1/reports/labels?of={of}&id={id_}&size=70x37&paper=A4")
        assert answer.ok, answer.text()
        picture = pypdfium2.PdfDocument(answer.body())[0].render(scale=4, grayscale=True).to_pil()
        [codes[of]] = [found.text for found in zxingcpp.read_barcodes(picture)]
    works.server.stop()
    opened_by(page, works, codes["bay"])
    page.get_by_role("heading", name="Long wall").wait_for()
    assert (
        page.locator("main").get_by_text("Band saw").count() and not page.locator("main").get_by_text("Mill 1").count()
    )
    page.get_by_role("link", name="Start the round").click()
    page.get_by_role("heading", name="Band saw").wait_for()
    page.locator(".round-foot").wait_for()
    opened_by(page, works, codes["machine"])
    page.locator(".round-foot").wait_for()
    assert page.get_by_role("heading", level=1).inner_text() == "Band saw"


def test_the_owner_makes_a_binder_and_brings_a_spreadsheet_back(
    works: Works, device: Callable[..., Any], tmp_path: Path
) -> None:
    context = device(DESK)
    enrol(works.server, context, "Office")
    page = open_as(works.server, context, ANN, "papers")
    with page.expect_download() as sheets:
        page.get_by_role("button", name="Save the sheets").click()
    assert len(pypdf.PdfReader(sheets.value.path()).pages) == 3
    page.get_by_role("button", name="Sign in as owner").click()
    page.get_by_label("Owner's password").fill(ANNS_PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).click()
    page.get_by_label("First day").first.fill("")
    page.get_by_role("button", name="Make the binder").click()
    page.get_by_text("Kept on the server for a day").wait_for()
    with page.expect_download() as binder:
        page.get_by_role("button", name="Save the binder").click()
    text = "".join(
        one.extract_text() for one in pypdf.PdfReader(io.BytesIO(Path(binder.value.path()).read_bytes())).pages
    )
    assert "Fairlead Works" in text and page.locator(".hash").inner_text() in "".join(text.split())
    with page.expect_download() as saved:
        page.get_by_role("button", name="Save the spreadsheet").click()
    sheet = Path(saved.value.path()).read_text("utf-8-sig")
    changed = tmp_path / "machines.csv"
    changed.write_text(sheet.replace("Sander", "Long sander", 1), "utf-8")
    page.get_by_label("Bring one in").set_input_files(changed)
    page.get_by_text("would change 1 line").wait_for()
    assert "Sander → Long sander" in page.locator("main").inner_text()
    page.get_by_role("button", name="Bring it in").click()
    page.get_by_text("Brought in: 1 line").wait_for()
    broken = tmp_path / "broken.csv"
    broken.write_text("wheels\n4\n", "utf-8")
    page.get_by_label("Bring one in").set_input_files(broken)
    page.get_by_text("cannot be used; nothing was changed").wait_for()
