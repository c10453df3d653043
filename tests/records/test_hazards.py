"""Entries of hazards, air, chips and people: what is refused and how it is said, one line each, and what it folds to."""

from __future__ import annotations

import json
from typing import Any

import pytest

from tests.conftest import Shop
from webapp.core.instants import instant_text
from webapp.database import db, writing
from webapp.records.folding import refold, stored
from webapp.records.kinds import KINDS
from webapp.records.kinds.hazards import QUANTITIES, UNITS
from webapp.setup import definitions
from webapp.setup.ids import new_id, now_ms
from webapp.setup.names import Namer

Body = dict[str, Any]
HOUR = 3_600_000
HAZE: Body = {"process": "dry_sand", "seen": ["haze"]}
COPPER: Body = {"agent": "copper", "form": "dust", "place": "sander", "shift_hours": 8}
SAMPLE: Body = {"minutes": 400, "value": 0.2, "unit": "mg/m3"}


def fault(shop: Shop, kind: str, body: Body, machine: str | None = None) -> dict[str, str]:
    """The one thing that is wrong with an entry."""
    (result,) = shop.push(shop.entry(kind, body, machine=machine)).get_json()["results"]
    assert result["outcome"] == "refused", result
    (told,) = result["problem"]["errors"]
    return dict(told)


def state(shop: Shop, subject: str = "shop") -> dict[str, Any]:
    with shop.app.app_context():
        return dict(json.loads(stored(db.session())[subject]))


def measured(shop: Shop, **more: Any) -> Body:
    return COPPER | {"samples": [SAMPLE], **more}


