"""Numbered cutters live by the minutes of the batch log; batches and changes that cannot be are refused."""

from __future__ import annotations

from typing import Any

import pytest

from tests.conftest import Shop
from tests.upkeep.saw import DAY, HOUR, NOON, Entry, document
from webapp.core.instants import instant_text
from webapp.database import writing
from webapp.setup import definitions
from webapp.setup.ids import new_id


def cutters(shop: Shop) -> tuple[str, str, str, str]:
    """A mill with two numbered cutters: its id, its meter and the cutters."""
    ids = [new_id() for _ in range(4)]
    body = {
        "name": "Mill 2",
        "meters": [{"id": ids[1], "kind": "spindle_hours", "name": "Spindle hours", "unit": "h"}],
        "parts": [
            {"id": id_, "kind": "cutter", "name": name, "meter": "spindle_hours"}
            for id_, name in zip(ids[2:], ("T1", "T2"), strict=True)
        ],
    }
    with shop.app.app_context(), writing() as session:
        definitions.create(session, "machine", body, shop.owner, id_=ids[0])
    return ids[0], ids[1], ids[2], ids[3]


def test_cutters_live_by_the_batch_logs_minutes(shop: Shop) -> None:
    mill, hours, first, second = cutters(shop)
    at = NOON - 50 * DAY

    def entry(kind: str, body: dict[str, Any]) -> Entry:
        nonlocal at
        at += HOUR
        return shop.entry(kind, body, machine=mill, at=instant_text(at))

    def batch(loads: int, named: dict[str, float]) -> Entry:
        return entry("batch.run", {"adds": {hours: loads * 0.25}, "loads": loads, "cutters": named})

    fitted = {"edge": "new", "tool": "1", "stick_out": {"value": 1.25, "unit": "in"}, "grade": "K10"}
    shop.push(entry("part.changed", {"part": first, "reason": "Fitted new", **fitted}))
    stored = shop.push(batch(20, {first: 3.5, second: 1}), batch(10, {first: 3}))
    assert [row["outcome"] for row in stored.json["results"]] == ["stored", "stored"]
    shop.push(entry("part.changed", {"part": first, "reason": "Broken", "material": "304", "edge": "re-ground"}))
    shop.push(batch(4, {first: 2.5}))
    found = document(shop, mill)
    life = found[first]["lives"][0]
    assert (found[first]["by"], found[first]["unit"]) == ("minutes", "min")
    assert (life["lived"], life["ended"], life["edge"], life["tool"]) == (100, "failed", "new", "1")
    assert (life["stick_out"], life["grade"], life["material"]) == ({"value": 1.25, "unit": "in"}, "K10", "304")
    assert (found[first]["fitted"]["lived"], found[first]["fitted"]["edge"]) == (10, "re-ground")
    assert found[second]["fitted"] is None, "nobody noted when it was fitted, so its minutes are not a life"


def test_a_life_that_no_batch_counted_is_left_out_and_said(shop: Shop) -> None:
    mill, hours, first, _ = cutters(shop)
    bodies: list[tuple[str, dict[str, Any]]] = [
        ("part.changed", {"part": first, "reason": "Fitted new"}),
        ("part.changed", {"part": first, "reason": "Worn out"}),
        ("batch.run", {"adds": {hours: 1}, "loads": 3, "cutters": {first: 4}}),
        ("part.changed", {"part": first, "reason": "Worn out"}),
    ]
    for number, (kind, body) in enumerate(bodies):
        shop.push(shop.entry(kind, body, machine=mill, at=instant_text(NOON - DAY + number * HOUR)))
    found = document(shop, mill)[first]
    assert [life["lived"] for life in found["lives"]] == [12, None]
    assert found["said"][0] == "1 life has no length, for no batch named the cutter; left out."
    assert found["listed"]["ended"] == 1
    assert found["fitted"]["lived"] == 0


def refusal(shop: Shop, machine: str, body: dict[str, Any]) -> dict[str, str]:
    answer = shop.push(shop.entry("batch.run", body, machine=machine, at=instant_text(NOON)))
    (row,) = answer.json["results"]
    assert row["outcome"] == "refused"
    (fault,) = row["problem"]["errors"]
    return dict(fault)


def test_batches_whose_cutters_cannot_be_are_refused(shop: Shop) -> None:
    mill, hours, first, _ = cutters(shop)
    adds = {"adds": {hours: 1}}
    assert refusal(shop, mill, adds | {"loads": 2, "cutters": {shop.blade: 3}}) == {
        "field": f"body.cutters.{shop.blade}",
        "problem": "is a part of another machine",
        "mend": "choose a part of the machine named",
    }
    assert "is no part known" in refusal(shop, mill, adds | {"loads": 2, "cutters": {hours: 3}})["problem"]
    assert refusal(shop, mill, adds | {"cutters": {first: 3}})["field"] == "body.loads"
    assert refusal(shop, mill, adds | {"loads": 2, "cutters": {first: 0}}) == {
        "field": f"body.cutters.{first}",
        "problem": "is 0",
        "mend": "send the minutes it cuts in a load, or leave the cutter out",
    }
    assert refusal(shop, mill, adds | {"loads": 2, "cutters": {first: -1}})["field"] == f"body.cutters.{first}"


@pytest.mark.parametrize(
    ("noted", "field"),
    [
        ({"edge": "sharpish"}, "body.edge"),
        ({"stick_out": {"value": 0, "unit": "in"}}, "body.stick_out.value"),
        ({"stick_out": {"value": 2, "unit": "ft"}}, "body.stick_out.unit"),
        ({"grade": " "}, "body.grade"),
    ],
)
def test_notes_on_a_change_that_cannot_be_are_refused(shop: Shop, noted: dict[str, Any], field: str) -> None:
    body = {"part": shop.blade, "reason": "dull", **noted}
    answer = shop.push(shop.entry("part.changed", body, machine=shop.saw, at=instant_text(NOON)))
    (row,) = answer.json["results"]
    assert row["problem"]["errors"][0]["field"] == field
