"""The demo written into an app: accepted whole, folded right, signed in to, and lively on its morning."""

from __future__ import annotations

import base64
import hashlib
import json
from collections import Counter
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from sqlalchemy import func, select

from seed_demo.people import DEVICES, PEOPLE
from seed_demo.shop import NAME, ZONE
from webapp.core.instants import instant_text
from webapp.database import db
from webapp.records.folding import stored
from webapp.records.models import Entry, Quarantined
from webapp.records.verify import verify
from webapp.reminders.today import Judged, judge_all
from webapp.security.devices import listed
from webapp.security.passwords import owner_by_password
from webapp.setup.definitions import list_all

from .conftest import TODAY, Seeded, Year

MORNING = datetime(TODAY.year, TODAY.month, TODAY.day, 6, 40, tzinfo=ZoneInfo(ZONE))
MORNING_MS = int(MORNING.timestamp()) * 1000


def entries(seeded: Seeded) -> dict[str, dict[str, Any]]:
    """Every entry in the record with its receipt, those of set-up aside."""
    with seeded.app.app_context():
        rows = db.session.execute(select(Entry.document).where(Entry.kind != "definition.revised")).scalars()
        return {entry["id"]: entry for entry in map(json.loads, rows)}


def doc(seeded: Seeded, subject: str) -> dict[str, Any]:
    with seeded.app.app_context():
        return dict(json.loads(stored(db.session)[subject]))


def test_same_seed_and_day_give_the_same_bytes(seeded: Seeded, year: Year) -> None:
    assert seeded.past.shop.definitions == year.shop.definitions
    assert seeded.past.made == year.made
    assert seeded.past.photos == year.photos


def test_every_entry_is_in_the_record_as_it_was_made(seeded: Seeded, year: Year) -> None:
    kept = entries(seeded)
    assert len(kept) == len(year.made)
    for made in year.made:
        receipt = kept[made.entry["id"]].pop("receipt")
        assert kept[made.entry["id"]] == made.entry
        assert bool(receipt.get("marked")) == bool(made.skew_ms)
        assert receipt["offset_ms"] == -made.skew_ms
    with seeded.app.app_context():
        assert db.session.execute(select(func.count()).select_from(Quarantined)).scalar_one() == 0


def test_photos_are_kept(seeded: Seeded, year: Year) -> None:
    store = seeded.app.extensions["wayround_photos"]
    assert all(store.has(name) for name in year.photos)


def test_a_lying_clock_is_set_right(seeded: Seeded, year: Year) -> None:
    kept = entries(seeded)
    lying = [made for made in year.made if made.skew_ms]
    for made in lying:
        assert kept[made.entry["id"]]["receipt"]["effective_at"] == instant_text(made.true_ms)


def test_chain_and_state_hold(seeded: Seeded) -> None:
    with seeded.app.app_context():
        assert verify(db.session).wrong == ()  # of the state too: it folds the whole record from nothing


def test_nothing_is_missing_from_any_device(seeded: Seeded) -> None:
    with seeded.app.app_context():
        devices = listed(db.session)
        assert sorted(device.name for device in devices) == sorted(DEVICES.values())
        assert all(device.seq_missing == [] for device in devices)
        assert sum(device.seq_max for device in devices) == len(entries(seeded))


def test_progress_goes_from_nought_to_a_hundred(seeded: Seeded) -> None:
    shares = [share for share, _ in seeded.told]
    assert shares[0] == 0
    assert shares[-1] == 100
    assert shares == sorted(shares)
    assert len(shares) > 20
    assert all(text for _, text in seeded.told)


def test_the_owner_gets_in_and_the_pins_fit(seeded: Seeded, year: Year) -> None:
    with seeded.app.app_context():
        owner = owner_by_password(db.session, seeded.credentials.password)
        people = {person["name"]: person for person in list_all(db.session, "person")}
    assert owner == year.shop.people["odile"]
    assert people[seeded.credentials.owner]["role"] == "owner"
    assert set(seeded.credentials.pins) == set(people) == {person.name for person in PEOPLE}
    for name, pin in seeded.credentials.pins.items():
        kept = people[name]["pin"]
        # PBKDF2 with HMAC-SHA-256 (RFC 8018), salt and hash in base64: what the phone computes.
        made = hashlib.pbkdf2_hmac("sha256", pin.encode(), base64.b64decode(kept["salt"]), kept["iterations"])
        assert base64.b64decode(kept["hash"]) == made


