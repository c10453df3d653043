"""Air, hazards and protection in the upkeep document: read from the record, beside limits, and never made up."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import pytest

from tests.conftest import Shop
from webapp.core import measured as measured_core
from webapp.core.instants import instant_text, shop_date
from webapp.database import db, writing
from webapp.library.noise import noise_values
from webapp.setup import definitions
from webapp.setup.ids import new_id, now_ms
from webapp.setup.standing import stand
from webapp.upkeep import air, exposures
from webapp.upkeep.document import document
from webapp.upkeep.exhaust import convert
from webapp.upkeep.shop import load

DAY, HOUR = 86_400_000, 3_600_000
Doc = dict[str, Any]


@dataclass
class Dusty:
    """The small shop with a blast cabinet, a second person, and its story told in days before now."""

    shop: Shop
    cabinet: Doc
    helper: str
    now: int

    @property
    def filter(self) -> str:
        return str(next(part["id"] for part in self.cabinet["parts"] if part["kind"] == "filter"))

    def push(self, *rows: tuple[str, Doc, float], machine: Any = "cabinet") -> list[str]:
        """(kind, body, days ago) each; the entries' ids."""
        at = self.cabinet["id"] if machine == "cabinet" else machine
        made = [
            self.shop.entry(kind, body, machine=at, at=instant_text(int(self.now - days * DAY)))
            for kind, body, days in rows
        ]
        answer = self.shop.push(*made).get_json()["results"]
        assert [row for row in answer if row["outcome"] != "stored"] == []
        return [entry["id"] for entry in made]

    def doc(self, now: int | None = None) -> Doc:
        with self.shop.app.app_context():
            made = document(db.session(), now or self.now)
            json.dumps(made, allow_nan=False)
            return made

    def air(self) -> Doc:
        return dict(self.doc()["machines"][self.cabinet["id"]]["air"])

    def today(self) -> date:
        return shop_date(self.now, "America/Chicago")

    def in_days(self, days: int) -> str:
        return (self.today() + timedelta(days=days)).isoformat()


@pytest.fixture
def dusty(shop: Shop) -> Dusty:
    helper = new_id()
    with shop.app.app_context(), writing() as session:
        cabinet = stand(session, "blast_cabinet", "Cabinet", None, shop.owner)
        definitions.create(session, "person", {"name": "Bo Lind"}, shop.owner, id_=helper)
    return Dusty(shop, cabinet, helper, now_ms())


def drop(value: float, **more: Any) -> Doc:
    return {"check": "filter drop", "value": value, "unit": "in H2O", **more}


# Exhaust


def test_without_readings_nothing_is_said_of_the_exhaust(dusty: Dusty) -> None:
    made = dusty.air()
    assert made == {"exhaust": {}, "hazards": [], "people": {"asked": False, "lacking": []}}
    whole = dusty.doc()["air"]
    assert whole["exposures"] == [] and whole["log"]["noted"] == 0


def test_a_filter_loads_from_clean_to_its_limit(dusty: Dusty) -> None:
    """Clean 1.0 by its first three readings (median of 1.0, 1.0, 1.1); the library's check asks for a change at 4.0.
    A line from 1.0 forty days ago to 3.0 today reaches 4.0 in twenty days: 0.05 a day, worked by hand."""
    dusty.push(("part.changed", {"part": dusty.filter, "reason": "Blind"}, 42))
    steps = [(40, 1.0), (39.5, 1.0), (39, 1.1), (30, 1.5), (20, 2.0), (10, 2.5), (0, 3.0)]
    dusty.push(*(("air.checked", drop(value), days) for days, value in steps))
    found = dusty.air()["exhaust"]["filters"]["filter.pressure_drop"]
    assert (found["clean"], found["change_at"], found["unit"]) == (1.0, 4.0, "in H2O")
    assert found["drop"]["word"] == "working" and not found["drop"]["stop"]
    assert found["drop"]["used"] == pytest.approx(66.7, abs=0.1)
    likely = date.fromisoformat(found["trend"]["likely"])
    assert abs((likely - dusty.today()).days - 20) <= 2
    dusty.push(("air.checked", drop(4.1), -0.001))
    loaded = dusty.doc(dusty.now + HOUR)["machines"][dusty.cabinet["id"]]["air"]["exhaust"]["filters"]
    assert loaded["filter.pressure_drop"]["drop"]["word"] == "loaded"


