"""The fluids' document: coolant desk and oil alarms read from the record, few data said, bad figures left out by name."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from random import Random
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from flask import Flask

import seed_demo
from seed_demo.calendar import working_days
from seed_demo.shop import ZONE
from seed_demo.story import PUMP_DAYS, Script
from seed_demo.write import write_definitions, write_entries
from tests.conftest import Shop
from webapp import create_app
from webapp.config import Settings
from webapp.core.dates import say_date
from webapp.core.instants import instant_text, parse_instant
from webapp.database import db, writing
from webapp.library import cautions
from webapp.records.state import Effective
from webapp.setup import definitions
from webapp.setup.ids import new_id
from webapp.upkeep.fluid_oil import oil
from webapp.upkeep.fluid_past import KINDS, WINDOW_DAYS, gather
from webapp.upkeep.fluid_trend import chart
from webapp.upkeep.fluids import fluids_document

TODAY = date(2027, 3, 2)
NOON = parse_instant("2026-03-02T18:00:00Z")
DAY, HOUR = 86_400_000, 3_600_000

Doc = dict[str, Any]


# --- the demo shop: a year of a mill whose lubricator was put back wrongly in summer ---


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory, sqlite_template: Path) -> Iterator[tuple[Flask, Doc]]:
    """The demo with the mill's entries, written by the doors that people use; and the mill."""
    settings = Settings(data=tmp_path_factory.mktemp("fluids"), plain=True)
    shutil.copy(sqlite_template, settings.database_url.removeprefix("sqlite:///"))
    app = create_app(settings)
    past = seed_demo.history(TODAY)
    mill = past.shop.machines["mill"]
    made = [one for one in past.made if one.entry["machine"] == mill.id]
    with app.app_context():
        devices = write_definitions(past.shop, past.born_ms)
        write_entries(made, devices, len(made), lambda share, text: None)
        machine = definitions.get(db.session(), "machine", mill.id)
        assert machine is not None
    yield app, machine
    with app.app_context():
        db.session.remove()
        db.engine.dispose()


def on(day: date, hour: int = 19) -> int:
    """That hour of the demo shop's day, in ms."""
    return int(datetime(day.year, day.month, day.day, hour, tzinfo=ZoneInfo(ZONE)).timestamp()) * 1000


def read(demo: tuple[Flask, Doc], kind: str, now: int) -> Doc:
    app, machine = demo
    with app.app_context():
        made = fluids_document(db.session(), machine, now)
    json.dumps(made, allow_nan=False)
    return next(doc for doc in made.values() if doc["kind"] == kind)


SCRIPT = Script.over(working_days(TODAY, seed_demo.SEED))
SET_WRONG = SCRIPT.days[SCRIPT.pump].date
FOUND = SCRIPT.days[SCRIPT.pump + PUMP_DAYS].date


def test_the_mis_set_pump_is_found_long_before_people_found_it(demo: tuple[Flask, Doc]) -> None:
    days = (SET_WRONG + timedelta(days=number) for number in range((FOUND - SET_WRONG).days))
    first = next(day for day in days if read(demo, "way_oil", on(day))["state"] != "usual")
    assert (first - SET_WRONG).days <= 10
    assert (FOUND - first).days >= 14
    alarm = read(demo, "way_oil", on(first + timedelta(days=1)))
    assert alarm["state"] == "little"
    assert alarm["sure"] > 0.999
    assert alarm["odds"].startswith("by chance less than once in")
    assert "without a fill" in alarm["why"]
    assert "too little oil reaches the ways" in alarm["why"]
    assert alarm["do"].startswith("Stop and look")
    assert set(alarm["cautions"]) <= set(cautions())


def test_the_alarm_is_quiet_before(demo: tuple[Flask, Doc]) -> None:
    start = date(2026, 3, 3)
    for number in range(0, (SET_WRONG - start).days, 3):
        assert read(demo, "way_oil", on(start + timedelta(days=number)))["state"] in ("few", "usual")


def test_the_alarm_is_quiet_once_the_tank_is_filled_again(demo: tuple[Flask, Doc]) -> None:
    start = FOUND + timedelta(days=8)
    for number in range(0, (TODAY - start).days, 7):
        assert read(demo, "way_oil", on(start + timedelta(days=number)))["state"] == "usual"


