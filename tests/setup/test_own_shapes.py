"""What is refused of a shop's own alloy and of a cabinet's figures, each by its field, with nothing kept."""

from __future__ import annotations

from typing import Any

import pytest

from tests.conftest import Shop
from tests.library.own_cases import lines, row
from webapp.core.instants import parse_instant
from webapp.database import db, writing
from webapp.records.faults import Refused
from webapp.setup import definitions

ALLOY = {
    key: value
    for key, value in row("Brass rod", "Cu", lines(Cu=61.3, Zn=35.9, Pb=2.7), like="C36000").items()
    if key != "id"
}
CABINET = {"volume": {"value": 12, "unit": "ft3"}, "exhaust": {"value": 100, "unit": "cfm"}, "mixing": 3}


def refused(shop: Shop, type_: str, body: dict[str, Any]) -> list[str]:
    with shop.app.app_context():
        with pytest.raises(Refused) as error, writing() as session:
            definitions.create(session, type_, body, shop.owner)
        assert not [one for one in definitions.list_all(db.session(), type_) if one["name"] == body.get("name")]
    assert all(fault.problem and fault.mend for fault in error.value.faults)
    return [fault.field for fault in error.value.faults]


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"name": " "}, "name"),
        ({"uns": "36000"}, "uns"),
        ({"base": "Xx"}, "base"),
        ({"base": "Zn"}, "base"),
        ({"like": "C99999"}, "like"),
        ({"base": "Al", "composition": lines(Mg=1)}, "like"),
        ({"composition": []}, "composition"),
        ({"composition": lines(Bo=1)}, "composition.0.element"),
        ({"composition": lines(Zn=30) * 2}, "composition.1.element"),
        ({"composition": lines(Zn=100.1)}, "composition.0.percent"),
        ({"composition": lines(Zn=-1)}, "composition.0.percent"),
        ({"composition": lines(Be="101")}, "composition.0.at_most"),
        ({"composition": [{"element": "Pb"}]}, "composition.0.percent"),
        ({"composition": [{"element": "Pb", "percent": 1, "at_most": 2}]}, "composition.0.percent"),
        ({"composition": [{"element": "Pb", "percentage": 1}]}, "composition.0.percentage"),
        ({"composition": lines(Cu=61.3, Zn=45)}, "composition"),
        ({"composition": lines(Cu=61.3, Zn=30)}, "composition"),
        ({"certificate": {"number": "1", "source": "mill"}}, "certificate.dated"),
        ({"certificate": {"number": "1", "source": "mill", "dated": "2 March"}}, "certificate.dated"),
        ({"certificate": None}, "certificate"),
        ({"density": {"value": 8.5, "unit": "kg/m3"}}, "density.unit"),
        ({"density": {"value": 8.5, "unit": "lb/in3"}}, "density.value"),
        ({"density": {"value": 0.307, "unit": "g/cm3"}}, "density.value"),
        ({"scrap": "gold"}, "scrap"),
        ({"maker": "x"}, "maker"),
    ],
)
def test_an_alloy_that_cannot_be_is_refused_by_its_field(shop: Shop, change: dict[str, Any], field: str) -> None:
    assert refused(shop, "alloy", ALLOY | change) == [field]


@pytest.mark.parametrize(
    ("cabinet", "field"),
    [
        ({}, "cabinet.volume"),
        ({"volume": CABINET["volume"]}, "cabinet.exhaust"),
        ({"exhaust": CABINET["exhaust"]}, "cabinet.volume"),
        (CABINET | {"exhaust": {"value": 170, "unit": "m3/h"}}, "cabinet.exhaust.unit"),
        (CABINET | {"exhaust": {"value": 0, "unit": "cfm"}}, "cabinet.exhaust.value"),
        (CABINET | {"exhaust": {"value": 0.1, "unit": "cfm"}}, "cabinet.exhaust.value"),  # 12.4 hours at 99.9 %
        (CABINET | {"mixing": 0.5}, "cabinet.mixing"),
        (CABINET | {"mixing": 11}, "cabinet.mixing"),
        (CABINET | {"posted": 0}, "cabinet.posted"),
        (CABINET | {"posted": 14_401}, "cabinet.posted"),
        (CABINET | {"volume": {"value": 12}}, "cabinet.volume.unit"),
    ],
)
def test_a_cabinet_that_cannot_be_is_refused_by_its_field(shop: Shop, cabinet: dict[str, Any], field: str) -> None:
    assert refused(shop, "machine", {"name": "Cabinet 2", "cabinet": cabinet}) == [field]


def test_an_own_alloy_comes_with_the_next_sync_and_keeps_its_revisions(shop: Shop) -> None:
    with shop.app.app_context(), writing() as session:
        made = definitions.create(session, "alloy", ALLOY, shop.owner)
        posted = definitions.create(session, "machine", {"name": "Cabinet 2", "cabinet": {"posted": 90}}, shop.owner)
        again = definitions.update(
            session, "alloy", made["id"], ALLOY | {"notes": "Rack 2"}, 1, shop.owner, retired=True
        )
    assert posted["cabinet"] == {"posted": 90, "mixing": 3}
    assert (again["revision"], again["retired"], again["like"]) == (2, True, "C36000")
    (kept,) = shop.get("/sync/snapshot").get_json()["definitions"]["alloys"]
    assert kept == again and parse_instant(f"{kept['certificate']['dated']}T00:00:00Z")
    changed = shop.get("/sync/changes", after=0).get_json()["definitions"]
    assert [one["notes"] for one in changed if one["type"] == "alloy"] == ["Rack 2"]
