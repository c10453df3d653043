"""What is kept between requests is what the record holds: after late, amended and voided entries, and a restore."""

from __future__ import annotations

import random
from typing import Any

import pytest

from tests.conftest import Shop
from webapp.core.instants import instant_text
from webapp.database import db, writing
from webapp.records.append import head
from webapp.upkeep import recent

KINDS = ("meter.added", "note.made")
BEGIN = 1_780_000_000_000
HOUR = 3_600_000


@pytest.fixture(autouse=True)
def _nothing_kept() -> None:
    recent._kept.clear()


def kept(shop: Shop, after: int = BEGIN, machine: str | None = None) -> list[tuple[Any, ...]]:
    with shop.app.app_context():
        rows = recent.entries(db.session(), KINDS, after, machine)
        return [(ms, entry.id, entry.kind, entry.body) for ms, entry in rows]


def read(shop: Shop, after: int = BEGIN, machine: str | None = None) -> list[tuple[Any, ...]]:
    """The same, read anew."""
    recent._kept.clear()
    return kept(shop, after, machine)


def push(shop: Shop, *entries: dict[str, Any]) -> None:
    assert {row["outcome"] for row in shop.push(*entries).get_json()["results"]} == {"stored"}


def added(shop: Shop, hour: int, amount: float = 1.0, **over: Any) -> dict[str, Any]:
    return shop.added(amount, at=instant_text(BEGIN + hour * HOUR), **over)


@pytest.mark.parametrize("seed", range(6))
def test_whatever_comes_in_whatever_order_it_is_as_if_read_anew(shop: Shop, seed: int) -> None:
    rng = random.Random(seed)
    made: list[dict[str, Any]] = []
    read(shop)
    for _ in range(25):
        now = instant_text(BEGIN + 900 * HOUR)
        target = rng.choice(made)["id"] if made else None
        choice = rng.choice(("add", "add", "note", "amend", "void", "early", "ahead"))
        if choice == "amend" and target:
            body = {
                "entry": target,
                "kind": "meter.added",
                "body": {"meter": shop.spindle, "amount": rng.randint(1, 99)},
            }
            push(shop, shop.entry("entry.amended", body | {"why": "misread"}, at=now))
        elif choice == "void" and target:
            push(shop, shop.entry("entry.voided", {"entry": target, "why": "twice"}, at=now))
        elif choice == "note":
            push(
                shop,
                shop.note(
                    at=instant_text(BEGIN + rng.randint(0, 800) * HOUR), machine=rng.choice([shop.mill, shop.saw])
                ),
            )
        elif choice == "ahead":  # voided before it came
            one = added(shop, rng.randint(0, 800))
            push(shop, shop.entry("entry.voided", {"entry": one["id"], "why": "never was"}, at=now), one)
        else:
            one = added(shop, rng.randint(-90, -1) if choice == "early" else rng.randint(0, 800), rng.randint(1, 9))
            made.append(one)
            push(shop, one)
        if rng.random() < 0.6:
            held = kept(shop), kept(shop, BEGIN + 300 * HOUR), kept(shop, machine=shop.saw)
            assert held == (read(shop), read(shop, BEGIN + 300 * HOUR), read(shop, machine=shop.saw))


def test_asking_further_back_reads_further_back_and_asking_later_lets_go(shop: Shop) -> None:
    push(shop, added(shop, -2), added(shop, 5), added(shop, 2000))
    assert len(kept(shop)) == 2
    assert len(kept(shop, BEGIN - 3 * HOUR)) == 3
    assert len(kept(shop, BEGIN + 1000 * HOUR)) == 1
    (held,) = recent._kept[next(iter(recent._kept))].values()
    assert len(held.found) == 1
    assert len(kept(shop)) == 2


def test_another_epoch_begins_anew(shop: Shop) -> None:
    push(shop, added(shop, 1), added(shop, 2))
    assert len(kept(shop)) == 2
    with shop.app.app_context():
        with writing() as session:
            head(session).epoch = "restored"
        held = next(iter(recent._kept.values()))
        held[KINDS, None].found.clear()
        held[KINDS, None].order.clear()
    assert len(kept(shop)) == 2


def test_what_is_given_out_does_not_change_what_is_kept(shop: Shop) -> None:
    push(shop, added(shop, 1))
    with shop.app.app_context():
        recent.entries(db.session(), KINDS, BEGIN).clear()
    assert len(kept(shop)) == 1
