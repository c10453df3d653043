"""Reminders on a phone: told on Today, put off and done with the server really stopped; by push, mail and calendar."""

from __future__ import annotations

import json
import sqlite3
import time
from collections.abc import Callable, Iterator
from typing import Any
from urllib.error import HTTPError
from urllib.request import urlopen

import pytest
from aiosmtpd.controller import Controller

from tests.browser.audit import Audit
from tests.browser.conftest import DESK, Server, free_port
from tests.browser.shop_in_server import (
    ANN,
    ANNS_PASSWORD,
    BEN,
    enrol,
    furnish,
    go,
    name_oneself,
    open_as,
    record,
    unsent,
    wait_sent,
)  # fmt: skip
from tests.reminders.test_mail import Postbox
from webapp import create_app
from webapp.config import Settings
from webapp.database import db, writing
from webapp.setup import definitions
from webapp.setup.ids import new_id

pytestmark = pytest.mark.browser

LATE = "Grease the vise is late"


@pytest.fixture
def greasy(server: Server) -> Iterator[dict[str, str]]:
    """A shop with one task that is late, its server running; the ids."""
    ids = furnish(server)
    ids["vise"] = new_id()
    app = create_app(Settings(data=server.data, plain=True))
    body = {"name": "Grease the vise", "machine": ids["mill"], "rule": {"every": {"weeks": 4}}, "start": "2026-01-05",
            "minutes": 5, "why": "wear", "source": "common practice, no source"}  # fmt: skip
    with app.app_context():
        with writing() as session:
            definitions.create(session, "task", body, ids["ann"], id_=ids["vise"])
        db.session.remove()
        db.engine.dispose()
    server.start()
    yield ids


def asked(server: Server, context: Any, path: str) -> Any:
    answer = context.request.get(f"{server.base}/api/v1{path}")
    assert answer.ok, answer.text()
    return answer.json()


def until(found: Callable[[], Any], seconds: float = 60) -> Any:
    """Wait for something of the server's; what it is."""
    for _ in range(int(seconds * 5)):
        value = found()
        if value:
            return value
        time.sleep(0.2)
    raise AssertionError("it did not come")


def standing(server: Server, context: Any, person: str) -> list[dict[str, Any]]:
    rows = asked(server, context, "/reminders")["reminders"]
    return [row for row in rows if row["person"] == person and row["what"] == LATE]


def look(page: Any) -> None:
    """The phone is taken out of the pocket: it syncs."""
    page.evaluate("() => document.dispatchEvent(new Event('visibilitychange'))")


def told(page: Any) -> Any:
    return page.get_by_role("link", name=LATE)


def phone_of(server: Server, context: Any, ids: dict[str, str]) -> Any:
    """Ben's phone, on which the reminder stands."""
    enrol(server, context, "Mill phone")
    until(lambda: standing(server, context, ids["ben"]))
    page = open_as(server, context, BEN)
    look(page)
    told(page).wait_for()
    return page


def test_a_late_task_is_told_put_off_without_a_server_and_told_again(
    server: Server, greasy: dict[str, str], device: Callable[..., Any]
) -> None:
    context = device()
    page = phone_of(server, context, greasy)
    row = page.locator(".told-row").filter(has_text=LATE)
    assert "About 5 min." in row.inner_text() and "Every 4 weeks" in row.inner_text()
    assert page.locator(".told-place h3").first.inner_text().startswith("Mill 1")
    server.stop()
    page.get_by_role("button", name=f"Later: {LATE}").click()
    audit = Audit(page)
    audit.look("Today with a reminder")
    assert audit.found == []
    page.get_by_role("button", name="Next week").click()
    page.get_by_text("You are told again").wait_for()
    assert told(page).count() == 0
    page.reload()
    name_oneself(page, BEN)
    page.get_by_text("Put off: 1").wait_for()
    assert told(page).count() == 0

    server.start()
    look(page)
    until(lambda: standing(server, context, greasy["ben"])[0]["snoozed_until"])
    look(page)
    page.wait_for_timeout(500)
    assert told(page).count() == 0, "the answer of the server's that counts it brings nothing back"
    page.get_by_text("Put off: 1").click()
    page.get_by_role("button", name="Tell me now").click()
    told(page).wait_for()
    until(lambda: standing(server, context, greasy["ben"])[0]["snoozed_until"] is None)


