"""The first run on an empty server, as the owner meets it, and a second phone let in by a code."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tests.browser.audit import Audit
from tests.browser.conftest import DESK, PHONE, Server
from tests.browser.shop_in_server import (
    enrol,
    go,
    name_oneself,
    note,
    one_time_code,
    open_as,
    record,
    unsent,
    wait_sent,
)

pytestmark = pytest.mark.browser

OWNER, PASSWORD, PIN = "Dora Tenon", "four plain words here", "4821"


def set_up_shop(page: Any, server: Server) -> None:
    """Fill in the first run's form from the address that the server prints."""
    page.goto(f"{server.base}/#/first?code={one_time_code(server, 'first')}")
    page.get_by_label("Name of the shop").fill("Tenon Works")
    page.get_by_label("Your name").fill(OWNER)
    page.get_by_label("PIN").fill(PIN)
    page.get_by_label("Password", exact=True).fill(PASSWORD)
    page.get_by_label("The same password again").fill(PASSWORD)
    page.get_by_label("Name of this device").fill("Office")
    page.get_by_role("button", name="Set it up").click()


def test_from_an_empty_server_to_the_first_round_on_a_second_phone(server: Server, device: Callable[..., Any]) -> None:
    server.start()
    office = device(DESK).new_page()
    audit = Audit(office)
    office.goto(f"{server.base}/")
    office.get_by_role("heading", name="Set up your shop").wait_for()
    audit.look("the first run")
    set_up_shop(office, server)
    office.get_by_role("heading", name="Choose your machines").wait_for()
    office.get_by_role("button", name="Add Band saw").click()
    office.get_by_role("button", name="Add CNC mill").click()
    office.get_by_role("button", name="Stand all 2 in the shop").click()
    office.get_by_role("heading", name="Your machines").wait_for()
    office.get_by_role("link", name="Go to Today").click()
    office.get_by_role("heading", name="Today").wait_for()
    office.get_by_role("link", name="Start the round: Band saw").wait_for()

    go(office, "setup/devices")
    office.get_by_role("button", name="Let a phone in").click()
    code = office.locator(".code-letters").inner_text()
    phone = device(PHONE).new_page()
    phone.goto(f"{server.base}/")
    audit.page = phone
    phone.get_by_role("heading", name="Join the shop").wait_for()
    audit.look("joining")
    phone.get_by_label("Code").fill(code)
    phone.get_by_label("Name of this device").fill("Saw phone")
    phone.get_by_role("button", name="Join").click()
    phone.get_by_role("button", name=OWNER).click()
    audit.look("the PIN")
    phone.get_by_label(f"PIN of {OWNER}").fill(PIN)
    phone.get_by_role("button", name="Enter").click()
    phone.get_by_role("link", name="Go to Today").click()
    phone.get_by_role("link", name="Start the round: Band saw").wait_for()
    office.get_by_text("Saw phone has joined.").wait_for()
    note(phone, "first word from the floor")
    wait_sent(phone)
    assert record(server)[-1]["body"]["text"] == "first word from the floor"

    again = device(PHONE).new_page()
    again.goto(f"{server.base}/#/join?code={code}")
    again.get_by_role("button", name="Join").click()
    again.get_by_role("alert").first.wait_for()
    assert again.get_by_role("heading", name="Join the shop").count(), "a code lets one device in, once"
    assert audit.found == []


def own_shop(server: Server, context: Any) -> str:
    """Make a shop and its owner by the server's own call, in this browser; the owner's id."""
    owner = {"name": OWNER, "initials": "DT"}
    shop = {"name": "Tenon Works", "time_zone": "America/Chicago"}
    body = {"code": one_time_code(server, "first"), "shop": shop, "owner": owner, "password": PASSWORD}
    headers = {"Origin": server.base}
    made = context.request.post(
        f"{server.base}/api/v1/session/first", data=body | {"device_name": "Office"}, headers=headers
    )
    assert made.ok, made.text()
    return OWNER


