"""Whatever order entries arrive in, however often and in whatever batches: one state, one gapless record."""

from __future__ import annotations

import json
import random
from collections.abc import Callable
from typing import Any

from flask import Flask
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import select

from tests.conftest import Shop, set_up
from webapp.core.instants import instant_text
from webapp.database import db, writing
from webapp.records.append import Delivery, append
from webapp.records.folding import rebuild, refold, stored
from webapp.records.models import Entry
from webapp.records.verify import verify
from webapp.setup.definitions import known
from webapp.setup.ids import new_id, now_ms

HOUR = 3_600_000


def story(shop: Shop, rng: random.Random, length: int) -> list[dict[str, Any]]:
    """Entries of every kind that folds, at times that tie, some of them closing or mending others."""
    now = now_ms() - 500 * HOUR
    made: list[dict[str, Any]] = []

    def put(kind: str, body: dict[str, Any], machine: str | None = shop.mill) -> dict[str, Any]:
        at = instant_text(now + rng.randrange(0, 400) * HOUR)
        made.append(shop.entry(kind, body, machine=machine, at=at))
        return made[-1]

    def one() -> None:
        kind = rng.choice(list(makers))
        makers[kind]()

    def closing(opened: str, closed: str, key: str, body: dict[str, Any]) -> Callable[[], None]:
        def make() -> None:
            first = put(opened, body)
            if rng.random() < 0.7:
                put(closed, {key: first["id"], "done": "mended"})

        return make

    def mending() -> None:
        target = put("meter.added", {"meter": shop.spindle, "amount": rng.randrange(1, 90) / 10})
        body = {"meter": shop.spindle, "amount": 2.5}
        if rng.random() < 0.5:
            put("entry.voided", {"entry": target["id"], "why": "typed twice"})
        else:
            put(
                "entry.amended",
                {"entry": target["id"], "kind": "meter.added", "body": body, "why": "misread"},
            )

    def round_done() -> None:
        check = {
            "check": shop.owner,
            "answer": rng.choice(["ok", "not ok"]),
            "stop": False,
            "value": rng.random() * 9,
        }
        check |= {"quantity": "coolant.strength", "unit": "%"}
        body = {
            "checklist": shop.checklist,
            "revision": 1,
            "form": "start-up",
            "started_at": instant_text(now),
        }
        put("round.done", body | {"seconds": 48.5, "outcome": "fit", "checks": [check]})

    def raised() -> None:
        task = put("task.raised", {"title": "fit a new jaw"})
        if rng.random() < 0.6:
            put("task.done", {"task": task["id"], "minutes": 20})

    makers: dict[str, Callable[[], Any]] = {
        "added": lambda: put("meter.added", {"meter": shop.spindle, "amount": rng.randrange(1, 90) / 10}),
        "batch": lambda: put("batch.run", {"adds": {shop.spindle: rng.randrange(0, 80) / 7}}),
        "cutters": lambda: put(
            "batch.run",
            {"adds": {shop.area: 1.1}, "loads": rng.randrange(9), "cutters": {shop.blade: rng.randrange(1, 90) / 7}},
            shop.saw,
        ),
        "read": lambda: put("meter.read", {"meter": shop.spindle, "value": rng.randrange(0, 50), "replaced": True}),
        "part": lambda: put(
            "part.changed",
            {"part": shop.blade, "reason": "dull", "item": shop.blades} | rng.choice([{}, {"grade": "M42"}, {"material": "304", "edge": "new"}]),
            shop.saw,
        ),
        "area": lambda: put("meter.added", {"meter": shop.area, "amount": 0.785}, shop.saw),
        "stock": lambda: put("stock.counted", {"item": shop.blades, "count": rng.randrange(9), "arrived": rng.randrange(4)}, None),
        "order": lambda: put("stock.ordered", {"item": shop.blades, "count": rng.randrange(1, 6)}, None),
        "fluid": lambda: put("fluid.added", {"fluid": shop.coolant, "amount": 1.3, "unit": "gal"}),
        "charge": lambda: put("fluid.changed", {"fluid": shop.coolant}),
        "done": lambda: put("task.done", {"task": shop.task}),
        "later": lambda: put("task.deferred", {"task": shop.task, "to": "2027-01-01", "why": "part on order"}),
        "reading": lambda: put("reading.taken", {"quantity": "coolant.ph", "value": 9.1, "unit": ""}),
        "finding": closing("finding.opened", "finding.closed", "finding", {"text": "loose", "stop": True}),
        "tag": closing("tag.on", "tag.off", "tag", {"why": "loose"}),
        "hazard": closing("hazard.noted", "hazard.closed", "hazard", {"process": "mill", "seen": ["haze"]}),
        "air": lambda: put(
            "air.checked",
            {"check": "flow", "value": rng.randrange(900) / 7, "unit": "cfm"} | rng.choice([{}, {"commissioning": True}]),
        ),
        "purge": lambda: put("purge.run", {"seconds": rng.randrange(90), "needed": 50}),
        "chips": lambda: put(
            "chips.collected",
            {"alloy": "304", "weight": rng.randrange(1, 90) / 7, "unit": rng.choice(["lb", "kg"]), "container": "drum"}
            | {"to": rng.choice(["scrap", "waste"]), "dust": rng.random() < 0.5},
            rng.choice([None, shop.saw]),
        ),
        "exposure": lambda: put(
            "exposure.measured",
            {"agent": "copper", "form": "dust", "place": "saw", "shift_hours": 8}
            | {"samples": [{"minutes": 60, "value": rng.random(), "unit": "mg/m3"}]},
        ),
        "mask": lambda: put(
            "ppe.checked",
            {"person": shop.owner, "kind": "lung", "hours": rng.randrange(50) / 7}
            | rng.choice([{"result": "ok"}, {"result": "replaced", "change_after": 40}]),
            None,
        ),
        "fit": lambda: put(
            "fit.tested",
            {"person": shop.owner, "respirator": rng.choice("ab"), "method": "qualitative", "result": "fail"},
            None,
        ),
        "signed": lambda: put(
            "training.signed", {"person": shop.owner, "machine": rng.choice([shop.saw, shop.mill]), "outside": "maker"}
        ),
        "note": lambda: put("note.made", {"text": "é ☃ 𝄞"}),
        "mending": mending, "round": round_done, "raised": raised,
    }  # fmt: skip
    while len(made) < length:
        one()
    return made


