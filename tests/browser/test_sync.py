"""Phones and one server that goes away and comes back. Numbers in the names are rows of the known sync failures."""

from __future__ import annotations

import io
import json
import math
from collections import Counter
from collections.abc import Callable
from itertools import groupby
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from tests.browser.conftest import Works
from tests.browser.shop_in_server import (
    ANN,
    BEN,
    CLEO,
    CLEOS_PIN,
    enrol,
    go,
    hold_whole_app,
    join_by_hand,
    keep,
    note,
    open_as,
    record,
    unsent,
    wait_sent,
)

pytestmark = pytest.mark.browser

NO_LOCKS = "Object.defineProperty(Navigator.prototype, 'locks', { get: () => undefined })"


def phone_of(works: Works, device: Callable[..., Any], person: str, name: str = "Phone") -> Any:
    """A page of a new device, on Today."""
    context = device()
    enrol(works.server, context, name)
    return open_as(works.server, context, person)


def send_now(page: Any) -> None:
    """Sync once, as a person asks for it; the link as the phone then says it."""
    go(page, "phone")
    page.get_by_role("button", name="Send now").click()
    page.get_by_role("button", name="Send now").and_(page.locator(":enabled")).wait_for()


def made_since(works: Works, before: int) -> list[dict[str, Any]]:
    return record(works.server)[before:]


def test_a_machine_taken_out_and_returned_to_service_reads_the_same_on_two_phones(
    works: Works, device: Callable[..., Any]
) -> None:
    anns, bens = phone_of(works, device, ANN), phone_of(works, device, BEN)
    sander = works.ids["sander"]
    before = len(record(works.server))
    go(anns, f"finding/{sander}")
    anns.get_by_label("What is wrong").fill("Splice of the belt is opening")
    anns.get_by_label("Yes, it must not start").check()
    anns.get_by_label("Tag Sander at once").check()
    keep(anns, "Keep the finding")
    wait_sent(anns)

    send_now(bens)
    go(bens, f"machine/{sander}")
    bens.get_by_text("Not fit to start").wait_for()
    bens.get_by_role("link", name="Do not operate: Splice of the belt is opening", exact=True).click()
    bens.get_by_label("What was done").fill("New belt on, tracked by hand")
    bens.get_by_label("Tools and people are clear of it, guards are on").check()
    keep(bens, "Take it off")
    wait_sent(bens)

    send_now(anns)
    shown = []
    for page in (anns, bens):
        go(page, f"machine/{sander}")
        page.get_by_text("Not fit to start").wait_for()
        assert page.locator(".wants").get_by_text("Do not operate").count() == 0
        shown.append(page.locator(".fitness").inner_text())
        go(page, "today")
        page.locator(".tags").wait_for()
        shown.append(page.locator(".tags").inner_text())
    assert shown[0] == shown[2] and shown[1] == shown[3]
    kinds = [entry["kind"] for entry in made_since(works, before)]
    assert kinds == ["finding.opened", "tag.on", "task.raised", "finding.closed", "task.done", "tag.off"]
    assert "differ" not in works.server.run("refold", "--check")


@pytest.mark.parametrize("locks", [True, False], ids=["with Web Locks", "without Web Locks"])
def test_11_two_tabs_come_online_together_and_each_entry_counts_once(
    works: Works, device: Callable[..., Any], locks: bool
) -> None:
    context = device()
    if not locks:
        context.add_init_script(NO_LOCKS)
    enrol(works.server, context)
    tabs = [open_as(works.server, context, ANN), open_as(works.server, context, BEN)]
    assert tabs[0].evaluate("() => Boolean(navigator.locks)") is locks
    before = len(record(works.server))
    works.server.stop()
    for page, name in zip(tabs, ("first", "second"), strict=True):
        for n in range(3):
            note(page, f"{name} tab, {n}")
    pushes: list[Any] = []
    held: list[Any] = []
    wanted = 1 if locks else 2  # with the lock one tab sends, without it both do

    def hold(route: Any) -> None:
        pushes.append(route.request.post_data_json)
        if len(pushes) > wanted:
            return route.continue_()
        held.append(route)

    context.route("**/api/v1/sync/push", hold)
    works.server.start()
    for page in tabs:
        page.evaluate("() => dispatchEvent(new Event('online'))")
    for _ in range(200):
        if len(held) == wanted:
            break
        tabs[0].wait_for_timeout(50)
    for route in held:
        route.continue_()
    for page in tabs:
        wait_sent(page)
        assert unsent(page) == []
    pushed = Counter(entry["id"] for body in pushes for entry in body["entries"])
    assert len(pushed) == 6 and set(pushed.values()) == {wanted}
    made = made_since(works, before)
    assert Counter(entry["id"] for entry in made) == Counter(dict.fromkeys(pushed, 1))
    assert sorted(entry["seq"] for entry in made) == list(range(1, 7))


