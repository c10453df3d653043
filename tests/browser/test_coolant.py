"""The coolant desk and the bench sums: worked out without signal, kept on the phone, sent when the server is back."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tests.browser.audit import Audit
from tests.browser.conftest import Works
from tests.browser.shop_in_server import ANN, enrol, go, keep, open_as, record, unsent, wait_sent

pytestmark = pytest.mark.browser

SUMS = (
    "cut-area", "teeth", "band-speed", "tension", "strength", "dilution", "surface-speed", "grinder-gaps", "wheel-rating",
    "belt-speed", "mixed-dust", "nozzle", "worn-nozzle", "pump-up", "leak",
)  # fmt: skip


def phone(works: Works, device: Callable[..., Any]) -> Any:
    context = device()
    enrol(works.server, context)
    return open_as(works.server, context, ANN)


def desk_of(page: Any, works: Works, kind: str) -> str:
    """The address of the desk of a fluid of the mill."""
    snapshot = page.context.request.get(f"{works.server.base}/api/v1/sync/snapshot").json()
    mill = next(one for one in snapshot["definitions"]["machines"] if one["id"] == works.ids["mill"])
    return f"coolant/{mill['id']}/{next(one['id'] for one in mill['fluids'] if one['kind'] == kind)}"


def test_a_mix_is_worked_out_without_signal_and_sent_when_it_is_back(works: Works, device: Callable[..., Any]) -> None:
    page = phone(works, device)
    desk = desk_of(page, works, "coolant")
    go(page, desk)
    page.get_by_role("heading", name="Coolant", exact=True).wait_for()
    before = len(record(works.server))
    works.server.stop()
    page.reload()
    page.get_by_label("What is in the sump now").fill("30")
    page.get_by_label("On water it showed").fill("0.1")
    page.get_by_label("Refractometer").fill("7")
    # 40 gal at 8 % need 3.2 gal concentrate, 2.1 are there: 1.1, in 10 gal of room.
    page.get_by_text("8.9 gal water and 1.1 gal concentrate", exact=True).wait_for()
    page.get_by_text("Pour the concentrate into the water").wait_for()
    page.get_by_text("Then the sump holds 40 gal at 8 %").wait_for()
    page.reload()  # what was typed outlives the page
    page.get_by_text("8.9 gal water and 1.1 gal concentrate", exact=True).wait_for()
    keep(page, "Keep what I poured in")
    page.reload()
    page.get_by_text("kept on this phone").first.wait_for()
    made = [(entry["kind"], entry["body"].get("quantity")) for entry in unsent(page)]
    assert made == [
        ("reading.taken", "coolant.zero"), ("reading.taken", "coolant.strength"), ("reading.taken", "coolant.level"), ("fluid.added", None),
    ]  # fmt: skip
    go(page, desk)
    page.get_by_text("and something was filled in since: read it again").wait_for()  # nothing stale is taken over
    assert page.get_by_label("Refractometer").input_value() == ""

    works.server.start()
    page.evaluate("() => dispatchEvent(new Event('online'))")
    wait_sent(page)
    stored = record(works.server)[before:]
    assert [entry["body"].get("value", entry["body"].get("amount")) for entry in stored] == [0.1, 7, 30, 10]
    assert (stored[-1]["body"]["water"], stored[-1]["body"]["concentrate"]) == (8.9, 1.1)
    assert sorted(entry["at"] for entry in stored) == [entry["at"] for entry in stored]
    assert len({entry["at"] for entry in stored}) == len(stored)


def test_what_cannot_be_is_told_beside_its_field(works: Works, device: Callable[..., Any]) -> None:
    page = phone(works, device)
    go(page, desk_of(page, works, "coolant"))
    page.get_by_label("What is in the sump now").fill("55")
    page.get_by_label("On water it showed").fill("0.6")
    page.get_by_label("Refractometer").fill("7")
    page.locator(".field", has=page.get_by_label("On water it showed")).get_by_text("Set it to 0 on water").wait_for()
    page.get_by_label("On water it showed").fill("")
    page.locator(".field", has=page.get_by_label("What is in the sump now")).get_by_text(
        "more than the sump holds"
    ).wait_for()
    page.get_by_role("button", name="Keep what I poured in").click()
    assert page.get_by_text("In the record").count() == 0
    page.get_by_label("What is in the sump now").fill("39.9")
    page.get_by_label("Refractometer").fill("5")
    page.get_by_text("8 % cannot be reached without draining").wait_for()
    page.get_by_text("First take out").wait_for()


def test_bench_sums_work_without_signal_and_hold_what_was_typed(works: Works, device: Callable[..., Any]) -> None:
    page = phone(works, device)
    works.server.stop()
    page.reload()
    go(page, "log")
    page.get_by_role("link", name="Bench sums").click()
    page.get_by_role("link", name="Pump-up test").click()
    for label, typed in {
        "Receiver and pipes": "80",
        "Pressure at the start": "0",
        "Pressure at the end": "125",
    }.items():
        page.get_by_label(label).fill(typed)
    page.get_by_text("The result stands here once there is: time taken.").wait_for()
    page.get_by_role("button", name="Start the watch").click()
    page.wait_for_function("() => Object.values(sessionStorage).some((held) => held.includes('seconds_from'))")
    page.reload()  # the watch goes on
    page.get_by_role("button", name="Stop the watch").click()
    assert float(page.get_by_label("Time taken").input_value()) > 0
    page.get_by_label("Time taken").fill("300")
    answer = page.get_by_label("Result")
    answer.get_by_text("18.2").wait_for()  # accurateair.com: 80 gal, 125 psi, 300 s
    page.get_by_label("Metric").check()
    assert page.get_by_label("Receiver and pipes").input_value() == "302.8"
    answer.get_by_text("515", exact=False).first.wait_for()  # 18.19 cfm x 28.317
    go(page, "sums/dilution")
    page.get_by_label("Strength or ratio").fill("1:20")
    page.get_by_label("Mix wanted").fill("20")
    page.get_by_text("Say which of the two is meant").wait_for()
    page.get_by_label("1 part in the whole").check()
    page.get_by_label("Result").get_by_text("19", exact=True).wait_for()
    assert unsent(page) == []
    works.server.start()


def test_no_desk_and_no_sum_has_a_serious_fault(works: Works, device: Callable[..., Any]) -> None:
    page = phone(works, device)
    audit = Audit(page)
    for place in [
        desk_of(page, works, "coolant"),
        desk_of(page, works, "way_oil"),
        "coolant",
        "sums",
        *[f"sums/{name}" for name in SUMS],
    ]:
        go(page, place)
        page.wait_for_function("() => document.querySelector('h1')?.textContent.trim()")
        for field in page.locator("main input[inputmode]").all():
            if not field.input_value():
                field.fill("2")
        audit.look(place)
    assert audit.found == []