def test_a_drop_that_falls_without_a_new_filter_is_a_torn_one(dusty: Dusty) -> None:
    dusty.push(
        ("air.checked", drop(1.0, commissioning=True), 50), ("air.checked", drop(2.4), 3), ("air.checked", drop(1.2), 1)
    )
    found = dusty.air()["exhaust"]["filters"]["filter.pressure_drop"]
    assert (found["drop"]["word"], found["drop"]["stop"]) == ("fallen", True)
    assert "torn" in found["say"]


def test_a_cleaned_filter_may_fall_and_begins_a_new_line(dusty: Dusty) -> None:
    task = next(
        one
        for one in _tasks(dusty)
        if one["machine"] == dusty.cabinet["id"] and "filter" in str(one["rule"].get("when"))
    )
    dusty.push(("air.checked", drop(1.0, commissioning=True), 50), ("air.checked", drop(4.2), 3))
    dusty.push(("task.done", {"task": task["id"]}, 2), ("air.checked", drop(1.6), 1))
    found = dusty.air()["exhaust"]["filters"]["filter.pressure_drop"]
    assert (found["drop"]["word"], found["cleaned"]) == ("working", 1)
    assert found["trend"]["enough"] is False, "one reading since it was cleaned is no line"


def _tasks(dusty: Dusty) -> list[Doc]:
    with dusty.shop.app.app_context():
        return definitions.list_all(db.session(), "task")


def test_a_changed_filter_forgets_the_old_ones_commissioning(dusty: Dusty) -> None:
    dusty.push(
        ("air.checked", drop(1.0, commissioning=True), 300), ("part.changed", {"part": dusty.filter, "reason": "x"}, 5)
    )
    made = dusty.air()["exhaust"]["filters"]["filter.pressure_drop"]
    assert made["clean"] is None and "No reading since" in made["say"]
    dusty.push(("air.checked", drop(1.3), 4))
    assert "Not known what a clean filter shows" in dusty.air()["exhaust"]["filters"]["filter.pressure_drop"]["say"]


def test_rounds_and_checks_of_the_air_make_one_series(dusty: Dusty) -> None:
    lists = [one for one in _lists(dusty) if one["form"] == "start-up"]
    check = next(one for one in lists[0]["checks"] if one.get("quantity") == "filter.pressure_drop")
    answer = {
        "check": check["id"],
        "answer": "ok",
        "stop": True,
        "value": 1.5,
        "unit": "in H2O",
        "quantity": check["quantity"],
    }
    body = {
        "checklist": lists[0]["id"],
        "revision": 1,
        "form": "start-up",
        "started_at": instant_text(dusty.now),
        "seconds": 40,
    }
    dusty.push(("round.done", body | {"outcome": "fit", "checks": [answer]}, 2), ("air.checked", drop(1.6), 1))
    gauge = dusty.air()["exhaust"]["gauges"]["filter.pressure_drop"]
    assert [value for _, value in gauge["series"]] == [1.5, 1.6]
    assert gauge["band"]["act_high"] == 4.0


def _lists(dusty: Dusty) -> list[Doc]:
    with dusty.shop.app.app_context():
        return [one for one in definitions.list_all(db.session(), "checklist") if one["machine"] == dusty.cabinet["id"]]


@pytest.mark.parametrize(
    ("now", "word"),
    [(2.0, "as commissioned"), (1.61, "as commissioned"), (1.59, "less suction"), (2.41, "more suction")],
)
def test_static_pressure_is_held_against_commissioning(dusty: Dusty, now: float, word: str) -> None:
    """A change of more than 20 % (29 CFR 1910.94(a)(4)(i)(b), commonly cited): of 2.0, below 1.6 or above 2.4."""
    static = {"check": "static pressure", "unit": "in H2O"}
    dusty.push(
        ("air.checked", static | {"value": 2.0, "commissioning": True}, 90), ("air.checked", static | {"value": now}, 1)
    )
    gauge = dusty.air()["exhaust"]["gauges"]["duct.static_pressure"]
    assert gauge["static"]["word"] == word


