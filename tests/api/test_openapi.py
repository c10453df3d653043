"""The API's description of itself, driven whole: no answer is a fault of the server, and each is as described."""

from __future__ import annotations

import copy
import hashlib
import io
import json
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image
from schemathesis.checks import CHECKS, load_all_checks
from schemathesis.core.failures import FailureGroup

from tests.api.intact import assert_sound
from tests.conftest import Shop, set_up
from tests.reminders.push_service import Browser
from webapp import create_app
from webapp.config import Settings
from webapp.core.instants import instant_text
from webapp.database import db, writing
from webapp.security.access import access_of
from webapp.security.devices import let_owner_in
from webapp.setup.ids import now_ms

load_all_checks()
# Whether bad input is refused and good input taken is tested by name elsewhere; a description cannot say all of it.
WANTED = (
    "not_a_server_error", "status_code_conformance", "content_type_conformance", "response_headers_conformance",
    "response_schema_conformance",
)  # fmt: skip
ALL = [CHECKS.get_one(name) for name in WANTED]
TAGS = (
    "session",
    "devices",
    "sync",
    "definitions",
    "records",
    "history",
    "upkeep",
    "feeds",
    "cards",
    "reminders",
    "reports",
)
# These never succeed here: the shop is set up, nobody guesses its password, no random bytes are a picture.
HOPELESS = {("POST", "/api/v1/session/first"), ("POST", "/api/v1/session/owner"), ("PUT", "/api/v1/photos/{sha256}")}
# Nor is a random id that of a binder, a random text a spreadsheet or the key of an alloy.
HOPELESS |= {("GET", "/api/v1/reports/binder/{id_}"), ("GET", "/api/v1/reports/binder/{id_}/file")}
HOPELESS |= {("GET", "/api/v1/reports/cards"), ("POST", "/api/v1/reports/setup/{what}")}
BROWSER = Browser("https://push.example/a")
# These would end the device that asks.
ENDINGS = {("DELETE", "/api/v1/session"), ("DELETE", "/api/v1/session/owner")}


