"""Fixtures: an app over a database made by the real migrations, a small shop in it, and a device to call it."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from flask_migrate import upgrade
from hypothesis import settings
from sqlalchemy import create_engine, make_url, text

from webapp import create_app
from webapp.config import Settings
from webapp.core.instants import instant_text
from webapp.database import db, writing
from webapp.security import devices
from webapp.setup import definitions
from webapp.setup.ids import new_id, now_ms

POSTGRES = os.environ.get("WAYROUND_TEST_POSTGRES", "")
NO_SKIP = os.environ.get("WAYROUND_TEST_NO_SKIP") == "1"
# In CI the same cases each time; elsewhere new ones, and as long as a busy machine takes for them.
settings.register_profile("wayround", deadline=None)
settings.load_profile("ci" if NO_SKIP else "wayround")
NEEDS_POSTGRES = (
    "needs a PostgreSQL server: set WAYROUND_TEST_POSTGRES to postgresql+psycopg://user@host/base (.ci/run does)"
)


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_auto_num_workers() -> int:
    """How many `-n auto` starts: one a core that is ours, and no more than the longest tests can keep busy."""
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    return min(cores, 8)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item, call: pytest.CallInfo[None]) -> Iterator[None]:
    """In CI a skip is a failure: what needs a browser or a server must run there.

    What needs files of a standard that are not ours to ship is the exception: it runs where they are.
    """
    report = yield
    exempt = hasattr(report, "wasxfail") or item.get_closest_marker("standard") is not None
    if NO_SKIP and report.skipped and not exempt:
        report.outcome = "failed"
        report.longrepr = f"skipped although nothing may skip here: {report.longrepr}"
    return report


@pytest.fixture(scope="session")
def sqlite_template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An empty SQLite database made once by the migrations, to be copied."""
    folder = tmp_path_factory.mktemp("template")
    app = create_app(Settings(data=folder, plain=True))
    with app.app_context():
        upgrade()
        db.session.remove()
        with db.engine.connect() as connection:
            connection.connection.driver_connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        db.engine.dispose()
    return Path(app.config["SQLALCHEMY_DATABASE_URI"].removeprefix("sqlite:///"))


@pytest.fixture
def new_app(tmp_path: Path, sqlite_template: Path) -> Iterator[Callable[[], Flask]]:
    """Makes apps over fresh databases; each call a shop of its own."""
    made: list[Flask] = []

    def make() -> Flask:
        folder = tmp_path / f"shop{len(made)}"
        folder.mkdir()
        settings = Settings(data=folder, plain=True)
        shutil.copy(sqlite_template, settings.database_url.removeprefix("sqlite:///"))
        app = create_app(settings)
        app.testing = True
        app.config["PROPAGATE_EXCEPTIONS"] = False
        made.append(app)
        return app

    yield make
    for app in made:
        with app.app_context():
            db.session.remove()
            db.engine.dispose()


@pytest.fixture
def app(new_app: Callable[[], Flask]) -> Flask:
    """One app over an empty SQLite database."""
    return new_app()


