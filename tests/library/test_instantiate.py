"""A starter machine stood in a shop: fresh ids, every reference resolved, bodies that set-up takes."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from tests.library.every import KEYS, UNITS
from webapp import library
from webapp.core.due import dates_for, judge
from webapp.setup.ids import new_id
from webapp.setup.schemas import SCHEMAS

START = date(2027, 1, 9)  # a Saturday: no weekly or monthly round falls on it
Made = list[tuple[str, dict[str, Any]]]
each_shop = pytest.mark.parametrize(
    "made",
    [
        pytest.param(library.instantiate(key, "Ours", None, new_id, start=START, units=units), id=f"{key}-{units}")
        for key in KEYS
        for units in UNITS
    ],
)


def of(made: Made, type_: str) -> list[dict[str, Any]]:
    return [body for found, body in made if found == type_]


def ids(value: Any) -> list[str]:
    """Every value under the name `id`, however deep."""
    if isinstance(value, dict):
        own = [value["id"]] if "id" in value else []
        return own + [found for inner in value.values() for found in ids(inner)]
    return [found for inner in value for found in ids(inner)] if isinstance(value, list) else []


@each_shop
def test_set_up_takes_every_body(made: Made) -> None:
    for type_, body in made:
        plain = {name: value for name, value in body.items() if name != "id"}
        assert SCHEMAS[type_].validate(plain) == {}, body["name"]


@each_shop
def test_ids_are_fresh_and_references_resolved(made: Made) -> None:
    every = ids([body for _, body in made])
    assert len(every) == len(set(every))
    (machine,) = of(made, "machine")
    items, lists = ({body["id"] for body in of(made, type_)} for type_ in ("item", "checklist"))
    assert made[0] == ("machine", machine)
    assert all(body["machine"] == machine["id"] for body in (body for type_, body in made[1:]))
    assert {part["item"] for part in machine["parts"] if part.get("item")} <= items
    assert {task["checklist"] for task in of(made, "task") if task["checklist"]} <= lists


@each_shop
def test_no_local_key_and_no_other_unit_is_left(made: Made) -> None:
    def names(value: Any) -> set[str]:
        if isinstance(value, dict):
            return set(value) | {name for inner in value.values() for name in names(inner)}
        return {name for inner in value for name in names(inner)} if isinstance(value, list) else set()

    assert not {"key", "metric"} & names([body for _, body in made])


def test_two_of_the_same_share_nothing() -> None:
    first, second = (library.instantiate("band_saw", name, None, new_id, start=START) for name in ("A", "B"))
    assert not set(ids([body for _, body in first])) & set(ids([body for _, body in second]))
    of(first, "task")[0]["rule"].clear()
    of(first, "machine")[0]["cautions"].clear()
    assert of(second, "task")[0]["rule"] == {"each": "start-up"}
    assert library.machine("band_saw").tasks[0].rule == {"each": "start-up"}


def test_fixed_dates_are_anchored_at_the_start() -> None:
    made = library.instantiate("cnc_mill", "Mill", None, new_id, start=START)
    weekly = next(task for task in of(made, "task") if task["name"] == "Weekly round")
    assert weekly["rule"] == {"rrule": "FREQ=WEEKLY;BYDAY=MO", "anchor": "2027-01-09"}
    assert all(task["start"] == "2027-01-09" for task in of(made, "task"))


def test_the_machine_keeps_its_name_bay_and_where_figures_come_from() -> None:
    bay = new_id()
    (machine,) = of(library.instantiate("lathe", "Long lathe", bay, new_id, start=START), "machine")
    assert (machine["name"], machine["bay"], machine["starter"]) == ("Long lathe", bay, "lathe")
    assert "Headstock oil: capacity is common practice, no source" in machine["notes"]
    assert all("source" not in fluid for fluid in machine["fluids"])


def test_a_metric_shop_gets_metric_meters_and_rules() -> None:
    made = library.instantiate("band_saw", "Saw", None, new_id, start=START, units="metric")
    assert {meter["unit"] for meter in of(made, "machine")[0]["meters"]} == {"sq cm", "cuts"}
    broken_in = next(task for task in of(made, "task") if task["name"] == "End the blade's break-in")
    assert broken_in["rule"]["at"] == [320]


@each_shop
def test_a_machine_just_stood_owes_its_start_up_round_and_nothing_else(made: Made) -> None:
    """Its history begins today: no interval has run, nothing was read, nothing was changed."""
    for task in of(made, "task"):
        facts = {
            "today": START.isoformat(),
            "in_service": True,
            "start": task["start"],
            "done": None,
            "deferred_to": None,
            "meters": {meter["kind"]: 0.0 for meter in of(made, "machine")[0]["meters"]},
            "readings": {},
            "done_today": False,
            "used_today": False,
            "events": {},
            "meter_start": {},
            "dates": [day.isoformat() for day in dates_for(task["rule"], "America/New_York", START)],
        }
        state = judge(task["rule"], facts).state
        assert state == "due" if task["rule"] == {"each": "start-up"} else state in ("resting", "near"), task["name"]
