"""What is ahead, on a phone and on a desk: the same forecast with the server there and with it gone."""

from __future__ import annotations

import json
import re
import urllib.request
from collections.abc import Callable
from typing import Any

import pytest

from tests.browser.conftest import DESK, PHONE, Server
from tests.browser.shop_in_server import ANN, enrol, furnish, go, keep, name_oneself, open_as, record
from webapp import create_app
from webapp.config import Settings
from webapp.core.instants import instant_text
from webapp.database import db, writing
from webapp.setup import definitions
from webapp.setup.ids import new_id, now_ms

pytestmark = pytest.mark.browser

DAY, HOUR = 86_400_000, 3_600_000
DAYS, A_DAY = 84, 60.0
LIVED_DAYS = 12
EXTRA = "Clean behind the wheel doors", "Look over the guide arms"


def define(server: Server, ids: dict[str, str]) -> dict[str, Any]:
    """Two tasks under one lock-out, one of them late; the saw with its costs, and a set of cutters."""
    app = create_app(Settings(data=server.data, plain=True))
    with app.app_context():
        with writing() as session:
            saw = definitions.get(session, "machine", ids["saw"])
            assert saw is not None
            blade = next(part for part in saw["parts"] if part["kind"] == "blade")
            blade |= {"planned_cost": 40, "unplanned_cost": 160}
            body = {key: value for key, value in saw.items() if key not in ("id", "revision", "retired")}
            definitions.update(session, "machine", ids["saw"], body, saw["revision"], ids["ann"])
            for name, every, began in zip(EXTRA, (7, 30), (10, 27), strict=True):
                start = instant_text(now_ms() - began * DAY)[:10]
                task = {"name": name, "machine": ids["saw"], "rule": {"every": {"days": every}}, "start": start}
                task |= {
                    "minutes": 15,
                    "cautions": ["lock_out"],
                    "steps": [],
                    "why": "Chips pack there.",
                    "source": "a test",
                }
                definitions.create(session, "task", task, ids["ann"])
        area = next(meter for meter in saw["meters"] if meter["kind"] == "cut_area")
        counted = {"cut_area", "part.changed"}
        rules = {
            one["id"]: one["rule"] for one in definitions.list_all(db.session(), "task") if one["machine"] == ids["saw"]
        }
        done = [key for key, rule in rules.items() if counted & {rule.get("meter"), rule.get("after")}]
        db.session.remove()
        db.engine.dispose()
    return {"area": area["id"], "blade": blade["id"], "done": done}


def work(ids: dict[str, str], found: dict[str, Any]) -> list[dict[str, Any]]:
    """Twelve weeks of cutting, with a new blade after every twelfth day, and what hangs on the blade done yesterday."""
    made: list[dict[str, Any]] = []

    def add(kind: str, at: int, body: dict[str, Any]) -> None:
        one = {
            "id": new_id(),
            "kind": kind,
            "machine": ids["saw"],
            "by": ids["ann"],
            "seq": len(made) + 1,
            "body": body,
        }
        made.append(one | {"at": instant_text(at)})

    begin = now_ms() - DAYS * DAY
    for day in range(DAYS):
        if day % LIVED_DAYS == 0:
            add("part.changed", begin + day * DAY, {"part": found["blade"], "reason": "Worn out", "grade": "M42"})
        wobble = 1 + 0.2 * ((day * 7) % 5 - 2)
        add("meter.added", begin + day * DAY + HOUR, {"meter": found["area"], "amount": round(A_DAY * wobble, 1)})
    for task in found["done"]:
        add("task.done", now_ms() - DAY, {"task": task})
    return made


def push(server: Server, entries: list[dict[str, Any]]) -> None:
    """Send them as a scripted device."""
    token = server.run("device", "add", "script").splitlines()[-1]
    asked = urllib.request.Request(
        f"{server.base}/api/v1/sync/push",
        json.dumps({"sent_at": instant_text(now_ms()), "entries": entries}).encode(),
        {"Authorization": f"Bearer {token}", "Content-Type": "application/json"},
    )
    with urllib.request.urlopen(asked, timeout=30) as answer:
        assert {row["outcome"] for row in json.load(answer)["results"]} == {"stored"}


@pytest.fixture
def sawn(server: Server) -> tuple[Server, dict[str, Any]]:
    """A running server whose saw has twelve weeks of cutting and seven blades behind it."""
    ids = furnish(server, machines={"saw": "band_saw", "sander": "numbered_cutters"})
    found = define(server, ids)
    server.start()
    push(server, work(ids, found))
    return server, ids | found | {"cutters": ids["sander"]}


def ahead_of(page: Any) -> list[str]:
    """What the machine page says of what is ahead."""
    page.get_by_role("heading", name="The next 8 weeks").wait_for()
    page.locator(".age").filter(has_text="As worked out").wait_for()
    said: list[str] = page.locator(".area-ahead, .area-bundle, .area-tasks, .use-said").all_inner_texts()
    return said


def part_of(page: Any) -> list[str]:
    """What the page of the part says; the drawing's own line comes with it."""
    page.get_by_role("heading", name="How many reach an age").wait_for()
    page.locator(".uplot").wait_for()
    return [page.locator("main").inner_text()]