def test_15_a_phone_whose_storage_was_cleared_and_the_server_both_say_what_is_missing(
    server: Server, device: Callable[..., Any]
) -> None:
    server.start()
    desk = device(DESK)
    own_shop(server, desk)
    context = device(PHONE)
    enrol(server, context, "Saw phone")
    phone = open_as(server, context, OWNER)
    note(phone, "number one, sent")
    wait_sent(phone)
    server.stop()
    for n in ("two", "three"):
        note(phone, f"number {n}, never sent")
    assert [row["seq"] for row in unsent(phone)] == [2, 3]
    phone.evaluate(CLEAR_DATABASE)
    server.start()
    phone.reload()
    name_oneself(phone, OWNER)
    phone.get_by_role("link", name="Something from this phone was lost: look").click()
    phone.get_by_text("it had numbered its entries up to 3").wait_for()
    note(phone, "number four")
    wait_sent(phone)
    go(phone, "phone")
    phone.get_by_text("This phone made entries numbered 2 to 3, and neither it nor the server has them.").wait_for()
    assert [entry["seq"] for entry in record(server) if entry["kind"] == "note.made"] == [1, 4]

    office = desk.new_page()
    office.goto(f"{server.base}/#/setup/devices")
    office.get_by_text("Entries numbered 2 to 3 never came.").wait_for()


def test_10_a_phone_closed_out_keeps_its_entries_and_sends_them_in_its_old_name(
    server: Server, device: Callable[..., Any]
) -> None:
    server.start()
    desk = device(DESK)
    own_shop(server, desk)
    context = device(PHONE)
    old = enrol(server, context, "Saw phone")
    phone = open_as(server, context, OWNER)
    context.route("**/api/v1/**", lambda route: route.abort())
    note(phone, "made before it was closed out")
    closed = desk.request.delete(f"{server.base}/api/v1/devices/{old}", headers={"Origin": server.base})
    assert closed.ok, closed.text()
    context.unroute("**/api/v1/**")
    phone.evaluate("() => dispatchEvent(new Event('online'))")
    phone.get_by_text("Signed out").wait_for()
    assert [row["body"]["text"] for row in unsent(phone)] == ["made before it was closed out"]
    phone.reload()
    phone.get_by_role("link", name="Sign in again").click()
    phone.get_by_role("link", name="Join with a code").click()
    phone.get_by_label("Code").fill(one_time_code(server))
    phone.get_by_label("Name of this device").fill("Saw phone again")
    phone.get_by_role("button", name="Join").click()
    phone.locator(".person").filter(has_text=OWNER).click()
    phone.get_by_role("link", name="Go to Today").click()
    phone.get_by_role("heading", name="Today").wait_for()
    assert record(server)[-1]["kind"] != "note.made", "nothing of the old phone goes in the name of the new one"
    phone.get_by_role("link", name="Something unsent is left here from before: look").click()
    phone.get_by_role("button", name="Take them over and send them").click()
    phone.get_by_text("Taken over: 1 entry").wait_for()
    phone.get_by_role("link", name="Something unsent is left").wait_for(state="detached")
    wait_sent(phone)
    sent = record(server)[-1]
    assert sent["body"]["text"] == "made before it was closed out"
    assert sent["receipt"]["device"] == old != sent["receipt"]["via"]


CLEAR_DATABASE = """async () => {
  const { device } = JSON.parse(localStorage.getItem("wayround.last"));
  await new Promise((resolve, reject) => {
    const asked = indexedDB.deleteDatabase(`wayround-${device.id}`);
    asked.onsuccess = resolve;
    asked.onerror = () => reject(asked.error);
  });
}"""

# A database whose open() never answers while the tab says so, as private browsing and a wedged Safari do.
NEVER_OPENS = """
const open = IDBFactory.prototype.open;
IDBFactory.prototype.open = function (...args) {
  if (!sessionStorage.wedged) return open.apply(this, args);
  return Object.create(IDBOpenDBRequest.prototype, {
    addEventListener: { value() {} }, removeEventListener: { value() {} },
  });
};
"""


def test_14_storage_that_never_opens_is_said_and_tried_again(server: Server, device: Callable[..., Any]) -> None:
    server.start()
    context = device(PHONE)
    own_shop(server, context)
    context.add_init_script(NEVER_OPENS)
    page = open_as(server, context, OWNER)
    note(page, "kept before")
    wait_sent(page)
    page.evaluate("() => { sessionStorage.wedged = 'yes'; }")
    page.clock.install()
    page.reload()
    said = page.get_by_text("This phone's storage does not open.").first
    for _ in range(40):  # two openings with a time limit each; the page's clock is put forward instead of waiting
        if said.count():
            break
        page.clock.fast_forward(1_000)
        page.wait_for_timeout(50)
    said.wait_for()
    page.evaluate("() => { delete sessionStorage.wedged; }")
    page.evaluate("() => dispatchEvent(new Event('online'))")  # the next round of syncing tries again
    name_oneself(page, OWNER)
    said.wait_for(state="detached")
    note(page, "kept after")
    wait_sent(page)
    assert [entry["body"]["text"] for entry in record(server) if entry["kind"] == "note.made"] == [
        "kept before",
        "kept after",
    ]