@pytest.mark.parametrize("seed", range(4))
def test_other_years_of_the_demo_are_told_as_well(seed: int) -> None:
    """Straight from the stream of entries: quiet before, found within ten days of running, for other years too."""
    past = seed_demo.history(TODAY, seed)
    mill = past.shop.machines["mill"]
    fluid = mill.fluid("way_oil")
    assert fluid is not None
    script = Script.over(working_days(TODAY, seed))
    glasses = {check["id"] for one in mill.checklists for check in one["checks"] if "way oil" in check["text"].lower()}
    entries = [
        (one.true_ms, Effective(one.entry["id"], one.entry["kind"], mill.id, "", "", one.entry["body"]))
        for one in past.made
        if one.entry["machine"] == mill.id and one.entry["kind"] in KINDS
    ]
    states = {}
    for number in range(0, script.pump + PUMP_DAYS):
        now = on(script.days[number].date)
        if number < script.pump and number % 6:
            continue
        window = [row for row in entries if now - WINDOW_DAYS * DAY <= row[0] <= now]
        states[number] = oil(fluid, gather(mill.body, {}, window, ZONE), glasses, now)["state"]
    assert {state for number, state in states.items() if number <= script.pump} <= {"few", "usual"}
    found = next(number for number, state in states.items() if state in ("little", "look"))
    assert found - script.pump <= 10
    assert "little" in states.values()


def test_days_left_are_told(demo: tuple[Flask, Doc]) -> None:
    left = read(demo, "way_oil", on(TODAY, 8))["left"]
    assert 0 < left["days_least"] < left["days"] < left["days_most"] < 30
    assert 0 < left["least"] <= left["left"] <= left["most"] <= 0.5
    assert left["say"].startswith("About ")


def test_use_is_what_the_demo_plays(demo: tuple[Flask, Doc]) -> None:
    """The generator takes a fortieth of the tank an hour; its counter runs a little ahead of what is logged."""
    use = read(demo, "way_oil", on(TODAY, 8))["use"]
    assert use["low"] < 0.5 * 0.025 < use["high"] * 1.05
    assert use["count"] == 20


def test_evaporation_is_what_the_demo_plays(demo: tuple[Flask, Doc]) -> None:
    """The generator evaporates 0.75 % and drags out 0.5 % of the tank an hour: a share of 0.6 in the cool half-year."""
    lost = read(demo, "coolant", on(TODAY, 8))["losses"]
    assert lost["enough"] and lost["intervals"] > 30
    assert lost["low"] < 0.6 < lost["high"]
    assert lost["high"] - lost["low"] < 0.12  # 0.10 in the year that is played now
    assert lost["water_a_week"] + lost["mix_a_week"] == pytest.approx(lost["lost_a_week"], abs=1e-5)


def test_the_thin_top_ups_of_the_last_days_signal(demo: tuple[Flask, Doc]) -> None:
    """For nine working days before today the demo's coolant is topped up too thin."""
    doc = read(demo, "coolant", on(TODAY, 8))
    low = [one for one in doc["chart"]["signals"] if one["side"] == "low"]
    assert {"ewma", "cusum"} <= {one["rule"] for one in low}
    assert all(one["to"] > "2027-02-15" for one in low if one["rule"] == "cusum")
    assert doc["leaving"]["side"] == "low"
    assert doc["leaving"]["early"] <= doc["leaving"]["likely"] <= doc["leaving"]["late"]
    assert doc["leaving"]["early"] > TODAY.isoformat()
    assert doc["strength"]["verdict"] == "within"


def test_the_mix_reaches_the_target(demo: tuple[Flask, Doc]) -> None:
    made = read(demo, "coolant", on(TODAY, 8))["mix"]
    assert made["enough"] and not made["reachable"]
    assert made["strength"] == pytest.approx(8, abs=0.15)
    assert made["volume"] <= 40
    assert "Concentrate goes into water" in made["say"]
    assert "Never neat into the sump" in made["say"]


def test_weekly_looks_are_signs(demo: tuple[Flask, Doc]) -> None:
    doc = read(demo, "coolant", on(TODAY, 8))
    assert {sign["key"] for sign in doc["signs"]} >= {"ph", "dip_slide", "tramp_oil", "copper"}
    assert all(sign["source"] and sign["do"] for sign in doc["signs"])
    assert set(doc["cautions"]) <= set(cautions())


def test_every_caution_it_can_name_ends_with_the_deference_line() -> None:
    for key in ("concentrate", "biocide", "coolant_skin", "lock_out", "rotating_spindle"):
        assert cautions()[key].text.endswith("a licensed or competent person come first.")


