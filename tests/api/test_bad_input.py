"""Bad input at every door of the API: a problem document that names field and mend, and nothing stored changes."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from tests.api.intact import assert_sound, unchanged
from tests.conftest import Shop
from tests.problem import assert_problem
from webapp.api.bodies import DEEPEST, LARGEST_JSON
from webapp.database import writing
from webapp.security import devices
from webapp.security.devices import let_owner_in
from webapp.setup.ids import new_id

NOBODY = "01234567-89ab-7def-8123-456789abcdef"
SENT = '"sent_at": "2026-11-02T06:58:11-06:00"'


@pytest.fixture
def owned(shop: Shop) -> Iterator[Shop]:
    """The small shop with some entries and the owner signed in; sound again at the end, whatever came."""
    with shop.app.app_context(), writing() as session:
        let_owner_in(session, shop.device, shop.owner)
    shop.push(shop.added(12.5), shop.note(), shop.entry("tag.on", {"why": "guard loose"}))
    yield shop
    assert_sound(shop.app)


def call(shop: Shop, method: str, path: str, **sent: Any) -> Any:
    headers = shop.headers() | sent.pop("headers", {})
    path = path.format(
        **{name: getattr(shop, name) for name in ("mill", "saw", "task", "checklist", "device", "owner")}
    )
    return shop.app.test_client().open(path, method=method, headers=headers, **sent)


# Every view that reads a JSON body. The PUT names the revision that is there, so that only the body is at fault.
DOORS: list[tuple[str, str, dict[str, str]]] = [
    ("POST", "/api/v1/sync/push", {}),
    ("POST", "/api/v1/definitions/machine", {}),
    ("PUT", "/api/v1/definitions/machine/{mill}", {"If-Match": '"1"'}),
    ("POST", "/api/v1/library/machines/band_saw/stand", {}),
    ("POST", "/api/v1/session/first", {}),
    ("POST", "/api/v1/session/owner", {}),
    ("POST", "/api/v1/session/join", {}),
    ("POST", "/api/v1/reminders/due/snooze", {}),
    ("PUT", "/api/v1/reminders/settings/{owner}", {"If-Match": '"1"'}),
    ("POST", "/api/v1/reminders/subscriptions", {}),
    ("POST", "/api/v1/reminders/calendar", {}),
    ("POST", "/api/v1/reminders/test", {}),
    ("POST", "/api/v1/reports/binder", {}),
    ("POST", "/api/v1/reports/setup/machines", {}),
]

DEEP = DEEPEST + 1
BODIES: dict[str, tuple[bytes, int]] = {
    "empty": (b"", 400),
    "cut off": (b'{"name": "Mill', 400),
    "two documents": (b"{} {}", 400),
    "a list": (b"[]", 422),
    "a number": (b"7", 422),
    "null": (b"null", 422),
    "a text": (b'"name"', 422),
    "nothing in it": (b"{}", 422),
    "not a number": (b'{"name": NaN}', 400),
    "infinity": (b'{"name": -Infinity}', 400),
    "single quotes": (b"{'name': 1}", 400),
    "a control character in a text": (b'{"name": "a\0b"}', 400),
    "no UTF-8": (b'{"name": "\xff\xfe"}', 400),
    "UTF-16": ('{"name": "Mill"}'.encode("utf-16"), 400),
    "half a pair in UTF-8": (b'{"name": "\xed\xa0\x80"}', 400),
    "one level too deep": (b'{"name":' * DEEP + b"1" + b"}" * DEEP, 400),
    "nested lists": (b"[" * 900 + b"]" * 900, 400),
    "a bomb of lists": (b"[" * 100_000, 400),
    "a bomb of objects": (b'{"a":' * 100_000 + b"1" + b"}" * 100_000, 400),
    "an integer of five thousand digits": (b'{"name": ' + b"9" * 5000 + b"}", 400),
    "an integer of four hundred digits": (b'{"name": ' + b"9" * 400 + b"}", 422),
    "five megabytes": (b'{"name": "' + b"x" * 5_000_000 + b'"}', 413),
}


@pytest.mark.parametrize(("method", "path", "more"), DOORS, ids=[f"{door[0]} {door[1]}" for door in DOORS])
def test_broken_bodies_at_every_door(owned: Shop, method: str, path: str, more: dict[str, str]) -> None:
    for name, (body, status) in BODIES.items():
        if name == "nothing in it" and path.endswith(("/binder", "/{owner}")):
            continue  # asks for a binder of today; sets everything to what is usual
        with unchanged(owned.app):
            answer = call(owned, method, path, data=body, content_type="application/json", headers=more)
        problem = assert_problem(answer, status)
        told = {error["field"] for error in problem["errors"]}
        if status == 400:
            assert told == {"body"} and "JSON" in problem["detail"], (name, problem)
        elif status == 413:
            assert told == {"entries" if "push" in path else "body"}, name


def test_the_table_of_doors_is_whole(shop: Shop) -> None:
    """Every POST and PUT of the API stands in the table, but for those that read no JSON."""
    rules = shop.app.url_map.iter_rules()
    there = {(method, rule.rule) for rule in rules for method in (rule.methods or set()) & {"POST", "PUT", "PATCH"}}
    no_json = {("PUT", "/api/v1/photos/<sha256>"), ("POST", "/api/v1/devices/codes")}
    assert len(there - no_json) == len(DOORS), sorted(there)


@pytest.mark.parametrize(
    "kind", ["text/plain", "application/x-www-form-urlencoded", "multipart/form-data", "", "a/b/c"]
)
def test_a_wrong_content_type_is_named(owned: Shop, kind: str) -> None:
    for method, path, more in DOORS:
        with unchanged(owned.app):
            answer = call(owned, method, path, data=b'{"name": "x"}', headers=more, content_type=kind)
        assert_problem(answer, 415, "Content-Type")


def test_what_is_nested_as_deep_as_allowed_is_read(owned: Shop) -> None:
    deep: Any = "x"
    for _ in range(DEEPEST - 5):
        deep = [deep]
    note = owned.note()
    note["body"]["later"] = deep
    assert owned.push(note).get_json()["results"][0]["outcome"] == "stored"
    assert owned.get("/records", limit=1).get_json()["entries"][0]["body"]["later"] == deep


PUSHES: list[tuple[str, str, int, str]] = [
    ("no entries", f"{{{SENT}}}", 422, "entries"),
    ("entries null", f'{{{SENT}, "entries": null}}', 422, "entries"),
    ("entries a text", f'{{{SENT}, "entries": "all"}}', 422, "entries"),
    ("no time", '{"entries": []}', 422, "sent_at"),
    ("a time without offset", '{"sent_at": "2026-11-02T06:58:11", "entries": []}', 422, "sent_at"),
    ("a time that is a number", '{"sent_at": 1, "entries": []}', 422, "sent_at"),
    ("a time before all clocks", '{"sent_at": "0001-01-01T00:00:00Z", "entries": []}', 422, "sent_at"),
    ("a date that is none", '{"sent_at": "2026-02-30T00:00:00Z", "entries": []}', 422, "sent_at"),
    ("made on no device", f'{{{SENT}, "entries": [], "made_on": "{NOBODY}"}}', 422, "made_on"),
    ("made on a number", f'{{{SENT}, "entries": [], "made_on": 5}}', 422, "made_on"),
    ("501 entries", f'{{{SENT}, "entries": [{",".join(["{}"] * 501)}]}}', 422, "entries"),
]  # fmt: skip


@pytest.mark.parametrize(("body", "status", "field"), [case[1:] for case in PUSHES], ids=[case[0] for case in PUSHES])
def test_bad_batches(owned: Shop, body: str, status: int, field: str) -> None:
    with unchanged(owned.app):
        answer = call(owned, "POST", "/api/v1/sync/push", data=body, content_type="application/json")
    assert_problem(answer, status, field)


def test_an_empty_batch_changes_nothing(owned: Shop) -> None:
    with unchanged(owned.app):
        answer = owned.push()
    assert answer.status_code == 200 and answer.get_json()["results"] == []


def test_a_batch_one_byte_too_large_is_not_taken(owned: Shop) -> None:
    start = f'{{{SENT}, "entries": [], "pad": "'.encode()
    fits = start + b"x" * (LARGEST_JSON - len(start) - 2) + b'"}'
    for body, status in ((fits, 200), (fits + b" ", 413)):
        with unchanged(owned.app):
            answer = call(owned, "POST", "/api/v1/sync/push", data=body, content_type="application/json")
        assert answer.status_code == status


QUERIES: list[tuple[str, str]] = [
    ("/api/v1/sync/changes?after=x", "after"),
    ("/api/v1/sync/changes?after=", "after"),
    ("/api/v1/sync/changes?after=-1", "after"),
    ("/api/v1/sync/changes?after=1.5", "after"),
    ("/api/v1/sync/changes?after=1e3", "after"),
    ("/api/v1/sync/changes?after=%D9%A1", "after"),
    ("/api/v1/sync/changes?after=99999999999999999999", "after"),
    ("/api/v1/sync/changes?after=" + "9" * 5000, "after"),
    ("/api/v1/sync/changes?after=1&after=2&limit=0", "limit"),
    ("/api/v1/sync/changes?limit=5001", "limit"),
    ("/api/v1/sync/changes?limit=true", "limit"),
    ("/api/v1/sync/changes?limit=%00", "limit"),
    ("/api/v1/records?limit=501", "limit"),
    ("/api/v1/records?limit=many", "limit"),
    ("/api/v1/records?before=yesterday", "before"),
    ("/api/v1/records?before=--5,x", "before"),
    ("/api/v1/records?before=5", "before"),
    ("/api/v1/records?before=5,%00", "before"),
    (f"/api/v1/records?before=99999999999999999999,{NOBODY}", "before"),
    ("/api/v1/records?machine=mill", "machine"),
    ("/api/v1/records?machine=%ED%A0%80", "machine"),
    ("/api/v1/records?kind=", "kind"),
    ("/api/v1/records?kind=a%00b", "kind"),
    ("/api/v1/records?kind=" + "x" * 41, "kind"),
    ("/api/v1/records?person=ann", "person"),
    ("/api/v1/records?finding=%00", "finding"),
    ("/api/v1/records?alloy=", "alloy"),
    ("/api/v1/records?alloy=" + "x" * 41, "alloy"),
    ("/api/v1/records?from=2026-1-5", "from"),
    ("/api/v1/records?from=1999-12-31", "from"),
    ("/api/v1/records?to=2026-02-30", "to"),
    ("/api/v1/records?to=%D9%A2026-01-01", "to"),
    ("/api/v1/records?from=2026-01-05&to=2026-01-04", "to"),
    ("/api/v1/history?from=yesterday", "from"),
    ("/api/v1/history?to=2026-13-01", "to"),
    ("/api/v1/history?from=2020-01-05&to=2020-01-04", "to"),
    ("/api/v1/history?from=2020-01-05&to=2021-06-04", "from"),
    ("/api/v1/history?from=2199-01-05", "from"),
]  # fmt: skip


def test_bad_questions(either_shop: Shop) -> None:
    with unchanged(either_shop.app):
        for path, field in QUERIES:
            assert_problem(call(either_shop, "GET", path), 422, field)


@pytest.mark.parametrize("path", ["/sync/changes", "/sync/snapshot", "/records", "/due", "/definitions/machine"])
def test_a_question_that_is_not_known_changes_no_answer(owned: Shop, path: str) -> None:
    """A newer app may ask an older server for more; what it does not know it leaves out."""
    assert owned.get(path, colour="blue", deep='{"a": [1]}').get_json() == owned.get(path).get_json()


ADDRESSES: list[tuple[str, str, int, str]] = [
    ("GET", "/api/v1/nothing", 404, "path"),
    ("GET", "/a%00b", 404, "path"),
    ("GET", "/" + "x" * 300, 404, "path"),
    ("GET", "/assets/" + "y/" * 3000, 404, "path"),
    ("GET", "/%ff%fe", 404, "path"),
    ("GET", "/..%2f..%2fetc%2fpasswd", 404, "path"),
    ("PATCH", "/api/v1/sync/push", 405, "method"),
    ("GET", "/api/v1/sync/push", 404, "path"),
    ("GET", "/api/v1/records/%00", 404, "id"),
    ("GET", f"/api/v1/records/{NOBODY}", 404, "id"),
    ("GET", "/api/v1/definitions/gadget", 404, "type"),
    ("GET", "/api/v1/definitions/machine/%00", 404, "id"),
    ("GET", "/api/v1/definitions/machine/x/revisions", 404, "id"),
    ("GET", "/api/v1/definitions/task/{mill}", 404, "id"),
    ("GET", f"/api/v1/definitions/machine/{NOBODY}", 404, "id"),
    ("GET", "/api/v1/photos/%00", 422, "sha256"),
    ("GET", "/api/v1/photos/" + "a" * 64, 404, "sha256"),
    ("GET", "/api/v1/photos/" + "A" * 64, 422, "sha256"),
    ("DELETE", "/api/v1/devices/%00", 404, "id"),
    ("DELETE", f"/api/v1/devices/{NOBODY}", 404, "id"),
]  # fmt: skip


@pytest.mark.parametrize("coding", ["", "br, gzip"])
def test_bad_addresses(either_shop: Shop, coding: str) -> None:
    with either_shop.app.app_context(), writing() as session:
        let_owner_in(session, either_shop.device, either_shop.owner)
    with unchanged(either_shop.app):
        for method, path, status, field in ADDRESSES:
            assert_problem(call(either_shop, method, path, headers={"Accept-Encoding": coding}), status, field)


@pytest.mark.parametrize(
    ("tag", "status"),
    [("", 428), ("*", 428), ("abc", 428), ("-1", 428), ("1.0", 428), ("9" * 5000, 428), ("\xb2", 428), ('"0"', 412), ('"1', 412), ('"7"', 412)],
)  # fmt: skip
def test_an_edit_must_name_the_revision_that_is_there(owned: Shop, tag: str, status: int) -> None:
    path = "/api/v1/definitions/machine/{mill}"
    body = call(owned, "GET", path).get_json() | {"name": "Other"}
    assert call(owned, "PUT", path, json=body, headers={"If-Match": '"1"'}).get_json()["revision"] == 2
    with unchanged(owned.app):
        answer = call(owned, "PUT", path, json=body, headers={"If-Match": tag})
    assert_problem(answer, status, "If-Match")


@pytest.mark.parametrize("retired", [1, "yes", None, []])
def test_retired_is_a_truth_value(owned: Shop, retired: Any) -> None:
    body = call(owned, "GET", "/api/v1/definitions/machine/{mill}").get_json() | {"retired": retired}
    with unchanged(owned.app):
        answer = call(owned, "PUT", "/api/v1/definitions/machine/{mill}", json=body, headers={"If-Match": '"1"'})
    assert_problem(answer, 422, "retired")


def test_a_revoked_token_writes_nothing_anywhere(owned: Shop) -> None:
    with owned.app.app_context(), writing() as session:
        devices.revoke(session, owned.device)
    with unchanged(owned.app):
        for method, path, more in DOORS[:4]:
            assert_problem(call(owned, method, path, json={"name": "x"}, headers=more), 401, "Authorization")
        assert_problem(call(owned, "PUT", "/api/v1/photos/" + "a" * 64, data=b"x"), 401, "Authorization")


SIGN_INS: list[tuple[str, Any, int, str]] = [
    ("join", {"code": "WRONG", "device_name": "phone"}, 403, "code"),
    ("join", {"code": "a\0b", "device_name": "phone"}, 422, "code"),
    ("join", {"code": "\ud800", "device_name": "phone"}, 422, "code"),
    ("join", {"code": 5, "device_name": ["phone"]}, 422, "device_name"),
    ("join", {"code": "WRONG", "device_name": "x" * 81}, 422, "device_name"),
    ("join", {"code": "WRONG", "device_name": "a\0b"}, 422, "device_name"),
    ("join", {"code": "WRONG", "device_name": " "}, 422, "device_name"),
    ("owner", {"password": "wrong horse"}, 403, "password"),
    ("owner", {"password": "\ud800 horse"}, 422, "password"),
    ("owner", {"password": "x" * 5000}, 422, "password"),
    ("owner", {"password": None}, 422, "password"),
    ("first", {"code": "x", "shop": [], "owner": 4, "password": "long enough, this", "device_name": "x"}, 422, "shop"),
    ("first", {"code": "x", "shop": {}, "owner": {}, "password": "short", "device_name": "x"}, 422, "password"),
    ("first", {"code": "x", "shop": {}, "owner": {}, "password": "long enough, this", "device_name": "x"}, 409, "code"),
]  # fmt: skip


def test_bad_sign_ins_of_strangers(either_shop: Shop) -> None:
    with unchanged(either_shop.app):
        for way, body, status, field in SIGN_INS:
            answer = either_shop.app.test_client().post(f"/api/v1/session/{way}", json=body)
            assert_problem(answer, status, field)


def test_an_id_used_again_with_other_content_is_refused_and_the_first_stays(owned: Shop) -> None:
    first = owned.added(3)
    owned.push(first)
    with unchanged(owned.app):
        for other in ({"seq": 99}, {"at": "2026-01-05T07:00:00Z"}, {"machine": owned.saw}, {"kind": "note.made"}):
            result = owned.push(first | other).get_json()["results"][0]
            assert result["outcome"] == "refused" and result["problem"]["errors"][0]["field"] == "id"
        assert owned.push(first).get_json()["results"][0]["outcome"] == "known"


def test_an_id_that_is_no_text_names_nothing(owned: Shop) -> None:
    """It comes back as null: a number beyond JSON's would otherwise make the answer unreadable."""
    with unchanged(owned.app):
        body = f'{{{SENT}, "entries": [{{"id": 1e999}}, {{"id": [[]]}}, {{"id": "\\ud800"}}]}}'
        answer = call(owned, "POST", "/api/v1/sync/push", data=body, content_type="application/json")
    assert [row["id"] for row in answer.get_json()["results"]] == [None, None, "\ud800"]
    assert b"Infinity" not in answer.data


