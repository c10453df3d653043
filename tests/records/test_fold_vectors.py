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
