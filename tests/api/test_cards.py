"""The library's cards: whole, compressed, sent once."""

from __future__ import annotations

import gzip
import json

from tests.conftest import Shop
from webapp.library.cards import cards

LONGEST = 64 * 1024
"""More than this, compressed, a phone on a shop's edge of signal should not be asked to fetch with the first sync."""


def test_the_cards_are_those_of_the_library(shop: Shop) -> None:
    answer = shop.get("/library/cards")
    assert answer.status_code == 200 and answer.content_type == "application/json"
    assert answer.get_json() == json.loads(json.dumps(cards()))
    # Free-cutting brass: lead 2.5 to 3.0 % in the older tables of CDA, 2.5 to 3.7 % in others (from memory).
    lead = next(part for part in answer.get_json()["alloys"]["C36000"]["composition"] if part["element"] == "Pb")
    assert lead["low"] == 2.5 and 3.0 <= lead["high"] <= 3.7


def test_they_come_compressed(shop: Shop) -> None:
    headers = shop.headers() | {"Accept-Encoding": "gzip"}
    answer = shop.app.test_client().get("/api/v1/library/cards", headers=headers)
    assert answer.headers["Content-Encoding"] == "gzip"
    assert json.loads(gzip.decompress(answer.data))["shape"] == cards()["shape"]
    assert len(answer.data) < LONGEST


def test_what_did_not_change_is_not_sent_again(shop: Shop) -> None:
    for encoding in ("identity", "gzip"):
        headers = shop.headers() | {"Accept-Encoding": encoding}
        client = shop.app.test_client()
        tag = client.get("/api/v1/library/cards", headers=headers).headers["ETag"]
        again = client.get("/api/v1/library/cards", headers=headers | {"If-None-Match": tag})
        assert (again.status_code, again.data) == (304, b"") and again.headers["ETag"] == tag
        other = client.get("/api/v1/library/cards", headers=headers | {"If-None-Match": 'W/"an older release"'})
        assert other.status_code == 200


def test_they_are_for_devices_of_the_shop(shop: Shop) -> None:
    assert shop.app.test_client().get("/api/v1/library/cards").status_code == 401
