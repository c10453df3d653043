"""Exposure, noise, respirators, air, risk and sign-offs: the vectors shared with the phone."""

from __future__ import annotations

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
def test_every_function_has_a_case(file: str) -> None:
    assert {case.values[0]["in"]["fn"] for case in vectors(file)} == set(FUNCTIONS[file])
