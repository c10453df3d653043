"""The record as it is read on a phone: filters, rounds kept, a machine's strip and an entry's seal, with the server
there and with it gone."""

from __future__ import annotations

import json
import re
import urllib.request
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from tests.browser.conftest import DESK, PHONE, Server
from tests.browser.shop_in_server import ANN, BEN, enrol, furnish, go, name_oneself, open_as
from webapp import create_app
from webapp.config import Settings
from webapp.core.instants import instant_text
from webapp.database import db
from webapp.setup import definitions
from webapp.setup.ids import new_id, now_ms

pytestmark = pytest.mark.browser

DAY, HOUR = 86_400_000, 3_600_000
ZONE = ZoneInfo("Europe/Berlin")
OLDER = 200
"""Days back of the entry that no phone keeps."""


def the_weeks(server: Server, ids: dict[str, str]) -> tuple[list[dict[str, Any]], dict[str, str]]:
    """Four weeks at the mill: a round each day before use but for one late and one missed; a finding with its tag,
    task and closing; a brass batch by Ben; and a note of long ago."""
    app = create_app(Settings(data=server.data, plain=True))
    with app.app_context():
        mill = definitions.get(db.session(), "machine", ids["mill"])
        lists = definitions.list_all(db.session(), "checklist")
        assert mill is not None
        start = next(one for one in lists if one["machine"] == ids["mill"] and one["form"] == "start-up")
        hours = next(meter["id"] for meter in mill["meters"] if meter["kind"] == "spindle_hours")
        db.session.remove()
        db.engine.dispose()
    made: list[dict[str, Any]] = []

    def add(kind: str, at: int, body: dict[str, Any], by: str = "ann") -> str:
        entry = {"id": new_id(), "kind": kind, "machine": ids["mill"], "by": ids[by], "seq": len(made) + 1}
        made.append(entry | {"at": instant_text(at), "body": body})
        return str(entry["id"])

    def walk(at: int) -> str:
        checks = [{"check": check["id"], "answer": "ok", "stop": check["stop"]} for check in start["checks"]]
        body = {
            "checklist": start["id"],
            "revision": 1,
            "form": "start-up",
            "started_at": instant_text(at),
            "seconds": 60,
        }
        return add("round.done", at, body | {"outcome": "fit", "checks": checks})

    noon = datetime.now(ZONE).replace(hour=12, minute=0, second=0, microsecond=0)
    midday = int(noon.timestamp() * 1000)
    add("note.made", midday - OLDER * DAY, {"text": "From long ago"})
    for back in range(28, 0, -1):
        at = midday - back * DAY
        if back == 10:
            add("meter.added", at, {"meter": hours, "amount": 3})
            walk(at + HOUR)
        else:
            if back != 5:
                walk(at - HOUR)
            add("meter.added", at, {"meter": hours, "amount": 3})
    found = {"day_missed": instant_text(midday - 5 * DAY)[:10]}
    at = midday - 7 * DAY
    found["finding"] = add("finding.opened", at, {"text": "Wiper lip is lifted", "stop": False})
    tag = add("tag.on", at + HOUR, {"why": "Wiper off", "finding": found["finding"]})
    task = add("task.raised", at + HOUR, {"title": "New wiper", "finding": found["finding"]})
    add("task.done", at + 30 * HOUR, {"task": task, "minutes": 25}, "ben")
    add("tag.off", at + 31 * HOUR, {"tag": tag, "done": "Wiper fitted"})
    add("finding.closed", at + 32 * HOUR, {"finding": found["finding"], "done": "Lip sits on the way"})
    found["batch"] = add("batch.run", midday - DAY, {"adds": {hours: 2}, "what": "Knobs", "alloy": "C36000"}, "ben")
    return sorted(made, key=lambda one: one["at"]), found


def push(server: Server, entries: list[dict[str, Any]]) -> None:
    """Send them as a scripted device."""
    token = server.run("device", "add", "Bench script").splitlines()[-1]
    asked = urllib.request.Request(
        f"{server.base}/api/v1/sync/push",
        json.dumps({"sent_at": instant_text(now_ms()), "entries": entries}).encode(),
        {"Authorization": f"Bearer {token}", "Content-Type": "application/json"},
    )
    with urllib.request.urlopen(asked, timeout=30) as answer:
        results = json.load(answer)["results"]
        assert {row["outcome"] for row in results} == {"stored"}, results


@pytest.fixture
def worked(server: Server) -> tuple[Server, dict[str, str]]:
    """A running server whose mill has four weeks behind it."""
    ids = furnish(server)
    entries, found = the_weeks(server, ids)
    server.start()
    push(server, entries)
    return server, ids | found