def test_done_on_the_phone_is_over_at_once_and_comes_back_only_when_taken_back(
    server: Server, greasy: dict[str, str], device: Callable[..., Any]
) -> None:
    context = device()
    page = phone_of(server, context, greasy)
    before = len(record(server))
    server.stop()
    page.get_by_role("button", name=f"Done: {LATE}").click()
    page.get_by_text("Done, and in the record").wait_for()
    assert told(page).count() == 0
    page.get_by_role("button", name="Take it back").click()
    told(page).wait_for()
    page.get_by_role("button", name=f"Done: {LATE}").click()
    page.get_by_text("Done, and in the record").wait_for()
    page.reload()
    name_oneself(page, BEN)
    page.get_by_role("heading", name="Today").wait_for()
    assert told(page).count() == 0

    server.start()
    look(page)
    wait_sent(page)
    made = record(server)[before:]
    assert [entry["kind"] for entry in made] == ["task.done", "entry.voided", "task.done"]
    assert made[2]["by"] == greasy["ben"] and made[2]["body"] == {"task": greasy["vise"]}
    assert standing(server, context, greasy["ben"]), "the server has not looked again yet"
    look(page)
    page.wait_for_timeout(500)
    assert told(page).count() == 0, "its older word brings nothing back"


# The worker's own word that the browser took a notification.
COUNTED = """() => {
  const { registration } = self, show = registration.showNotification.bind(registration);
  self.taken = 0;
  registration.showNotification = async (...what) => { await show(...what); self.taken += 1; };
}"""


def deliver(context: Any, page: Any, message: dict[str, Any]) -> None:
    """Chromium hands the service worker a message as its push service would; it is on the screen afterwards."""
    worker = context.service_workers[0]
    worker.evaluate(COUNTED)
    wire = context.new_cdp_session(page)
    found: list[str] = []
    wire.on("ServiceWorker.workerRegistrationUpdated", lambda seen: found.extend(
        row["registrationId"] for row in seen["registrations"] if not row["isDeleted"]))  # fmt: skip
    wire.send("ServiceWorker.enable")
    until(lambda: page.wait_for_timeout(50) or found, 10)
    origin = page.evaluate("() => location.origin")
    data = json.dumps(message)
    wire.send("ServiceWorker.deliverPushMessage", {"origin": origin, "registrationId": found[-1], "data": data})
    until(lambda: worker.evaluate("() => self.taken"), 10)
    # Asked for its notifications at that very moment, Chromium takes one not yet drawn for one put away, and forgets it.
    time.sleep(1)


SHOWN = """async () => {
  const { getNotifications } = ServiceWorkerRegistration.prototype;
  const there = await getNotifications.call(await navigator.serviceWorker.ready);
  return there.map(({ title, body, tag }) => ({ title, body, tag }));
}"""

# A press as the handler sees it. Only the browser itself can make a trusted event, whose `waitUntil` works.
PRESS = """async (action) => {
  const [notification] = await self.registration.getNotifications();
  const event = new NotificationEvent("notificationclick", { notification, action });
  let work = null;
  Object.defineProperty(event, "waitUntil", { value: (promise) => { work = promise; } });
  self.dispatchEvent(event);
  await work;
  return (await self.registration.getNotifications()).length;
}"""


