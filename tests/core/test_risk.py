"""Risk and respirators: what must hold of every estimate and every class."""

from __future__ import annotations

import itertools
import math
from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.core.outcomes import refused
from webapp.core import respirators, risk
from webapp.core.hazards import TIERS
from webapp.core.problems import HygieneError

CELLS = list(itertools.product((1, 2, 3, 4), "ABCDEF"))
DAY = date(2027, 3, 2)


def test_worse_or_likelier_is_never_lower() -> None:
    for (severity, letter), (other, later) in itertools.product(CELLS, CELLS):
        if severity <= other and letter <= later:
            here, there = risk.cell(severity, letter).level, risk.cell(other, later).level
            assert risk.LEVELS.index(here) <= risk.LEVELS.index(there)


@given(st.sampled_from(CELLS), st.sampled_from(CELLS), st.sets(st.sampled_from(TIERS)))
def test_an_estimate_holds_or_is_refused(before: tuple[int, str], after: tuple[int, str], tiers: set[str]) -> None:
    controls = {tier: ["done"] for tier in tiers}
    try:
        found = risk.estimate(before, after, controls, DAY)
    except HygieneError as problem:
        assert problem.field in ("after", "controls") and problem.mend
        return
    assert risk.LEVELS.index(found.after.level) >= risk.LEVELS.index(found.before.level)
    assert after[1] != "F" or "eliminate" in tiers
    assert found.review > DAY.isoformat()
    assert found.after.level != "High" or any("do not start" in one for one in found.said)


def test_the_higher_the_risk_the_sooner_it_is_looked_at_again() -> None:
    months = [risk.REVIEW_MONTHS[level] for level in risk.LEVELS]
    assert months == sorted(months)
    assert "own choice" in risk.estimate((3, "C"), (3, "C"), {}, DAY).source


@pytest.mark.parametrize("value", [0, 5, 1.5, math.nan, "1", None, True])
def test_a_severity_that_is_none_is_refused(value: Any) -> None:
    assert refused(risk.cell, {"severity": value, "probability": "A"}) == "severity"


@pytest.mark.parametrize("value", ["a", "G", "", None, 1])
def test_a_probability_that_is_none_is_refused(value: Any) -> None:
    assert refused(risk.cell, {"severity": 1, "probability": value}) == "probability"


@given(st.floats(0, 1), st.floats(0, 1))
def test_a_greater_chance_never_has_a_later_letter(one: float, other: float) -> None:
    if one <= other:
        assert risk.probability_of(one) >= risk.probability_of(other)


@given(st.floats(0.0001, 1000), st.floats(0.0001, 10), st.floats(0.001, 2000))
def test_no_class_is_named_beyond_its_use(exposure: float, limit: float, idlh: float) -> None:
    found = respirators.choose(exposure, limit, idlh)
    for key in found.classes:
        most = respirators.maximum_use(key, limit, idlh)
        assert most.concentration <= idlh + 1e-9
        assert exposure <= most.concentration * (1 + 1e-6) or found.word == "only for IDLH"
    if exposure >= idlh:
        assert found.classes == ("tank pressure full",)
    if found.word == "choose one of these":
        assert [respirators.apf(key) for key in found.classes] == sorted(respirators.apf(key) for key in found.classes)


@given(st.lists(st.floats(0, 8), max_size=20), st.floats(0.1, 200), st.floats(0.1, 200))
def test_no_cartridge_outlives_what_was_entered(used: list[float], maker: float, own: float) -> None:
    both = respirators.cartridge(used, maker, own)
    assert both.hours_left is not None
    assert both.used + both.hours_left <= min(maker, own) + 0.02 or both.hours_left == 0
    assert both.word == ("change now" if sum(used) >= min(maker, own) - 1e-9 else "in use")
    assert respirators.cartridge(used).word == "no schedule"


def test_tight_ones_are_those_with_a_fit_test() -> None:
    for one in respirators.CLASSES:
        assert one.tight == (one.key.rsplit(" ", 1)[1] in respirators.FIT_FACTORS)
        assert one.feeds == one.key.startswith(("line", "tank"))


@pytest.mark.parametrize("value", [math.nan, math.inf, -1, "1", True])
def test_a_measurement_that_is_none_is_refused(value: Any) -> None:
    assert refused(respirators.choose, {"exposure": value, "limit": 1}) == "exposure"
    assert refused(respirators.choose, {"exposure": 1, "limit": value}) == "limit"
    assert refused(respirators.cartridge, {"used": [value], "maker_hours": 8}) == "used[0]"
