"""The demo shop's year, played once for all tests here, and once written into an app."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from flask import Flask

import seed_demo
from seed_demo.calendar import WorkDay, working_days
from seed_demo.log import Made
from seed_demo.shop import ZONE, Shop
from seed_demo.story import Script
from webapp import create_app
from webapp.config import Settings
from webapp.database import db

TODAY = date(2027, 3, 2)
OTHER_MORNINGS = (
    date(2027, 1, 2),  # a Saturday, just after the holidays
    date(2027, 8, 3),  # where the summer stop would be
    date(2028, 2, 29),
)


@dataclass(frozen=True, repr=False)
class Year:
    """The definitions and the stream of entries, with what a test asks of them."""

    today: date
    shop: Shop
    made: list[Made]
    photos: dict[str, bytes]

    def of(self, kind: str, role: str | None = None) -> list[Made]:
        machine = self.shop.machines[role].id if role else None
        return [m for m in self.made if m.entry["kind"] == kind and (not role or m.entry["machine"] == machine)]

    def bodies(self, kind: str, role: str | None = None) -> list[dict[str, Any]]:
        return [one.entry["body"] for one in self.of(kind, role)]


def play(today: date, seed: int = seed_demo.SEED) -> Year:
    past = seed_demo.history(today, seed)
    return Year(today, past.shop, past.made, past.photos)


def day_of(made: Made) -> date:
    """The shop's date on which an entry was truly made."""
    return datetime.fromtimestamp(made.true_ms / 1000, ZoneInfo(ZONE)).date()


@pytest.fixture(scope="session")
def year() -> Year:
    return play(TODAY)


@pytest.fixture(scope="session", params=OTHER_MORNINGS, ids=str)
def other_year(request: pytest.FixtureRequest) -> Year:
    return play(request.param)


@pytest.fixture(scope="session")
def work_days() -> list[WorkDay]:
    return working_days(TODAY, seed_demo.SEED)


@pytest.fixture(scope="session")
def script(work_days: list[WorkDay]) -> Script:
    return Script.over(work_days)


@dataclass(frozen=True)
class Seeded:
    app: Flask
    credentials: seed_demo.Credentials
    told: list[tuple[int, str]]
    past: seed_demo.History
    """What was played on the way, a second time in one run."""


@pytest.fixture(scope="session")
def seeded(tmp_path_factory: pytest.TempPathFactory, sqlite_template: Path) -> Iterator[Seeded]:
    """The demo written into an app, as the command does it."""
    folder = tmp_path_factory.mktemp("demo")
    settings = Settings(data=folder, plain=True)
    shutil.copy(sqlite_template, settings.database_url.removeprefix("sqlite:///"))
    app = create_app(settings)
    told: list[tuple[int, str]] = []
    played: list[seed_demo.History] = []
    with pytest.MonkeyPatch.context() as patch:
        history = seed_demo.history
        patch.setattr(seed_demo, "history", lambda *given: played.append(history(*given)) or played[-1])
        credentials = seed_demo.seed(app, lambda share, text: told.append((share, text)), TODAY)
    yield Seeded(app, credentials, told, *played)
    with app.app_context():
        db.session.remove()
        db.engine.dispose()
