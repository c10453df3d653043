"""Everything is closed to strangers; what is open is listed here, by hand."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from flask import Flask

from tests.conftest import Shop
from tests.problem import assert_problem
from webapp.database import writing
from webapp.security import access, devices

OPEN = {
    ("GET", "/"),
    ("GET", "/<path:name>"),
    ("GET", "/healthz"),
    ("GET", "/ca.crt"),
    ("GET", "/api/v1/openapi.json"),
    ("GET", "/api/v1/session"),
    ("GET", "/api/v1/calendar/<token>.ics"),
    ("POST", "/api/v1/session/first"),
    ("POST", "/api/v1/session/owner"),
    ("POST", "/api/v1/session/join"),
}
OWNER = {
    ("DELETE", "/api/v1/session/owner"),
    ("GET", "/api/v1/devices"),
    ("POST", "/api/v1/devices/codes"),
    ("DELETE", "/api/v1/devices/<device_id>"),
    ("POST", "/api/v1/definitions/<type_>"),
    ("PUT", "/api/v1/definitions/<type_>/<id_>"),
    ("POST", "/api/v1/library/machines/<key>/stand"),
    ("POST", "/api/v1/reports/binder"),
    ("GET", "/api/v1/reports/binder/<id_>"),
    ("GET", "/api/v1/reports/binder/<id_>/file"),
    ("GET", "/api/v1/reports/entries"),
    ("GET", "/api/v1/reports/record"),
    ("GET", "/api/v1/reports/setup/<what>"),
    ("POST", "/api/v1/reports/setup/<what>"),
}


def routes(app: Flask) -> Iterator[tuple[str, str, str]]:
    """Every method and route of the app with its endpoint."""
    for rule in app.url_map.iter_rules():
        for method in sorted((rule.methods or set()) - {"HEAD", "OPTIONS"}):
            yield method, rule.rule, rule.endpoint


def path_of(rule: str) -> str:
    """A route with something in its places."""
    return "/".join("x" if part.startswith("<") else part for part in rule.split("/"))


def test_every_route_but_the_listed_ones_is_closed_to_strangers(app: Flask) -> None:
    closed = [(method, rule) for method, rule, _ in routes(app) if (method, rule) not in OPEN]
    assert len(closed) >= 15
    for method, rule in closed:
        response = app.test_client().open(path_of(rule), method=method)
        problem = assert_problem(response, 401)
        assert problem["title"] == "Not signed in", (method, rule)
        assert response.headers["WWW-Authenticate"] == "Bearer"


def test_what_is_listed_as_open_is_there_and_answers_a_stranger(app: Flask) -> None:
    there = {(method, rule) for method, rule, _ in routes(app)}
    assert there >= OPEN
    for method, rule in OPEN:
        status = app.test_client().open(path_of(rule), method=method, json={}).status_code
        assert status not in (401, 403), (method, rule)


def test_every_view_declares_who_may_call_it(app: Flask) -> None:
    for method, rule, endpoint in routes(app):
        declared = access.access_of(app, endpoint, method)
        wanted = "open" if (method, rule) in OPEN else "owner" if (method, rule) in OWNER else "device"
        assert declared == wanted, (method, rule)


def test_what_is_the_owners_is_closed_to_other_devices(shop: Shop) -> None:
    client = shop.app.test_client()
    for method, rule in OWNER:
        response = client.open(path_of(rule), method=method, headers=shop.headers())
        assert assert_problem(response, 403)["title"] == "Owner only", (method, rule)


def test_a_view_that_forgot_its_declaration_is_closed_even_to_devices(new_app: Callable[[], Flask]) -> None:
    app = new_app()
    app.add_url_rule("/api/v1/forgotten", view_func=lambda: "secret", endpoint="forgotten")
    with app.app_context(), writing() as session:
        _, token = devices.enrol(session, "script", "script")
    assert_problem(app.test_client().get("/api/v1/forgotten"), 401)
    known = app.test_client().get("/api/v1/forgotten", headers={"Authorization": f"Bearer {token}"})
    assert assert_problem(known, 403)["title"] == "Closed"


def test_a_revoked_token_is_a_stranger(shop: Shop) -> None:
    assert shop.get("/sync/changes").status_code == 200
    with shop.app.app_context(), writing() as session:
        assert devices.revoke(session, shop.device)
    assert_problem(shop.get("/sync/changes"), 401)
    assert_problem(shop.push(shop.note()), 401)


@pytest.mark.parametrize("token", ["", "x", "wayround_", "ж" * 40, "a" * 5000])
def test_no_token_that_was_made_up_is_let_in(shop: Shop, token: str) -> None:
    headers = {"Authorization": f"Bearer {token}".encode().decode("latin-1")}
    assert_problem(shop.app.test_client().get("/api/v1/sync/changes", headers=headers), 401)


def test_the_token_itself_is_not_in_the_database(shop: Shop) -> None:
    assert shop.token.encode() not in (shop.app.config["WAYROUND"].data / "wayround.sqlite3").read_bytes()


def test_a_wrong_bearer_token_is_not_rescued_by_a_good_cookie(shop: Shop) -> None:
    client = shop.app.test_client()
    client.set_cookie(devices.COOKIE, shop.token)
    assert client.get("/api/v1/sync/changes").status_code == 200
    assert_problem(client.get("/api/v1/sync/changes", headers={"Authorization": "Bearer wrong"}), 401)


def test_security_headers_stand_on_every_answer(shop: Shop) -> None:
    client = shop.app.test_client()
    for path in ("/", "/healthz", "/api/v1/session", "/api/v1/sync/changes", "/nothing/here"):
        headers = client.get(path).headers
        policy = headers["Content-Security-Policy"]
        assert "script-src 'self'" in policy and "unsafe" not in policy and "http" not in policy
        assert headers["X-Content-Type-Options"] == "nosniff"
        assert headers["Referrer-Policy"] == "no-referrer"
        assert "Strict-Transport-Security" not in headers
    assert client.get("/api/v1/session").headers["Cache-Control"] == "no-store"
