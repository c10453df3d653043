"""The shared vectors: the same cases that static/tests/twins.test.js holds the phone's twins to."""

from __future__ import annotations

import json
from dataclasses import asdict, is_dataclass
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from webapp.core import bands, coolant, dates, due, instants, lubrication, mix, sections, units
from webapp.core.problems import Problem

FOLDER = Path(__file__).parents[1] / "vectors"


def vectors(*names: str) -> list[Any]:
    """Every case of the files named, each with its own name for pytest."""
    return [
        pytest.param(case, id=f"{name}: {case['name']}")
        for name in names
        for case in json.loads((FOLDER / f"{name}.json").read_text(encoding="utf-8"))
    ]


def _shop_date(at: str, zone: str) -> str:
    return instants.shop_date(instants.parse_instant(at), zone).isoformat()


def _add_interval(day: str, unit: str, count: int) -> str:
    return dates.add_interval(date.fromisoformat(day), unit, count).isoformat()


FUNCTIONS = {
    "verdict": bands.verdict,
    "strength": mix.strength,
    "reading_for": mix.reading_for,
    "top_up": mix.top_up,
    "neat": mix.neat,
    "ratio": mix.ratio,
    "sump_volume": mix.sump_volume,
    "reach": mix.reach,
    "percent_of": mix.percent_of,
    "convert": units.convert,
    "zero_check": coolant.zero_check,
    "read_strength": coolant.read_strength,
    "volume_at": coolant.volume_at,
    "depth_at": coolant.depth_at,
    "expected": lambda **args: list(lubrication.expected(**args)),
    "left_in_tank": lubrication.left_in_tank,
    "area": sections.area,
    "part": sections.part,
    "bundle": sections.bundle,
    "cut_area": sections.cut_area,
    "spindle_hours": sections.spindle_hours,
    "holes": sections.holes,
    "shop_date": _shop_date,
    "add_interval": _add_interval,
}


@pytest.mark.parametrize("case", vectors("due"))
def test_due(case: dict[str, Any]) -> None:
    assert due.judge(case["in"]["rule"], case["in"]["facts"]).to_dict() == case["out"]


@pytest.mark.parametrize("case", vectors("bands", "mix", "coolant", "lubrication", "sections", "dates"))
def test_arithmetic(case: dict[str, Any]) -> None:
    assert outcome(case["in"]["fn"], case["in"]["args"]) == case["out"]


def outcome(function: str, args: dict[str, Any]) -> object:
    """What the function answers, in the shape of the vectors: a refusal is an answer too."""
    try:
        result: Any = FUNCTIONS[function](**args)
    except Problem as problem:
        return {"error": problem.to_dict()}
    if hasattr(result, "to_dict"):
        return result.to_dict()
    return asdict(result) if is_dataclass(result) else result


def test_every_vector_names_its_source() -> None:
    for name in ("due", "bands", "mix", "coolant", "lubrication", "sections", "dates"):
        for case in json.loads((FOLDER / f"{name}.json").read_text(encoding="utf-8")):
            assert case["source"].strip(), case["name"]
