"""Signing in: the first set-up, joining by code, the owner's password, and leaving again."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import argon2
import pytest
from flask import Flask
from flask.testing import FlaskClient
from sqlalchemy import select

from tests.conftest import Shop
from tests.problem import assert_problem
from webapp.core.instants import instant_text
from webapp.database import db, writing
from webapp.security import codes, devices, moments, passwords, slowing
from webapp.security.models import Device, JoinCode, OwnerSecret
from webapp.setup import ids

PASSWORD = "three plain words"
SHOP = {"name": "Quill Metal", "time_zone": "America/Chicago"}
OWNER = {"name": "Ada Quill", "initials": "AQ"}


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Callable[[int], None]:
    """Moves the clock of the sign-in tables forward, in ms."""
    ahead = [0]
    real = ids.now_ms
    for module in (moments, slowing):
        monkeypatch.setattr(module, "now_ms", lambda: real() + ahead[0])

    def forward(ms: int) -> None:
        ahead[0] += ms

    return forward


def code(app: Flask, purpose: Any) -> str:
    with app.app_context(), writing() as session:
        return codes.make_code(session, purpose).text


def first_body(set_up_code: str, **over: Any) -> dict[str, Any]:
    body = {"code": set_up_code, "shop": SHOP, "owner": OWNER, "password": PASSWORD, "device_name": "Office"}
    return body | over


@pytest.fixture
def office(app: Flask) -> FlaskClient:
    """The owner's browser, just after setting the shop up."""
    client = app.test_client()
    response = client.post("/api/v1/session/first", json=first_body(code(app, "first")))
    assert response.status_code == 200, response.text
    return client


def join(app: Flask, join_code: str, name: str = "Saw phone") -> tuple[FlaskClient, Any]:
    client = app.test_client()
    return client, client.post("/api/v1/session/join", json={"code": join_code, "device_name": name})


def sign_in(client: FlaskClient, password: str = PASSWORD) -> Any:
    return client.post("/api/v1/session/owner", json={"password": password})


def test_before_anything_is_set_up(app: Flask) -> None:
    assert app.test_client().get("/api/v1/session").get_json() == {
        "first_run": True,
        "signed_in": False,
        "owner": False,
        "device": None,
        "shop": None,
        "demo": False,
    }


def test_the_first_set_up_makes_shop_owner_and_device(office: FlaskClient) -> None:
    session = office.get("/api/v1/session").get_json()
    assert session["shop"] == "Quill Metal" and session["device"]["name"] == "Office"
    assert (session["first_run"], session["signed_in"], session["owner"]) == (False, True, True)
    snapshot = office.get("/api/v1/sync/snapshot").get_json()
    assert [(p["name"], p["role"]) for p in snapshot["definitions"]["people"]] == [("Ada Quill", "owner")]
    assert office.get("/api/v1/devices").get_json()[0]["this"] is True


def test_the_cookie_is_out_of_reach_of_scripts_and_other_sites(app: Flask) -> None:
    made = app.test_client().post("/api/v1/session/first", json=first_body(code(app, "first")))
    cookie = made.headers["Set-Cookie"]
    assert cookie.startswith("wayround_device=wayround_")
    assert "HttpOnly" in cookie and "SameSite=Strict" in cookie and "Path=/" in cookie
    assert "Secure" not in cookie  # this app is plain


def test_the_cookie_is_secure_with_tls(app: Flask) -> None:
    from dataclasses import replace

    app.config["WAYROUND"] = replace(app.config["WAYROUND"], plain=False)
    made = app.test_client().post("/api/v1/session/first", json=first_body(code(app, "first")))
    assert "Secure" in made.headers["Set-Cookie"]


def test_a_wrong_set_up_code_sets_nothing_up(app: Flask) -> None:
    code(app, "first")
    problem = assert_problem(app.test_client().post("/api/v1/session/first", json=first_body("AAAA-AAAA-AAAA")), 403)
    assert problem["errors"][0]["field"] == "code"
    assert app.test_client().get("/api/v1/session").get_json()["first_run"] is True


def test_a_join_code_sets_no_shop_up(app: Flask) -> None:
    assert_problem(app.test_client().post("/api/v1/session/first", json=first_body(code(app, "join"))), 403)


def test_a_fault_in_the_shop_names_the_field_and_leaves_the_code_good(app: Flask) -> None:
    set_up_code = code(app, "first")
    wrong = first_body(set_up_code, shop=SHOP | {"time_zone": "Nowhere/Else"})
    problem = assert_problem(app.test_client().post("/api/v1/session/first", json=wrong), 422)
    assert problem["errors"][0]["field"] == "shop.time_zone"
    assert app.test_client().post("/api/v1/session/first", json=first_body(set_up_code)).status_code == 200


def test_a_short_password_is_refused_with_the_mend(app: Flask) -> None:
    body = first_body(code(app, "first"), password="short")
    fault = assert_problem(app.test_client().post("/api/v1/session/first", json=body), 422)["errors"][0]
    assert fault["field"] == "password" and "10 characters" in fault["mend"]


