"""Push: durable, per item, repeatable. Numbers in the names are the rows of the list of known sync failures."""

from __future__ import annotations

import copy
import json
import threading
from typing import Any

import pytest
from sqlalchemy import select, text

from tests.conftest import Shop
from tests.problem import assert_problem, assert_refused
from webapp.core.instants import instant_text, parse_instant
from webapp.database import db
from webapp.records.models import Entry, Quarantined
from webapp.records.verify import verify
from webapp.setup.ids import new_id, now_ms

YEAR = 365 * 86_400_000


def head(shop: Shop) -> int:
    return int(shop.get("/sync/changes", after=0, limit=5000).get_json()["head"])


def total(shop: Shop) -> Any:
    state = shop.get("/sync/snapshot").get_json()["state"]
    return state["meters"].get(shop.spindle, {}).get("total", 0)


def test_results_come_in_the_order_sent_with_gapless_positions(either_shop: Shop) -> None:
    shop = either_shop
    before = head(shop)
    entries = [shop.note(f"note {n}") for n in range(7)]
    answer = shop.push(*entries).get_json()
    assert [row["id"] for row in answer["results"]] == [entry["id"] for entry in entries]
    assert [row["position"] for row in answer["results"]] == list(range(before + 1, before + 8))
    assert answer["head"] == before + 7


def test_5_an_answer_lost_and_the_batch_cut_differently_counts_once(either_shop: Shop) -> None:
    shop = either_shop
    entries = [shop.added(1.5) for _ in range(6)]
    first = shop.push(*entries).get_json()["results"]
    again = shop.push(*entries[3:]).get_json()["results"] + shop.push(*entries[:4]).get_json()["results"]
    assert {row["outcome"] for row in again} == {"known"}
    positions = {row["id"]: row["position"] for row in first}
    assert all(positions[row["id"]] == row["position"] for row in again)
    assert total(shop) == 9


def test_6_one_poison_entry_holds_up_nothing(shop: Shop) -> None:
    entries: list[Any] = [shop.added(1) for _ in range(10)]
    entries[4]["body"]["amount"] = "one"
    results = shop.push(*entries).get_json()["results"]
    assert [row["outcome"] for row in results].count("stored") == 9
    assert_refused(results[4], "body.amount")
    with shop.app.app_context():
        kept = db.session.execute(select(Quarantined)).scalars().all()
        assert [json.loads(row.payload) for row in kept] == [entries[4]]
    shop.push(entries[4])
    with shop.app.app_context():
        assert len(db.session.execute(select(Quarantined)).scalars().all()) == 1
    assert total(shop) == 9


@pytest.mark.parametrize("count", [0, 1, 499, 500])
def test_8_batch_sizes_up_to_the_limit(shop: Shop, count: int) -> None:
    entries = [shop.note() for _ in range(count)]
    answer = shop.push(*entries)
    assert answer.status_code == 200
    assert len(answer.get_json()["results"]) == count


def test_8_one_more_than_the_limit_is_told_how_many(shop: Shop) -> None:
    assert_problem(shop.push(*[shop.note() for _ in range(501)]), 422, "entries")


def test_a_body_over_two_mebibytes_is_413(shop: Shop) -> None:
    before = head(shop)
    assert_problem(shop.push(*[shop.note("x" * 3900) for _ in range(500)], shop.note("y" * 200_000)), 413, "entries")
    assert head(shop) == before


def test_the_same_id_with_other_content_is_refused(shop: Shop) -> None:
    first = shop.note("one")
    shop.push(first)
    other = copy.deepcopy(first)
    other["body"]["text"] = "two"
    assert_refused(shop.push(other).get_json()["results"][0], "id")
    assert shop.push(first).get_json()["results"][0]["outcome"] == "known"


