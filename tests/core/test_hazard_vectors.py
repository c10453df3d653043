"""Alloys, hazard rules and limits: the cases that static/tests/hazards.test.js holds the phone's twins to."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.core.hazard_shapes import run

CASES = json.loads((Path(__file__).parents[1] / "vectors" / "hazards.json").read_text("utf-8"))


@pytest.mark.parametrize("case", CASES, ids=[case["name"] for case in CASES])
def test_the_core_answers_as_the_vectors_say(case: dict[str, Any]) -> None:
    assert run(case["in"]["fn"], case["in"]["args"]) == case["out"]


def test_every_function_and_every_rule_of_the_vectors_is_reached() -> None:
    assert {case["in"]["fn"] for case in CASES} == {
        "share",
        "percents",
        "mattering",
        "in_dust",
        "differences",
        "describe",
        "judge",
        "look_up",
    }
    judged = [case for case in CASES if case["in"]["fn"] == "judge"]
    fired = {key for case in judged for key in case["out"]["rules"]}
    assert fired == {rule["key"] for rule in judged[0]["in"]["args"]["cards"]["rules"]}