@pytest.fixture(scope="session")
def postgres_url() -> str:
    """The PostgreSQL database of the tests; where several processes share the tests, one of each one's own."""
    if not POSTGRES:
        pytest.skip(NEEDS_POSTGRES)
    worker = os.environ.get("PYTEST_XDIST_WORKER", "")
    if not worker:
        return POSTGRES
    url = make_url(POSTGRES)
    own = f"{url.database}_{worker}"
    engine = create_engine(url, isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        connection.execute(text(f'DROP DATABASE IF EXISTS "{own}" WITH (FORCE)'))
        connection.execute(text(f'CREATE DATABASE "{own}" TEMPLATE template0'))
    engine.dispose()
    return url.set(database=own).render_as_string(hide_password=False)


@pytest.fixture
def postgres_app(tmp_path: Path, postgres_url: str) -> Iterator[Flask]:
    """One app over an empty PostgreSQL database."""
    app = create_app(Settings(data=tmp_path, database=postgres_url, plain=True))
    app.testing = True
    with app.app_context():
        # The migrations also fill in first rows, so emptying the tables would not do.
        with db.engine.begin() as connection:
            connection.execute(text("DROP SCHEMA public CASCADE"))
            connection.execute(text("CREATE SCHEMA public"))
        upgrade()
        yield app
        db.session.remove()
        db.engine.dispose()


@pytest.fixture(params=["sqlite", "postgres"])
def either_app(request: pytest.FixtureRequest) -> Flask:
    """The same test on SQLite and on PostgreSQL."""
    return request.getfixturevalue("app" if request.param == "sqlite" else "postgres_app")


@dataclass
class Shop:
    """A small shop: one owner, one mill and one saw, and a scripted device with its token."""

    app: Flask
    owner: str
    mill: str
    saw: str
    spindle: str
    area: str
    blade: str
    coolant: str
    blades: str
    checklist: str
    task: str
    device: str
    token: str
    seqs: dict[str, int] = field(default_factory=dict)

    def entry(self, kind: str, body: dict[str, Any], **over: Any) -> dict[str, Any]:
        """An entry as a device would make it, at the mill unless told otherwise."""
        device = over.pop("device", self.device)
        self.seqs[device] = self.seqs.get(device, 0) + 1
        made = {
            "id": new_id(),
            "kind": kind,
            "machine": self.mill,
            "by": self.owner,
            "seq": self.seqs[device],
        }
        return made | {"at": instant_text(now_ms()), "body": body} | over

    def note(self, text_: str = "a note", **over: Any) -> dict[str, Any]:
        """A note."""
        return self.entry("note.made", {"text": text_}, **over)

    def added(self, amount: float, **over: Any) -> dict[str, Any]:
        """Spindle hours counted on."""
        return self.entry("meter.added", {"meter": self.spindle, "amount": amount}, **over)

    def headers(self, token: str | None = None) -> dict[str, str]:
        """How a script signs in."""
        return {"Authorization": f"Bearer {token or self.token}"}

    def push(self, *entries: Any, token: str | None = None, **more: Any) -> Any:
        """Push over HTTP; the response."""
        body = {"sent_at": instant_text(now_ms()), "entries": list(entries)} | more
        return self.app.test_client().post("/api/v1/sync/push", json=body, headers=self.headers(token))

    def get(self, path: str, token: str | None = None, **query: Any) -> Any:
        """GET under /api/v1; the response."""
        return self.app.test_client().get(f"/api/v1{path}", query_string=query, headers=self.headers(token))

    def enrol(self, name: str = "another") -> tuple[str, str]:
        """A further device: its id and token."""
        with self.app.app_context(), writing() as session:
            device, token = devices.enrol(session, name, "script")
            return device.id, token


def set_up(app: Flask) -> Shop:
    """Define the small shop."""
    ids = {
        name: new_id()
        for name in ("owner", "mill", "saw", "spindle", "area", "blade", "coolant", "blades", "list", "task")
    }
    with app.app_context(), writing() as session:
        who = ids["owner"]
        make = definitions.create
        make(session, "person", {"name": "Ada Quill", "role": "owner"}, who, id_=who)
        make(session, "shop", {"name": "Quill Metal", "time_zone": "America/Chicago"}, who)
        make(session, "item", {"name": "Saw blade", "kind": "blade"}, who, id_=ids["blades"])
        mill = {
            "name": "Mill 1",
            "meters": [{"id": ids["spindle"], "kind": "spindle_hours", "name": "Spindle hours", "unit": "h"}],
            "fluids": [{"id": ids["coolant"], "kind": "coolant", "name": "Coolant", "capacity": 40, "unit": "gal"}],
        }
        make(session, "machine", mill, who, id_=ids["mill"])
        saw = {
            "name": "Band saw",
            "meters": [{"id": ids["area"], "kind": "cut_area", "name": "Cut area", "unit": "in2"}],
            "parts": [
                {
                    "id": ids["blade"],
                    "kind": "blade",
                    "name": "Blade",
                    "meter": "cut_area",
                    "item": ids["blades"],
                }
            ],
        }
        make(session, "machine", saw, who, id_=ids["saw"])
        check = {
            "id": new_id(),
            "text": "Look at the way oil",
            "why": "dry ways wear",
            "source": "common practice, no source",
        }
        checks = {
            "machine": ids["mill"],
            "name": "Start-up",
            "form": "start-up",
            "checks": [check | {"stop": True}],
        }
        make(session, "checklist", checks, who, id_=ids["list"])
        task = {
            "machine": ids["mill"],
            "name": "Way-oil filter",
            "rule": {"meter": "spindle_hours", "every": 250},
        }
        task |= {
            "why": "a blocked filter starves the ways",
            "source": "common practice, no source",
            "start": "2026-01-05",
        }
        make(session, "task", task, who, id_=ids["task"])
        device, token = devices.enrol(session, "script", "script")
        names = ("owner", "mill", "saw", "spindle", "area", "blade", "coolant", "blades")
        return Shop(app, *(ids[name] for name in names), ids["list"], ids["task"], device.id, token)


@pytest.fixture
def shop(app: Flask) -> Shop:
    """The small shop on SQLite."""
    return set_up(app)


@pytest.fixture
def either_shop(either_app: Flask) -> Shop:
    """The small shop on SQLite and on PostgreSQL."""
    return set_up(either_app)