def test_the_same_id_twice_in_one_batch(shop: Shop) -> None:
    first = shop.added(2)
    other = copy.deepcopy(first) | {"body": {"meter": shop.spindle, "amount": 3}}
    outcomes = [row["outcome"] for row in shop.push(first, copy.deepcopy(first), other).get_json()["results"]]
    assert outcomes == ["stored", "known", "refused"]
    assert total(shop) == 2


def test_unknown_fields_survive_a_round_trip(shop: Shop) -> None:
    _, token = shop.enrol()
    entry = shop.note() | {"mood": "good"}
    entry["body"]["later"] = {"kept": [1, 2.5, None]}
    shop.push(entry)
    got = shop.get("/sync/changes", token=token, after=0, limit=5000).get_json()["entries"][-1]
    assert got["mood"] == "good" and got["body"]["later"] == {"kept": [1, 2.5, None]}


BAD_ENTRIES: list[tuple[str, Any, str]] = [
    ("no object", 7, "entry"),
    ("null", None, "entry"),
    ("empty", {}, "id"),
    ("id no UUID", {"id": "x"}, "id"),
    ("unknown kind", {"kind": "machine.exploded"}, "kind"),
    ("the server's kind", {"kind": "definition.revised", "body": {}}, "kind"),
    ("unknown machine", {"machine": "01234567-89ab-7def-8123-456789abcdef"}, "machine"),
    ("machine of a wrong type", {"machine": 5}, "machine"),
    ("unknown person", {"by": "01234567-89ab-7def-8123-456789abcdef"}, "by"),
    ("1970 with a true clock", {"at": "1970-01-01T00:00:00Z"}, "at"),
    ("2100", {"at": "2100-01-01T00:00:00Z"}, "at"),
    ("no offset", {"at": "2026-05-05T10:00:00"}, "at"),
    ("no date", {"at": "yesterday"}, "at"),
    ("seq nought", {"seq": 0}, "seq"),
    ("seq a text", {"seq": "1"}, "seq"),
    ("seq true", {"seq": True}, "seq"),
    ("body a list", {"body": []}, "body"),
    ("blank note", {"body": {"text": "  "}}, "body.text"),
    ("long note", {"body": {"text": "x" * 4001}}, "body.text"),
    ("receipt", {"receipt": {}}, "receipt"),
    ("negative amount", {"kind": "meter.added", "body": {"meter": "spindle", "amount": -1}}, "body.amount"),
    ("amount nought", {"kind": "meter.added", "body": {"meter": "spindle", "amount": 0}}, "body.amount"),
    ("amount true", {"kind": "meter.added", "body": {"meter": "spindle", "amount": True}}, "body.amount"),
    ("amount huge", {"kind": "meter.added", "body": {"meter": "spindle", "amount": 1e300}}, "body.amount"),
    ("another machine's meter", {"kind": "meter.added", "body": {"meter": "area", "amount": 1}}, "body.meter"),
    ("unknown meter", {"kind": "meter.added", "body": {"meter": "owner", "amount": 1}}, "body.meter"),
    ("machine needed", {"kind": "tag.on", "machine": None, "body": {"why": "loose"}}, "machine"),
    ("batch of nothing", {"kind": "batch.run", "body": {"adds": {}}}, "body.adds"),
    ("number beyond JSON's", {"body": {"text": "x", "n": 2**60}}, "body"),
    ("lone surrogate", {"body": {"text": "\ud800"}}, "body.text"),
    ("amend to a bad body", {"kind": "entry.amended", "body": {
        "entry": "owner", "kind": "meter.added", "why": "x", "body": {"meter": "spindle", "amount": -4}}}, "body.body.amount"),
    ("amend a voiding", {"kind": "entry.amended", "body": {
        "entry": "owner", "kind": "entry.voided", "why": "x", "body": {}}}, "body.kind"),
    ("defer to no date", {"kind": "task.deferred", "body": {"task": "task", "to": "soon", "why": "x"}}, "body.to"),
    ("fit over a stop", {"kind": "round.done", "body": {
        "checklist": "checklist", "revision": 1, "form": "start-up", "started_at": "2026-01-01T00:00:00Z", "seconds": 4,
        "outcome": "fit", "checks": [{"check": "owner", "answer": "not ok", "stop": True}]}}, "body.outcome"),
]  # fmt: skip