# --- a small shop, entry by entry ---

FLAT = {"shape": "flat", "length": 100, "width": 50, "unit": "cm"}
CHECKS = {
    "coolant.smell": [("Fresh", True), ("Sour or rotten", False)],
    "coolant.tint": [("Clear", True), ("Blue-green tint", False), ("Parts stain", False)],
    "coolant.dip_slide": [("Below 10 000", True), ("Up to 1 000 000", False), ("1 000 000 or more", False)],
}


class Desk:
    """A mill with 150 L of coolant in a flat sump and 2 L of way oil, told forwards."""

    def __init__(self, shop: Shop, **more: Any) -> None:
        self.shop, self.at, self.entries = shop, NOON - 60 * DAY, list[Doc]()
        self.oil, self.list = new_id(), new_id()
        self.checks = {quantity: new_id() for quantity in CHECKS}
        band = {"act_low": 6, "target": 8, "act_high": 10}
        mixed = {"id": shop.coolant, "kind": "coolant", "name": "Coolant", "capacity": 150, "unit": "L"}
        mixed |= {"band": band, "factor": 1, "quantity": "coolant.strength", "sump": FLAT} | more
        tank = {"id": self.oil, "kind": "way_oil", "name": "Way oil", "capacity": 2, "unit": "L", "grade": 68}
        with shop.app.app_context(), writing() as session:
            now = definitions.get(session, "machine", shop.mill)
            assert now is not None
            body = {key: value for key, value in now.items() if key not in ("id", "revision", "retired")}
            body["fluids"] = [{key: value for key, value in mixed.items() if value is not None}, tank]
            definitions.update(session, "machine", shop.mill, body, now["revision"], shop.owner)
            lines = [
                {
                    "id": self.checks[quantity], "text": quantity, "why": "it says how the charge is", "answer": "choice",
                    "source": "common practice, no source", "quantity": quantity,
                    "choices": [{"text": text, "ok": ok} for text, ok in choices],
                }
                for quantity, choices in CHECKS.items()
            ]  # fmt: skip
            checklist = {"machine": shop.mill, "name": "Weekly", "form": "weekly", "checks": lines}
            definitions.create(session, "checklist", checklist, shop.owner, id_=self.list)

    def add(self, kind: str, body: Doc, after: int = HOUR) -> None:
        self.at += after
        self.entries.append(self.shop.entry(kind, body, at=instant_text(self.at)))

    def take(self, quantity: str, value: float, unit: str = "%", **more: Any) -> Desk:
        self.add("reading.taken", {"quantity": quantity, "value": value, "unit": unit}, **more)
        return self

    def run(self, hours: float, **more: Any) -> Desk:
        self.add("meter.added", {"meter": self.shop.spindle, "amount": hours}, **more)
        return self

    def fill(self, water: float, concentrate: float, **more: Any) -> Desk:
        body = {"fluid": self.shop.coolant, "amount": water + concentrate, "unit": "L"}
        self.add("fluid.added", body | {"water": water, "concentrate": concentrate}, **more)
        return self

    def change(self, strength: float = 8, amount: float = 150) -> Desk:
        self.add("fluid.changed", {"fluid": self.shop.coolant, "amount": amount, "unit": "L", "strength": strength})
        return self

    def choose(self, quantity: str, place: int) -> Desk:
        text, ok = CHECKS[quantity][place]
        row = {"check": self.checks[quantity], "answer": "ok" if ok else "not ok", "stop": False, "choice": text}
        body = {"checklist": self.list, "revision": 1, "form": "weekly", "seconds": 60, "outcome": "done"}
        self.add("round.done", body | {"started_at": instant_text(self.at), "checks": [row]})
        return self

    def read(self) -> Doc:
        """The coolant's document, after everything told so far is in the record."""
        return self.all()[self.shop.coolant]

    def all(self) -> Doc:
        if self.entries:
            answer = self.shop.push(*self.entries)
            assert {row["outcome"] for row in answer.json["results"]} == {"stored"}, answer.json
            self.entries.clear()
        with self.shop.app.app_context():
            machine = definitions.get(db.session(), "machine", self.shop.mill)
            assert machine is not None
            made = fluids_document(db.session(), machine, self.at + HOUR)
        json.dumps(made, allow_nan=False)
        return made