def message(ids: dict[str, str], device_id: str, reminder: str) -> dict[str, Any]:
    link = f"#/task/{ids['mill']}/{ids['vise']}"
    item = {"reminder": reminder, "machine": ids["mill"], "task": ids["vise"], "link": link}
    return {"v": 1, "id": new_id(), "title": LATE, "body": "Mill 1. About 5 min.", "link": link, "device": device_id,
            "person": ids["ben"], "items": [item]}  # fmt: skip


def test_a_push_is_shown_and_its_actions_work_with_the_app_shut_and_no_server(
    server: Server, greasy: dict[str, str], device: Callable[..., Any]
) -> None:
    context = device()
    context.grant_permissions(["notifications"], origin=server.base)
    page = phone_of(server, context, greasy)
    own = page.evaluate("() => JSON.parse(localStorage.getItem('wayround.last')).device.id")
    (reminder,) = standing(server, context, greasy["ben"])
    before = len(record(server))
    server.stop()
    for action in ("later", "done"):
        sent = message(greasy, own, reminder["id"])
        deliver(context, page, sent)
        (shown,) = until(lambda: page.evaluate(SHOWN), 10)
        assert shown == {"title": LATE, "body": "Mill 1. About 5 min.", "tag": sent["id"]}
        worker = context.service_workers[0]
        assert worker.evaluate(PRESS, action) == 0, "pressed, it goes away"
        told(page).wait_for(state="detached")  # the open page shows it at once
        page.get_by_text("Put off: 1").wait_for(state="attached" if action == "later" else "detached")
    assert [entry["body"] for entry in unsent(page)] == [{"task": greasy["vise"]}]
    page.close()

    server.start()
    page = context.new_page()
    page.goto(f"{server.base}/")
    name_oneself(page, BEN)
    wait_sent(page)
    (made,) = record(server)[before:]
    assert (made["kind"], made["by"], made["body"]) == ("task.done", greasy["ben"], {"task": greasy["vise"]})
    until(lambda: standing(server, context, greasy["ben"])[0]["snoozed_until"])


def test_what_cannot_be_read_is_shown_all_the_same(
    server: Server, greasy: dict[str, str], device: Callable[..., Any]
) -> None:
    context = device()
    context.grant_permissions(["notifications"], origin=server.base)
    page = phone_of(server, context, greasy)
    deliver(context, page, {"v": 99})
    (shown,) = until(lambda: page.evaluate(SHOWN), 10)
    assert shown["title"] == "Wayround" and "Open Wayround" in shown["body"]


# The browser's end of web push; its maker's service cannot be reached from a test.
SUBSCRIBE = """
const held = { now: null, count: 0 };
const made = (key) => ({
  endpoint: `https://push.example/${++held.count}`, options: { applicationServerKey: key.buffer ?? key },
  unsubscribe: async () => { held.now = null; return true; },
  toJSON() { return { endpoint: this.endpoint, keys: { p256dh: KEY, auth: "AAAAAAAAAAAAAAAAAAAAAA" } }; },
});
const KEY = "BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4";
PushManager.prototype.getSubscription = async () => held.now;
PushManager.prototype.subscribe = async ({ applicationServerKey }) => { held.now = made(applicationServerKey); return held.now; };
globalThis.pushHeld = held;
"""


def signed_up(server: Server, context: Any) -> list[str]:
    return [row["person"] for row in asked(server, context, "/reminders/channels")["push"]["subscriptions"]]


def test_a_phone_signs_up_by_a_press_follows_a_new_key_and_signs_off(
    server: Server, greasy: dict[str, str], device: Callable[..., Any]
) -> None:
    context = device()
    context.add_init_script(SUBSCRIBE)
    context.grant_permissions(["notifications"], origin=server.base)
    enrol(server, context, "Mill phone")
    page = open_as(server, context, BEN)
    go(page, "setup/reminders")
    page.get_by_role("button", name="Switch on, and let the browser ask").click()
    page.get_by_text("On for Ben Stope").wait_for()
    assert signed_up(server, context) == [greasy["ben"]]
    first = page.evaluate("() => pushHeld.now.endpoint")

    server.stop()
    (server.data / "vapid.key").unlink()  # the server stands anew with another key
    server.start()
    go(page, "today")
    look(page)
    go(page, "setup/reminders")
    until(lambda: page.wait_for_timeout(100) or page.evaluate("() => pushHeld.now?.endpoint") not in (None, first))
    page.get_by_text("On for Ben Stope").wait_for()
    assert signed_up(server, context) == [greasy["ben"]], "one browser, signed up once"
    page.get_by_role("button", name="Switch off on this phone").click()
    page.get_by_role("button", name="Switch on, and let the browser ask").wait_for()
    assert signed_up(server, context) == [] and page.evaluate("() => pushHeld.now") is None


