"""Sander and grinder: the vectors shared with the phone, limits, and metals that must not meet."""

from __future__ import annotations

import math
from itertools import permutations
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.core.outcomes import outcome, refused, vectors
from webapp import library
from webapp.core import abrasives, mixed_dust

FUNCTIONS = {
    "gaps": abrasives.gaps,
    "wheel_speed": abrasives.wheel_speed,
    "belt_speed": abrasives.belt_speed,
    "belt_advice": abrasives.belt_advice,
    "flange": abrasives.flange,
    "belt_lives": abrasives.belt_lives,
    "materials": mixed_dust.materials,
    "dust": mixed_dust.dust,
}
LIGHT = [
    "6061",
    "7075-T6",
    "Aluminium",
    "aluminum plate",
    "Titanium",
    "Ti-6Al-4V",
    "Gr5",
    "Magnesium",
    "AZ91",
    "A92024",
]
IRON = ["1018", "mild steel", "303", "Stainless 17-4", "cast iron", "rust", "S31600", "G41400", "H13", "12L14"]
COPPER = ["C36000", "brass", "C14500", "copper", "Aluminium bronze", "phosphor bronze"]


@pytest.mark.parametrize("case", vectors("abrasives"))
def test_vectors(case: dict[str, Any]) -> None:
    assert case["source"].strip()
    assert outcome(FUNCTIONS[case["in"]["fn"]], case["in"]["args"]) == case["out"]


@pytest.mark.parametrize("value", [math.nan, math.inf, -1, 1e300, "1", None, True])
def test_a_figure_that_cannot_be_is_refused_by_name(value: Any) -> None:
    assert refused(abrasives.gaps, {"rest": value, "tongue": 0.1, "units": "us"}) == "rest"
    assert refused(abrasives.gaps, {"rest": 0.1, "tongue": value, "units": "us"}) == "tongue"
    assert refused(abrasives.wheel_speed, {"diameter": 8, "rpm": value, "marked": 3600, "units": "us"}) == "rpm"
    assert refused(abrasives.belt_speed, {"diameter": 8, "rpm": 3450, "rated": value, "units": "us"}) == "rated"
    assert refused(abrasives.flange, {"wheel": value, "size": 2, "units": "us"}) == "wheel"
    assert refused(abrasives.belt_lives, {"lives": [("brass", value)]}) == "minutes"


@given(st.floats(0, 0.5), st.floats(0, 0.5))
def test_a_gap_raises_the_caution_only_above_its_limit(rest: float, tongue: float) -> None:
    found = abrasives.gaps(rest, tongue, "us")
    assert (found.caution is not None) == (rest > 0.125 + 1e-9 or tongue > 0.25 + 1e-9)


@given(st.floats(1, 20), st.floats(100, 5000), st.floats(100, 5000))
def test_a_wheel_is_over_its_mark_when_it_turns_faster(diameter: float, rpm: float, marked: float) -> None:
    found = abrasives.wheel_speed(diameter, rpm, marked, "us")
    assert found.over == (rpm > marked)


@given(st.lists(st.floats(1, 600), min_size=1, max_size=12))
def test_belt_lives_say_when_they_are_few(minutes: list[float]) -> None:
    (found,) = abrasives.belt_lives([("brass", each) for each in minutes])
    assert found.few == (len(minutes) < 5)
    assert found.shortest <= found.middle <= found.longest


def test_every_caution_raised_is_in_the_library() -> None:
    known = library.cautions()
    assert {caution for *_, caution in mixed_dust.INCOMPATIBLE} | {"grinder_gaps"} <= set(known)
    assert all(known[key].text.endswith(library.DEFERENCE) for *_, key in mixed_dust.INCOMPATIBLE)


@pytest.mark.parametrize(("names", "group"), [(LIGHT, "light"), (IRON, "iron"), (COPPER, "copper")])
def test_every_name_falls_in_its_group(names: list[str], group: str) -> None:
    for name in names:
        for written in (name, name.upper(), f"  {name.lower()} bar "):
            assert mixed_dust.groups_of(written) == (group,), written


@given(st.permutations([LIGHT[0], IRON[0], *COPPER[:3]]))
def test_steel_and_light_metal_raise_it_in_every_order(order: list[str]) -> None:
    assert mixed_dust.dust(order[:-1], order[-1]).caution == "light_metal_dust"


@pytest.mark.parametrize("pool", [LIGHT[:3] + COPPER[:1], IRON[:3] + COPPER[:1]])
def test_without_the_other_group_nothing_is_raised(pool: list[str]) -> None:
    for order in permutations(pool):
        assert mixed_dust.dust(order[:-1], order[-1]).caution is None


@given(st.text(max_size=30))
def test_any_name_is_taken(name: str) -> None:
    found = mixed_dust.dust(["1018"], name) if name.strip() else None
    if found and found.caution is None and "light" in mixed_dust.groups_of(name):
        raise AssertionError(name)
