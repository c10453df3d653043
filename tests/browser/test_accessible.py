"""Every place of the app under axe-core: phone and desk, day and night, nothing serious or critical."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.browser.audit import Audit
from tests.browser.conftest import Works
from tests.browser.shop_in_server import ANN, ANNS_PASSWORD, enrol, go, keep, note, open_as, wait_sent

pytestmark = pytest.mark.browser

SETUP = ("shop", "bays", "machines", "tasks", "checklists", "people", "reminders", "items", "devices", "storage")
SETUP += ("about", "stand")
EDITED = ("machines", "tasks", "checklists", "people", "items")
LOG = ("batch", "part", "coolant", "fluid", "meter", "note", "stock")
APP = Path(__file__).parents[2] / "static" / "src" / "app.js"
ELSEWHERE = {"first", "round"}  # the first run is looked at in test_coming_in.py, a round in walk()


def places(snapshot: dict[str, Any], ids: dict[str, str]) -> list[str]:
    """Every place by its address, most in the state that shows the most."""
    mill, saw, sander = ids["mill"], ids["saw"], ids["sander"]
    defined = snapshot["definitions"]
    tag = next(iter(snapshot["state"]["machines"][sander]["tags"]))
    task = next(one["id"] for one in defined["tasks"] if one["machine"] == mill and not one["checklist"])
    machines = {one["id"]: one for one in defined["machines"]}
    part, fluids = machines[saw]["parts"][0]["id"], [fluid["id"] for fluid in machines[mill]["fluids"]]
    return [
        "today", "shop", f"machine/{mill}", f"machine/{sander}", "machine/shop", "ahead", f"wearing/{saw}/{part}",
        *[f"coolant/{mill}/{fluid}" for fluid in fluids], "sums",
        "air", f"air/work?machine={sander}", "air/alloy/C17200", "air/purge", "air/exposures", "air/trends", "air/people",
        "air/rates", "air/measure/lead", "air/measure/noise", "sums/noise", "sums/under-protector",
        "papers", "records", f"records/{snapshot['entries'][0]['id']}", f"records/{snapshot['entries'][-1]['id']}", "phone",
        *[f"records/{page}" for page in ("findings", "rounds", "on-time", "time")], f"records/rounds?machine={mill}",
        "history", f"history/{mill}", f"history/{sander}?days=371", f"records?machine={mill}&person=&alloy=C36000",
        f"tag/{mill}", f"tag/{sander}/{tag}", "finding", f"finding/{mill}", f"raise/{mill}", f"task/{mill}/{task}",
        "signin", "join", "who",
        "log", *[f"log/{way}?machine={mill}" for way in LOG],
        "setup", *[f"setup/{page}" for page in SETUP], *[f"setup/{page}/{defined[page][0]['id']}" for page in EDITED],
    ]  # fmt: skip


def furnish_record(works: Works, context: Any) -> Any:
    """A page of the owner's, with a reading out of its band, a tag and a note in the record."""
    enrol(works.server, context)
    headers = {"Origin": works.server.base}
    answer = context.request.post(
        f"{works.server.base}/api/v1/session/owner", data={"password": ANNS_PASSWORD}, headers=headers
    )
    assert answer.ok, answer.text()
    page = open_as(works.server, context, ANN)
    go(page, f"log/coolant?machine={works.ids['mill']}")
    page.get_by_label("What is in the sump now").fill("30")
    page.get_by_label("Refractometer").fill("4.4")
    keep(page, "Keep what I poured in")
    go(page, f"finding/{works.ids['sander']}")
    page.get_by_label("What is wrong").fill("Splice is opening")
    page.get_by_label("Yes, it must not start").check()
    page.get_by_label("Tag Sander at once").check()
    keep(page, "Keep the finding")
    note(page, "for the record")
    wait_sent(page)
    return page


def test_no_place_has_a_serious_fault(works: Works, device: Callable[..., Any]) -> None:
    context = device()
    page = furnish_record(works, context)
    snapshot = context.request.get(f"{works.server.base}/api/v1/sync/snapshot").json()
    audit = Audit(page)
    wanted = places(snapshot, works.ids)
    named = set(re.findall(r"^  (\w+): \(\) => import", APP.read_text(encoding="utf-8"), re.MULTILINE))
    assert named and named <= {place.split("/")[0] for place in wanted} | ELSEWHERE, "a place nobody looks at"
    for place in wanted:
        go(page, place)
        page.wait_for_function("() => document.querySelector('h1')?.textContent.trim()")
        audit.look(place)
    go(page, "sums")
    page.locator(".sum-groups a").first.wait_for()
    hrefs = page.locator(".sum-groups li:first-child a").evaluate_all("links => links.map((link) => link.hash)")
    for place in [href.removeprefix("#/") for href in hrefs]:  # one of each group: they share one page
        go(page, place)
        audit.look(place)
    walk(page, works.ids["mill"], audit)
    page.emulate_media(color_scheme="light")
    page.evaluate("() => { document.querySelector('h1').style.color = '#999'; }")
    sound = len(audit.found)
    audit.look("a heading made grey on purpose")
    assert len(audit.found) > sound, "axe looks at nothing"
    assert audit.found[:sound] == []


def walk(page: Any, machine: str, audit: Audit) -> None:
    """The screens of a round: a stop check, a reading, a finding, the summary, the end."""
    go(page, f"machine/{machine}")
    page.get_by_role("link", name="Start the round").click()
    page.get_by_text("1 of 8").wait_for()
    audit.look("a stop check")
    for n in range(1, 9):
        page.get_by_text(f"{n} of 8").wait_for()
        reading = page.get_by_label("Reading")
        if reading.count():
            reading.fill("95" if n < 5 else "8")
            audit.look("a reading")
        if n == 6:
            page.get_by_role("button", name="Not ok", exact=True).click()
            page.get_by_role("heading", name="What did you find?").wait_for()
            audit.look("a finding")
            page.get_by_role("button", name="Keep, next check").click()
        else:
            page.locator(".forward").click(position={"x": 20 if n % 2 else 120, "y": 24})
    finish = page.get_by_role("button", name="Finish: ")
    finish.wait_for()
    audit.look("the summary")
    finish.click()
    page.get_by_text("It is in the record.").wait_for()
    audit.look("the end of a round")
