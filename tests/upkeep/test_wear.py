"""The wearing parts' document: lives read from the record as it counts today; few data said."""

from __future__ import annotations

from itertools import pairwise
from random import Random

import pytest

from tests.conftest import Shop
from tests.upkeep.saw import DAY, HOUR, LIVED, NOON, Entry, Saw, blade, document, price, redefine
from webapp.database import db
from webapp.records.folding import subject_entries
from webapp.setup import definitions
from webapp.upkeep.lives import rows_of
from webapp.upkeep.wear import parts_document, share


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
    half = next(row for row in full["fit"]["band"] if row["surviving"] == 0.5)
    assert [half["low"], half["high"]] == full["fit"]["median_range"]


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


@pytest.mark.parametrize("seed", range(10))
def test_whatever_the_record_holds_the_document_is_plain_json_and_its_lives_are_a_chain(shop: Shop, seed: int) -> None:
    """Counters step back, parts are changed twice in one ms and live for nothing, entries are voided, drawers run short."""
    rng, saw = Random(f"story {seed}"), Saw(shop)
    price(shop, planned_cost=rng.choice([1, 40]), unplanned_cost=rng.choice([1, 400]))
    reasons, face = ["Worn out", "Broken", "By the interval", "not worn yet", "?"], 0
    for _ in range(rng.choice([3, 40, 160])):
        after = rng.choice([0, 0, HOUR, 30 * HOUR])
        what = rng.randrange(6)
        if what == 0:
            saw.cut(rng.choice([0.001, 3, 700, 1e6]), after=after)
        elif what == 1:
            saw.add("meter.read", {"meter": shop.area, "value": (face := face + rng.randrange(30))}, after)
        elif what == 2 and saw.entries:
            saw.add("entry.voided", {"entry": rng.choice(saw.entries)["id"], "why": "typed wrong"}, after)
        elif what == 3:
            batch = {"adds": {shop.area: rng.random()}, "loads": rng.randrange(3), "cutters": {shop.blade: 0.5}}
            saw.add("batch.run", batch | {"alloy": rng.choice(["304", "C36000"])}, after)
        else:
            used = {"item": shop.blades, "used": rng.choice([0, 1, 3.5])}
            saw.add("part.changed", {"part": shop.blade, "reason": rng.choice(reasons), **used}, after)
    saw.push()
    for now in (NOON, NOON - 299 * DAY, NOON + 900 * DAY):
        found = blade(shop, now=now)
        assert all(late["from"] == early["to"] for late, early in pairwise(found["lives"]))
        assert all(life["lived"] is None or life["lived"] >= 0 for life in found["lives"])
        assert (found["fit"] is None) == (found["left"] is None)