def test_a_gauge_read_in_other_units_is_converted(dusty: Dusty) -> None:
    """1 in of water is 249.089 Pa and 100 ft/min are 0.508 m/s (NIST SP 811, B.8)."""
    assert convert(2.0, "in H2O", "Pa") == pytest.approx(498.18, abs=0.01)
    assert convert(100, "ft/min", "m/s") == 0.508
    assert convert(1000, "cfm", "m3/h") == pytest.approx(1699.0, abs=0.1)
    assert convert(1, "Pa", "m/s") is None
    static = {"check": "static pressure"}
    dusty.push(
        ("air.checked", static | {"value": 2.0, "unit": "in H2O", "commissioning": True}, 90),
        ("air.checked", static | {"value": -498, "unit": "Pa"}, 1),
    )
    gauge = dusty.air()["exhaust"]["gauges"]["duct.static_pressure"]
    assert gauge["static"]["word"] == "as commissioned" and gauge["change"] == 0


def test_each_place_has_its_own_commissioning(dusty: Dusty) -> None:
    speed = {"check": "capture velocity", "unit": "ft/min"}
    dusty.push(
        ("air.checked", speed | {"value": 200, "place": "hood 1", "commissioning": True}, 30),
        ("air.checked", speed | {"value": 150, "place": "hood 2"}, 20),
        ("air.checked", speed | {"value": 180, "place": "hood 1"}, 1),
    )
    gauges = dusty.air()["exhaust"]["gauges"]
    assert gauges["hood.velocity/hood 1"]["change"] == -10.0
    assert gauges["hood.velocity/hood 2"]["commissioned"] is None


def test_the_last_purge_says_whether_it_was_whole(dusty: Dusty) -> None:
    dusty.push(("purge.run", {"seconds": 60, "needed": 50}, 2))
    assert dusty.air()["exhaust"]["purge"]["whole"] is True
    dusty.push(("purge.run", {"seconds": 12, "needed": 50}, 1))
    assert dusty.air()["exhaust"]["purge"]["whole"] is False


# Exposures


def measured(
    dusty: Dusty, *samples: tuple[float, float], agent: str = "copper", form: str = "dust", **more: Any
) -> Doc:
    """The one row of a measurement: samples of (minutes, mg/m3)."""
    body: Doc = {"agent": agent, "form": form, "person": dusty.helper, "shift_hours": 8, **more}
    body["samples"] = body.get("samples") or [{"minutes": t, "value": c, "unit": "mg/m3"} for t, c in samples]
    (entry,) = dusty.push(("exposure.measured", body, 1))
    return dict(next(one for one in dusty.doc()["air"]["exposures"] if one["entry"] == entry))


def bar(row: Doc, authority: str, kind: str = "twa") -> Doc:
    return dict(next(one for one in row["limits"] if (one["authority"], one["kind"]) == (authority, kind)))


def test_copper_dust_over_a_shift(dusty: Dusty) -> None:
    """29 CFR 1910.1000(d)(1): (0.4 x 4 + 1.2 x 4) / 8 = 0.8 mg/m3, beside copper dust's 1 mg/m3 of Table Z-1."""
    row = measured(dusty, (240, 0.4), (240, 1.2), fraction="total")
    own = bar(row, "us_osha")
    assert row["average"]["eight_hours"] == pytest.approx(0.8)
    assert (own["limit"], own["share"], own["word"], own["chosen"]) == (1, 80, "below the limit", True)
    assert row["word"] == "below the limit" and row["respirator"] is None


def test_copper_fume_has_a_limit_ten_times_lower(dusty: Dusty) -> None:
    row = measured(dusty, (480, 0.4), form="fume")
    assert (bar(row, "us_osha")["limit"], row["word"]) == (0.1, "at or over the limit")
    # Hazard ratio 4: a half mask's APF is 10, a quarter mask's 5 (29 CFR 1910.134, Table 1).
    assert row["respirator"]["ratio"] == pytest.approx(4)
    assert row["respirator"]["classes"][0] == "filter quarter" and "filter half" in row["respirator"]["classes"]