def test_an_empty_record_says_what_is_missing(shop: Shop) -> None:
    desk = Desk(shop).run(1)
    doc, tank = desk.read(), desk.all()[desk.oil]
    assert (doc["strength"], doc["level"], doc["zero"], doc["hardness"], doc["signs"]) == (None,) * 4 + ([],)
    assert not doc["mix"]["enough"] and not doc["chart"]["enough"] and not doc["losses"]["enough"]
    assert doc["leaving"]["say"] == "There are 0 readings to go by; 4 over more than a day are the fewest."
    assert doc["charge"]["say"].startswith("Not known since when")
    assert (tank["state"], tank["use"], tank["left"]) == ("few", None, None)
    assert tank["say"] == "0 of 3 fills or level readings in a row that are needed to know the usual use."
    assert tank["grade"] == {
        "vg": 68, "low": 61.2, "high": 74.8, "unit": "mm2/s at 40 °C", "source": "ISO 3448",
    }  # fmt: skip


def test_depth_and_strength_give_the_mix(shop: Shop) -> None:
    """100 x 50 cm at 24 cm are 120 L; at 6 % they take 4.8 L of concentrate and 25.2 L of water to 150 L at 8 %."""
    doc = Desk(shop).take("coolant.depth", 24, "cm").take("coolant.strength", 6).read()
    assert (doc["level"]["volume"], doc["level"]["basis"], doc["level"]["full_depth"]) == (120, "read", 30)
    made = doc["mix"]
    assert (made["concentrate"], made["water"], made["strength"], made["drain"]) == (4.8, 25.2, 8, 0)
    assert made["reach"] == {"room": 30, "low": 4.8, "high": 24.8}
    assert made["strengthen"] == pytest.approx(120 * 0.02 / 0.92, abs=1e-6)
    assert doc["strength"]["brix_to_aim_at"] == 8


def test_depth_in_inches_and_a_jug_of_its_own(shop: Shop) -> None:
    doc = Desk(shop, jug=0.5).take("coolant.depth", 24 / 2.54, "in").take("coolant.strength", 6).read()
    assert doc["level"]["volume"] == pytest.approx(120, abs=1e-4)
    assert (doc["mix"]["concentrate"], doc["mix"]["water"], doc["mix"]["jug"]) == (5, 25, 0.5)
    assert doc["mix"]["strength"] == pytest.approx((120 * 0.06 + 5) / 150 * 100, abs=1e-3)


def test_a_bare_refractometer_reading_takes_the_factor(shop: Shop) -> None:
    doc = Desk(shop, factor=1.5).take("coolant.strength", 5, "Brix").read()
    assert doc["strength"]["percent"] == 7.5


def test_the_target_of_the_fluid_goes_before_the_bands(shop: Shop) -> None:
    doc = Desk(shop, target=9).take("coolant.depth", 24, "cm").take("coolant.strength", 6).read()
    assert doc["target"] == 9
    assert doc["mix"]["strength"] == pytest.approx(9, abs=0.05)


def test_an_instrument_that_is_off_makes_readings_doubtful_until_it_is_set(shop: Shop) -> None:
    desk = Desk(shop).take("coolant.zero", 0, "Brix").take("coolant.strength", 8)
    desk.take("coolant.zero", 0.6, "Brix").take("coolant.strength", 8.9)
    off = desk.read()
    assert off["strength"]["doubtful"] and not off["zero"]["ok"]
    assert off["zero"]["do"].startswith("Set it to 0 on water")
    assert [row["doubtful"] for row in off["series"]] == [False, True]
    back = desk.take("coolant.zero", 0.1, "Brix").take("coolant.strength", 8.2).read()
    assert back["zero"]["ok"] and not back["strength"]["doubtful"]
    assert [row["doubtful"] for row in back["series"]] == [False, True, False]


