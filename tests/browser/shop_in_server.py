"""A shop for browser tests: machines from the starter library and three people, in a server's data folder."""

from __future__ import annotations

import base64
import hashlib
import json
import sqlite3
from typing import Any

from flask_migrate import upgrade

from tests.browser.conftest import Server
from webapp import create_app
from webapp.config import Settings
from webapp.database import db, writing
from webapp.security import codes, passwords
from webapp.setup import definitions
from webapp.setup.ids import new_id
from webapp.setup.standing import stand

ANN, BEN, CLEO = "Ann Fairlead", "Ben Stope", "Cleo Garth"
CLEOS_PIN = "7306"
ANNS_PASSWORD = "seven plain words in a row"
MACHINE_NAMES = {"saw": "Band saw", "mill": "Mill 1", "sander": "Sander", "cabinet": "Blast cabinet"}


def stored_pin(pin: str) -> dict[str, Any]:
    """What is kept of a PIN: PBKDF2-SHA-256 (RFC 8018)."""
    salt, iterations = b"sixteen bytes ok", 310_000
    digest = hashlib.pbkdf2_hmac("sha256", pin.encode(), salt, iterations)
    return {
        "salt": base64.b64encode(salt).decode(),
        "iterations": iterations,
        "hash": base64.b64encode(digest).decode(),
    }


def furnish(server: Server, machines: dict[str, str] | None = None) -> dict[str, str]:
    """Define the shop before the server starts; ids by name. `machines`: name to key of the starter library."""
    app = create_app(Settings(data=server.data, plain=True))
    ids = {name: new_id() for name in ("ann", "ben", "cleo")}
    ann = ids["ann"]
    with app.app_context():
        upgrade()
        with writing() as session:
            definitions.create(session, "person", {"name": ANN, "role": "owner"}, ann, id_=ann)
            passwords.set_password(session, ann, ANNS_PASSWORD)
            definitions.create(session, "person", {"name": BEN}, ann, id_=ids["ben"])
            cleo = {"name": CLEO, "pin": stored_pin(CLEOS_PIN)}
            definitions.create(session, "person", cleo, ann, id_=ids["cleo"])
            shop = {"name": "Fairlead Works", "time_zone": "Europe/Berlin", "units": "us"}
            definitions.create(session, "shop", shop, ann)
            for name, key in (machines or {"mill": "cnc_mill"}).items():
                ids[name] = stand(session, key, MACHINE_NAMES[name], None, ann)["id"]
        db.session.remove()
        db.engine.dispose()
    return ids


def one_time_code(server: Server, purpose: str = "join") -> str:
    """A one-time code: for a further device, or for the first run."""
    app = create_app(Settings(data=server.data, plain=True))
    with app.app_context():
        with writing() as session:
            code = codes.make_code(session, purpose).text
        db.session.remove()
        db.engine.dispose()
    return str(code)


def join_by_hand(server: Server, context: Any, name: str, person: str) -> Any:
    """Join a device as a person would, and wait until it holds the whole app; its page on Today."""
    page = context.new_page()
    page.goto(f"{server.base}/#/join?code={one_time_code(server)}")
    page.get_by_label("Name of this device").fill(name)
    page.get_by_role("button", name="Join").click()
    page.get_by_role("button", name=person).click()
    page.get_by_role("link", name="Go to Today").or_(page.get_by_role("heading", name="Today")).first.wait_for()
    go = page.get_by_role("link", name="Go to Today")
    if go.count():
        go.click()
    page.get_by_role("heading", name="Today").wait_for()
    hold_whole_app(page)
    return page


def hold_whole_app(page: Any) -> None:
    """Wait until the service worker has everything on the phone and serves this page."""
    page.evaluate("() => navigator.serviceWorker.ready.then(() => true)")
    page.wait_for_function("() => navigator.serviceWorker.controller !== null")


def enrol(server: Server, context: Any, name: str = "Phone") -> str:
    """Enrol a device by the server's own call, where joining is not what the test is about; its id."""
    answer = context.request.post(
        f"{server.base}/api/v1/session/join",
        data={"code": one_time_code(server), "device_name": name},
        headers={"Origin": server.base},
    )
    assert answer.ok, answer.text()
    return str(answer.json()["device"]["id"])


def open_as(server: Server, context: Any, person: str, place: str = "today") -> Any:
    """A new tab of an enrolled device, with a person named; it holds the whole app."""
    page = context.new_page()
    page.goto(f"{server.base}/#/{place}")
    name_oneself(page, person)
    hold_whole_app(page)
    return page


def go(page: Any, place: str) -> None:
    """Go to a place by its address; from there to itself it is opened anew."""
    page.evaluate("() => { location.hash = '#/who'; }")
    page.get_by_role("heading", name="Who are you?").wait_for()
    page.evaluate("place => { location.hash = `#/${place}`; }", place)
    if place != "who":
        page.get_by_role("heading", name="Who are you?").wait_for(state="detached")


def keep(page: Any, button: str) -> None:
    """Press a form's button and wait until the phone says that it is kept."""
    page.get_by_role("button", name=button, exact=True).click()
    page.get_by_text("In the record").wait_for()


def note(page: Any, text: str) -> None:
    """Log a note."""
    go(page, "log/note")
    page.get_by_label("Note").fill(text)
    keep(page, "Keep the note")


def unsent(page: Any) -> list[dict[str, Any]]:
    """The entries in this phone's outbox, read from its database past the app."""
    rows: list[dict[str, Any]] = page.evaluate(READ_STORE, "outbox")
    return [row["entry"] for row in rows]


READ_STORE = """async (store) => {
  const { device } = JSON.parse(localStorage.getItem("wayround.last"));
  const db = await new Promise((resolve, reject) => {
    const asked = indexedDB.open(`wayround-${device.id}`);
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });
  try {
    return await new Promise((resolve, reject) => {
      const asked = db.transaction(store).objectStore(store).getAll();
      asked.onsuccess = () => resolve(asked.result);
      asked.onerror = () => reject(asked.error);
    });
  } finally {
    db.close();
  }
}"""


def wait_sent(page: Any) -> None:
    """Wait until this phone says that it carries nothing unsent."""
    page.locator(".carry-line").filter(has_text="kept on this phone").wait_for(state="detached", timeout=60_000)


def name_oneself(page: Any, person: str) -> None:
    """Say who works at this tab if it asks: each new tab does, once it has opened the phone's database."""
    asked = page.get_by_role("button", name=person)
    here = page.get_by_role("link", name=f"{person} is here")
    asked.or_(here).first.wait_for()
    if asked.count():
        asked.click()
    here.wait_for()


def record(server: Server) -> list[dict[str, Any]]:
    """Every entry in the server's record, in order of position, read from its database file."""
    with sqlite3.connect(server.data / "wayround.sqlite3") as connection:
        rows = connection.execute("SELECT document FROM entry ORDER BY position").fetchall()
    return [json.loads(row[0]) for row in rows]