def test_part_of_a_shift_shows_what_it_was_at_least(dusty: Dusty) -> None:
    """Two of eight hours at 0.4 make 0.1 over eight; nothing is said of the rest. At 6 mg/m3 the two alone make 1.5."""
    row = measured(dusty, (120, 0.4))
    assert (row["word"], bar(row, "us_osha")["share"]) == ("not measured", 10)
    assert "6 h of the shift were not measured" in row["say"]
    assert measured(dusty, (120, 6.0), place="at the belt")["word"] == "at or over the limit"
    assert measured(dusty, (420, 0.4), place="saw")["word"] == "below the limit", (
        "seven of eight hours count as a shift"
    )


def test_below_detection_is_a_bound_and_no_figure(dusty: Dusty) -> None:
    def sampled(value: float, place: str) -> Doc:
        one = {"minutes": 480, "value": value, "unit": "mg/m3", "below_detection": True}
        return measured(dusty, samples=[one], place=place)

    fine, coarse = sampled(0.05, "a"), sampled(1.5, "b")
    assert fine["word"] == "below the limit" and fine["at_most"] is True
    assert coarse["word"] == "not measured" and "reporting limit" in coarse["say"]


def test_lead_on_a_long_day_has_a_lower_limit(dusty: Dusty) -> None:
    """29 CFR 1910.1025(c)(2): 400 / 10 h = 40 ug/m3 over the ten hours; 45 is over it, though 45 is below 50."""
    row = measured(dusty, (600, 0.045), agent="lead", form="dust", shift_hours=10)
    own = bar(row, "us_osha")
    assert own["limit"] == pytest.approx(0.04) and own["value"] == pytest.approx(0.045)
    assert row["word"] == "at or over the limit"
    eight = measured(dusty, (480, 0.035), agent="lead", form="dust", place="bench")
    assert bar(eight, "us_osha")["word"] == "below the limit"
    assert bar(eight, "us_osha", "action")["word"] == eight["word"] == "over the action level"


def test_a_short_term_limit_asks_for_a_short_sample(dusty: Dusty) -> None:
    """Beryllium, 29 CFR 1910.1024(c): 0.2 ug/m3 over eight hours, 2 ug/m3 over fifteen minutes."""
    row = measured(dusty, (480, 0.0001), agent="beryllium", form="dust")
    assert bar(row, "us_osha")["word"] == "below the limit"
    assert bar(row, "us_osha", "stel")["word"] == "not measured"
    peak = measured(dusty, (15, 0.0025), agent="beryllium", form="dust", place="cut-off", shift_hours=0.25)
    assert bar(peak, "us_osha", "stel")["word"] == "at or over the limit"


def test_another_fraction_is_not_compared(dusty: Dusty) -> None:
    row = measured(dusty, (480, 0.9), fraction="respirable")
    assert bar(row, "us_osha")["word"] is None and row["word"] == "not measured"


def test_the_shop_chooses_and_the_strictest_stands_beside(dusty: Dusty) -> None:
    row = measured(dusty, (480, 0.3))
    assert all(one["chosen"] is (one["authority"] == "us_osha") for one in row["limits"])
    assert any(one["strictest"] for one in row["limits"])
    _choose(dusty, ["us_osha", "us_niosh"])
    made = dusty.doc()["air"]
    assert made["authorities"] == ["us_osha", "us_niosh"]
    assert {one["authority"] for one in made["exposures"][0]["limits"] if one["chosen"]} == {"us_osha", "us_niosh"}


@pytest.mark.parametrize(
    ("jurisdiction", "found"),
    [("US", ["us_osha"]), ("us-ca", ["us_calosha"]), ("US-OH", ["us_osha"]), ("DE", ["de_trgs900"]), ("the Moon", [])],
)
def test_a_shop_that_chose_nothing_goes_by_its_own_law(jurisdiction: str, found: list[str]) -> None:
    assert exposures.chosen({"jurisdiction": jurisdiction}) == found


def test_a_substance_without_a_limit_is_said_and_never_made_up(dusty: Dusty) -> None:
    row = measured(dusty, (480, 0.3), agent="unobtainium")
    assert (row["limits"], row["word"]) == ([], "not measured") and "unobtainium" in row["say"]