def test_what_was_filled_in_since_asks_for_a_new_reading(shop: Shop) -> None:
    doc = Desk(shop).take("coolant.depth", 24, "cm").take("coolant.strength", 6).fill(25.2, 4.8).read()
    assert doc["mix"] == {
        "enough": False, "say": "Read the strength first: something was filled in since it was read last.",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("quantity", "value", "unit", "fault"),
    [
        ("coolant.strength", 140, "%", "140 % is more than pure concentrate."),
        ("coolant.strength", -3, "%", "It is not a number of 0 or more."),
        ("coolant.depth", 40, "cm", "40 cm makes 200 L, more than the sump holds (150)."),
        ("coolant.depth", -2, "cm", "It is not a number of 0 or more."),
        ("coolant.depth", 4, "gal", "gal cannot be turned into cm."),
        ("coolant.level", 400, "L", "is not inside the tank"),
        ("coolant.level", 4, "lb", "no unit of volume"),
        ("coolant.ph", 80, "pH", "It is not between 0 and 14."),
        ("coolant.tramp_oil", 300, "%", "It is not between 0 and 100 %."),
        ("coolant.temperature", 400, "C", "It is no temperature of coolant."),
        ("coolant.hardness", -5, "ppm", "it is below 0"),
        ("coolant.hardness", 5, "furlongs", "furlongs cannot be turned into ppm"),
        ("coolant.dip_slide", -5, "CFU/ml", "It is not a number of 0 or more."),
    ],
)
def test_a_figure_that_cannot_be_is_left_out_and_named(
    shop: Shop, quantity: str, value: float, unit: str, fault: str
) -> None:
    doc = Desk(shop).take("coolant.strength", 8).take(quantity, value, unit).read()
    assert len(doc["faults"]) == 1
    assert fault in doc["faults"][0]
    assert doc["strength"]["percent"] == 8


def test_depth_without_a_shape_asks_for_it(shop: Shop) -> None:
    doc = Desk(shop, sump=None).take("coolant.depth", 24, "cm").read()
    assert doc["faults"] == ["Depth is read, but the sump's shape is not set: give its length and width in set-up."]


def test_choices_become_signs_and_the_worst_comes_first(shop: Shop) -> None:
    desk = Desk(shop).take("coolant.ph", 9.3, "pH").choose("coolant.smell", 1).choose("coolant.tint", 1)
    doc = desk.choose("coolant.dip_slide", 2).read()
    signs = {sign["key"]: sign for sign in doc["signs"]}
    assert (signs["smell"]["level"], signs["copper"]["level"], signs["dip_slide"]["level"]) == ("act",) * 3
    assert "inhibitor is spent" in signs["copper"]["says"] and "9.3" in signs["copper"]["says"]
    assert signs["dip_slide"]["says"] == "1 000 000 or more."
    assert {"biocide", "concentrate", "coolant_skin"} <= set(doc["cautions"])
    assert [sign["level"] for sign in doc["signs"]] == ["act", "act", "act", "within"]


def test_staining_is_a_sign_of_its_own(shop: Shop) -> None:
    doc = Desk(shop).choose("coolant.tint", 2).read()
    assert [(sign["key"], sign["level"]) for sign in doc["signs"]] == [("copper", "look")]


def test_a_new_charge_leaves_the_old_signs_behind(shop: Shop) -> None:
    doc = Desk(shop).choose("coolant.smell", 1).change().read()
    assert doc["signs"] == []
    assert doc["charge"]["days"] == 0


def test_high_ph_is_said_where_copper_alloys_are_cut(shop: Shop) -> None:
    desk = Desk(shop).take("coolant.ph", 9.3, "pH")
    assert desk.read()["signs"][0]["level"] == "within"
    desk.add("batch.run", {"adds": {shop.spindle: 2}, "alloy": "C36000"})
    assert desk.read()["signs"][0]["level"] == "look"


def test_fahrenheit_is_understood(shop: Shop) -> None:
    doc = Desk(shop).take("coolant.temperature", 95, "°F").read()
    assert (doc["signs"][0]["key"], doc["signs"][0]["level"]) == ("temperature", "look")
    assert doc["signs"][0]["says"].startswith("35 °C")


def cycles(desk: Desk, count: int, share: float = 0.7) -> tuple[float, float]:
    """So many weeks: 20 % lost, of it `share` as water, filled up with a weak mix; exact instruments."""
    volume, percent, hardness = 150.0, 8.0, 0.0
    for _ in range(count):
        left = volume * 0.8
        percent *= (volume / left) ** share
        desk.run(20, after=5 * DAY).take("coolant.strength", percent)
        desk.fill(29.2, 0.8)
        percent = (left * percent + 80) / 150
        volume = 150.0
    return percent, hardness


def test_losses_are_told_from_fills(shop: Shop) -> None:
    desk = Desk(shop).change(8)
    cycles(desk, 6)
    lost = desk.read()["losses"]
    assert (lost["enough"], lost["intervals"]) == (True, 6)
    assert lost["share"] == pytest.approx(0.7, abs=1e-4)
    # 30 L every five days and two hours.
    assert lost["lost_a_week"] == pytest.approx(30 / (5 + 2 / 24) * 7, rel=0.01)
    assert lost["beyond"] == {"stronger": 0, "weaker": 0}