def test_why_messages_cannot_be_had_is_said(server: Server, greasy: dict[str, str], device: Callable[..., Any]) -> None:
    said = {
        "Object.defineProperty(Notification, 'permission', { get: () => 'denied' })": "Messages are forbidden in this browser.",
        "delete globalThis.PushManager": "This browser takes no messages.",
        "Object.defineProperty(globalThis, 'isSecureContext', { value: false })": "Messages need the shop's https address.",
    }
    for script, words in said.items():
        context = device()
        context.add_init_script(script)
        enrol(server, context)
        page = open_as(server, context, BEN)
        go(page, "setup/reminders")
        page.get_by_text(words).wait_for()
        assert page.get_by_role("button", name="Switch on, and let the browser ask").count() == 0


@pytest.fixture
def postbox(server: Server) -> Iterator[Postbox]:
    """A mail server that the shop's server is told of."""
    box, port = Postbox(), free_port()
    controller = Controller(box, hostname="127.0.0.1", port=port, ready_timeout=30)
    controller.start()
    said = {"HOST": "127.0.0.1", "PORT": str(port), "SECURITY": "none", "FROM": "shop@quill.example"}
    server.settings = {f"WAYROUND_SMTP_{name}": value for name, value in said.items()}
    yield box
    controller.stop()


def test_a_member_says_how_they_are_told_and_tries_each_way(
    postbox: Postbox, server: Server, greasy: dict[str, str], device: Callable[..., Any]
) -> None:
    context = device()
    enrol(server, context, "Mill phone")
    page = open_as(server, context, BEN)
    go(page, "setup/reminders")
    page.get_by_label("Mail", exact=False).first.check()
    save = page.get_by_role("button", name="Save how Ben Stope is told")
    save.click()
    page.get_by_text("The mail address is empty. Type it, or untick mail.").wait_for()
    page.get_by_label("Mail address").fill("ben@quill.example")
    page.get_by_label("Outside of my quiet time").check()
    page.get_by_label("Quiet from").fill("17:30")
    page.get_by_label("to", exact=True).fill("06:45")
    page.get_by_label("These only").check()
    page.get_by_label("Mill 1", exact=True).check()
    save.click()
    page.get_by_text("How Ben Stope is told is saved.").wait_for()
    ben = asked(server, context, f"/definitions/person/{greasy['ben']}")
    assert ben["reminders"] == {
        "channels": ["push", "mail"], "mail": "ben@quill.example", "quiet": {"begins": "17:30", "ends": "06:45"}, "machines": [greasy["mill"]],
    }  # fmt: skip

    page.get_by_role("button", name="Send a test mail").click()
    page.get_by_text("ben@quill.example: sent.").wait_for()
    assert postbox.recipients == ["ben@quill.example"] and postbox.mails[0]["Subject"] == "A test from Wayround"
    page.locator(".deliveries").get_by_text("Mail to ben@quill.example").wait_for()
    page.get_by_role("button", name="Send a test push").click()
    page.get_by_text("gets nothing by push").wait_for()
    page.get_by_role("button", name="Show a test on Today").click()
    page.get_by_text("It stands on Today for an hour.").wait_for()

    page.get_by_role("button", name="Make an address").click()
    address = page.locator(".told-address").inner_text()
    assert page.get_by_role("link", name="Open in a calendar").get_attribute("href") == address.replace(
        "http", "webcal", 1
    )
    with urlopen(address) as answer:
        assert b"BEGIN:VCALENDAR" in answer.read() and b"Grease the vise" in urlopen(address).read()
    page.get_by_role("button", name="End the address").click()
    page.get_by_text("The address is ended.").wait_for()
    with pytest.raises(HTTPError):
        urlopen(address)
    go(page, "today")
    look(page)
    page.get_by_role("link", name="A test from Wayround").wait_for()


