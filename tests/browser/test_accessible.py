"""Every place of the app under axe-core: phone and desk, day and night, nothing serious or critical."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tests.browser.audit import Audit
from tests.browser.conftest import Works
from tests.browser.shop_in_server import ANN, enrol, go, keep, note, open_as, wait_sent

pytestmark = pytest.mark.browser

SETUP = (
    "",
    "shop",
    "bays",
    "machines",
    "tasks",
    "checklists",
    "people",
    "items",
    "devices",
    "storage",
    "about",
    "stand",
)
LOG = ("", "batch", "part", "coolant", "fluid", "meter", "note", "stock")


def places(ids: dict[str, str], entry: str, tag: str, task: str) -> list[str]:
    """Every place by its address, most in the state that shows the most."""
    mill, sander = ids["mill"], ids["sander"]
    return [
        "today", "shop", f"machine/{mill}", f"machine/{sander}", "machine/shop", "records", f"records/{entry}", "phone",
        f"tag/{mill}", f"tag/{sander}/{tag}", "finding", f"finding/{mill}", f"raise/{mill}", f"task/{mill}/{task}", "signin", "join", "who",
        *[f"log/{way}?machine={mill}" for way in LOG], *[f"setup/{page}" for page in SETUP],
    ]  # fmt: skip


def test_no_place_has_a_serious_fault(works: Works, device: Callable[..., Any]) -> None:
    context = device()
    enrol(works.server, context)
    page = open_as(works.server, context, ANN)
    ids = works.ids
    go(page, f"log/coolant?machine={ids['mill']}")
    page.get_by_label("What is in the sump now").fill("30")
    page.get_by_label("Refractometer").fill("4.4")
    keep(page, "Keep what I poured in")
    go(page, f"finding/{ids['sander']}")
    page.get_by_label("What is wrong").fill("Splice is opening")
    page.get_by_label("Yes, it must not start").check()
    page.get_by_label("Tag Sander at once").check()
    keep(page, "Keep the finding")
    note(page, "for the record")
    wait_sent(page)
    snapshot = context.request.get(f"{works.server.base}/api/v1/sync/snapshot").json()
    tag = next(iter(snapshot["state"]["machines"][ids["sander"]]["tags"]))
    task = next(
        one["id"] for one in snapshot["definitions"]["tasks"] if one["machine"] == ids["mill"] and not one["checklist"]
    )
    audit = Audit(page)
    for place in places(ids, snapshot["entries"][-1]["id"], tag, task):
        go(page, place)
        page.wait_for_function("() => document.querySelector('h1')?.textContent.trim()")
        audit.look(place)
    walk(page, ids["mill"], audit)
    page.emulate_media(color_scheme="light")
    page.evaluate("() => document.querySelector('h1').style.color = '#999'")
    sound = len(audit.found)
    audit.look("a heading made grey on purpose")
    assert len(audit.found) > sound, "axe looks at nothing"
    assert audit.found[:sound] == []


def walk(page: Any, machine: str, audit: Audit) -> None:
    """The screens of a round: a stop check, a reading, a finding, the summary, the end."""
    go(page, "today")
    page.locator(f"a[href^='#/machine/{machine}']").click()
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