def test_losses_are_told_from_pairs_of_depth_and_strength(shop: Shop) -> None:
    """From 150 L at 8 % to 120 L at 8.746 %: four tenths of the 30 L evaporated."""
    desk = Desk(shop).change(8)
    for volume in (140, 130, 120):
        desk.run(5, after=DAY).take("coolant.depth", volume / 5, "cm")
        desk.take("coolant.strength", 8 * (150 / volume) ** 0.4, after=60_000)
    lost = desk.read()["losses"]
    assert lost["intervals"] == 3
    assert lost["share"] == pytest.approx(0.4, abs=1e-6)


def test_a_table_of_depths_and_a_meter_that_never_ran(shop: Shop) -> None:
    sump = {"table": [[10, 40], [20, 90], [32, 150]], "unit": "cm"}
    desk = Desk(shop, sump=sump).take("coolant.depth", 15, "cm").take("coolant.strength", 7)
    doc = desk.all()
    assert (doc[shop.coolant]["level"]["volume"], doc[shop.coolant]["level"]["full_depth"]) == (65, 32)
    assert doc[desk.oil]["say"] == "Its meter (spindle hours) has not moved: log batches or read the counter."


def test_six_rising_readings_are_nelsons(shop: Shop) -> None:
    desk = Desk(shop).change(8)
    for number in range(20):
        desk.take("coolant.strength", 8 + (number % 2) * 0.2, after=DAY)
    for number in range(6):
        desk.take("coolant.strength", 7.9 + number * 0.05, after=DAY)
    found = desk.read()["chart"]
    assert ("nelson3", "high") in {(one["rule"], one["side"]) for one in found["nelson"]}
    assert not {one["rule"] for one in found["signals"]} & {"nelson3"}


def test_hardness_builds_up_over_the_fills(shop: Shop) -> None:
    """Made with water of 10 grains a gallon, 171 ppm; what evaporates leaves its salts behind."""
    desk = Desk(shop, hardness={"value": 10, "unit": "gpg"}).change(8)
    cycles(desk, 6)
    found = desk.read()["hardness"]
    water, expected = 171.18, 171.18 * 0.92
    for _ in range(6):
        after = expected * (150 / 120) ** 0.7
        expected = (after * 120 + water * 29.2) / 150
    assert found["water_ppm"] == pytest.approx(171.2, abs=0.1)
    # The first charge is reckoned with the strength as it is now, not as it was: a per cent or so.
    assert found["now_ppm"] == pytest.approx(expected, rel=0.02)
    assert water < found["now_ppm"] < found["end_ppm"]
    assert found["end_ppm"] == pytest.approx(water * (1 / 0.3 - 0.08), rel=0.02)
    signs = {sign["key"]: sign["says"] for sign in desk.read()["signs"]}
    assert "reckoned from the fills" in signs["hardness"]


def test_a_measured_hardness_is_taken_as_it_is(shop: Shop) -> None:
    desk = Desk(shop, hardness={"value": 10, "unit": "gpg"}).change(8).take("coolant.hardness", 30, "dGH")
    found = desk.read()["hardness"]
    assert (found["now_ppm"], found["measured"]) == (535.4, True)
    sign = next(one for one in desk.read()["signs"] if one["key"] == "hardness")
    assert (sign["level"], "measured" in sign["says"]) == ("look", True)


def test_a_chart_needs_readings_and_says_when_one_is_out(shop: Shop) -> None:
    desk = Desk(shop).change(8)
    rng = Random(5)
    for number in range(7):
        desk.take("coolant.strength", round(8 + rng.gauss(0, 0.15), 1), after=DAY)
        assert not desk.read()["chart"]["enough"], number
    for _ in range(18):
        desk.take("coolant.strength", round(8 + rng.gauss(0, 0.15), 1), after=DAY)
    calm = desk.read()["chart"]
    assert calm["enough"] and calm["limits"]["count"] == 20
    desk.take("coolant.strength", 9.4, after=DAY)
    out = desk.read()["chart"]
    assert out["signals"][-1]["side"] == "high"
    assert "beyond 3 sigma" in {one["says"] for one in out["signals"]}
    assert "The last reading signals" in out["say"]


def test_a_signal_says_the_side_it_is_on() -> None:
    """A charge that crept up and then down: the sums of each side speak for their own."""
    percents = [8.0, 8.2] * 10 + [8.6] * 8 + [8.1] * 6 + [7.5] * 9
    signals = chart([(NOON + number * DAY, value) for number, value in enumerate(percents)])["signals"]
    crept = [one for one in signals if one["rule"] == "cusum"]
    assert {one["side"] for one in crept} == {"high", "low"}
    assert all(f"crept {one['side']}" in one["says"] for one in crept)


