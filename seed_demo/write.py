"""Puts the invented shop into the app by the same doors that people use: set-up's and sync's."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from datetime import UTC, date, datetime

from flask import Flask
from sqlalchemy import update

from seed_demo.log import Made
from seed_demo.people import DEVICES, PASSWORD, PEOPLE
from seed_demo.shop import Shop
from webapp.database import writing
from webapp.records.append import Delivery
from webapp.security.devices import enrol
from webapp.security.models import Device
from webapp.security.passwords import set_password
from webapp.setup.definitions import create
from webapp.sync.push import push

Progress = Callable[[int, str], None]

LARGEST = 500
FORTNIGHT_MS = 14 * 86_400_000
FIRST_SHARE, LAST_SHARE = 15, 97
"""Per cent of the progress when the definitions are in, and when the entries are."""


class NotAccepted(RuntimeError):
    """The record refused an entry of the demo: the generator and the record no longer agree."""


def write_definitions(shop: Shop, born_ms: int) -> dict[str, str]:
    """Define the shop as of `born_ms`, enrol its devices, set the owner's password; device key -> id."""
    owner = next(shop.people[person.key] for person in PEOPLE if person.role == "owner")
    with writing() as session:
        for type_, body in shop.definitions:
            own = {name: value for name, value in body.items() if name != "id"}
            create(session, type_, own, owner, id_=body["id"], at_ms=born_ms)
        set_password(session, owner, PASSWORD)
        return {key: enrol(session, name, "browser")[0].id for key, name in DEVICES.items()}


def write_photos(app: Flask, photos: dict[str, bytes]) -> None:
    """Keep the photos before the entries that name them come."""
    for sha256, data in photos.items():
        app.extensions["wayround_photos"].put(sha256, data)


def write_entries(made: Iterable[Made], devices: dict[str, str], total: int, progress: Progress) -> None:
    """Push everything, a fortnight of one device at a time, each as its device would have sent it."""
    done = 0
    for batch in batches(made):
        last = batch[-1]
        # A device sends by its own clock: that is how the server learns how far it is off.
        delivery = Delivery(devices[last.device], last.true_ms + last.skew_ms, last.true_ms)
        pushed = push(delivery, [one.entry for one in batch])
        refused = [result for result in pushed.results if result.outcome != "stored"]
        if refused:
            raise NotAccepted(f"{len(refused)} entries were refused, the first because: {refused[0].faults}")
        done += len(batch)
        share = FIRST_SHARE + (LAST_SHARE - FIRST_SHARE) * done // max(total, 1)
        progress(share, f"Entries up to {_day_of(last.true_ms).isoformat()}")


def batches(made: Iterable[Made]) -> Iterator[list[Made]]:
    """Split into what one device sends at once: a fortnight's, at most 500, under one state of its clock.

    Sending every day would be more lifelike and take three times as long.
    """
    open_: dict[str, list[Made]] = {}
    fortnight = None
    for one in made:
        now = one.true_ms // FORTNIGHT_MS
        if now != fortnight:
            yield from open_.values()
            open_, fortnight = {}, now
        held = open_.get(one.device, [])
        if held and (len(held) == LARGEST or held[0].skew_ms != one.skew_ms):
            yield open_.pop(one.device)
        open_.setdefault(one.device, []).append(one)
    yield from open_.values()


def sign_off(devices: dict[str, str], last_ms: int) -> None:
    """The demo's devices were last seen when they last sent, not now."""
    seen = datetime.fromtimestamp(last_ms / 1000, UTC).strftime("%Y-%m-%dT%H:%M:%S.000Z")
    with writing() as session:
        session.execute(update(Device).where(Device.id.in_(devices.values())).values(last_seen_at=seen))


def _day_of(ms: int) -> date:
    return datetime.fromtimestamp(ms / 1000, UTC).date()
