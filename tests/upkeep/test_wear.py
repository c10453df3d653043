"""The wearing parts' document: read from the record as it counts today, few data said, bad batches refused."""

from __future__ import annotations

import json
from itertools import pairwise
from random import Random
from typing import Any

import pytest

from tests.conftest import Shop
from webapp.core.instants import instant_text, parse_instant
from webapp.database import db, writing
from webapp.records.faults import Refused
from webapp.records.folding import subject_entries
from webapp.setup import definitions
from webapp.setup.ids import new_id
from webapp.upkeep.lives import rows_of
from webapp.upkeep.wear import parts_document, share

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
            assert {row["outcome"] for row in answer.json["results"]} == {"stored"}, answer.json
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


def test_what_all_machines_share_may_be_read_once(shop: Shop) -> None:
    Saw(shop).lives(*LIVED).push()
    with shop.app.app_context():
        session = db.session()
        machine = definitions.get(session, "machine", shop.saw)
        assert machine is not None
        assert parts_document(session, machine, NOON, share(session, NOON)) == document(shop)
    assert document(shop, shop.mill) == {}


def test_a_part_never_changed_says_what_to_log(shop: Shop) -> None:
    found = blade(shop)
    assert (found["fitted"], found["lives"], found["fit"], found["left"]) == (None, [], None, None)
    assert found["said"][0].startswith("No change of it is in the record.")
    assert found["stock"]["say"] == "Never counted."


def test_four_lives_are_a_list_and_five_a_curve(shop: Shop) -> None:
    saw = Saw(shop).lives(*LIVED[:4]).push()
    few = blade(shop)
    assert few["fit"] is None and few["replacement"] is None and "too few for a curve" in few["said"][0]
    assert [life["lived"] for life in few["lives"]] == list(LIVED[:4])[::-1]
    assert (few["listed"]["ended"], few["listed"]["shortest"], few["listed"]["median"]) == (4, 310, 467.5)
    saw.lives(*LIVED[4:]).cut(200)
    saw.push()
    full = blade(shop)
    assert full["said"] == []
    assert full["unit"] == "in2" and full["by"] == "cut_area"
    assert full["fit"]["failed"] == 6 and full["fit"]["censored"] == 1
    assert full["fitted"]["lived"] == 200
    low, high = full["fit"]["b10_range"]
    assert low < full["fit"]["b10"] < high
    assert "five times in six" in full["fit"]["sure"], "seven lives: 90 % is too much to say"
    assert full["fit"]["method"] == "profile likelihood" and full["fit"]["follows"] == "well"
    assert full["left"]["left"] == sorted(full["left"]["left"]) and len(full["left"]["left"]) == 3
    assert full["fit"]["curve"][0] == [0, 1] and full["fit"]["steps"][-1][1] < 0.2


def test_reasons_decide_what_failed(shop: Shop) -> None:
    saw = Saw(shop).lives(*LIVED)
    saw.lives(500, reason="By the interval").lives(550, reason="Wrong for this work").push()
    found = blade(shop)
    assert [life["ended"] for life in found["lives"][:3]] == ["early", "early", "failed"]
    assert (found["listed"]["failed"], found["listed"]["early"]) == (6, 2)
    assert (found["fit"]["failed"], found["fit"]["censored"]) == (6, 2), "the new one has not run yet"


def test_a_voided_change_joins_two_lives_and_an_amended_reason_counts_as_amended(shop: Shop) -> None:
    saw = Saw(shop).lives(100, 200, 300)
    first = saw.entries[3]
    assert first["kind"] == "part.changed"
    last = saw.entries[-1]
    saw.push()
    saw.add("entry.voided", {"entry": first["id"], "why": "no change"})
    amended = last["body"] | {"reason": "By the interval", "material": "304"}
    saw.add("entry.amended", {"entry": last["id"], "kind": "part.changed", "body": amended, "why": "misheard"})
    saw.push()
    lives = blade(shop)["lives"]
    assert [(life["lived"], life["ended"]) for life in lives] == [(300, "early"), (300, "failed")]
    assert lives[0]["material"] == "304"


def every_life(shop: Shop) -> list[tuple[str, str]]:
    """From and to of each life, by the part's changes alone."""
    with shop.app.app_context():
        entries = [entry for _, _, entry in subject_entries(db.session(), f"machine:{shop.saw}")]
    times = [entry.at for entry in entries if entry is not None and entry.kind == "part.changed"]
    return list(pairwise(times))[::-1]


def test_lives_older_than_the_state_keeps_are_found_past_checkpoints(shop: Shop) -> None:
    saw, rng = Saw(shop), Random("old lives")
    saw.change("Fitted new")
    for number in range(75):
        for _ in range(rng.choice([0, 1, 14])):
            saw.cut(rng.randint(1, 60))
        change = saw.change("Worn out" if number % 4 else "By the interval")
        if number == 3:
            voided = change
    saw.push()
    saw.add("entry.voided", {"entry": voided["id"], "why": "typed twice"})
    saw.push()
    lives = blade(shop)["lives"]
    assert [(life["from"], life["to"]) for life in lives] == every_life(shop)
    assert len(lives) == 74
    with shop.app.app_context():
        session = db.session()
        kept = definitions.get(session, "machine", shop.saw)
        assert kept is not None
        total = sum(life["lived"] for life in lives)
        added = [e for _, _, e in subject_entries(session, f"machine:{shop.saw}") if e and e.kind == "meter.added"]
    assert total == pytest.approx(sum(entry.body["amount"] for entry in added))


