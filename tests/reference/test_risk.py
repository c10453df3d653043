"""Risk against MIL-STD-882E: all cells of its matrix, its probabilities and what it says of level F."""

from __future__ import annotations

from datetime import date

import pytest

from webapp.core import risk
from webapp.core.problems import HygieneError

# MIL-STD-882E (11 May 2012), Table III, read row by row: probability, then catastrophic, critical, marginal, negligible.
TABLE_III = """
A High High Serious Medium
B High High Serious Medium
C High Serious Medium Low
D Serious Medium Medium Low
E Medium Medium Medium Low
F Eliminated Eliminated Eliminated Eliminated
"""
CELLS = [
    (severity, row.split()[0], level)
    for row in TABLE_III.strip().splitlines()
    for severity, level in enumerate(row.split()[1:], 1)
]


@pytest.mark.parametrize(("severity", "probability", "level"), CELLS)
def test_the_matrix(severity: int, probability: str, level: str) -> None:
    found = risk.cell(severity, probability)
    assert (found.level, found.code) == (level, f"{severity}{probability}")


def test_there_are_24_cells() -> None:
    assert len(CELLS) == 24


# Tables I and II: names of the categories and levels.
NAMES = [(1, "A", "Catastrophic", "Frequent"), (2, "B", "Critical", "Probable"), (3, "C", "Marginal", "Occasional"),
         (4, "D", "Negligible", "Remote"), (4, "E", "Negligible", "Improbable"), (4, "F", "Negligible", "Eliminated")]  # fmt: skip


@pytest.mark.parametrize(("severity", "probability", "one", "other"), NAMES)
def test_names(severity: int, probability: str, one: str, other: str) -> None:
    found = risk.cell(severity, probability)
    assert (found.severity, found.probability) == (one, other)


# Table A-II: A from 10^-1, B from 10^-2, C from 10^-3, D from 10^-6, E below that, F none at all.
CHANCES = [
    (0.5, "A"), (1e-1, "A"), (0.99e-1, "B"), (1e-2, "B"), (0.99e-2, "C"), (1e-3, "C"), (0.99e-3, "D"), (1e-6, "D"),
    (0.99e-6, "E"), (0, "F"),
]  # fmt: skip


@pytest.mark.parametrize(("chance", "letter"), CHANCES)
def test_probabilities(chance: float, letter: str) -> None:
    assert risk.probability_of(chance) == letter


# Section 4.3.3, quoted at acqnotes.com: no amount of doctrine, training, warning, caution or protective equipment moves
# a probability to level F.
@pytest.mark.parametrize("tier", ["substitute", "enclose", "administer", "protect"])
def test_only_a_hazard_that_is_gone_is_eliminated(tier: str) -> None:
    with pytest.raises(HygieneError) as refused:
        risk.estimate((1, "C"), (1, "F"), {tier: ["training, warning, caution or a mask"]}, date(2027, 3, 2))
    assert refused.value.field == "after"
    gone = risk.estimate((1, "C"), (1, "F"), {"eliminate": ["no such alloy"], tier: ["more"]}, date(2027, 3, 2))
    assert gone.after.level == "Eliminated"


# ANSI/ISO hierarchy: elimination, substitution, engineering, administration, protective equipment.
@pytest.mark.parametrize(
    ("used", "left"),
    [
        ("protect", ["eliminate", "substitute", "enclose", "administer"]),
        ("administer", ["eliminate", "substitute", "enclose"]),
        ("enclose", ["eliminate", "substitute"]),
        ("substitute", ["eliminate"]),
        ("eliminate", []),
    ],
)
def test_what_is_higher_up_comes_first(used: str, left: list[str]) -> None:
    assert risk.skipped({used: ["this"]}, {}) == left
    assert risk.skipped({used: ["this"]}, dict.fromkeys(left, "cannot be done here")) == []
