"""An invented shop with a year behind it: for `wayround demo`, and for measuring with lifelike data."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from random import Random
from zoneinfo import ZoneInfo

from flask import Flask

from seed_demo.calendar import beginning
from seed_demo.log import Made
from seed_demo.people import PASSWORD, PEOPLE
from seed_demo.shop import NAME, ZONE, Shop, build
from seed_demo.write import sign_off, write_definitions, write_entries, write_photos
from seed_demo.year import play

__all__ = ["Credentials", "History", "history", "seed"]

SEED = 20_270_104


@dataclass(frozen=True)
class Credentials:
    """How to get into the demo: the owner's password, and everybody's PIN (which says who, and locks nothing)."""

    shop: str
    owner: str
    password: str
    pins: dict[str, str]


def seed(
    app: Flask,
    progress: Callable[[int, str], None],
    today: date | None = None,
    seed: int = SEED,
) -> Credentials:
    """Write the invented shop into an app whose database is empty and migrated.

    `progress` is told per cent done and what is being written. The newest day is the last working day before
    `today` (the shop's date by default): the demo opens on a morning before the rounds.
    """
    today = today or datetime.now(ZoneInfo(ZONE)).date()
    progress(0, "Playing the year")
    past = history(today, seed)
    progress(5, "Setting the shop up")
    with app.app_context():
        devices = write_definitions(past.shop, past.born_ms)
        write_photos(app, past.photos)
        write_entries(past.made, devices, len(past.made), progress)
        sign_off(devices, past.made[-1].true_ms)
    progress(100, "Done")
    owner = next(person.name for person in PEOPLE if person.role == "owner")
    return Credentials(NAME, owner, PASSWORD, {person.name: person.pin for person in PEOPLE})


@dataclass(frozen=True, repr=False)
class History:
    """The shop as set up at `born_ms`, every entry of its year in order of time, and photos by SHA-256."""

    shop: Shop
    born_ms: int
    made: list[Made]
    photos: dict[str, bytes]


def history(today: date, seed: int = SEED) -> History:
    """A year that ends on the eve of `today`; the same for the same arguments."""
    eve = beginning(today) - timedelta(days=1)
    born_ms = int(datetime(eve.year, eve.month, eve.day, 15, tzinfo=ZoneInfo(ZONE)).timestamp()) * 1000
    shop = build(today, Random(f"shop {seed}"), born_ms)
    log, photos = play(shop, today, seed)
    return History(shop, born_ms, list(log.made()), photos)