def opened(page: Any, place: str, heading: str) -> Any:
    go(page, place)
    page.get_by_role("heading", name=heading, exact=True, level=1).wait_for()
    return page


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_the_same_forecast_without_the_server(
    sawn: tuple[Server, dict[str, Any]], device: Callable[..., Any], size: dict[str, int]
) -> None:
    server, ids = sawn
    context = device(size)
    enrol(server, context)
    page = open_as(server, context, ANN)
    saw, part = f"machine/{ids['saw']}", f"wearing/{ids['saw']}/{ids['blade']}"
    online = ahead_of(opened(page, saw, "Band saw"))
    whole = "\n".join(online)
    assert re.search(r"likely \d+ \w+ \(\d+( \w+)? to \d+ \w+\)", whole), whole
    assert "measured over" in whole and "sq in a week" in whole
    assert EXTRA[0] in whole and "One lock-out serves them all: about 5 min less" in whole
    assert page.locator(".dial-forecast").count() >= 1
    worn = part_of(opened(page, part, "Blade"))
    assert "Cheapest changed at" in worn[0] or "Run it until it is worn or broken" in worn[0]
    assert "One in ten is gone by (B10)" in worn[0]

    server.stop()
    page.reload()
    name_oneself(page, ANN)
    page.get_by_text("No signal").first.wait_for()
    assert ahead_of(opened(page, saw, "Band saw")) == online
    assert part_of(opened(page, part, "Blade")) == worn
    go(page, "ahead")
    page.get_by_text("of upkeep in 8 weeks").wait_for()
    assert page.locator(".age").inner_text().startswith("As worked out today ")


def test_what_this_phone_knows_since_is_said(sawn: tuple[Server, dict[str, Any]], device: Callable[..., Any]) -> None:
    server, ids = sawn
    context = device()
    enrol(server, context)
    page = open_as(server, context, ANN)
    ahead_of(opened(page, f"machine/{ids['saw']}", "Band saw"))
    assert page.get_by_text("This phone has entries that came after it").count() == 0

    server.stop()
    page.locator(".area-bundle").get_by_role("link", name=EXTRA[0]).click()
    keep(page, "It is done")
    opened(page, f"machine/{ids['saw']}", "Band saw")
    page.get_by_text("This phone has entries that came after it").first.wait_for()
    assert page.locator(".area-bundle").count() == 0, "what is done is not to be done together with anything"
    page.locator(".area-tasks .cell").filter(has_text=EXTRA[0]).get_by_text("done since").wait_for()


def test_a_phone_that_never_had_it_says_so(sawn: tuple[Server, dict[str, Any]], device: Callable[..., Any]) -> None:
    server, ids = sawn
    context = device()
    context.route("**/api/v1/upkeep", lambda route: route.abort())
    enrol(server, context)
    page = open_as(server, context, ANN)
    opened(page, f"machine/{ids['saw']}", "Band saw").get_by_text("Dates to come: none on this phone yet.").wait_for()
    opened(page, f"wearing/{ids['saw']}/{ids['blade']}", "Blade").get_by_text("Lives that this phone knows").wait_for()
    assert page.get_by_text("worn out").count() == DAYS // LIVED_DAYS - 1
    opened(page, "ahead", "The weeks ahead").get_by_text("none on this phone yet").wait_for()


def test_lives_are_walked_by_the_keyboard(sawn: tuple[Server, dict[str, Any]], device: Callable[..., Any]) -> None:
    server, ids = sawn
    context = device(DESK)
    enrol(server, context)
    page = open_as(server, context, ANN)
    opened(page, f"wearing/{ids['saw']}/{ids['blade']}", "Blade")
    said = page.locator(".area-lives .chart-said")
    said.filter(has_text="running now").wait_for()
    box = page.locator(".life-box")
    box.focus()
    box.press("Home")
    said.filter(has_text="worn or broken").wait_for()
    first = said.inner_text()
    box.press("ArrowRight")
    assert said.inner_text() != first and "M42" in said.inner_text()
    page.locator(".area-lives summary").click()
    assert page.locator(".life-list li").count() == DAYS // LIVED_DAYS
    page.get_by_role("link", name="Log a change").click()
    page.get_by_text("More about it").click()
    page.get_by_label("Maker's grade of the new one").fill("Carbide")
    page.get_by_label("Its edge").select_option("new")
    page.get_by_label("The old one cut mostly").fill("C36000")
    page.get_by_text("Worn out", exact=True).click()
    keep(page, "Keep the change")
    page.locator(".carry-line").filter(has_text="kept on this phone").wait_for(state="detached", timeout=60_000)
    body = record(server)[-1]["body"]
    assert (body["grade"], body["edge"], body["material"]) == ("Carbide", "new", "C36000")


def test_a_batch_remembers_the_minutes_of_each_cutter(
    sawn: tuple[Server, dict[str, Any]], device: Callable[..., Any]
) -> None:
    server, ids = sawn
    context = device()
    enrol(server, context)
    page = open_as(server, context, ANN)
    for minutes in ("1.5", None):
        go(page, f"log/batch?machine={ids['cutters']}")
        page.get_by_text("Cutters", exact=True).click()
        if minutes:
            page.get_by_label("T1", exact=True).fill(minutes)
            page.get_by_label("T4", exact=True).fill("0.5")
        page.get_by_label("Loads").fill("12")
        page.get_by_text("T1 +18 min, T4 +6 min").wait_for()
        keep(page, "Keep the batch")
    page.locator(".carry-line").filter(has_text="kept on this phone").wait_for(state="detached", timeout=60_000)
    first, second = (entry["body"] for entry in record(server)[-2:])
    assert first == second and first["loads"] == 12 and sorted(first["cutters"].values()) == [0.5, 1.5]
    assert list(first["adds"].values()) == [0.4], "12 loads of two minutes are 0.4 h of cutting"
