"""Every kind of need says what, where and why now, and opens a screen that the app has."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from datetime import UTC, timedelta
from pathlib import Path
from typing import Any

from sqlalchemy import update

from tests.reminders.conftest import Office
from tests.reminders.test_api import coolant, read_strength
from webapp.core.instants import instant_text
from webapp.database import db, writing
from webapp.reminders.channels.calendar import events
from webapp.reminders.plan import look_around
from webapp.security import certificates, devices
from webapp.security.models import Device
from webapp.setup.ids import now_ms

SOURCE = Path(__file__).parents[2] / "static" / "src"
# Which module shows the screens below a place, and how it names them.
BELOW = {
    "log": ("places/log/index.js", r"^  (\w+): \{ text:"),
    "setup": ("places/setup/index.js", r"(\w+): [A-Z]\w+[,} ]"),
    "air": ("places/air/index.js", r'what === "(\w+)"'),
}


def opens(link: str) -> bool:
    """Whether the app has a screen for a link, by its own tables of places."""
    place, *rest = link.removeprefix("#/").partition("?")[0].split("/")
    listed = re.search(r"const PLACES = \{(.*?)\n\};", (SOURCE / "app.js").read_text(), re.S)
    assert listed
    if place not in re.findall(r"^  (\w+): \(\) => import", listed[1], re.M):
        return False
    if place in BELOW and rest:
        module, named = BELOW[place]
        return rest[0] in re.findall(named, (SOURCE / module).read_text(), re.M)
    wanted = {"round": 2, "task": 2, "tag": 2, "coolant": 2}.get(place)
    return wanted is None or (len(rest) == wanted and all(rest))


def test_what_opens_and_what_does_not() -> None:
    assert all(
        map(opens, ("#/today", "#/records", "#/setup/devices", "#/air/people", "#/log/stock?item=1", "#/tag/1/2"))
    )
    assert not any(
        map(opens, ("#/nowhere", "#/setup/nowhere", "#/air/nowhere", "#/log/nowhere", "#/tag/1", "#/task//2"))
    )


def everything(office: Office) -> None:
    """A shop in which every need stands at once, on Monday 2 March and after."""
    shop = office.shop
    office.app.config["WAYROUND"] = replace(office.app.config["WAYROUND"], plain=False)
    authority = certificates.ensure(office.app.config["WAYROUND"].data, ["localhost"]).files.authority
    ends = certificates.load(authority).not_valid_after_utc
    day = ends - timedelta(days=20)
    while day.weekday() != 0:
        day += timedelta(days=1)
    office.clock.traveller.move_to(day.replace(hour=16, minute=0, tzinfo=UTC), tick=False)
    today = day.date()
    for name, ago in (("Near", 26), ("Due", 28), ("Late", 30)):
        office.task(name, {"every": {"weeks": 4}}, start=(today - timedelta(days=ago)).isoformat())
    office.task("Start-up", {"each": "start-up"}, checklist=shop.checklist)
    office.edit("item", shop.blades, reorder_at=2)
    office.log("stock.counted", {"item": shop.blades, "count": 2}, machine=None)
    tag = shop.entry("tag.on", {"why": "guard off"}, machine=shop.saw, at=instant_text(now_ms() - 4 * 86_400_000))
    assert shop.push(tag).get_json()["results"][0]["outcome"] == "stored"
    soon = (today + timedelta(days=9)).isoformat()
    paper = {"person": shop.owner, "expires": soon}
    office.log("training.signed", paper | {"topic": "first aid", "outside": "a course"}, machine=None)
    office.log(
        "fit.tested", paper | {"respirator": "half mask", "method": "qualitative", "result": "pass"}, machine=None
    )
    coolant(office)
    read_strength(office, 4.0)
    with office.app.app_context(), writing() as session:
        device, _ = devices.enrol(session, "Shop phone", "browser")
        seen = instant_text(now_ms() - 8 * 86_400_000)
        session.execute(update(Device).where(Device.id == device.id).values(last_seen_at=seen))


def needs(office: Office) -> list[dict[str, Any]]:
    office.remind()
    return [row | json.loads(row["body"]) for row in office.rows() if row["kind"] != "digest"]


def test_each_kind_of_need_says_what_where_and_why_and_opens_a_screen(office: Office) -> None:
    everything(office)
    found = needs(office)
    kinds = {row["kind"] for row in found}
    assert kinds >= {"near", "due", "late", "round", "coolant", "stock", "tag", "paper", "phone"}
    assert {row["what"] for row in found if row["kind"] == "paper"} == {
        "Ada Quill: training, first aid runs out soon", "Ada Quill: fit test, half mask runs out soon",
        "The server's certificate authority runs out soon",
    }  # fmt: skip
    for row in found:
        assert opens(row["link"]), row["link"]
        assert row["what"] and row["where"] and len(row["what"]) < 80, row
        assert row["why"][0].isupper() or row["why"][0].isdigit(), row["why"]
        assert row["why"].endswith("."), row["why"]
        assert row["minutes"] or row["kind"] in ("coolant", "stock", "tag", "paper", "phone"), row


def test_the_calendars_links_open_too(office: Office) -> None:
    everything(office)
    with office.app.app_context():
        plan = look_around(db.session(), now_ms())
        assert plan is not None
        found = events(plan.look, plan.people, plan.people[office.shop.owner])
        db.session.remove()
    assert len(found) > 3 and all(opens(event.link) for event in found)