def listed(page: Any, place: str) -> list[str]:
    """The lines of the list under a filter."""
    go(page, place)
    page.get_by_role("heading", name="Records", level=1).wait_for()
    page.locator(".entries .entry").or_(page.get_by_text("Nothing on this phone that fits")).first.wait_for()
    return [line.split("\n")[-1] for line in page.locator(".entry-what").all_inner_texts()]


def past_is_here(page: Any, place: str) -> None:
    go(page, place)
    page.locator(".age").filter(has_text="As worked out").wait_for(timeout=30_000)


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_the_same_answers_without_the_server(
    worked: tuple[Server, dict[str, str]], device: Callable[..., Any], size: dict[str, int]
) -> None:
    server, ids = worked
    context = device(size)
    enrol(server, context)
    page = open_as(server, context, ANN)
    asked = {
        "chain": f"records?finding={ids['finding']}", "metal": "records?alloy=C36000",
        "Ben's": f"records?person={ids['ben']}", "a day": f"records?from={ids['day_missed']}&to={ids['day_missed']}",
        "tags": f"records?machine={ids['mill']}&kind=tag.on",
    }  # fmt: skip
    past_is_here(page, "records/rounds")
    counts = page.locator(".told").inner_text()
    assert re.search(r"\b1 late, 1 missed\b", counts), counts
    online = {name: listed(page, place) for name, place in asked.items()}
    assert [len(online[name]) for name in ("chain", "metal", "Ben's", "tags")] == [6, 1, 2, 1]
    assert "Found: Wiper lip is lifted" in online["chain"][-1] and "Put right" in online["chain"][0]
    assert all("start to" not in line for line in online["a day"]) and len(online["a day"]) >= 1

    server.stop()
    page.reload()
    name_oneself(page, ANN)
    page.get_by_text("No signal").first.wait_for()
    assert {name: listed(page, place) for name, place in asked.items()} == online
    past_is_here(page, "records/rounds")
    assert page.locator(".told").inner_text() == counts
    listed(page, f"records?from=2020-01-01&to={instant_text(now_ms() - 150 * DAY)[:10]}")
    page.get_by_text("This phone keeps the last 90 days").wait_for()
    past_is_here(page, "records/on-time")
    past_is_here(page, "records/time")
    page.get_by_text("out of service within the shop's hours").first.wait_for()


def test_older_entries_come_from_the_server_under_the_same_filter(
    worked: tuple[Server, dict[str, str]], device: Callable[..., Any]
) -> None:
    server, ids = worked
    context = device()
    enrol(server, context)
    page = open_as(server, context, BEN)
    before = instant_text(now_ms() - 150 * DAY)[:10]
    assert listed(page, f"records?machine={ids['mill']}&to={before}") == []
    page.get_by_role("button", name="Older entries").click()
    page.get_by_text("From long ago").wait_for()
    page.get_by_text("to the beginning of the record").wait_for()
    page.get_by_text("From long ago").click()
    page.get_by_text("it fits").wait_for()
    # What was fetched under one filter leaves no hole under another.
    assert "From long ago" not in "".join(listed(page, "records?kind=note.made"))
    page.get_by_role("button", name="Older entries").click()
    page.get_by_text("From long ago").wait_for()


def test_filters_are_set_by_hand(worked: tuple[Server, dict[str, str]], device: Callable[..., Any]) -> None:
    server, _ = worked
    context = device()
    enrol(server, context)
    page = open_as(server, context, ANN)
    listed(page, "records")
    page.get_by_text("By person, days, metal or finding").click()
    page.get_by_label("Person").select_option(label=f"{BEN} (BS)")
    page.get_by_label("Metal").select_option("C36000")
    page.get_by_text("Knobs").wait_for()
    assert page.locator(".entry").count() == 1
    page.get_by_role("button", name="Show all again").click()
    page.locator(".entry").nth(5).wait_for()


def at_a_desk(worked: tuple[Server, dict[str, str]], device: Callable[..., Any]) -> tuple[Any, dict[str, str]]:
    """Ann's page on a desk's screen, and the ids of what was set up."""
    server, ids = worked
    context = device(DESK)
    enrol(server, context)
    return open_as(server, context, ANN), ids


