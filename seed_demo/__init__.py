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
from seed_demo.write import sign_off, write_definitions, write_entries
from seed_demo.year import play

__all__ = ["Credentials", "history", "seed"]

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
    shop, made, born_ms = history(today, seed)
    progress(5, "Setting the shop up")
    with app.app_context():
        devices = write_definitions(shop, born_ms)
        write_entries(made, devices, len(made), progress)
        sign_off(devices, made[-1].true_ms)
    progress(100, "Done")
    owner = next(person.name for person in PEOPLE if person.role == "owner")
    return Credentials(NAME, owner, PASSWORD, {person.name: person.pin for person in PEOPLE})


def history(today: date, seed: int = SEED) -> tuple[Shop, list[Made], int]:
    """The shop, every entry of its year in order, and when it was set up (ms): the same for the same arguments."""
    eve = beginning(today) - timedelta(days=1)
    born_ms = int(datetime(eve.year, eve.month, eve.day, 15, tzinfo=ZoneInfo(ZONE)).timestamp()) * 1000
    shop = build(today, Random(f"shop {seed}"), born_ms)
    return shop, list(play(shop, today, seed).made()), born_ms