def test_ids_of_other_things_cannot_be_taken(owned: Shop) -> None:
    """A second machine that claims the mill's meter would take its hours away."""
    stolen = {"name": "Mill 2", "meters": [{"id": owned.spindle, "kind": "cuts", "name": "Cuts", "unit": "cuts"}]}
    with unchanged(owned.app):
        assert_problem(call(owned, "POST", "/api/v1/definitions/machine", json=stolen), 422, "meters.0.id")
    own = call(owned, "GET", "/api/v1/definitions/machine/{mill}").get_json()
    kept = call(owned, "PUT", "/api/v1/definitions/machine/{mill}", json=own, headers={"If-Match": '"1"'})
    assert kept.status_code == 200, "a machine keeps its own"


def test_five_megabytes_of_set_up_do_not_stop_the_server(owned: Shop) -> None:
    meters = [{"id": new_id(), "kind": "cuts", "name": "c", "unit": "c"} for _ in range(15_000)]
    with unchanged(owned.app):
        answer = call(owned, "POST", "/api/v1/definitions/machine", json={"name": "x", "meters": [*meters, meters[0]]})
    assert_problem(answer, 422)


def test_the_tag_of_a_compressed_answer_is_the_revision_that_was_read(owned: Shop) -> None:
    path = "/api/v1/definitions/machine/{mill}"
    long = call(owned, "GET", path).get_json() | {"notes": "long enough to compress " * 40}
    assert call(owned, "PUT", path, json=long, headers={"If-Match": '"1"'}).status_code == 200
    got = call(owned, "GET", path, headers={"Accept-Encoding": "gzip"})
    assert got.headers["Content-Encoding"] == "gzip" and ":gzip" in got.headers["ETag"]
    assert call(owned, "PUT", path, json=long, headers={"If-Match": got.headers["ETag"]}).status_code == 200