def test_readings_all_alike_set_no_limits(shop: Shop) -> None:
    desk = Desk(shop).change(8)
    for _ in range(10):
        desk.take("coolant.strength", 8, after=DAY)
    assert desk.read()["chart"] == {
        "enough": False, "say": "The first readings are all alike: they show no scatter to set limits by.",
    }  # fmt: skip


def test_rising_strength_leaves_the_band_on_a_day(shop: Shop) -> None:
    """8 % and a tenth more each day comes to 10 % in 20 days from the first reading."""
    desk = Desk(shop).change(8)
    for number in range(10):
        desk.take("coolant.strength", 8 + 0.1 * number + (0.02 if number % 2 else -0.02), after=DAY)
    found = desk.read()["leaving"]
    assert (found["side"], found["limit"], found["basis"]) == ("high", 10, "since the last fill")
    assert found["p50"] == pytest.approx(11, abs=0.6)
    assert found["early"] <= found["likely"] <= found["late"]
    assert "Leaves the band above 10 %" in found["say"]


def test_amended_and_voided_readings_count_as_they_do_in_the_fold(shop: Shop) -> None:
    desk = Desk(shop).take("coolant.strength", 8).take("coolant.strength", 80)
    wrong = desk.entries[-1]["id"]
    assert desk.read()["strength"]["percent"] == 80
    body = {"quantity": "coolant.strength", "value": 8.0, "unit": "%"}
    desk.add("entry.amended", {"entry": wrong, "kind": "reading.taken", "body": body, "why": "a nought too many"})
    assert desk.read()["strength"]["percent"] == 8
    desk.take("coolant.strength", 3)
    last = desk.entries[-1]["id"]
    assert desk.read()["strength"]["percent"] == 3
    desk.add("entry.voided", {"entry": last, "why": "read off the wrong machine"})
    assert desk.read()["strength"]["percent"] == 8


def test_a_level_that_rose_without_a_fill_is_said(shop: Shop) -> None:
    desk = Desk(shop).take("coolant.depth", 20, "cm").run(5).take("coolant.depth", 26, "cm")
    assert desk.read()["faults"] == ["The level rose by 30 without a fill that was logged."]


UNITS = ("%", "L", "gal", "cm", "in", "ppm", "dGH", "pH", "C", "°F", "Brix", "squirts", "")


@pytest.mark.parametrize("seed", range(8))
def test_the_document_holds_whatever_the_record_holds(shop: Shop, seed: int) -> None:
    """Random stories, with figures that cannot be and moments that fall together: a document every time."""
    rng = Random(seed)
    desk = Desk(shop, hardness={"value": 10, "unit": "gpg"} if seed % 2 else None, jug=rng.choice([None, 0.5]))
    names = ("strength", "zero", "depth", "level", "ph", "tramp_oil", "dip_slide", "temperature", "hardness")
    for _ in range(150):
        after = rng.choice([0, 0, 1, HOUR, 7 * HOUR])
        what = rng.randrange(8)
        if what < 3:
            value = rng.choice([0, -3, 8, 140, rng.uniform(5, 12), rng.uniform(-10, 500)])
            desk.take(f"coolant.{rng.choice(names)}", value, rng.choice(UNITS), after=after)
        elif what == 3:
            desk.run(rng.uniform(0.1, 12), after=after)
        elif what == 4:
            water, neat = rng.choice([(0, 1), (rng.uniform(0.1, 60), rng.uniform(0, 5)), (200, 20)])
            desk.fill(water, neat, after=after)
        elif what == 5:
            desk.choose(rng.choice(sorted(CHECKS)), rng.randrange(2))
        elif what == 6:
            kind = rng.choice(["fluid.added", "fluid.changed"])
            body = {"fluid": rng.choice([desk.oil, shop.coolant]), "amount": rng.uniform(0.01, 4)}
            desk.add(kind, body | {"unit": rng.choice(["L", "gal", "squirts"])}, after=after)
        else:
            desk.take("way_oil.level", rng.uniform(-1, 120), rng.choice(UNITS), after=after)
        if rng.random() < 0.1:
            desk.all()
    made = desk.all()
    assert set(made) == {shop.coolant, desk.oil}
    left = made[desk.oil]["left"]
    assert left is None or 0 <= left["least"] <= left["left"] <= left["most"]
    mixed = made[shop.coolant]["mix"]
    assert not mixed["enough"] or min(mixed["concentrate"], mixed["water"], mixed["drain"]) >= 0


