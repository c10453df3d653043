"""Exposure, noise, respirators, air, risk and sign-offs: the vectors shared with the phone."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest

from tests.core.hygiene_functions import FUNCTIONS
from tests.core.outcomes import outcome, vectors


@pytest.mark.parametrize(
    ("file", "case"),
    [pytest.param(file, case.values[0], id=f"{file}: {case.id}") for file in FUNCTIONS for case in vectors(file)],
)
def test_vectors(file: str, case: dict[str, Any]) -> None:
    assert case["source"].strip()
    assert outcome(FUNCTIONS[file][case["in"]["fn"]], case["in"]["args"]) == case["out"]


@pytest.mark.parametrize("file", FUNCTIONS)
def test_no_answer_is_a_verdict(file: str) -> None:
    """A figure below a limit is "below the limit"; nothing here says more."""
    told = json.dumps([case.values[0]["out"] for case in vectors(file)]).lower()
    assert not re.search(r"\b(safe|safely|compliant|compliance|acceptable)\b", told)


@pytest.mark.parametrize("file", FUNCTIONS)
def test_every_function_has_a_case(file: str) -> None:
    assert {case.values[0]["in"]["fn"] for case in vectors(file)} == set(FUNCTIONS[file])
