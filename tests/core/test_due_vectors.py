"""The shared vectors: the same cases that static/tests/twins.test.js holds the phone's twin to."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from webapp.core.due import judge

CASES = json.loads((Path(__file__).parents[1] / "vectors" / "due.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_due(case: dict[str, Any]) -> None:
    assert judge(case["in"]["rule"], case["in"]["facts"]).to_dict() == case["out"]