# (kind, body, field, a word of the mend)
@pytest.mark.parametrize(
    ("kind", "body", "field", "mend"),
    [
        ("hazard.noted", {"process": "mill"}, "body.text", "what was seen"),
        ("hazard.noted", {"process": "mill", "seen": ["other"]}, "body.text", "what was seen"),
        ("hazard.noted", {"process": "mill", "seen": ["fog"]}, "body.seen.0", "visible dust"),
        ("hazard.noted", HAZE | {"exposed": ["0190a0b0-0000-7000-8000-000000000000"]}, "body.exposed.0", "person"),
        ("hazard.noted", HAZE | {"risk": {"before": {"severity": 5, "probability": "A"}, "agreed_by": "owner", "review_on": "2027-01-01"}}, "body.risk.before.severity", "at most 4"),
        ("hazard.noted", HAZE | {"risk": {"before": {"severity": 2, "probability": "G"}, "agreed_by": "owner", "review_on": "2027-01-01"}}, "body.risk.before.probability", "A, B"),
        ("exposure.measured", COPPER | {"samples": [SAMPLE], "form": None}, "body.form", "dust, fume"),
        ("exposure.measured", COPPER | {"samples": [SAMPLE], "place": None}, "body.person", "sampler"),
        ("exposure.measured", COPPER | {"samples": [SAMPLE | {"unit": "dBA"}]}, "body.samples.0.unit", "mg/m3"),
        ("exposure.measured", COPPER | {"samples": [SAMPLE, SAMPLE]}, "body.shift_hours", "hours of the shift"),
        ("exposure.measured", COPPER | {"agent": "noise", "samples": [SAMPLE]}, "body.samples.0.unit", "dBA"),
        ("exposure.measured", COPPER | {"agent": "noise", "samples": [SAMPLE | {"unit": "dBA", "value": 9}]}, "body.samples.0.value", "slow and A"),
        ("chips.collected", {"alloy": "304", "weight": 3, "unit": "st", "container": "drum", "to": "scrap"}, "body.unit", "kg, lb"),
        ("ppe.checked", {"person": "owner", "kind": "eye", "result": "ok", "hours": 3}, "body.hours", "lung"),
        ("ppe.checked", {"person": "owner", "kind": "eye", "result": "refused"}, "body.note", "why"),
        ("fit.tested", {"person": "owner", "respirator": "half", "method": "qualitative", "result": "pass"}, "body.expires", "next test"),
        ("training.signed", {"person": "owner", "trainer": None, "outside": "maker"}, "body.machine", "machine or the topic"),
        ("training.signed", {"person": "owner", "topic": "t"}, "body.trainer", "who trained"),
        ("training.signed", {"person": "owner", "topic": "t", "trainer": "owner"}, "body.trainer", "another"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_with_field_and_mend(
    shop: Shop, kind: str, body: Body, field: str, mend: str
) -> None:
    def named(value: Any) -> Any:
        if isinstance(value, dict):
            return {key: named(one) for key, one in value.items()}
        return shop.owner if value == "owner" else value

    told = fault(shop, kind, named(body))
    assert told["field"] == field and mend in told["mend"]


def test_the_exhaust_is_measured_at_a_machine_and_in_its_own_unit(shop: Shop) -> None:
    body = {"check": "filter drop", "value": 1.2, "unit": "in H2O"}
    assert fault(shop, "air.checked", body)["field"] == "machine"
    told = fault(shop, "air.checked", body | {"unit": "m/s"}, shop.mill)
    assert told["field"] == "body.unit" and "in H2O, Pa" in told["mend"]
    assert set(UNITS) == set(QUANTITIES)


def test_a_sign_off_is_for_a_machine_of_the_shop(shop: Shop) -> None:
    body = {"person": shop.owner, "machine": shop.blade, "outside": "maker"}
    assert fault(shop, "training.signed", body)["field"] == "body.machine"
    assert fault(shop, "training.signed", body | {"machine": shop.saw, "person": shop.saw})["field"] == "body.person"


def test_people_are_the_shops_wherever_it_was_written(shop: Shop) -> None:
    body = {"person": shop.owner, "machine": shop.saw, "outside": "maker"}
    shop.push(shop.entry("training.signed", body, machine=shop.saw))
    assert shop.saw in state(shop)["people"][shop.owner]["machines"]
    with shop.app.app_context():
        assert f"machine:{shop.saw}" not in stored(db.session())


def test_what_was_stored_before_hazards_were_known_still_folds(shop: Shop) -> None:
    """A document of an older version lacks the newer sections; a refold gives the same bytes, before and after."""
    shop.push(shop.added(1.5))
    assert "hazards" not in state(shop, f"machine:{shop.mill}")
    (opened,) = (shop.entry("hazard.noted", HAZE),)
    shop.push(opened)
    assert list(state(shop, f"machine:{shop.mill}")["hazards"]) == [opened["id"]]
    shop.push(shop.entry("hazard.closed", {"hazard": opened["id"], "done": "hood moved"}))
    assert state(shop, f"machine:{shop.mill}")["hazards"] == {}
    with shop.app.app_context():
        assert refold(db.session()) == stored(db.session())


def test_late_entries_and_mendings_fold_as_if_in_order(shop: Shop) -> None:
    start = now_ms() - 90 * HOUR
    lung = {"person": shop.owner, "kind": "lung", "what": "half mask"}

    def worn(hours: float, at: int, result: str = "ok") -> dict[str, Any]:
        body = lung | {"result": result, "hours": hours}
        return shop.entry("ppe.checked", body, machine=None, at=instant_text(start + at * HOUR))

    first, last, between = worn(0, 0, "issued"), worn(3, 60), worn(5, 30)
    for entry in (first, last, between):
        shop.push(entry)
    row = state(shop)["people"][shop.owner]["ppe"]["lung/half mask"]
    assert (row["hours"], row["at"]) == (8, instant_text(start + 60 * HOUR))
    shop.push(worn(1, 40, "replaced"))
    row = state(shop)["people"][shop.owner]["ppe"]["lung/half mask"]
    assert (row["last_hours"], row["hours"]) == (6, 3)
    amended = {
        "entry": between["id"],
        "kind": "ppe.checked",
        "body": lung | {"result": "ok", "hours": 2},
        "why": "read wrong",
    }
    shop.push(shop.entry("entry.amended", amended, machine=None))
    assert state(shop)["people"][shop.owner]["ppe"]["lung/half mask"]["last_hours"] == 3
    shop.push(shop.entry("entry.voided", {"entry": last["id"], "why": "twice"}, machine=None))
    assert state(shop)["people"][shop.owner]["ppe"]["lung/half mask"]["hours"] == 0
    with shop.app.app_context():
        assert refold(db.session()) == stored(db.session())


@pytest.mark.parametrize(
    ("kind", "body", "line"),
    [
        ("hazard.noted", HAZE | {"alloy": "C36000", "text": "over the belt", "near_miss": True}, "Hazard (near miss), dry sand C36000: over the belt"),
        ("hazard.noted", {"process": "mill", "seen": ["haze", "taste"]}, "Hazard, mill: haze, taste"),
        ("hazard.closed", {"hazard": "x", "done": "hood moved"}, "Hazard settled: hood moved"),
        ("exposure.measured", COPPER | {"samples": [SAMPLE | {"below_detection": True}, SAMPLE]}, "Measured, copper dust, sander: below 0.2 mg/m3 over 400 min, the first of 2 samples"),
        ("air.checked", {"check": "capture velocity", "value": 190, "unit": "ft/min", "place": "hood 1", "commissioning": True}, "Capture velocity at hood 1 190 ft/min, commissioning"),
        ("purge.run", {"seconds": 12, "needed": 50}, "Purged 12 s of 50 s, cut short"),
        ("chips.collected", {"alloy": "304", "weight": 41.5, "unit": "lb", "container": "drum 2", "to": "scrap", "dust": True}, "304 dust: 41.5 lb to scrap, drum 2"),
        ("ppe.checked", {"person": "p", "kind": "lung", "what": "half mask", "result": "replaced", "hours": 3, "note": "hard to breathe"}, "Ada, half mask replaced after 3 h: hard to breathe"),
        ("fit.tested", {"person": "p", "respirator": "half mask", "result": "fail"}, "Fit test, Ada, half mask: failed"),
        ("fit.tested", {"person": "p", "respirator": "half mask", "result": "pass", "expires": "2027-10-30"}, "Fit test, Ada, half mask: passed, until 2027-10-30"),
        ("training.signed", {"person": "p", "machine": "m", "topic": "blade change", "expires": "2027-10-30"}, "Ada signed off: Saw, blade change, until 2027-10-30"),
    ],
)  # fmt: skip
def test_one_line_says_what_happened(kind: str, body: Body, line: str) -> None:
    assert KINDS[kind].summary(body, Namer({"p": "Ada", "m": "Saw"}, {})) == line


def test_the_record_lists_them_with_names(shop: Shop) -> None:
    helper = new_id()
    with shop.app.app_context(), writing() as session:
        definitions.create(session, "person", {"name": "Bo Lind"}, shop.owner, id_=helper)
    shop.push(
        shop.entry("training.signed", {"person": helper, "machine": shop.saw, "trainer": shop.owner}, machine=shop.saw)
    )
    (row,) = shop.get("/records", kind="training.signed").get_json()["entries"]
    assert row["line"] == "Bo Lind signed off: Band saw"


def test_an_own_alloy_is_said_by_its_name_and_the_librarys_by_its_key() -> None:
    own = "01900000-0000-7000-8000-00000000000a"
    names = Namer({own: "Odd rod", "m": "Belt"}, {"m": "h"})
    batch, chips = {"adds": {"m": 3}}, {"weight": 4, "unit": "lb", "to": "scrap", "container": "drum 2"}
    for alloy, said in ((own, "Odd rod"), ("C36000", "C36000")):
        assert KINDS["batch.run"].summary(batch | {"alloy": alloy}, names) == f"{said}: Belt +3 h"
        assert KINDS["chips.collected"].summary(chips | {"alloy": alloy}, names).startswith(f"{said} chips: ")
        assert f"dry sand {said}: haze" in KINDS["hazard.noted"].summary(HAZE | {"alloy": alloy}, names)
    assert KINDS["batch.run"].summary(batch, names) == "batch: Belt +3 h"
