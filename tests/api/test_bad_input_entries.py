"""Entries of every kind with every field gone wrong: each refused by name, the good ones beside them kept."""

from __future__ import annotations

import copy
import json
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from marshmallow import Schema, fields

from tests.api.intact import assert_sound, picture, unchanged
from tests.conftest import Shop, set_up
from webapp import create_app
from webapp.config import Settings
from webapp.core.instants import instant_text
from webapp.database import db
from webapp.records.checking import SERVER_KINDS
from webapp.records.fields import Amounts, Day, Flag, Id, Moment, Number, PhotoHash, Text
from webapp.records.kinds import KINDS
from webapp.setup.ids import new_id, now_ms

PHOTO = "ab" * 32


@pytest.fixture(scope="module")
def shop(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    """One small shop for all tests here; whatever they send, it is sound at the end."""
    settings = Settings(data=tmp_path_factory.mktemp("bad"), plain=True)
    shutil.copy(sqlite_template, settings.database_url.removeprefix("sqlite:///"))
    app = create_app(settings)
    made = set_up(app)
    made.push(made.added(12.5))
    yield made
    assert_sound(app)
    with app.app_context():
        db.session.remove()
        db.engine.dispose()


def good(shop: Shop) -> dict[str, dict[str, Any]]:
    """A body of every kind with every field it knows, as far as they go together."""
    check = {"check": new_id(), "answer": "ok", "stop": True, "value": 7.5, "unit": "%", "quantity": "coolant.strength"}
    check |= {"verdict": "within", "note": "looked twice", "photo": PHOTO}
    return {
        "round.done": {
            "checklist": shop.checklist, "revision": 1, "form": "start-up", "started_at": "2026-11-02T06:58:11-06:00",
            "seconds": 48, "outcome": "fit", "checks": [check],
        },
        "reading.taken": {"quantity": "air.pressure", "value": 6.2, "unit": "bar", "instrument": "gauge 2", "note": "n"},
        "meter.read": {"meter": shop.spindle, "value": 40, "replaced": True},
        "meter.added": {"meter": shop.spindle, "amount": 1.5},
        "batch.run": {
            "adds": {shop.spindle: 2.5}, "what": "hinges", "alloy": "C36000", "loads": 4, "minutes_per_load": 11,
            "cuts": 9, "area_per_cut": 0.8, "note": "n",
        },
        "part.changed": {"part": shop.blade, "reason": "dull", "item": shop.blades, "used": 1, "note": "n"},
        "fluid.added": {"fluid": shop.coolant, "amount": 2, "water": 1.9, "concentrate": 0.1, "unit": "gal", "note": "n"},
        "fluid.changed": {"fluid": shop.coolant, "amount": 30, "unit": "gal", "strength": 8, "note": "n"},
        "task.done": {"task": shop.task, "minutes": 12, "note": "n", "photo": PHOTO},
        "task.deferred": {"task": shop.task, "to": "2027-01-04", "why": "filter on order"},
        "task.raised": {"title": "Mend the guard", "finding": new_id(), "minutes": 30},
        "finding.opened": {"text": "Guard loose", "stop": True, "check": new_id(), "round": new_id(), "photo": PHOTO},
        "finding.closed": {"finding": new_id(), "done": "tightened"},
        "tag.on": {"why": "guard loose", "finding": new_id()},
        "tag.off": {"tag": new_id(), "done": "tightened"},
        "stock.counted": {"item": shop.blades, "count": 3, "arrived": 2},
        "stock.ordered": {"item": shop.blades, "count": 4, "expected": "2027-01-11", "note": "n"},
        "note.made": {"text": "quiet day", "photo": PHOTO},
        "hazard.noted": {
            "process": "dry_sand", "alloy": "C36000", "medium": "glass_bead", "minutes": 20, "controls": ["exhaust on"],
            "seen": ["haze"], "text": "haze over the belt", "near_miss": False, "first_aid": False, "exposed": [shop.owner],
            "risk": {
                "before": {"severity": 2, "probability": "C"}, "after": {"severity": 2, "probability": "D"},
                "agreed_by": shop.owner, "review_on": "2027-05-03",
            },
            "photo": PHOTO,
        },
        "hazard.closed": {"hazard": new_id(), "done": "hood moved"},
        "exposure.measured": {
            "agent": "copper", "form": "dust", "fraction": "total", "person": shop.owner, "place": "sander",
            "samples": [{"minutes": 400, "value": 0.2, "unit": "mg/m3", "below_detection": True}], "shift_hours": 8,
            "on": "2026-10-30", "method": "filter, ICP", "laboratory": "county", "process": "dry_sand", "alloy": "C36000",
            "note": "n",
        },
        "air.checked": {
            "check": "capture velocity", "value": 190, "unit": "ft/min", "place": "hood 1", "instrument": "vane",
            "commissioning": True, "note": "n",
        },
        "purge.run": {"seconds": 50, "needed": 45},
        "chips.collected": {
            "alloy": "C36000", "weight": 20, "unit": "lb", "container": "drum 2", "to": "scrap", "dust": False, "note": "n",
        },
        "ppe.checked": {
            "person": shop.owner, "kind": "lung", "what": "half mask", "result": "replaced", "hours": 12, "change_after": 40,
            "change_by": "2027-02-01", "note": "n",
        },
        "fit.tested": {
            "person": shop.owner, "respirator": "half mask M", "make_note": "n", "method": "quantitative", "factor": 400,
            "result": "pass", "expires": "2027-10-30", "note": "n",
        },
        "training.signed": {
            "person": shop.owner, "machine": shop.saw, "topic": "blade change", "trainer": shop.owner,
            "outside": "a visitor", "expires": "2027-10-30", "note": "n",
        },
        "entry.amended": {"entry": new_id(), "kind": "note.made", "body": {"text": "a quiet day"}, "why": "a word"},
        "entry.voided": {"entry": new_id(), "why": "made twice"},
    }  # fmt: skip


def entry(shop: Shop, kind: str, body: Any) -> dict[str, Any]:
    machine = shop.saw if kind == "part.changed" else shop.mill
    return shop.entry(kind, body, machine=machine)


def push(shop: Shop, entries: list[Any]) -> list[dict[str, Any]]:
    """The results; none is ever left out, however bad the entry."""
    body = {"sent_at": instant_text(now_ms()), "entries": entries}
    answer = shop.app.test_client().post("/api/v1/sync/push", json=body, headers=shop.headers())
    assert answer.status_code == 200, answer.get_data(as_text=True)[:400]
    results: list[dict[str, Any]] = answer.get_json()["results"]
    assert len(results) == len(entries)
    return results


NO_TEXT = [5, True, ["x"], {"x": 1}, "nul \0", "half \ud800 a pair", "x" * 4001]
NO_NUMBER = ["1", "", True, [], {}, 10**400, -(10**400), 1e308, -1e308]
NO_ID = [5, "x", "", [], "01234567-89AB-7DEF-8123-456789ABCDEF", "01234567-89ab-7def-8123-456789abcdef\n", "\0" * 36]
NO_DAY = [5, "soon", "", "1970-01-01", "2026-02-30", "20260105", "2026-W01-1", "2026-01-05T00:00:00Z", "9999-12-31"]
NO_MOMENT = [5, "soon", "2026-01-05", "2026-01-05T07:00:00", "2026-13-05T07:00:00Z", "0001-01-01T00:00:00Z"]
NO_FLAG = [0, 1, "true", [], {}]
NO_HASH = [5, "x", "AB" * 32, "ab" * 31, "../" * 21 + "x"]
# The first class in this order that a field belongs to says what it cannot be.
WRONG: list[tuple[type, list[Any]]] = [
    (Amounts, [5, [], "x", {"x": 1}]),
    (Id, NO_ID),
    (Day, NO_DAY),
    (Moment, NO_MOMENT),
    (PhotoHash, NO_HASH),
    (Flag, NO_FLAG),
    (Number, NO_NUMBER),
    (Text, NO_TEXT),
    (fields.List, [5, "x", {}, []]),
    (fields.Nested, [5, "x", []]),
    (fields.Dict, [5, "x", []]),
]


def wrong_for(field: fields.Field[Any]) -> list[Any]:
    """What a field must refuse, null among it unless it may be null."""
    found = next(values for kind, values in WRONG if isinstance(field, kind))
    return found if field.allow_none else [*found, None]


def spoilt(schema: Schema, body: dict[str, Any], path: str = "body") -> Iterator[tuple[str, dict[str, Any]]]:
    """(field at fault, body) for every field of a body gone wrong, and every needed one gone."""
    for name, field in schema.fields.items():
        for value in wrong_for(field):
            yield f"{path}.{name}", body | {name: value}
        if field.required:
            yield f"{path}.{name}", {key: value for key, value in body.items() if key != name}
        inner = field.inner if isinstance(field, fields.List) else None
        if isinstance(inner, fields.Nested):
            for at, row in spoilt(inner.schema, body[name][0], f"{path}.{name}.0"):
                yield at, body | {name: [row]}
        if isinstance(field, Amounts):
            for value in [*NO_NUMBER, None, -1]:
                key = next(iter(body[name])) if name in body else new_id()
                yield f"{path}.{name}.{key}", body | {name: {key: value}}


def test_there_is_a_good_body_of_every_kind(shop: Shop) -> None:
    bodies = good(shop)
    assert set(bodies) == set(KINDS) - SERVER_KINDS
    results = push(shop, [entry(shop, kind, body) for kind, body in bodies.items()])
    assert [row["outcome"] for row in results] == ["stored"] * len(bodies), results


@pytest.mark.parametrize("kind", sorted(set(KINDS) - SERVER_KINDS))
def test_every_field_gone_wrong_is_named(shop: Shop, kind: str) -> None:
    cases = list(spoilt(KINDS[kind].schema, good(shop)[kind]))
    assert len(cases) > 10
    with unchanged(shop.app):
        results = push(shop, [entry(shop, kind, body) for _, body in cases])
    for (field, body), result in zip(cases, results, strict=True):
        assert result["outcome"] == "refused", (field, body)
        told = result["problem"]["errors"]
        assert all(error["problem"] and error["mend"] for error in told), told
        # Of an amendment that names no kind the body cannot be judged; of a list, its first row may be named.
        assert any(error["field"].startswith(field) for error in told), (field, body, told)


def test_a_wrong_value_of_a_meter_is_named_in_full(shop: Shop) -> None:
    """The field is called `value`, as the step is in which the library tells of a map's values."""
    (result,) = push(shop, [entry(shop, "meter.read", {"meter": shop.spindle, "value": -1})])
    assert [error["field"] for error in result["problem"]["errors"]] == ["body.value"]
    check = {"check": new_id(), "answer": "ok", "stop": True, "value": "seven"}
    body = good(shop)["round.done"] | {"checks": [check]}
    (result,) = push(shop, [entry(shop, "round.done", body)])
    assert [error["field"] for error in result["problem"]["errors"]] == ["body.checks.0.value"]
    (result,) = push(shop, [entry(shop, "batch.run", {"adds": {"value": 1, shop.spindle: -2}})])
    assert {error["field"] for error in result["problem"]["errors"]} == {"body.adds.value", f"body.adds.{shop.spindle}"}


def test_a_counter_that_runs_backwards_is_refused_or_kept_and_marked(shop: Shop) -> None:
    """Below the newest reading before it: refused. Before it in time, and above: kept, and the later one marked."""
    start = now_ms() - 3_600_000

    def read(value: float, minute: int) -> dict[str, Any]:
        return shop.entry(
            "meter.read",
            {"meter": shop.area, "value": value},
            machine=shop.saw,
            at=instant_text(start + minute * 60_000),
        )

    assert push(shop, [read(100, 10)])[0]["outcome"] == "stored"
    with unchanged(shop.app):
        (refused,) = push(shop, [read(99.5, 20)])
    assert [error["field"] for error in refused["problem"]["errors"]] == ["body.value"]
    assert "100" in refused["problem"]["detail"] and "replaced: true" in refused["problem"]["detail"]
    assert push(shop, [read(150, 5)])[0]["outcome"] == "stored"
    meter = shop.get("/sync/snapshot").get_json()["state"]["meters"][shop.area]
    assert (meter["face"], meter["backwards"]) == (150, 1)


def test_an_amendment_cannot_carry_one_machines_meter_to_another(shop: Shop) -> None:
    """Made at the saw, of an entry at the mill: else the saw's cut area would be told from the mill's document."""
    added = shop.added(5)
    push(shop, [added])
    before = shop.get("/sync/snapshot").get_json()["state"]
    amended = {"kind": "meter.added", "body": {"meter": shop.area, "amount": 999}, "why": "wrong"}
    (result,) = push(shop, [shop.entry("entry.amended", amended | {"entry": added["id"]}, machine=shop.saw)])
    assert result["outcome"] == "stored"
    assert shop.get("/sync/snapshot").get_json()["state"]["meters"] == before["meters"]
    (at_home,) = push(shop, [shop.entry("entry.amended", amended | {"entry": added["id"]})])
    assert [error["field"] for error in at_home["problem"]["errors"]] == ["body.meter"]


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text(max_size=12),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4),
    max_leaves=12,
)