def test_only_the_newest_hundred_lives_are_counted_and_that_is_said(shop: Shop) -> None:
    saw = Saw(shop)
    saw.lives(*(100 + number for number in range(104))).push()
    found = blade(shop)
    assert [life["lived"] for life in found["lives"]] == [203 - number for number in range(100)]
    assert "Only the newest 100 lives are counted." in found["said"]
    with shop.app.app_context():
        assert len(rows_of(db.session(), shop.saw, "nothing", {"parts": {}})) == 0


def test_costs_give_an_age_and_without_them_the_page_asks(shop: Shop) -> None:
    Saw(shop).lives(*LIVED).push()
    assert blade(shop)["replacement"] == {
        "age": None,
        "say": "Give the part's planned and unplanned cost to see at what age changing it is cheapest.",
    }
    price(shop, planned_cost=40, unplanned_cost=400)
    found = blade(shop)["replacement"]
    low, high = found["age_range"]
    assert low < found["age"] < high
    assert 0 < found["saving"] < 1 and found["cost_rate"] < found["run_cost_rate"]
    assert found["to_go"] == found["age"] and found["say"].endswith("in2 to go.")
    price(shop, planned_cost=40, unplanned_cost=40)
    assert blade(shop)["replacement"]["say"].startswith("Run it until it is worn or broken.")


def test_grades_and_materials_stand_side_by_side(shop: Shop) -> None:
    saw = Saw(shop).lives(*LIVED, grade="M42", material="C36000")
    saw.lives(150, 170, grade="carbon", material="304").push()
    found = blade(shop)
    # The grade noted with a change is that of the blade fitted then: the first carbon blade is the one after it.
    assert {key: group["listed"]["ended"] for key, group in found["by_grade"].items()} == {"M42": 7, "carbon": 1}
    assert {key: group["listed"]["median"] for key, group in found["by_material"].items()} == {
        "C36000": 467.5,
        "304": 160,
    }
    assert found["by_grade"]["M42"]["fit"] is not None and found["by_grade"]["carbon"]["fit"] is None
    assert found["fitted"]["grade"] == "carbon"


def test_the_usual_grade_stands_where_none_is_noted(shop: Shop) -> None:
    Saw(shop).lives(100, 200).push()
    price(shop, grade="M42")
    assert {life["grade"] for life in blade(shop)["lives"]} == {"M42"}


def test_the_batch_log_says_what_a_life_cut_mostly_where_nobody_noted_it(shop: Shop) -> None:
    saw = Saw(shop)
    saw.change("Fitted new")
    kept: list[Entry] = []
    for life in ({"C36000": 300, "304": 100}, {"304": 250}, {"304": 50, "C36000": 50}, {"C14500": 80}):
        for alloy, amount in life.items():
            kept.append(saw.add("batch.run", {"adds": {shop.area: amount}, "alloy": alloy}))
        saw.change("Worn out", **({"material": "whatever came"} if "C14500" in life else {}))
    saw.cut(70)
    saw.change("Worn out")
    saw.push()
    assert [life.get("material") for life in blade(shop)["lives"]] == [None, "whatever came", "mixed", "304", "C36000"]
    saw.add("entry.voided", {"entry": kept[0]["id"], "why": "another saw's"})
    saw.push()
    assert blade(shop)["lives"][-1]["material"] == "304"
    later = blade(shop, now=NOON + 200 * DAY)
    assert "material" not in later["lives"][-1], "the batch log is looked at for a year, not for ever"


def test_lives_that_grow_shorter_are_said(shop: Shop) -> None:
    Saw(shop).lives(900, 800, 700, 600, 500).push()
    found = blade(shop)["trend"]
    assert (found["word"], found["reversals"], found["pairs"]) == ("shorter", 0, 10)


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


def test_costs_and_lead_times_of_nought_are_refused(shop: Shop) -> None:
    with pytest.raises(Refused, match="planned_cost"):
        price(shop, planned_cost=0)
    with pytest.raises(Refused, match="lead_days"):
        redefine(shop, "item", shop.blades, lambda body: body | {"lead_days": 0})


def test_a_part_without_a_meter_lives_by_days(shop: Shop) -> None:
    redefine(shop, "machine", shop.saw, lambda body: body | {"parts": [body["parts"][0] | {"meter": None}]})
    saw = Saw(shop, NOON - 100 * DAY)
    saw.change("Fitted new")
    saw.at += 30 * DAY - HOUR
    saw.change("Broken")
    saw.push()
    found = blade(shop)
    assert (found["unit"], found["lives"][0]["lived"]) == ("days", 30)
    assert found["fitted"]["lived"] == pytest.approx(70, abs=0.1)


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