@pytest.mark.parametrize(("case", "over", "field"), BAD_ENTRIES, ids=[case[0] for case in BAD_ENTRIES])
def test_bad_entries_are_refused_with_field_and_mend(shop: Shop, case: str, over: Any, field: str) -> None:
    before = head(shop)
    entry: Any = over
    if isinstance(over, dict):
        over = _resolve(shop, over)
        entry = {} if case == "empty" else shop.note() | over
    results = shop.push(entry, shop.note("a good one")).get_json()["results"]
    assert_refused(results[0], field)
    assert results[1]["outcome"] == "stored"
    assert head(shop) == before + 1


def _resolve(shop: Shop, value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _resolve(shop, inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [_resolve(shop, inner) for inner in value]
    return getattr(shop, value) if value in ("spindle", "area", "owner", "task", "checklist") else value


def test_a_counter_never_steps_back_unless_it_is_new(shop: Shop) -> None:
    def read(value: float, **more: Any) -> Any:
        return shop.push(shop.entry("meter.read", {"meter": shop.spindle, "value": value} | more)).get_json()[
            "results"
        ][0]

    assert read(120)["outcome"] == "stored"
    assert_refused(read(119.5), "body.value")
    assert read(3, replaced=True)["outcome"] == "stored"
    assert read(5)["outcome"] == "stored"
    assert total(shop) == 122


BAD_BODIES: list[tuple[bytes, str, int]] = [
    (b"{", "application/json", 400),
    (b"", "application/json", 400),
    (b"[]", "application/json", 422),
    (b"7", "application/json", 422),
    (b'{"entries": []}', "application/json", 422),
    (b'{"sent_at": "2026-01-01T00:00:00Z", "entries": {}}', "application/json", 422),
    (b'{"sent_at": "never", "entries": []}', "application/json", 422),
    (b'{"sent_at": 5, "entries": []}', "application/json", 422),
    (b"\xff\xfe", "application/json", 400),
    (b'{"sent_at": "2026-01-01T00:00:00Z", "entries": []}', "text/plain", 415),
    (b"[" * 100_000, "application/json", 400),
]


@pytest.mark.parametrize(("body", "kind", "status"), BAD_BODIES, ids=range(len(BAD_BODIES)))
def test_bad_bodies_are_problems_and_never_5xx(shop: Shop, body: bytes, kind: str, status: int) -> None:
    client = shop.app.test_client()
    answer = client.post("/api/v1/sync/push", data=body, content_type=kind, headers=shop.headers())
    assert_problem(answer, status)


def test_five_megabytes_are_refused_before_they_are_read(shop: Shop) -> None:
    client = shop.app.test_client()
    answer = client.post(
        "/api/v1/sync/push", data=b"x" * 5_000_000, content_type="application/json", headers=shop.headers()
    )
    assert_problem(answer, 413)


@pytest.mark.parametrize("years", [-1, 1])
def test_3_a_clock_a_year_off_is_corrected_and_marked(shop: Shop, years: int) -> None:
    _, token = shop.enrol()
    off = years * YEAR
    entry = shop.note(at=instant_text(now_ms() + off - 60_000))
    answer = shop.push(entry, sent_at=instant_text(now_ms() + off))
    assert answer.get_json()["results"][0]["outcome"] == "stored"
    got = shop.get("/sync/changes", token=token, limit=5000).get_json()["entries"][-1]
    assert got["at"] == entry["at"], "what the phone said stays as it was"
    receipt = got["receipt"]
    assert receipt["marked"] is True
    assert abs(parse_instant(receipt["effective_at"]) - (now_ms() - 60_000)) < 30_000


def test_a_number_that_cannot_be_is_no_loss_and_those_after_it_are_counted(shop: Shop) -> None:
    assert shop.push(shop.note()).get_json()["gaps"] == []
    answer = shop.push(shop.note(seq=2**31 - 9)).get_json()
    assert answer["results"][0]["outcome"] == "stored" and answer["gaps"] == []
    assert shop.push(shop.note(seq=2**31 - 7)).get_json()["gaps"] == [[2**31 - 8, 2**31 - 8]]


def test_a_past_date_typed_in_by_hand_stands_as_it_is(shop: Shop) -> None:
    entry = shop.note(at="2026-01-05T07:00:00-06:00")
    shop.push(entry)
    with shop.app.app_context():
        row = db.session.execute(select(Entry).where(Entry.id == entry["id"])).scalar_one()
        assert row.ms == parse_instant("2026-01-05T13:00:00Z")


def test_a_gap_in_a_devices_numbers_is_told_and_closes(shop: Shop) -> None:
    first, lost, third = shop.note(), shop.note(), shop.note()
    shop.push(first)
    assert shop.push(third).get_json()["gaps"] == [[2, 2]]
    assert shop.get("/sync/changes").get_json()["gaps"] == [[2, 2]]
    assert shop.get("/sync/snapshot").get_json()["gaps"] == [[2, 2]]
    assert shop.push(lost).get_json()["gaps"] == []


def test_a_refused_entry_leaves_no_gap(shop: Shop) -> None:
    bad = shop.note(" ")
    assert shop.push(bad, shop.note()).get_json()["gaps"] == []


def test_a_saved_file_read_in_on_another_phone_keeps_its_maker(shop: Shop) -> None:
    other, token = shop.enrol()
    entries = [shop.note(), shop.note()]
    shop.push(entries[0])
    answer = shop.push(*entries, token=token, made_on=shop.device).get_json()
    assert [row["outcome"] for row in answer["results"]] == ["known", "stored"]
    assert answer["gaps"] == []
    with shop.app.app_context():
        document = db.session.execute(select(Entry.document).where(Entry.id == entries[1]["id"])).scalar_one()
        receipt = json.loads(document)["receipt"]
        assert (receipt["device"], receipt["via"]) == (shop.device, other)
    assert_problem(shop.push(shop.note(), token=token, made_on=new_id()), 422, "made_on")


def test_28_twenty_threads_read_then_write_without_an_error(shop: Shop) -> None:
    batches = [[shop.added(0.5) for _ in range(5)] for _ in range(20)]
    answers: list[Any] = []

    def work(batch: list[Any]) -> None:
        shop.get("/sync/changes")
        answers.append(shop.push(*batch))

    threads = [threading.Thread(target=work, args=(batch,)) for batch in batches]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert [answer.status_code for answer in answers] == [200] * 20
    assert total(shop) == 50
    with shop.app.app_context():
        assert verify(db.session()).wrong == ()


def test_a_racing_id_is_stored_once(either_shop: Shop) -> None:
    entry = either_shop.added(4)
    outcomes: list[str] = []

    def work() -> None:
        outcomes.append(either_shop.push(entry).get_json()["results"][0]["outcome"])

    threads = [threading.Thread(target=work) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(outcomes) == ["known"] * 5 + ["stored"]
    assert total(either_shop) == 4


def test_a_revoked_token_and_none_are_401(shop: Shop) -> None:
    assert_problem(shop.push(shop.note(), token="nonsense"), 401)
    with shop.app.app_context():
        db.session.execute(text("UPDATE device SET revoked_at = '2026-01-01T00:00:00.000Z'"))
        db.session.commit()
    assert_problem(shop.push(shop.note()), 401)


def test_426_tells_an_old_app(shop: Shop) -> None:
    client = shop.app.test_client()
    answer = client.get("/api/v1/sync/changes", headers=shop.headers() | {"Wayround-App": "0"})
    assert_problem(answer, 426, "Wayround-App")