def test_a_second_shop_is_refused(app: Flask, office: FlaskClient) -> None:
    again = app.test_client().post("/api/v1/session/first", json=first_body(code(app, "first")))
    assert assert_problem(again, 409)["title"] == "The shop is set up"


def test_only_the_newest_set_up_code_counts(app: Flask) -> None:
    older, newer = code(app, "first"), code(app, "first")
    assert_problem(app.test_client().post("/api/v1/session/first", json=first_body(older)), 403)
    assert app.test_client().post("/api/v1/session/first", json=first_body(newer)).status_code == 200


def test_the_owner_hands_out_a_code_that_works_once(app: Flask, office: FlaskClient) -> None:
    made = office.post("/api/v1/devices/codes")
    assert made.status_code == 201
    phone, response = join(app, made.get_json()["code"])
    assert response.get_json()["device"]["name"] == "Saw phone"
    assert response.get_json()["owner"] is False
    assert phone.get("/api/v1/sync/changes").status_code == 200
    _, second = join(app, made.get_json()["code"])
    assert_problem(second, 403)


def test_a_code_may_be_typed_in_small_letters_with_spaces(app: Flask, office: FlaskClient) -> None:
    typed = code(app, "join").lower().replace("-", " ")
    assert join(app, f" {typed} ")[1].status_code == 200


def test_a_code_is_over_after_ten_minutes(app: Flask, office: FlaskClient, clock: Callable[[int], None]) -> None:
    late, in_time = code(app, "join"), code(app, "join")
    clock(9 * moments.MINUTE + 59 * moments.SECOND)
    assert join(app, in_time)[1].status_code == 200
    clock(2 * moments.SECOND)
    assert_problem(join(app, late)[1], 403)


def test_a_browser_that_is_in_already_keeps_its_device_and_the_code(app: Flask, office: FlaskClient) -> None:
    join_code = code(app, "join")
    phone, first = join(app, join_code)
    spare = code(app, "join")
    again = phone.post("/api/v1/session/join", json={"code": spare, "device_name": "other"})
    assert again.get_json()["device"] == first.get_json()["device"]
    assert join(app, spare)[1].status_code == 200


def test_codes_are_kept_as_hashes(app: Flask, office: FlaskClient) -> None:
    text = code(app, "join")
    with app.app_context():
        kept = db.session.scalars(select(JoinCode.code_hash)).all()
    assert all(len(row) == 64 and text not in row for row in kept)


def test_the_owner_signs_in_on_a_phone_and_out_again(app: Flask, office: FlaskClient) -> None:
    phone, _ = join(app, code(app, "join"))
    assert_problem(phone.get("/api/v1/devices"), 403)
    assert sign_in(phone).get_json()["owner"] is True
    assert phone.get("/api/v1/devices").status_code == 200
    assert phone.delete("/api/v1/session/owner").status_code == 204
    assert_problem(phone.get("/api/v1/devices"), 403)
    assert phone.get("/api/v1/session").get_json()["signed_in"] is True


def test_the_password_alone_enrols_a_new_browser(app: Flask, office: FlaskClient) -> None:
    client = app.test_client()
    body = {"password": PASSWORD, "device_name": "Laptop"}
    session = client.post("/api/v1/session/owner", json=body).get_json()
    assert session["owner"] is True and session["device"]["name"] == "Laptop"


def test_the_owner_stays_twelve_hours_from_the_last_use(
    app: Flask, office: FlaskClient, clock: Callable[[int], None]
) -> None:
    for _ in range(3):
        clock(11 * moments.HOUR)
        assert office.get("/api/v1/devices").status_code == 200
    clock(12 * moments.HOUR + moments.MINUTE)
    assert_problem(office.get("/api/v1/devices"), 403)


def test_a_wrong_password_is_refused(app: Flask, office: FlaskClient) -> None:
    problem = assert_problem(sign_in(app.test_client(), "three other words"), 403)
    assert problem["errors"][0]["field"] == "password"


def test_the_same_password_composed_otherwise_is_the_same(app: Flask) -> None:
    with app.app_context(), writing() as session:
        passwords.set_password(session, "p", "Schlüsselbrett")
    with app.app_context():
        assert passwords.owner_by_password(db.session(), "Schlu\u0308sselbrett") == "p"


def test_the_password_is_argon2id_with_at_least_the_published_parameters(app: Flask, office: FlaskClient) -> None:
    # OWASP Password Storage Cheat Sheet: Argon2id, m >= 19456 KiB, t >= 2, p >= 1.
    # RFC 9106, section 4, second recommended option: m = 65536 KiB, t = 3, p = 4.
    with app.app_context():
        kept = db.session.scalar(select(OwnerSecret.password_hash))
    found = argon2.extract_parameters(kept)
    assert found.type is argon2.Type.ID
    assert (found.memory_cost, found.time_cost, found.parallelism) == (65536, 3, 4)
    assert found.memory_cost >= 19456 and found.time_cost >= 2
    assert found.salt_len >= 16 and found.hash_len >= 32


