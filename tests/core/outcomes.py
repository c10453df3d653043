"""What a function of the core answers, in the shape of the vectors: a refusal is an answer too."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import asdict, is_dataclass
from pathlib import Path
from typing import Any

import pytest

from webapp.core.problems import Problem

FOLDER = Path(__file__).parents[1] / "vectors"


def vectors(name: str) -> list[Any]:
    """Every case of tests/vectors/<name>.json, each with its own name for pytest."""
    cases = json.loads((FOLDER / f"{name}.json").read_text(encoding="utf-8"))
    return [pytest.param(case, id=case["name"]) for case in cases]


def outcome(function: Callable[..., Any], args: Mapping[str, Any]) -> object:
    """The result as JSON would carry it, or the refusal's three parts."""
    try:
        result = function(**args)
    except Problem as problem:
        return {"error": problem.to_dict()}
    return json.loads(json.dumps(_plain(result)))


def refused(function: Callable[..., Any], args: Mapping[str, Any]) -> str:
    """The field that a refusal names; fails when nothing is refused, or the refusal says nothing."""
    with pytest.raises(Problem) as caught:
        function(**args)
    assert caught.value.problem and caught.value.mend
    return caught.value.field


def _plain(value: Any) -> Any:
    if isinstance(value, tuple | list):
        return [_plain(each) for each in value]
    return asdict(value) if is_dataclass(value) and not isinstance(value, type) else value