def deliver(shop: Shop, entries: list[dict[str, Any]], rng: random.Random, devices: list[str]) -> None:
    """Push entries in batches of random size, some more than once, from several devices."""
    rest = list(entries)
    while rest:
        size = rng.choice([1, 2, 3, 7, 20])
        batch, rest = rest[:size], rest[size:]
        if rng.random() < 0.4:
            batch += rng.sample(entries, min(3, len(entries)))
        with writing() as session:
            now = now_ms()
            results = append(session, Delivery(rng.choice(devices), now, now), batch, known(session))
        assert {result.outcome for result in results} <= {"stored", "known"}, results


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(seed=st.integers(0, 2**32))
def test_any_order_duplication_and_splitting_folds_to_the_same_state(new_app: Callable[[], Flask], seed: int) -> None:
    rng = random.Random(seed)
    app = new_app()
    shop = set_up(app)
    with app.app_context():
        devices = [new_id() for _ in range(3)]
        entries = story(shop, rng, rng.choice([5, 20, 60]))
        with writing() as session:
            # What is set up at which ms differs from shop to shop; only machines' states are compared.
            first = _machine_states(session)
        deliver(shop, entries, rng, devices)
        once = _machine_states(db.session())
        assert once != first
        assert refold(db.session()) == stored(db.session())
        assert verify(db.session()).wrong == ()
        positions = db.session.execute(select(Entry.position).order_by(Entry.position)).scalars().all()
        assert positions == list(range(1, len(positions) + 1))
    other = new_app()
    _clone_setup(app, other)
    with other.app_context():
        rng.shuffle(entries)
        deliver(shop, entries, rng, devices)
        assert _machine_states(db.session()) == once


def _machine_states(session: Any) -> dict[str, str]:
    return {subject: body for subject, body in stored(session).items() if subject != "shop"} | {
        "shop": _lasting(stored(session).get("shop", "{}"))
    }


def _lasting(body: str) -> str:
    """What of the shop's document does not hang on when it was set up."""
    doc = json.loads(body)
    return json.dumps(
        {name: doc.get(name) for name in ("stock", "orders", "people", "chips", "exposures")}, sort_keys=True
    )


def _clone_setup(source: Flask, target: Flask) -> None:
    """The same definitions under the same ids in another database."""
    from webapp.setup import definitions

    with source.app_context():
        rows = [(t, r) for t in ("person", "shop", "item", "machine", "checklist", "task")
                for r in definitions.list_all(db.session(), t)]  # fmt: skip
    with target.app_context(), writing() as session:
        for type_, row in rows:
            body = {k: v for k, v in row.items() if k not in ("id", "revision", "retired")}
            definitions.create(session, type_, body, rows[0][1]["id"], id_=row["id"])


def test_rebuilding_from_nothing_changes_nothing(shop: Shop) -> None:
    with shop.app.app_context():
        rng = random.Random(7)
        deliver(shop, story(shop, rng, 700), rng, [shop.device])
        before = stored(db.session())
        with writing() as session:
            assert rebuild(session) == 0
        assert stored(db.session()) == before
