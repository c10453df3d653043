"""Spares and break-in: when to order, until when the drawer lasts, where a new blade stands."""

from __future__ import annotations

from typing import Any

import pytest

from tests.conftest import Shop
from tests.upkeep.saw import DAY, HOUR, NOON, Saw, blade, price, redefine
from webapp.core.instants import instant_text
from webapp.database import writing
from webapp.records.faults import Refused
from webapp.setup import definitions


def test_costs_and_lead_times_of_nought_are_refused(shop: Shop) -> None:
    with pytest.raises(Refused, match="planned_cost"):
        price(shop, planned_cost=0)
    with pytest.raises(Refused, match="lead_days"):
        redefine(shop, "item", shop.blades, lambda body: body | {"lead_days": 0})


def test_the_drawer_says_when_to_order_and_until_when_it_lasts(shop: Shop) -> None:
    redefine(shop, "item", shop.blades, lambda body: body | {"lead_days": 21, "reorder_at": 1})
    saw = Saw(shop, NOON - 360 * DAY)
    shop.push(shop.entry("stock.counted", {"item": shop.blades, "count": 20}, machine=None, at=instant_text(saw.at)))
    for number in range(18):
        saw.at += 20 * DAY - HOUR if number else 10 * DAY
        saw.change("Worn out", item=shop.blades, used=1)
    saw.push()
    found = blade(shop)["stock"]
    assert (found["count"], found["use"]["pieces"], found["use"]["model"]) == (2, 18, "Poisson")
    assert found["use"]["a_week"] == pytest.approx(0.35, abs=0.01)
    # 1.05 pieces in a lead time: P(X <= 2) = 0.91, P(X <= 3) = 0.98
    assert (found["reorder_point"], found["order_now"]) == (3, True)
    early, middle, late = found["lasts"]["dates"]
    assert "2026-03-02" <= early < middle < late
    assert "order at 3" in found["say"] and "lasts until about" in found["say"]
    assert found["said"] == []


def test_what_is_on_order_counts_until_it_has_come(shop: Shop) -> None:
    """Inventory position (on hand and on order) against the reorder point: 1 left at 2 says order, with 4 coming not."""
    redefine(shop, "item", shop.blades, lambda body: body | {"reorder_at": 2})

    def put(kind: str, days_ago: int, **body: object) -> dict[str, Any]:
        at = instant_text(NOON - days_ago * DAY)
        shop.push(shop.entry(kind, {"item": shop.blades} | body, machine=None, at=at))
        return blade(shop)["stock"]

    found = put("stock.counted", 9, count=1)
    assert (found["ordered"], found["order_now"]) == (None, True)
    found = put("stock.ordered", 8, count=4, expected="2026-03-01")
    assert (found["ordered"], found["order_now"]) == ({"count": 4, "expected": "2026-03-01"}, False)
    assert "4 on order, expected 1 Mar 2026" in found["say"]
    assert any(text.startswith("What is on order was expected on 1 Mar 2026") for text in found["said"])
    found = put("stock.counted", 7, count=1)
    assert found["order_now"] is False, "a count alone leaves what is on order"
    found = put("stock.counted", 6, count=3, arrived=2)
    assert (found["count"], found["ordered"]["count"], found["order_now"]) == (3, 2, False)
    found = put("stock.counted", 5, count=2, arrived=2)
    assert (found["ordered"], found["order_now"]) == (None, True)


def test_a_drawer_below_nought_asks_for_a_count(shop: Shop) -> None:
    saw = Saw(shop, NOON - 20 * DAY)
    shop.push(shop.entry("stock.counted", {"item": shop.blades, "count": 1}, machine=None, at=instant_text(saw.at)))
    saw.change(item=shop.blades)
    saw.change(item=shop.blades)
    saw.push()
    found = blade(shop)["stock"]
    assert (found["count"], found["lasts"]["days"]) == (-1, [0, 0, 0])
    assert found["order_now"] is True and found["reorder_point"] is None
    assert [text.split(":")[0] for text in found["said"]] == [
        "The record has fewer than none",
        "Give the days from order to delivery on the item, and the reorder point is worked out from use.",
        "Only 20 days of record",
    ]


def break_in(shop: Shop) -> str:
    rule = {"after": "part.changed", "part": "blade", "meter": "cut_area", "at": [50]}
    body = {"name": "End the break-in", "machine": shop.saw, "rule": rule, "start": "2025-01-05", "why": "raw teeth"}
    with shop.app.app_context(), writing() as session:
        source = "amadamca.com: half feed and half speed for the first 50 to 100 sq in"
        return str(definitions.create(session, "task", body | {"source": source}, shop.owner)["id"])


def test_break_in_runs_is_to_be_ended_and_is_over(shop: Shop) -> None:
    task = break_in(shop)
    assert blade(shop)["break_in"] == []
    saw = Saw(shop, NOON - 10 * DAY)
    saw.change("Fitted new")
    saw.cut(30)
    saw.push()
    (found,) = blade(shop)["break_in"]
    assert (found["state"], found["since"], found["next"], found["task"]) == ("breaking in", 30, 50, task)
    assert found["say"] == "30 of 50 in2 since the change." and "amadamca" in found["source"]
    saw.cut(30)
    saw.push()
    assert blade(shop)["break_in"][0]["state"] == "to be ended"
    saw.add("task.done", {"task": task})
    saw.push()
    assert blade(shop)["break_in"][0]["state"] == "over"
    saw.change("Broken")
    saw.push()
    assert blade(shop)["break_in"][0] | {"say": "", "source": ""} == found | {"since": 0, "say": "", "source": ""}