def test_an_entry_shows_its_seal_and_this_phone_works_it_out(
    worked: tuple[Server, dict[str, str]], device: Callable[..., Any]
) -> None:
    page, ids = at_a_desk(worked, device)
    go(page, f"records/{ids['batch']}")
    page.get_by_text("This phone has just worked the seal out again: it fits.").wait_for()
    assert re.fullmatch(r"[0-9a-f]{64}", page.locator(".seal").first.inner_text())
    facts = page.locator("main").inner_text()
    assert "Bench script" in facts and "Ben Stope (BS)" in facts

    def altered(route: Any) -> None:
        told = route.fetch().json()
        told["text"] = told["text"].replace("Knobs", "Bolts")
        route.fulfill(json=told)

    page.context.route("**/api/v1/records/*", altered)
    go(page, f"records/{ids['finding']}")
    page.get_by_text("it fits").wait_for()  # nothing of this one was altered
    go(page, f"records/{ids['batch']}")
    page.get_by_text("it does not fit").wait_for()


def test_the_year_of_rounds_by_keyboard_and_by_touch(
    worked: tuple[Server, dict[str, str]], device: Callable[..., Any]
) -> None:
    server, ids = worked
    context = device()
    enrol(server, context)
    page = open_as(server, context, ANN)
    past_is_here(page, f"records/rounds?machine={ids['mill']}")
    said, box = page.locator(".day-grid .chart-said"), page.locator(".day-grid .chart-box")
    box.focus()
    for _ in range(5):
        page.keyboard.press("ArrowLeft")
    said.filter(has_text="missed: used without a round").wait_for()
    for _ in range(5):
        page.keyboard.press("ArrowLeft")
    said.filter(has_text="late: the round came after the first use").wait_for()
    page.keyboard.press("ArrowRight")
    said.filter(has_text="round done").wait_for()
    page.keyboard.press("End")
    today = said.inner_text()
    page.keyboard.press("ArrowUp")
    assert said.inner_text() != today
    here = page.locator(".day-grid .day-fill").last.bounding_box()
    assert here is not None
    page.touchscreen.tap(here["x"] + here["width"] / 2, here["y"] + here["height"] / 2)
    said.filter(has_text="round done").wait_for()
    page.get_by_role("link", name="Entries of that day").click()
    page.get_by_role("heading", name="Records", level=1).wait_for()
    page.locator(".entry").first.wait_for()


def test_a_machines_strip_by_keyboard_with_its_table(
    worked: tuple[Server, dict[str, str]], device: Callable[..., Any]
) -> None:
    page, ids = at_a_desk(worked, device)
    past_is_here(page, f"history/{ids['mill']}?days=28")
    assert page.locator(".strip-span").count() == 1
    said, box = page.locator(".machine-strip .chart-said"), page.locator(".machine-strip .chart-box")
    box.focus()
    page.keyboard.press("PageUp")
    said.filter(has_text="missed: used without a round").wait_for()
    page.keyboard.press("PageUp")
    said.filter(has_text="Lip sits on the way").wait_for()
    page.keyboard.press("PageUp")
    said.filter(has_text="tagged: Wiper off").wait_for()
    assert "Found: Wiper lip is lifted" in said.inner_text()
    page.get_by_text("As a table").click()
    table = page.locator(".words-table").inner_text()
    for word in ("Wiper off", "New wiper", "missed", "late", "Wiper fitted"):
        assert word in table
    page.get_by_label("How far back").select_option("371")
    page.get_by_text("late and missed alone").wait_for()
    page.locator(".machine-strip .chart-box").focus()
    page.keyboard.press("Home")
    first = page.locator(".machine-strip .chart-said").inner_text()
    assert str((datetime.now(UTC)).year - 1) in first or str(datetime.now(UTC).year) in first
    page.get_by_role("link", name="The machine").click()
    page.get_by_role("link", name="History", exact=True).click()
    page.get_by_role("heading", name="History: Mill 1").wait_for()


def test_open_findings_lead_to_each(worked: tuple[Server, dict[str, str]], device: Callable[..., Any]) -> None:
    server, ids = worked
    context = device()
    enrol(server, context)
    page = open_as(server, context, ANN)
    go(page, "records/findings")
    page.get_by_text("Nothing is open.").wait_for()
    go(page, f"finding/{ids['mill']}")
    page.get_by_label("What is wrong").fill("Door rattles")
    page.get_by_label("No, it can run").check()
    server.stop()
    page.get_by_role("button", name="Keep the finding").click()
    page.get_by_text("In the record").wait_for()
    go(page, "records/findings")
    page.get_by_text("1 finding open.").wait_for()
    page.get_by_role("link", name="Door rattles", exact=True).click()
    page.get_by_role("heading", name="Door rattles").or_(page.get_by_text("Door rattles")).first.wait_for()