def oiled(desk: Desk, amounts: list[tuple[float, float]]) -> Doc:
    for hours, poured in amounts:
        desk.run(hours, after=4 * DAY)
        desk.add("fluid.added", {"fluid": desk.oil, "amount": poured, "unit": "L"})
    found: Doc = desk.all()[desk.oil]
    return found


USUAL = [(25, 1.2), (24, 1.15), (26, 1.25), (25, 1.2), (25, 1.21), (24, 1.15)]


def test_a_leak_is_told(shop: Shop) -> None:
    found = oiled(Desk(shop), [*USUAL, (10, 1.3)])
    assert found["state"] == "much"
    assert "couplings" in found["do"]
    assert found["sure"] > 0.99


def test_a_late_and_small_fill_is_told(shop: Shop) -> None:
    found = oiled(Desk(shop), [*USUAL, (60, 0.3)])
    assert found["state"] == "little"
    assert "ways" in found["do"].lower()
    assert "0.3 L in 60 h up to the fill or reading of" in found["why"]


def test_a_level_read_low_between_fills_is_told(shop: Shop) -> None:
    """A glass that still shows 1.9 of 2 L after 25 hours: 0.1 where 1.2 should have gone."""
    desk = Desk(shop)
    oiled(desk, USUAL)
    desk.run(25).take("way_oil.level", 95, "%")
    found = desk.all()[desk.oil]
    assert found["state"] == "little"
    assert found["since"]["level"] == 1.9


def test_no_fill_and_no_look_asks_for_one(shop: Shop) -> None:
    desk = Desk(shop)
    oiled(desk, USUAL)
    found = desk.run(45).all()[desk.oil]
    assert found["state"] == "look"
    assert found["do"].startswith("Look at the glass now")


def test_a_new_charge_that_does_not_fill_the_sump_stands_where_it_was_noted(shop: Shop) -> None:
    """What to pour in is reckoned from what stands in the sump: 100 of 150 L at 8 % ask for 4 L in 50 L."""
    doc = Desk(shop).change(8, amount=100).take("coolant.strength", 8).read()
    assert doc["level"]["volume"] == 100
    assert (doc["mix"]["concentrate"], doc["mix"]["water"]) == (pytest.approx(4), pytest.approx(46))
    assert Desk(shop).change(8, amount=400).take("coolant.strength", 8).read()["level"]["volume"] == 150


def test_a_day_that_is_named_is_the_shops(shop: Shop) -> None:
    """Three in the morning in Greenwich is still the evening before in Chicago."""
    desk = Desk(shop)
    desk.at = NOON // DAY * DAY - 2 * DAY + 3 * HOUR
    desk.take("coolant.zero", 0.6, "Brix", after=0)
    evening = datetime.fromtimestamp(desk.at / 1000, UTC).date() - timedelta(days=1)
    assert desk.read()["zero"]["say"] == f"On water it showed 0.6 Brix on {say_date(evening)}."


def test_a_fill_in_another_unit_counts_and_one_in_none_is_named(shop: Shop) -> None:
    desk = Desk(shop)
    desk.run(25, after=DAY)
    desk.add("fluid.added", {"fluid": desk.oil, "amount": 0.3, "unit": "gal"})
    desk.run(25, after=DAY)
    desk.add("fluid.added", {"fluid": desk.oil, "amount": 0.3, "unit": "gal"})
    desk.add("fluid.added", {"fluid": desk.oil, "amount": 3, "unit": "squirts"})
    found = desk.all()[desk.oil]
    assert [row["used"] for row in found["stretches"]] == [pytest.approx(0.3 * 3.785411784, abs=1e-6)]
    assert found["faults"][0].startswith("3 squirts added on")


def test_the_answer_does_not_grow_with_the_shops_age(shop: Shop) -> None:
    """Only the window is read: what lies before it changes nothing."""
    desk = Desk(shop)
    desk.at -= (WINDOW_DAYS + 100) * DAY
    for _ in range(30):
        desk.take("coolant.strength", 5, after=DAY)
    desk.at = NOON - 20 * DAY
    desk.take("coolant.strength", 8)
    doc = desk.read()
    assert [row["percent"] for row in doc["series"]] == [8]
