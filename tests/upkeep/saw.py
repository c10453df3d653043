"""A band saw's story told forwards, and its parts' document: what the tests of wearing parts share."""

from __future__ import annotations

import json
from typing import Any

from tests.conftest import Shop
from webapp.core.instants import instant_text, parse_instant
from webapp.database import db, writing
from webapp.setup import definitions
from webapp.upkeep.wear import parts_document

NOON = parse_instant("2026-03-02T18:00:00Z")
DAY, HOUR = 86_400_000, 3_600_000
LIVED = (310, 480, 455, 620, 390, 540)

Entry = dict[str, Any]


class Saw:
    """The band saw's story, told forwards: each call is an entry an hour after the one before."""

    def __init__(self, shop: Shop, start: int = NOON - 300 * DAY) -> None:
        self.shop, self.at, self.entries = shop, start, list[Entry]()

    def add(self, kind: str, body: dict[str, Any], after: int = HOUR) -> Entry:
        self.at += after
        entry = self.shop.entry(kind, body, machine=self.shop.saw, at=instant_text(self.at))
        self.entries.append(entry)
        return entry

    def cut(self, amount: float, **more: Any) -> Entry:
        return self.add("meter.added", {"meter": self.shop.area, "amount": amount}, **more)

    def change(self, reason: str = "Worn out", **noted: Any) -> Entry:
        return self.add("part.changed", {"part": self.shop.blade, "reason": reason, **noted})

    def lives(self, *lengths: float, reason: str = "Worn out", **noted: Any) -> Saw:
        """Fit a blade, then wear out one of each length."""
        if not any(entry["kind"] == "part.changed" for entry in self.entries):
            self.change("Fitted new", **{key: noted[key] for key in noted if key == "grade"})
        for length in lengths:
            self.cut(length / 2)
            self.cut(length / 2)
            self.change(reason, **noted)
        return self

    def push(self) -> Saw:
        for at in range(0, len(self.entries), 400):
            answer = self.shop.push(*self.entries[at : at + 400])
            assert [row for row in answer.json["results"] if row["outcome"] != "stored"] == []
        self.entries.clear()
        return self


def document(shop: Shop, machine: str | None = None, now: int = NOON) -> dict[str, Any]:
    with shop.app.app_context():
        session = db.session()
        found = definitions.get(session, "machine", machine or shop.saw)
        assert found is not None
        made = parts_document(session, found, now)
    json.dumps(made, allow_nan=False)
    return made


def blade(shop: Shop, **more: Any) -> dict[str, Any]:
    return document(shop, **more)[shop.blade]


def redefine(shop: Shop, type_: str, id_: str, change: Any) -> None:
    with shop.app.app_context(), writing() as session:
        now = definitions.get(session, type_, id_)
        assert now is not None
        body = {key: value for key, value in now.items() if key not in ("id", "revision", "retired")}
        definitions.update(session, type_, id_, change(body), now["revision"], shop.owner)


def price(shop: Shop, **more: Any) -> None:
    redefine(shop, "machine", shop.saw, lambda body: body | {"parts": [body["parts"][0] | more]})
