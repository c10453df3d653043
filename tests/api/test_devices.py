"""The owner's list of devices, and one-time codes with the address that a phone opens."""

from __future__ import annotations

import threading
import xml.etree.ElementTree as ET
from dataclasses import replace
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from flask import Flask
from flask.testing import FlaskClient

from tests.conftest import Shop
from tests.problem import assert_problem
from webapp.config import Settings
from webapp.database import writing
from webapp.security import addresses, codes, devices
from webapp.security.tokens import ALPHABET, new_code


@pytest.fixture
def owner(shop: Shop) -> FlaskClient:
    """A browser on which the owner has signed in."""
    client = shop.app.test_client()
    with shop.app.app_context(), writing() as session:
        device, token = devices.enrol(session, "Office", "browser")
        devices.let_owner_in(session, device.id, shop.owner)
    client.set_cookie(devices.COOKIE, token)
    client.set_cookie(devices.COOKIE, token, domain="shop-pc.local")
    return client


def test_the_list_tells_devices_apart_and_hides_their_secrets(shop: Shop, owner: FlaskClient) -> None:
    shop.push(shop.note(seq=1), shop.note(seq=4))
    rows = {row["name"]: row for row in owner.get("/api/v1/devices").get_json()}
    assert set(rows) == {"script", "Office"}
    assert rows["Office"]["this"] is True and rows["script"]["this"] is False
    assert rows["script"]["seq_missing"] == [[2, 3]]
    assert not [key for row in rows.values() for key in row if "hash" in key or "token" in key]


def test_a_device_that_is_closed_out_is_gone_at_once(shop: Shop, owner: FlaskClient) -> None:
    assert owner.delete(f"/api/v1/devices/{shop.device}").status_code == 204
    assert_problem(shop.get("/sync/changes"), 401)
    assert [row["name"] for row in owner.get("/api/v1/devices").get_json()] == ["Office"]
    assert_problem(owner.delete(f"/api/v1/devices/{shop.device}"), 404, "id")


def test_what_a_closed_out_device_sent_stays(shop: Shop, owner: FlaskClient) -> None:
    shop.push(shop.note("before it was lost"))
    owner.delete(f"/api/v1/devices/{shop.device}")
    entries = owner.get("/api/v1/sync/snapshot").get_json()["entries"]
    assert "before it was lost" in [entry["body"].get("text") for entry in entries]


def test_the_join_address_carries_the_code(owner: FlaskClient) -> None:
    made = owner.post("/api/v1/devices/codes", base_url="http://shop-pc.local:8443").get_json()
    parts = urlsplit(made["url"])
    assert (parts.scheme, parts.netloc) == ("http", "shop-pc.local:8443")
    assert parts.fragment == f"/join?code={made['code']}"
    assert made["expires_at"].endswith("Z")


def test_the_qr_code_is_svg_with_a_quiet_zone_and_no_script(owner: FlaskClient) -> None:
    svg = ET.fromstring(owner.post("/api/v1/devices/codes").get_json()["qr"])
    assert svg.tag.endswith("svg")
    width = int(svg.attrib["viewBox"].split()[2])
    # ISO/IEC 18004: a symbol has 17 + 4 x version modules a side; the quiet zone is 4 modules on each side.
    assert (width - 8 - 17) % 4 == 0 and 1 <= (width - 8 - 17) // 4 <= 10
    assert {child.tag.rpartition("}")[2] for child in svg} <= {"path"}


def test_codes_have_no_letters_that_look_alike() -> None:
    assert not set(ALPHABET) & set("0OQD1IL2Z5S8BUV")
    assert len(set(ALPHABET)) == len(ALPHABET) == 21
    made = {new_code(8) for _ in range(2000)}
    assert len(made) == 2000 and all(len(text) == 9 and text[4] == "-" for text in made)


def test_of_many_browsers_with_one_code_exactly_one_gets_in(either_app: Flask) -> None:
    with either_app.app_context(), writing() as session:
        code = codes.make_code(session, "join").text
    ready, statuses = threading.Barrier(4), []

    def join() -> None:
        client = either_app.test_client()
        ready.wait()
        body = {"code": code, "device_name": "phone"}
        statuses.append(client.post("/api/v1/session/join", json=body).status_code)

    threads = [threading.Thread(target=join) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(statuses) == [200, 403, 403, 403]


@pytest.mark.parametrize(
    ("over", "host", "wanted"),
    [
        ({}, "shop-pc.local:8443", "https://shop-pc.local:8443"),
        ({}, "localhost:8443", "https://192.168.7.20:8443"),
        ({}, "127.0.0.1:8443", "https://192.168.7.20:8443"),
        ({"host": "10.1.2.3"}, "localhost:8443", "https://10.1.2.3:8443"),
        ({"address": "https://shop.example"}, "localhost:8443", "https://shop.example"),
        ({"plain": True}, "localhost:8443", "https://localhost:8443"),
        ({}, "[fd00::2]:8443", "https://[fd00::2]:8443"),
        ({}, "shop.example", "https://shop.example"),
    ],
)
def test_a_phone_is_given_an_address_that_it_can_reach(
    monkeypatch: pytest.MonkeyPatch, over: dict[str, Any], host: str, wanted: str
) -> None:
    monkeypatch.setattr(addresses, "lan_address", lambda: "192.168.7.20")
    settings = replace(Settings(data=Path("unused")), **over)
    assert addresses.base_for_others(settings, "https", host) == wanted