def test_noise_over_a_shift(dusty: Dusty) -> None:
    """29 CFR 1910.95 App. A: 2 h at 95 (T = 4) and 6 h at 80 below the 90 threshold: dose 50 %. With the action
    level's 80 threshold 6 / 32 more: 68.75 %."""
    samples = [{"minutes": 120, "value": 95, "unit": "dBA"}, {"minutes": 360, "value": 80, "unit": "dBA"}]
    row = measured(dusty, agent="noise", samples=samples)
    assert bar(row, "us_osha", "limit")["dose"] == pytest.approx(50)
    assert bar(row, "us_osha", "action")["dose"] == pytest.approx(68.75)
    assert row["word"] == "over the action level"
    few = measured(dusty, agent="noise", samples=[{"minutes": 30, "value": 84, "unit": "dBA"}], place="door")
    assert few["word"] == "not measured"


def test_noise_goes_by_whom_the_shop_chose(dusty: Dusty) -> None:
    """NIOSH 98-126: 8 h at 85 dBA are the whole dose; by OSHA's action level (threshold 80) they are half of one."""
    samples = [{"minutes": 480, "value": 85, "unit": "dBA"}]
    assert measured(dusty, agent="noise", samples=samples)["word"] == "over the action level"
    _choose(dusty, ["us_niosh"])
    row = dusty.doc()["air"]["exposures"][0]
    assert row["word"] == "at or over the limit" and row["share"] == 100
    _choose(dusty, ["uk_hse"], revision=2)
    row = dusty.doc()["air"]["exposures"][0]
    assert row["word"] == "over the action level" and "the upper action value of 85 dBA" in row["say"]
    found = [(one["authority"], one["level"]) for one in row["limits"] if one["chosen"]]
    assert found == [("uk_hse", 80), ("uk_hse", 85), ("uk_hse", 87)]
    # NIOSH's 85 is stricter than the limit value of 87, so it stands beside.
    assert [one["authority"] for one in row["limits"] if one["strictest"]] == ["us_niosh"]


@pytest.mark.parametrize(
    ("authority", "level", "word"),
    [
        ("uk_hse", 79, "below the limit"),
        ("uk_hse", 80, "over the action level"),  # Control of Noise at Work Regulations 2005, regulation 4
        ("uk_hse", 87, "at or over the limit"),
        ("eu", 86.9, "over the action level"),  # Directive 2003/10/EC, Article 3
        ("nl", 87, "at or over the limit"),  # Arbobesluit 6.8
        ("de_trgs900", 84.9, "over the action level"),
        ("de_trgs900", 85, "at or over the limit"),  # LärmVibrationsArbSchV, section 8
        ("au_wes", 84.9, "below the limit"),
        ("au_wes", 85, "at or over the limit"),  # model WHS Regulations, regulation 56
        ("us_acgih", 85, "at or over the limit"),
        ("us_calosha", 85, "over the action level"),  # Title 8, section 5095(b)
        ("us_osha", 89.9, "over the action level"),
        ("us_osha", 90, "at or over the limit"),  # 29 CFR 1910.95, Table G-16
    ],
)
def test_eight_hours_of_noise_by_each_authority(dusty: Dusty, authority: str, level: float, word: str) -> None:
    _choose(dusty, [authority])
    row = measured(dusty, agent="noise", samples=[{"minutes": 480, "value": level, "unit": "dBA"}])
    assert row["word"] == word and row["silent"] == []


def test_noise_where_nobody_chose_is_held_to_the_strictest(dusty: Dusty) -> None:
    row = measured_core.beside(
        "noise",
        dict.fromkeys(("machine", "person", "process", "alloy", "fraction", "method", "laboratory"))
        | {"entry": "e", "place": "door", "shift_hours": 8, "samples": [
            {"minutes": 480, "value": 82, "unit": "dBA", "below_detection": False}]},
        (), noise_values(), {}, [], "2026-11-25", "2026-11-25",
    )  # fmt: skip
    assert row["word"] == "over the action level" and "your own law's may be lower" in row["say"]


def _choose(dusty: Dusty, authorities: list[str], revision: int = 1) -> None:
    with dusty.shop.app.app_context(), writing() as session:
        own = definitions.list_all(session, "shop")[0]
        body = {name: value for name, value in own.items() if name not in ("id", "revision", "retired")}
        body |= {"authorities": authorities}
        definitions.update(session, "shop", own["id"], body, revision, dusty.shop.owner)