@st.composite
def mauled(draw: st.DrawFn, whole: dict[str, Any]) -> dict[str, Any]:
    """An entry with one to three of its places replaced, taken out or doubled, wherever they lie."""
    made = copy.deepcopy(whole)
    for _ in range(draw(st.integers(1, 3))):
        node: Any = made
        while True:
            keys = list(node) if isinstance(node, dict) else list(range(len(node)))
            if not keys:
                break
            key = draw(st.sampled_from(keys))
            inner = node[key]
            if isinstance(inner, dict | list) and inner and draw(st.booleans()):
                node = inner
                continue
            what = draw(st.sampled_from(["replace", "drop", "rename"]))
            if what == "replace" or isinstance(node, list):
                node[key] = draw(JSON)
            else:
                del node[key]
                if what == "rename":
                    node[draw(st.text(max_size=8))] = inner
            break
    return made


@given(data=st.data())
@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
def test_mauled_entries_are_stored_whole_or_refused_by_name(shop: Shop, data: st.DataObject) -> None:
    bodies = good(shop)
    kinds = data.draw(st.lists(st.sampled_from(sorted(bodies)), min_size=1, max_size=6))
    sent = [data.draw(mauled(entry(shop, kind, bodies[kind]))) for kind in kinds]
    before = {row[1] for row in picture(shop.app)["entry"]}
    results = push(shop, sent)
    rows = {row[1]: json.loads(row[8]) for row in picture(shop.app)["entry"]}
    stored = set()
    for raw, result in zip(sent, results, strict=True):
        if result["outcome"] == "stored":
            kept = rows[raw["id"]]
            kept.pop("receipt")
            assert kept == raw, "what was sent is what stands in the record"
            stored.add(raw["id"])
        else:
            assert result["outcome"] == "refused"
            assert all(e["field"] and e["problem"] and e["mend"] for e in result["problem"]["errors"])
    assert set(rows) == before | stored
    for path in ("/sync/snapshot", "/sync/changes", "/records", "/due", "/upkeep"):
        assert shop.get(path).status_code == 200, path