@pytest.fixture(scope="module")
def shop(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    """One small shop with something of each kind in it and the owner signed in; sound at the end."""
    place = Settings(data=tmp_path_factory.mktemp("openapi"), plain=True)
    shutil.copy(sqlite_template, place.database_url.removeprefix("sqlite:///"))
    app = create_app(place)
    app.config["PROPAGATE_EXCEPTIONS"] = False
    made = set_up(app)
    with app.app_context(), writing() as session:
        let_owner_in(session, made.device, made.owner)
    made.push(made.added(12.5), made.entry("meter.read", {"meter": made.spindle, "value": 40}), made.note())
    yield made
    assert_sound(app)
    with app.app_context():
        db.session.remove()
        db.engine.dispose()


@pytest.fixture(scope="module")
def document(shop: Shop) -> dict[str, Any]:
    return dict(shop.app.test_client().get("/api/v1/openapi.json").get_json())


def operations(document: dict[str, Any]) -> Iterator[tuple[str, str, dict[str, Any]]]:
    for path, methods in document["paths"].items():
        for method, operation in methods.items():
            if method != "parameters":
                yield method.upper(), path, operation


@pytest.mark.parametrize("tag", TAGS)
def test_every_operation_answers_as_described(shop: Shop, document: dict[str, Any], tag: str) -> None:
    schema = schemathesis.openapi.from_wsgi("/api/v1/openapi.json", shop.app)
    tried = {}
    for found in schema.get_all_operations():
        operation = found.ok()
        if tag not in operation.tags or (operation.method.upper(), operation.path) in ENDINGS:
            continue
        tried[operation.method.upper(), operation.path] = drive(shop, operation)
    wanted = {(method, path) for method, path, about in operations(document) if tag in about["tags"]}
    assert set(tried) == wanted - ENDINGS and tried
    # A description held only to refusals would prove little.
    assert {call for call, seen in tried.items() if not seen & {200, 201, 204}} == HOPELESS & set(tried)


# What surely succeeds, so that the description is held to good answers too.
BODIES: dict[tuple[str, str], Callable[[Shop], Any]] = {
    ("POST", "/api/v1/definitions/{type_}"): lambda shop: {"name": "Mill 4"},
    ("PUT", "/api/v1/definitions/{type_}/{id_}"): lambda shop: shop.get(f"/definitions/machine/{shop.mill}").get_json(),
    ("POST", "/api/v1/sync/push"): lambda shop: {
        "sent_at": instant_text(now_ms()), "entries": [shop.note(), shop.note(" "), shop.added(1)],
    },
}  # fmt: skip

BODIES |= {
    ("POST", "/api/v1/reminders/{id_}/snooze"): lambda shop: {"until": None},
    ("POST", "/api/v1/reminders/calendar"): lambda shop: {"person": shop.owner},
    ("POST", "/api/v1/reminders/subscriptions"): lambda shop: BROWSER.subscription(shop.owner),
    ("POST", "/api/v1/reminders/test"): lambda shop: {"person": shop.owner, "channel": "app"},
    ("PUT", "/api/v1/reminders/settings/{id_}"): lambda shop: {"about": ["work", "shop"]},
}


def asked(shop: Shop, path: str, key: str) -> dict[str, Any]:
    """What a call of the reminders answers, once the owner's browser and calendar stand there."""
    for call in ("calendar", "subscriptions", "test"):
        path_ = f"/api/v1/reminders/{call}"
        answer = shop.app.test_client().post(path_, json=BODIES["POST", path_](shop), headers=shop.headers())
        if call == path:
            return {"id_": answer.get_json()[key]} if key == "id" else {"token": answer.get_json()[key][-47:-4]}
    return {"id_": shop.get("/reminders").get_json()["reminders"][0]["id"]}


# Where what stands in the address must be something of one's own.
THERE: dict[tuple[str, str], Callable[[Shop], dict[str, Any]]] = {
    ("POST", "/api/v1/reminders/{id_}/snooze"): lambda shop: asked(shop, "reminders", "id"),
    ("DELETE", "/api/v1/reminders/subscriptions/{id_}"): lambda shop: asked(shop, "subscriptions", "id"),
    ("PUT", "/api/v1/reminders/settings/{id_}"): lambda shop: {"id_": shop.owner},
    ("DELETE", "/api/v1/reminders/calendar/{id_}"): lambda shop: asked(shop, "reminders", "id") | {"id_": shop.owner},
    ("GET", "/api/v1/records/{id_}"): lambda shop: {"id_": shop.get("/records").get_json()["entries"][0]["id"]},
    ("GET", "/api/v1/calendar/{token}.ics"): lambda shop: asked(shop, "calendar", "url"),
}


def drive(shop: Shop, operation: Any) -> set[int]:
    """Requests as the description has them, in every shape it leaves open; half of them about what is there.

    Returns the statuses that were answered."""
    seen = set()
    there = {
        "type_": "machine",
        "id_": shop.mill,
        "device_id": shop.enrol()[0],
        "sha256": photo(shop),
        "key": "band_saw",
        "what": "machines",
    }
    if (operation.method.upper(), operation.path) in THERE:
        there |= THERE[operation.method.upper(), operation.path](shop)

    @given(case=operation.as_strategy(), real=st.booleans())
    @settings(max_examples=25, deadline=None, database=None, suppress_health_check=list(HealthCheck))
    def send(case: Any, real: bool) -> None:
        if real:
            case.path_parameters.update({name: there[name] for name in case.path_parameters})
        if real and (case.method, case.path) in BODIES:
            case.body = BODIES[case.method, case.path](shop)
        if real and "If-Match" in case.headers:
            case.headers["If-Match"] = f'"{case.body.get("revision") or revision(shop, case)}"'
        answer = case.call(headers=shop.headers() | {"Accept-Encoding": "identity"})
        case.validate_response(answer, checks=ALL)
        seen.add(answer.status_code)

    send()
    return seen


def revision(shop: Shop, case: Any) -> int:
    """That of the person whose settings are put, which their body does not carry."""
    return int(shop.get(f"/definitions/person/{case.path_parameters['id_']}").get_json()["revision"])


def photo(shop: Shop) -> str:
    """A photo that is kept: its name."""
    out = io.BytesIO()
    Image.new("RGB", (8, 8)).save(out, "PNG")
    name = hashlib.sha256(out.getvalue()).hexdigest()
    answer = shop.app.test_client().put(f"/api/v1/photos/{name}", data=out.getvalue(), headers=shop.headers())
    assert answer.status_code == 204
    return name


def test_a_false_description_is_found(shop: Shop, document: dict[str, Any]) -> None:
    """The checks check: where the description says a text and a number comes, they say so."""
    false = copy.deepcopy(document)
    false["components"]["schemas"]["SnapshotOut"]["properties"]["head"]["type"] = "string"
    schema = schemathesis.openapi.from_dict(false)
    schema.app = shop.app
    with pytest.raises(FailureGroup):
        drive(shop, schema["/api/v1/sync/snapshot"]["GET"])


def test_the_description_is_whole(shop: Shop, document: dict[str, Any]) -> None:
    rules = {
        (method, rule.rule.replace("<", "{").replace(">", "}"))
        for rule in shop.app.url_map.iter_rules()
        for method in (rule.methods or set()) - {"HEAD", "OPTIONS"}
        if rule.rule.startswith("/api/v1/") and not rule.rule.endswith("openapi.json")
    }
    assert {(method, path) for method, path, _ in operations(document)} == rules
    assert {tag for _, _, about in operations(document) for tag in about["tags"]} == set(TAGS)


def test_the_description_says_who_may_call(shop: Shop, document: dict[str, Any]) -> None:
    assert [*document["components"]["securitySchemes"]] == ["token", "cookie"] and len(document["security"]) == 2
    endpoints = {
        (method, rule.rule.replace("<", "{").replace(">", "}")): rule.endpoint
        for rule in shop.app.url_map.iter_rules()
        for method in rule.methods or ()
    }
    for method, path, about in operations(document):
        is_open = access_of(shop.app, endpoints[method, path], method) == "open"
        assert (about.get("security") == []) is is_open, (method, path)


def test_every_answer_and_every_field_is_described(document: dict[str, Any]) -> None:
    """No empty schema: `{}` would let anything pass."""
    for method, path, about in operations(document):
        for status, answer in about["responses"].items():
            if status not in ("204", "304") and "$ref" not in answer:
                assert all(kind["schema"] for kind in answer["content"].values()), (method, path, status)
    for name, schema in document["components"]["schemas"].items():
        for field, about in schema.get("properties", {}).items():
            assert about.keys() & {"type", "$ref", "anyOf", "enum"}, (name, field)


def test_errors_are_described_as_they_are(shop: Shop, document: dict[str, Any]) -> None:
    problem = document["components"]["responses"]["DEFAULT_ERROR"]["content"]
    assert [*problem] == ["application/problem+json"]
    answer = shop.app.test_client().get("/api/v1/due")
    assert answer.content_type == "application/problem+json"
    described = document["components"]["schemas"]["ProblemOut"]
    assert set(described["required"]) == set(json.loads(answer.data))