def test_the_newest_of_each_place_counts_and_the_worst_comes_first(dusty: Dusty) -> None:
    body: Doc = {"agent": "copper", "form": "dust", "person": dusty.helper, "shift_hours": 8}

    def level(value: float) -> Doc:
        return body | {"samples": [{"minutes": 480, "value": value, "unit": "ug/m3"}]}

    dusty.push(
        ("exposure.measured", level(2000), 9),
        ("exposure.measured", level(200) | {"on": dusty.in_days(-4)}, 2),
        ("exposure.measured", level(300) | {"place": "saw"}, 1),
    )
    rows = dusty.doc()["air"]["exposures"]
    assert [(row["place"], row["share"]) for row in rows] == [("saw", 30), (None, 20)]
    assert rows[1]["days"] == 4 and "Measured 4 days ago" in rows[1]["say"], "it counts from the day it was sampled"


# Hazards


def test_open_hazards_with_their_risk(dusty: Dusty) -> None:
    """MIL-STD-882E Table III: 2C is Serious, 2D Medium."""
    risk = {"before": {"severity": 2, "probability": "C"}, "after": {"severity": 2, "probability": "D"}}
    risk |= {"agreed_by": dusty.shop.owner, "review_on": dusty.in_days(-1)}
    (first,) = dusty.push(("hazard.noted", {"process": "blast", "seen": ["visible dust"], "risk": risk}, 9))
    (second,) = dusty.push(
        ("hazard.noted", {"process": "sweep", "text": "dry broom", "near_miss": True}, 2), machine=None
    )
    made = dusty.doc()
    assert [(one["id"], one["machine"], one["days"]) for one in made["air"]["hazards"]] == [
        (first, dusty.cabinet["id"], 9), (second, None, 2),
    ]  # fmt: skip
    found = made["air"]["hazards"][0]["risk"]
    assert (found["before"], found["after"]) == ({"code": "2C", "level": "Serious"}, {"code": "2D", "level": "Medium"})
    assert found["review_late"] is True
    assert made["machines"][dusty.cabinet["id"]]["air"]["hazards"] == [first]
    dusty.push(("hazard.closed", {"hazard": first, "done": "new seal"}, 1))
    after = dusty.doc()["air"]
    assert [one["id"] for one in after["hazards"]] == [second]
    assert (after["log"]["noted"], after["log"]["near_misses"]) == (2, 1), "what is settled still stands in the log"


def test_the_log_counts_a_year_and_chips_by_alloy(dusty: Dusty) -> None:
    chips = {"alloy": "C36000", "weight": 100, "unit": "lb", "container": "drum 1", "to": "scrap"}
    old, new = (
        ("chips.collected", chips, 400),
        ("chips.collected", chips | {"dust": True, "unit": "kg", "weight": 2, "to": "waste"}, 3),
    )
    (_, voided) = dusty.push(
        ("hazard.noted", {"process": "mill", "seen": ["haze"], "first_aid": True}, 5),
        ("hazard.noted", {"process": "mill", "seen": ["haze"]}, 4),
    )
    dusty.push(old, new, ("entry.voided", {"entry": voided, "why": "twice"}, 1))
    made = dusty.doc()["air"]
    assert made["log"]["chips"] == {"C36000": {"scrap": 0, "waste": 2, "dust": 2, "times": 1}}
    # 100 lb are 45.359237 kg by definition.
    assert made["chips"]["C36000"]["scrap"] == 45.359237
    assert (made["log"]["noted"], made["log"]["first_aid"], made["log"]["by_seen"]) == (1, 1, {"haze": 1})


# People


def test_who_lacks_a_sign_off_is_told_and_so_is_the_lead(dusty: Dusty) -> None:
    cabinet, owner, helper = dusty.cabinet["id"], dusty.shop.owner, dusty.helper
    sign = {"person": owner, "machine": cabinet, "trainer": helper, "expires": dusty.in_days(200)}
    dusty.push(("training.signed", sign, 100))
    made = dusty.doc()
    assert made["machines"][cabinet]["air"]["people"]["asked"] is True
    assert [one["person"] for one in made["machines"][cabinet]["air"]["people"]["lacking"]] == [helper]
    pages = made["air"]["people"]
    assert pages[helper]["without"] == [cabinet] and pages[owner]["without"] == []
    assert pages[owner]["told"] == [{"person": helper, "machines": [cabinet]}] and pages[helper]["told"] == []
    dusty.push(("training.signed", sign | {"person": helper, "trainer": owner, "expires": dusty.in_days(-1)}, 30))
    lapsed = dusty.air()["people"]["lacking"]
    assert [(one["person"], one["word"]) for one in lapsed] == [(helper, "lapsed")]
    dusty.push(("training.signed", sign | {"person": helper, "trainer": owner, "expires": dusty.in_days(0)}, 1))
    assert dusty.air()["people"]["lacking"] == [], "it holds through its last day"
    assert "It holds through" in dusty.doc()["air"]["people"][helper]["said"][0], "and that it ends is said before"