def test_an_owners_settings_ask_for_the_owner(
    server: Server, greasy: dict[str, str], device: Callable[..., Any]
) -> None:
    context = device()
    enrol(server, context)
    page = open_as(server, context, ANN)
    go(page, "setup/reminders")
    page.get_by_text("Only the owner changes set-up.").wait_for()
    assert page.get_by_role("button", name="Save how Ann Fairlead is told").is_disabled()
    page.get_by_role("button", name="Sign in as owner").click()
    page.get_by_label("Owner's password").fill(ANNS_PASSWORD)
    page.get_by_role("button", name="Sign in", exact=True).click()
    page.get_by_label("Both").check()
    page.get_by_role("button", name="Save how Ann Fairlead is told").click()
    page.get_by_text("How Ann Fairlead is told is saved.").wait_for()
    assert asked(server, context, f"/definitions/person/{greasy['ann']}")["reminders"]["about"] == ["work", "shop"]
    page.get_by_label("Whose").select_option(label=BEN)
    page.get_by_role("heading", name="How Ben Stope is told").wait_for()


def test_the_owner_sets_the_shops_shifts_and_figures(
    server: Server, greasy: dict[str, str], device: Callable[..., Any]
) -> None:
    desk = device(DESK)
    enrol(server, desk)
    signed_in = desk.request.post(
        f"{server.base}/api/v1/session/owner", data={"password": ANNS_PASSWORD}, headers={"Origin": server.base}
    )
    assert signed_in.ok
    page = open_as(server, desk, ANN)
    go(page, "setup/shop")
    page.get_by_label("Our own").check()
    page.get_by_label("Fri", exact=True).uncheck()
    page.get_by_label("Begins").fill("22:00")
    page.get_by_label("Ends").fill("06:00")
    page.get_by_text("It goes past midnight.").wait_for()
    page.get_by_label("Rounds begun by").fill("22:30")
    page.get_by_label("A tag is told of after").fill("0")
    page.get_by_role("button", name="Save", exact=True).click()
    page.get_by_text("A tag is told of after is 0. It must be at least 1.").wait_for()
    page.get_by_label("A tag is told of after").fill("2")
    page.get_by_role("button", name="Save", exact=True).click()
    page.get_by_text("is saved as revision 2").wait_for()
    (shop,) = asked(server, desk, "/definitions/shop")
    assert shop["shifts"] == [{"days": ["mon", "tue", "wed", "thu"], "begins": "22:00", "ends": "06:00"}]
    assert shop["reminders"] == {"round_by": "22:30", "tag_days": 2}


def test_a_job_that_fails_is_seen_on_today(server: Server, greasy: dict[str, str], device: Callable[..., Any]) -> None:
    context = device()
    page = phone_of(server, context, greasy)
    with sqlite3.connect(server.data / "wayround.sqlite3") as connection:
        failed = "UPDATE scheduled_job SET failed_ms = 1774000000000, said = 'The disk is full.' WHERE name = 'backup'"
        assert connection.execute(failed).rowcount == 1
    look(page)
    page.get_by_text("The nightly backup is not made, since").wait_for()
    assert page.get_by_text("The disk is full.").count() and page.get_by_text("wayround doctor").count()
    server.stop()
    page.reload()
    name_oneself(page, BEN)
    page.get_by_text("The nightly backup is not made, since").wait_for()