def test_22_behind_a_captive_portal_nothing_leaves_the_outbox(works: Works, device: Callable[..., Any]) -> None:
    page = phone_of(works, device, ANN)
    before = len(record(works.server))
    page.context.route(
        "**/api/v1/**",
        lambda route: route.fulfill(
            status=200, content_type="text/html", body="<html><title>Guest network</title>Accept our terms</html>"
        ),
    )
    note(page, "kept behind the portal")
    send_now(page)
    page.get_by_text("No signal").first.wait_for()
    assert [entry["body"]["text"] for entry in unsent(page)] == ["kept behind the portal"]
    page.reload()
    page.get_by_text("kept on this phone").first.wait_for()
    page.context.unroute("**/api/v1/**")
    send_now(page)
    wait_sent(page)
    assert [entry["body"]["text"] for entry in made_since(works, before)] == ["kept behind the portal"]


def read_meter(page: Any, machine: str, meter: str, value: str) -> None:
    go(page, f"log/meter?machine={machine}")
    page.get_by_label("Meter", exact=True).select_option(label=meter)
    page.get_by_label("What the counter shows").fill(value)
    keep(page, "Keep the reading")


def test_6_a_refused_entry_is_seen_saved_to_a_file_mended_and_sent(
    works: Works, device: Callable[..., Any], tmp_path: Path
) -> None:
    """The counter was read on another phone meanwhile, further on than this one's reading."""
    anns, bens = phone_of(works, device, ANN), phone_of(works, device, BEN)
    bens.context.route("**/api/v1/**", lambda route: route.abort())
    read_meter(anns, works.ids["mill"], "Spindle hours", "500")
    wait_sent(anns)
    before = len(record(works.server))
    note(bens, "before the reading")
    read_meter(bens, works.ids["mill"], "Spindle hours", "100")
    note(bens, "after the reading")
    bens.context.unroute("**/api/v1/**")
    send_now(bens)
    wait_sent(bens)
    assert [entry["body"].get("text") for entry in made_since(works, before)] == [
        "before the reading",
        "after the reading",
    ]
    bens.get_by_role("link", name="1 entry refused: look").wait_for()
    refused = bens.locator(".refused")
    assert "Reading" in refused.locator("li").inner_text(), "the field by the name that the form gives it"
    with bens.expect_download() as coming:
        refused.get_by_role("button", name="Save it to a file").click()
    coming.value.save_as(tmp_path / "refused.json")
    saved = json.loads((tmp_path / "refused.json").read_text())
    assert [row["entry"]["body"]["value"] for row in saved["entries"]] == [100]
    refused.get_by_label("Reading").fill("600")
    refused.get_by_role("button", name="Send it again").click()
    bens.get_by_text("None. Whatever the server refuses is kept here").wait_for()
    wait_sent(bens)
    mended = made_since(works, before)[-1]
    assert (mended["kind"], mended["body"]["value"], mended["by"]) == ("meter.read", 600, works.ids["ben"])
    assert mended["receipt"]["device"] != record(works.server)[before - 1]["receipt"]["device"]


def picture() -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (64, 48), (40, 90, 60)).save(out, "JPEG")
    return out.getvalue()