def test_a_shop_that_never_signs_off_is_not_told_daily(dusty: Dusty) -> None:
    pages = dusty.doc()["air"]["people"]
    assert all(page["without"] == [] and page["told"] == [] for page in pages.values())


def test_fit_tests_cartridges_and_equipment(dusty: Dusty) -> None:
    helper = dusty.helper
    fit = {"person": helper, "respirator": "half mask M", "method": "qualitative"}
    lung = {"person": helper, "kind": "lung", "what": "half mask M"}
    dusty.push(
        ("fit.tested", fit | {"result": "pass", "expires": dusty.in_days(10)}, 355),
        ("ppe.checked", lung | {"result": "issued", "change_after": 40}, 60),
        ("ppe.checked", lung | {"result": "ok", "hours": 25}, 30),
        ("ppe.checked", {"person": helper, "kind": "eye", "result": "refused", "note": "scratched"}, 20),
        ("training.signed", {"person": helper, "topic": "respirators", "outside": "clinic"}, 300),
    )
    page = dusty.doc()["air"]["people"][helper]
    assert page["fits"][0]["word"] == "near its end" and page["fits"][0]["days"] == 10
    by_part = {one["part"]: one for one in page["ppe"]}
    assert (by_part["lung"]["cartridge"]["used"], by_part["lung"]["cartridge"]["hours_left"]) == (25, 15)
    assert by_part["eye"]["word"] == "refused" and "scratched" in by_part["eye"]["why"]
    assert page["topics"]["respirators"]["word"] == "current"
    dusty.push(("ppe.checked", lung | {"result": "ok", "hours": 16}, 10), ("fit.tested", fit | {"result": "fail"}, 5))
    page = dusty.doc()["air"]["people"][helper]
    assert {one["part"]: one["word"] for one in page["ppe"]}["lung"] == "change now"
    assert page["fits"][0]["word"] == "failed"
    assert any("half mask M" in said for said in page["said"])
    dusty.push(("ppe.checked", lung | {"result": "replaced", "change_after": 40}, 1))
    assert {one["part"]: one["word"] for one in dusty.doc()["air"]["people"][helper]["ppe"]}["lung"] == "current"


@pytest.mark.parametrize("kind", ["eye", "lung"])
def test_dates_that_contradict_each_other_are_told_not_tripped_over(dusty: Dusty, kind: str) -> None:
    """An end before the beginning is accepted by the record, since clocks are corrected there: nothing holds then."""
    helper, past = dusty.helper, dusty.in_days(-30)
    dusty.push(
        ("ppe.checked", {"person": helper, "kind": kind, "result": "issued", "change_by": past}, 2),
        (
            "fit.tested",
            {"person": helper, "respirator": "x", "method": "qualitative", "result": "pass", "expires": past},
            2,
        ),
        ("training.signed", {"person": helper, "topic": "t", "outside": "o", "expires": past}, 2),
    )
    page = dusty.doc()["air"]["people"][helper]
    assert (page["ppe"][0]["word"], page["fits"][0]["word"], page["topics"]["t"]["word"]) == (
        "change now",
        "lapsed",
        "lapsed",
    )


def test_a_machine_without_dust_has_no_exhaust_to_tell_of(dusty: Dusty) -> None:
    dusty.push(("air.checked", drop(1.0), 1))
    with dusty.shop.app.app_context():
        shop = load(db.session(), dusty.now)
        made = air.machines(db.session(), shop)
    assert set(made) == set(shop.machines)
    assert made[dusty.shop.mill]["exhaust"] == {} and made[dusty.cabinet["id"]]["exhaust"]["gauges"]
