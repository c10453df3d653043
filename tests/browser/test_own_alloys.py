"""An alloy of the shop's own and a cabinet's own figures: set up once by the owner, there on every phone without signal."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tests.browser.audit import Audit
from tests.browser.conftest import Works
from tests.browser.shop_in_server import (
    ANN,
    ANNS_PASSWORD,
    BEN,
    enrol,
    go,
    keep,
    name_oneself,
    open_as,
    record,
    unsent,
    wait_sent,
)
from webapp.library import DEFERENCE

pytestmark = pytest.mark.browser

ODD = "Odd rod, heat T 2207"


def phone(works: Works, device: Callable[..., Any], person: str, *, owner: bool = False) -> Any:
    """An enrolled phone that holds the cards; with the owner signed in where it is to set up."""
    context = device()
    enrol(works.server, context)
    if owner:
        answer = context.request.post(
            f"{works.server.base}/api/v1/session/owner",
            data={"password": ANNS_PASSWORD},
            headers={"Origin": works.server.base},
        )
        assert answer.ok, answer.text()
    page = open_as(works.server, context, person)
    go(page, "air/alloys")
    page.get_by_role("link", name="Beryllium copper 25").first.wait_for()
    return page


def test_a_certificate_becomes_an_alloy_that_stops_dry_sanding_without_signal(
    air: Works, device: Callable[..., Any]
) -> None:
    office = phone(air, device, ANN, owner=True)
    go(office, "air/alloy/C36000")
    office.get_by_label("What the certificate says").fill("Cu 61.2, Zn 37.9, Be 0.4")
    office.get_by_text("Beryllium: 0.4 % found, and the card does not name it.").wait_for()
    office.get_by_role("link", name="Keep it as an alloy of the shop").click()
    office.get_by_label("Name", exact=True).fill(ODD)
    office.get_by_text("Beryllium: not in C36000").wait_for()
    office.get_by_text("Not on the certificate: Lead").wait_for()
    office.get_by_label("Number", exact=True).fill("T 2207")
    office.get_by_label("Whose it is").fill("the rod mill's, with the delivery")
    office.get_by_role("button", name="Add the alloy").click()
    office.get_by_text("The date is empty").wait_for()
    office.get_by_label("Date", exact=True).fill("2026-03-02")
    editor = Audit(office)
    editor.look("an own alloy in Set-up")
    assert editor.found == []
    office.get_by_role("button", name="Add the alloy").click()
    office.get_by_text(f"{ODD} is added.").wait_for()
    snapshot = office.context.request.get(f"{air.server.base}/api/v1/sync/snapshot").json()
    (alloy,) = snapshot["definitions"]["alloys"]
    assert alloy["like"] == "C36000" and alloy["base"] == "Cu"

    page = phone(air, device, BEN)
    before = len(record(air.server))
    air.server.stop()
    page.reload()
    name_oneself(page, BEN)
    go(page, f"log/batch?machine={air.ids['sander']}")
    choice = page.get_by_label("Alloy")
    assert choice.locator("option").nth(1).inner_text() == ODD  # after "Choose the alloy"
    choice.select_option(label="C36000 Free-cutting brass")
    page.locator(".caution").first.wait_for()
    assert page.get_by_text("Do not start").count() == 0
    choice.select_option(label=ODD)
    stop = page.get_by_role("alert").filter(has_text="Do not start: 1 stop")
    stop.get_by_text("An assessed, enclosed and measured set-up for beryllium must be on record").wait_for()
    assert page.locator(".caution").count() == page.locator(".caution").filter(has_text=DEFERENCE).count() >= 2
    page.get_by_label("Belt minutes").fill("20")
    page.get_by_label("It was run all the same").check()
    keep(page, "Keep the batch")
    assert [entry["body"]["alloy"] for entry in unsent(page)] == [alloy["id"], alloy["id"]]
    go(page, "air")
    page.get_by_role("link", name=ODD).first.click()
    page.get_by_text("Beryllium: beyond that card").wait_for()
    page.get_by_text("Mill certificate T 2207: the rod mill's, with the delivery").first.wait_for()
    card = Audit(page)
    card.look("the card of an own alloy")
    assert card.found == []

    air.server.start()
    page.evaluate("() => dispatchEvent(new Event('online'))")
    wait_sent(page)
    kinds = [entry["kind"] for entry in record(air.server)[before:]]
    assert kinds == ["batch.run", "hazard.noted"]
    go(page, "records")
    page.get_by_text(f"{ODD}: Belt minutes").first.wait_for()
    sheet = page.context.request.get(f"{air.server.base}/api/v1/reports/cards?alloys={alloy['id']}")
    assert sheet.ok and sheet.body().startswith(b"%PDF")


def test_a_cabinets_figures_are_the_same_on_every_phone(air: Works, device: Callable[..., Any]) -> None:
    office = phone(air, device, ANN, owner=True)
    go(office, f"air/purge/{air.ids['cabinet']}")
    office.get_by_label("Cabinet volume").fill("12")
    office.get_by_label("Exhaust flow").fill("100")
    office.get_by_role("link", name="Put them in Set-up").click()
    office.get_by_text("The purge takes 100 s").wait_for()
    office.get_by_role("button", name="Save").click()
    office.get_by_text("is saved as revision 2").wait_for()

    page = phone(air, device, BEN)
    air.server.stop()
    page.reload()
    name_oneself(page, BEN)
    go(page, f"machine/{air.ids['cabinet']}")
    page.get_by_role("link", name="Purge timer").click()
    # 3 x ln(100) x 12 / 100 min = 99.47 s (CDC 2003, Table B.1, with the mixing factor): up to 100.
    page.get_by_role("timer").filter(has_text="1:40").wait_for()
    assert page.get_by_label("Cabinet volume").count() == 0, "a defined figure is not typed again"
    page.get_by_label("99.9 %").check()
    page.get_by_role("timer").filter(has_text="2:30").wait_for()
