"""A shop for browser tests: one mill from the starter library and two people, in a server's data folder."""

from __future__ import annotations

import json
import sqlite3
from typing import Any

from flask_migrate import upgrade

from tests.browser.conftest import Server
from webapp import create_app
from webapp.config import Settings
from webapp.database import db, writing
from webapp.security import codes
from webapp.setup import definitions
from webapp.setup.ids import new_id
from webapp.setup.standing import stand

ANN, BEN = "Ann Fairlead", "Ben Stope"


def furnish(server: Server) -> dict[str, str]:
    """Define the shop before the server starts; ids by name."""
    app = create_app(Settings(data=server.data, plain=True))
    with app.app_context():
        upgrade()
        with writing() as session:
            ann, ben = new_id(), new_id()
            definitions.create(session, "person", {"name": ANN, "role": "owner"}, ann, id_=ann)
            definitions.create(session, "person", {"name": BEN}, ann, id_=ben)
            definitions.create(session, "shop", {"name": "Fairlead Works", "time_zone": "Europe/Berlin"}, ann)
            mill = stand(session, "cnc_mill", "Mill 1", None, ann)
        db.session.remove()
        db.engine.dispose()
    return {"ann": ann, "ben": ben, "mill": mill["id"]}


def join_code(server: Server) -> str:
    """A one-time code for a further device."""
    app = create_app(Settings(data=server.data, plain=True))
    with app.app_context():
        with writing() as session:
            code = codes.make_code(session, "join").text
        db.session.remove()
        db.engine.dispose()
    return str(code)


def join(server: Server, context: Any, name: str, person: str) -> Any:
    """Join a device as a person would, and wait until it holds the whole app; its page on Today."""
    page = context.new_page()
    page.goto(f"{server.base}/#/join?code={join_code(server)}")
    page.get_by_label("Name of this device").fill(name)
    page.get_by_role("button", name="Join").click()
    page.get_by_role("button", name=person).click()
    page.get_by_role("link", name="Go to Today").or_(page.get_by_role("heading", name="Today")).first.wait_for()
    go = page.get_by_role("link", name="Go to Today")
    if go.count():
        go.click()
    page.get_by_role("heading", name="Today").wait_for()
    page.evaluate("() => navigator.serviceWorker.ready.then(() => true)")
    page.wait_for_function("() => navigator.serviceWorker.controller !== null")
    return page


def name_oneself(page: Any, person: str) -> None:
    """Say who works at this tab when it asks: each new tab does, once it has opened the phone's database."""
    asked = page.get_by_role("heading", name="Who are you?")
    asked.or_(page.get_by_role("link", name="is here. Somebody else?")).first.wait_for()
    if asked.count():
        page.get_by_role("button", name=person).click()
    page.get_by_role("link", name=f"{person} is here").wait_for()


def record(server: Server) -> list[dict[str, Any]]:
    """Every entry in the server's record, in order of position, read from its database file."""
    with sqlite3.connect(server.data / "wayround.sqlite3") as connection:
        rows = connection.execute("SELECT document FROM entry ORDER BY position").fetchall()
    return [json.loads(row[0]) for row in rows]