def test_every_quick_entry_is_made_without_the_server_and_arrives(works: Works, device: Callable[..., Any]) -> None:
    page = phone_of(works, device, ANN)
    ids = works.ids
    before = len(record(works.server))
    works.server.stop()
    for machine, part in (("saw", "Blade"), ("sander", "Abrasive belt")):
        go(page, f"log/part?machine={ids[machine]}")
        page.get_by_label("Part", exact=True).select_option(label=part)
        page.get_by_label("Worn out").check()
        keep(page, "Keep the change")
    go(page, f"log/coolant?machine={ids['mill']}")
    page.get_by_label("What is in the sump now").fill("30")
    page.get_by_label("Refractometer").fill("5")
    keep(page, "Keep what I poured in")
    go(page, f"log/fluid?machine={ids['mill']}")
    page.get_by_label("Fluid", exact=True).select_option(label="Way oil")
    page.get_by_label("How much").fill("0.2")
    keep(page, "Keep it")
    read_meter(page, ids["saw"], "Cuts", "1200")
    go(page, f"log/batch?machine={ids['saw']}")
    page.get_by_label("Cuts").fill("12")
    page.get_by_label("Diameter").fill("2")
    keep(page, "Keep the batch")
    go(page, "log/note")
    page.get_by_label("Note").fill("Chips are long today")
    page.locator("input[type=file]").set_input_files(
        {"name": "chips.jpg", "mimeType": "image/jpeg", "buffer": picture()}
    )
    keep(page, "Keep the note")
    page.reload()  # what was kept outlives the page
    page.get_by_text("kept on this phone").first.wait_for()
    made_here = [entry["kind"] for entry in unsent(page)]
    # A deed may leave several entries (what was read, what was poured in): the order of the deeds is what counts.
    assert [kind for kind, _ in groupby(made_here)] == [
        "part.changed", "reading.taken", "fluid.added", "meter.read", "batch.run", "note.made",
    ]  # fmt: skip
    assert Counter(made_here)["part.changed"] == 2 and Counter(made_here)["fluid.added"] == 2

    works.server.start()
    page.evaluate("() => dispatchEvent(new Event('online'))")
    wait_sent(page)
    made = made_since(works, before)
    assert [entry["kind"] for entry in made] == made_here
    assert [entry["seq"] for entry in made] == list(range(1, len(made) + 1))
    # Twelve cuts through a 2 in round: the section is pi x 2^2 / 4 sq in (geometry), to the meter's own rounding.
    batch = next(entry for entry in made if entry["kind"] == "batch.run")
    assert sorted(batch["body"]["adds"].values()) == pytest.approx([12, 12 * math.pi], abs=1e-3)
    photo = page.context.request.get(f"{works.server.base}/api/v1/photos/{made[-1]['body']['photo']}")
    assert photo.ok and Image.open(io.BytesIO(photo.body())).size == (64, 48)


def test_a_pin_is_asked_for_and_checked_without_the_server(works: Works, device: Callable[..., Any]) -> None:
    page = join_by_hand(works.server, device(), "Saw phone", BEN)
    before = len(record(works.server))
    works.server.stop()
    page.reload()
    page.get_by_role("link", name="is here. Somebody else?").click()
    page.get_by_role("button", name=CLEO).click()
    page.get_by_label(f"PIN of {CLEO}").fill("0000")
    page.get_by_role("button", name="Enter").click()
    page.get_by_text("That is not the PIN.").wait_for()
    for digit in CLEOS_PIN:
        page.get_by_role("button", name=digit, exact=True).click()
    page.get_by_role("button", name="Enter").click()
    page.get_by_role("link", name=f"{CLEO} is here").wait_for()
    note(page, "Cleo's, by PIN")
    works.server.start()
    hold_whole_app(page)
    page.evaluate("() => dispatchEvent(new Event('online'))")
    wait_sent(page)
    assert [entry["by"] for entry in made_since(works, before)] == [works.ids["cleo"]]