def test_guessing_codes_is_slowed_and_then_the_right_one_waits_too(
    app: Flask, office: FlaskClient, clock: Callable[[int], None]
) -> None:
    right = code(app, "join")
    for _ in range(5):
        assert_problem(join(app, "AAAA-AAAA")[1], 403)
    refused = join(app, right)[1]
    assert_problem(refused, 429)
    assert 1 <= int(refused.headers["Retry-After"]) <= 2
    clock(3 * moments.SECOND)
    assert join(app, right)[1].status_code == 200


def test_pauses_grow_to_a_quarter_of_an_hour(app: Flask, office: FlaskClient, clock: Callable[[int], None]) -> None:
    waits = []
    for _ in range(20):
        response = join(app, "AAAA-AAAA")[1]
        while response.status_code == 429:
            waits.append(int(response.headers["Retry-After"]))
            clock(waits[-1] * moments.SECOND)
            response = join(app, "AAAA-AAAA")[1]
    assert waits == sorted(waits) and waits[-1] == 900


def test_strangers_cannot_lock_a_device_of_the_shop_out(app: Flask, office: FlaskClient) -> None:
    phone, _ = join(app, code(app, "join"))
    stranger = app.test_client()
    while sign_in(stranger, "not the password").status_code != 429:
        pass
    assert_problem(sign_in(stranger), 429)
    assert sign_in(phone).status_code == 200


def test_strangers_of_many_addresses_are_counted_together(app: Flask, office: FlaskClient) -> None:
    statuses = []
    for number in range(35):
        response = app.test_client().post(
            "/api/v1/session/join",
            json={"code": "AAAA-AAAA", "device_name": "x"},
            environ_base={"REMOTE_ADDR": f"10.0.0.{number}"},
        )
        statuses.append(response.status_code)
    assert statuses[:30] == [403] * 30 and statuses[-1] == 429


def test_a_try_that_cannot_be_counted_is_not_made(
    app: Flask, office: FlaskClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    from sqlalchemy.exc import OperationalError

    def broken(*_: Any) -> None:
        raise OperationalError("count", {}, Exception("disk full"))

    monkeypatch.setattr(slowing, "writing", broken)
    assert_problem(join(app, code(app, "join"))[1], 503)
    assert_problem(sign_in(app.test_client()), 503)


@pytest.mark.parametrize(
    "headers",
    [
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
        {"Origin": "https://evil.example"},
        {"Origin": "null"},
        {"Origin": "http://localhost:9999"},
    ],
)
def test_another_sites_page_cannot_write_through_the_cookie(
    app: Flask, office: FlaskClient, headers: dict[str, str]
) -> None:
    for method, path in (("post", "/api/v1/devices/codes"), ("delete", "/api/v1/session")):
        response = getattr(office, method)(path, headers=headers)
        assert assert_problem(response, 403)["title"] == "Sent by another site"
    signed = app.test_client().post("/api/v1/session/owner", json={"password": PASSWORD}, headers=headers)
    assert_problem(signed, 403)
    assert office.get("/api/v1/session").get_json()["signed_in"] is True


@pytest.mark.parametrize(
    "headers",
    [{"Sec-Fetch-Site": "same-origin"}, {"Sec-Fetch-Site": "none"}, {"Origin": "http://localhost"}, {}],
)
def test_our_own_pages_may_write(office: FlaskClient, headers: dict[str, str]) -> None:
    assert office.post("/api/v1/devices/codes", headers=headers).status_code == 201


def test_a_script_with_a_token_may_write_from_anywhere(shop: Shop) -> None:
    body = {"sent_at": instant_text(ids.now_ms()), "entries": [shop.note()]}
    headers = shop.headers() | {"Sec-Fetch-Site": "cross-site", "Origin": "https://elsewhere.example"}
    response = shop.app.test_client().post("/api/v1/sync/push", json=body, headers=headers)
    assert response.get_json()["results"][0]["outcome"] == "stored"


def test_a_device_that_leaves_is_out(app: Flask, office: FlaskClient) -> None:
    phone, response = join(app, code(app, "join"))
    token = response.headers["Set-Cookie"].split("=", 1)[1].split(";")[0]
    left = phone.delete("/api/v1/session")
    assert left.status_code == 204 and "wayround_device=;" in left.headers["Set-Cookie"]
    phone.set_cookie(devices.COOKIE, token)
    assert_problem(phone.get("/api/v1/sync/changes"), 401)


def test_a_stranger_does_not_learn_the_shops_name(app: Flask, office: FlaskClient) -> None:
    session = app.test_client().get("/api/v1/session").get_json()
    assert session["first_run"] is False and session["shop"] is None


def test_asking_for_the_session_renews_the_cookie(office: FlaskClient) -> None:
    cookie = office.get("/api/v1/session").headers["Set-Cookie"]
    assert "Max-Age=34560000" in cookie


def test_the_last_use_of_a_device_is_noted(app: Flask, office: FlaskClient, clock: Callable[[int], None]) -> None:
    def seen() -> str:
        with app.app_context():
            return str(db.session.scalar(select(Device.last_seen_at)))

    before = seen()
    clock(moments.MINUTE)
    office.get("/api/v1/session")
    assert seen() == before
    clock(5 * moments.MINUTE)
    office.get("/api/v1/session")
    assert seen() > before
