"""The shared fold vectors: the Python truth must give what the file says; node holds the twin to the same file."""

from __future__ import annotations

import json

import pytest

from tests.records.fold_cases import FILE, cases, fold

VECTORS = json.loads(FILE.read_text())


@pytest.mark.parametrize("vector", VECTORS, ids=[vector["name"] for vector in VECTORS])
def test_python_folds_as_the_vectors_say(vector: dict) -> None:
    assert fold(vector["subject"], vector["entries"]) == vector["state"]


def test_the_file_holds_every_case() -> None:
    assert [case["name"] for case in cases()] == [vector["name"] for vector in VECTORS]


def test_some_states_by_hand() -> None:
    """Worked out on paper, so that a wrong fold cannot write its own vectors."""
    states = {vector["name"]: vector["state"] for vector in VECTORS}
    assert states["hours add up without crumbs"]["meters"]["h"]["total"] == 0.3
    assert states["a reading rules over what was added"]["meters"]["h"]["total"] == 123.2
    assert states["a first reading below the count is a new face"]["meters"]["h"]["total"] == 50
    assert states["a new counter keeps the total"]["meters"]["h"]["total"] == 903.5
    assert states["a reading that steps back moves nothing"]["meters"]["h"] | {"face_at": 0, "at": 0} == {
        "total": 90, "base": 90, "face": 90, "face_at": 0, "at": 0, "backwards": 1}  # fmt: skip
    ran = states["a counter that says it ran is use of the machine, a reading is not"]
    assert (ran["meters"]["h"]["total"], ran["used_at"]) == (11, "2027-03-01T13:00:00.000Z")
    assert states["a part's life in every meter"]["parts"]["b"]["lives"][0]["meters"] == {"h": 7.25}
    assert states["a part taken from the drawer, in the shop"]["stock"]["i"]["count"] == 2
    assert states["a tag goes on and off"]["tags"] == {}
    assert states["a tag taken off before, in time, it went on"] | {"last_at": 0, "back_at": 0} == states[
        "a note only moves the last time"
    ] | {"last_at": 0, "back_at": 0}
    assert list(states["two tags: one comes off, the other stays"]["tags"]) == ["e1"]
    assert (
        states["a task raised and done"]["raised"]
        == {}
        == states["a task done before, in time, it was raised"]["raised"]
    )
    assert states["a task done before, in time, it was raised"]["tasks"] == {}
    assert states["a round under a tag is not fit"]["rounds"]["c1"]["fit"] is False
    assert states["a round under an open finding that is no stop"]["rounds"]["c1"]["fit"] is True
    assert states["coolant topped up and changed"]["fluids"]["f"]["added"] == 2
    assert states["a voided entry counts for nothing"]["meters"]["h"]["total"] == 4
    assert states["an amended entry counts as amended last"]["meters"]["h"]["total"] == 1.5
    assert states["an amendment of another kind is passed over"]["meters"]["h"]["total"] == 3


def test_some_states_of_hazards_and_people_by_hand() -> None:
    states = {vector["name"]: vector["state"] for vector in VECTORS}
    assert list(states["a hazard stays open"]["hazards"]) == ["e0"]
    settled = states["a hazard settled before, in time, it was noted"]
    assert (settled.get("hazards"), settled["settled"]) == (None, {})
    assert states["a hazard is settled"]["hazards"] == {}
    assert states["an amended hazard is open as amended"]["hazards"]["e0"]["process"] == "mill"
    measured = states["what was measured is the shop's, newest first"]["exposures"]
    assert [row["alloy"] for row in measured["copper/dust"]] == ["C11000", None]
    assert list(measured) == ["copper/dust", "noise"]
    series = states["a round and a check of the air make one series"]["readings"]["filter.pressure_drop"]
    assert [row["value"] for row in series] == [1.4, 1.1]
    stays = states["a commissioning figure stays while readings follow"]["commissioned"]
    assert {key: row["value"] for key, row in stays.items()} == {
        "hood.velocity/sander hood": 210,
        "filter.pressure_drop": 0.9,
    }
    back = states["a voided commissioning gives way to the one before"]["commissioned"]
    assert back["hood.velocity/sander hood"]["value"] == 210
    assert states["the last purge"]["purge"]["seconds"] == 12
    # 41.5 lb of 0.45359237 kg are 18.824083 kg; 7 lb are 3.175147 kg (the pound by definition, worked by hand).
    chips = states["chips by alloy in kilograms"]["chips"]
    assert chips["C36000"] | {"at": None} == {"at": None, "scrap": 18.824083, "waste": 0.1, "dust": 0.1}
    assert chips["304"]["scrap"] == 3.175147
    worn = states["hours on a cartridge until it is replaced"]["people"]["p2"]["ppe"]["lung/half mask P100"]
    assert (worn["last_hours"], worn["hours"]) == (5.2, 1)
    # 5 and 2 ordered, 3 came: 2 of the first order and both of the second are still to come.
    coming = states["spares on order, one order in part delivered"]
    assert [row["count"] for row in coming["orders"]["i"]] == [2, 2] and coming["stock"]["i"]["count"] == 4
    # 6 of 7 came of one thing; of the other more than was ordered, and nothing is owed back.
    assert [row["count"] for row in states["a delivery over two orders, and more than was ordered"]["orders"]["i"]] == [
        1
    ]
    assert list(states["a delivery over two orders, and more than was ordered"]["orders"]) == ["i"]
    assert states["a count alone leaves what is on order"]["orders"]["i"][0]["count"] == 5
    assert states["an order called off"].get("orders") is None
    fits = states["a fit test, and a later one that failed"]["people"]["p2"]["fits"]
    assert {name: row["result"] for name, row in fits.items()} == {"half mask M": "fail", "full face": "pass"}
    signed = states["signed off for a machine and for a topic"]["people"]
    assert signed["p2"]["machines"]["m2"]["expires"] is None, "the newer sign-off counts, and it names no end"
    assert signed["p1"]["topics"]["respirators"]["outside"] == "clinic nurse"
    assert states["a voided sign-off is none"].get("people") is None