def test_the_shop_is_set_up_as_of_the_beginning(seeded: Seeded) -> None:
    with seeded.app.app_context():
        (shop,) = list_all(db.session, "shop")
        newest = select(func.max(Entry.ms)).where(Entry.kind == "definition.revised")
        oldest = select(func.min(Entry.ms)).where(Entry.kind != "definition.revised")
        assert db.session.execute(newest).scalar_one() < db.session.execute(oldest).scalar_one()
    assert shop["name"] == seeded.credentials.shop == NAME
    assert shop["time_zone"] == ZONE
    assert len(shop["holidays"]) > 20


def test_totals_are_what_was_logged_less_the_slips(seeded: Seeded, year: Year) -> None:
    """The saw's area without the nought too many, the sander's minutes without the double."""
    for role, kind in (("saw", "cut_area"), ("sander", "belt_minutes"), ("cabinet", "blast_hours")):
        machine = year.shop.machines[role]
        meter = machine.meter(kind)
        logged = {made.entry["id"]: made.entry["body"] for made in year.of("batch.run", role)}
        for body in year.bodies("entry.amended", role):
            logged[body["entry"]] = body["body"]
        for body in year.bodies("entry.voided", role):
            del logged[body["entry"]]
        total = sum(body["adds"].get(meter, 0) for body in logged.values())
        assert doc(seeded, f"machine:{machine.id}")["meters"][meter]["total"] == pytest.approx(total, abs=0.001)


def test_no_counter_went_backwards(seeded: Seeded, year: Year) -> None:
    for machine in year.shop.machines.values():
        meters = doc(seeded, f"machine:{machine.id}")["meters"]
        assert all(meter["backwards"] == 0 for meter in meters.values())


def test_nothing_is_left_over_from_closings(seeded: Seeded) -> None:
    """A closing that came, in time, before its opening would stand in `settled`."""
    with seeded.app.app_context():
        states = [json.loads(body) for body in stored(db.session).values()]
    assert all(state["settled"] == {} for state in states)


def test_the_morning_is_lively(seeded: Seeded, year: Year) -> None:
    with seeded.app.app_context():
        judged = judge_all(db.session, MORNING_MS)
    states = Counter(one.due.state for one in judged)
    assert states["late"] >= 1
    assert states["near"] >= 1
    assert 8 <= states["due"] <= 24
    assert states["resting"] > states["due"] + states["near"] + states["late"]
    assert {one.task["machine"] for one in judged if one.due.state == "late"} >= {year.shop.machines["eyewash"].id}
    assert _deferred(seeded, judged)


def _deferred(seeded: Seeded, judged: list[Judged]) -> list[Judged]:
    return [one for one in judged if one.due.why.startswith("Deferred")]


def test_one_machine_is_tagged_and_its_task_waits(seeded: Seeded, year: Year) -> None:
    with seeded.app.app_context():
        states = {subject: json.loads(body) for subject, body in stored(db.session).items()}
    tagged = [subject for subject, state in states.items() if state["tags"]]
    cabinet = f"machine:{year.shop.machines['cabinet'].id}"
    assert tagged == [cabinet]
    (finding,) = (one for one in states[cabinet]["findings"].values() if one["stop"])
    assert "Window" in finding["text"]
    assert states[cabinet]["raised"]


def test_coolant_is_low_in_its_band(seeded: Seeded, year: Year) -> None:
    mill = year.shop.machines["mill"]
    last = doc(seeded, f"machine:{mill.id}")["readings"]["coolant.strength"][0]["value"]
    band = (mill.fluid("coolant") or {})["band"]
    assert band["act_low"] <= last < (band["act_low"] + band["target"]) / 2
