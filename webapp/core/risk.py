"""Risk of a task by a published matrix, severity x probability, before and after controls: MIL-STD-882E.

The matrix ranks work to be done; it says nothing about whether a task may be done. Level F, eliminated, is for a
hazard that is gone: section 4.3.3: "No amount of doctrine, training, warning, caution, or Personal Protective
Equipment (PPE) can move a mishap probability to level F."
Twin: static/src/core/risk.js, tests/vectors/risk.json.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from webapp.core.dates import add_months
from webapp.core.figures import known
from webapp.core.hazards import TIERS
from webapp.core.numbers import is_number
from webapp.core.problems import HygieneError

SOURCE = "MIL-STD-882E (2012), Tables I to III"
REVIEW_SOURCE = "how soon to review is our own choice, no source"
LEVELS = ("High", "Serious", "Medium", "Low", "Eliminated")
ELIMINATED = "F"
LEVEL_F = "Level F is for a hazard that is gone: no training, warning or protective equipment takes one away."

SEVERITIES = {
    1: ("Catastrophic", "death or permanent total disability"),
    2: ("Critical", "permanent partial disability, or three or more people in hospital"),
    3: ("Marginal", "an injury or illness with one or more lost days of work"),
    4: ("Negligible", "an injury or illness without a lost day"),
}
PROBABILITIES = {
    "A": ("Frequent", "likely to happen often"),
    "B": ("Probable", "will happen several times"),
    "C": ("Occasional", "likely to happen sometime"),
    "D": ("Remote", "unlikely, but possible"),
    "E": ("Improbable", "so unlikely that it may never be seen"),
    "F": ("Eliminated", "cannot happen: the hazard is gone"),
}
# Table III, a row for each probability, severities 1 to 4.
MATRIX = {
    "A": ("High", "High", "Serious", "Medium"),
    "B": ("High", "High", "Serious", "Medium"),
    "C": ("High", "Serious", "Medium", "Low"),
    "D": ("Serious", "Medium", "Medium", "Low"),
    "E": ("Medium", "Medium", "Medium", "Low"),
    "F": ("Eliminated", "Eliminated", "Eliminated", "Eliminated"),
}
# Table A-II of the standard: the probability in the life of an item from which each letter counts.
_FROM = (("A", 1e-1), ("B", 1e-2), ("C", 1e-3), ("D", 1e-6))
REVIEW_MONTHS = {"High": 1, "Serious": 3, "Medium": 12, "Low": 24, "Eliminated": 24}


@dataclass(frozen=True)
class Cell:
    """One cell of the matrix, with the words of its row and column; `code` is such as 2C."""

    code: str
    level: str
    severity: str
    probability: str


@dataclass(frozen=True)
class Estimate:
    """A task before and after controls; `review` is the day to look again (ISO date), `said` what there is to say."""

    before: Cell
    after: Cell
    review: str
    said: tuple[str, ...]
    source: str


def cell(severity: int, probability: str) -> Cell:
    """The level of one severity (1 to 4) and one probability (A to F)."""
    if not is_number(severity) or severity not in SEVERITIES:
        raise HygieneError("severity", "It is not 1, 2, 3 or 4.", "Take the worst that can credibly happen.")
    letter = known(probability, "probability", PROBABILITIES)
    row = int(severity)
    return Cell(f"{row}{letter}", MATRIX[letter][row - 1], SEVERITIES[row][0], PROBABILITIES[letter][0])


def probability_of(chance: float) -> str:
    """The letter of a chance of mishap in the life of an item, by Table A-II; F only for exactly none."""
    if not is_number(chance) or not 0 <= chance <= 1:
        raise HygieneError("chance", "It is not between 0 and 1.", "Give a share, such as 0.01 for one in a hundred.")
    if chance == 0:
        return ELIMINATED
    return next((letter for letter, least in _FROM if chance >= least * (1 - 1e-9)), "E")


def estimate(
    before: tuple[int, str], after: tuple[int, str], controls: Mapping[str, Iterable[str]], on: date
) -> Estimate:
    """A task's risk before and after `controls` (tier of the hierarchy: what is done), estimated on a day.

    HygieneError when level F is claimed without the hazard taken away, when the risk falls without any control, and
    when it rises.
    """
    first, last = cell(*before), cell(*after)
    used = [tier for tier in TIERS if any(text.strip() for text in controls.get(tier, ()))]
    unknown = next((tier for tier in controls if tier not in TIERS), None)
    if unknown is not None:
        raise HygieneError(f"controls.{unknown}", "It is no tier.", f"Give one of: {', '.join(TIERS)}.")
    if after[1] == ELIMINATED and "eliminate" not in used:
        raise HygieneError("after", LEVEL_F, "Name what took it away, or estimate A to E.")
    if LEVELS.index(last.level) < LEVELS.index(first.level):
        raise HygieneError("after", f"{last.level} is more than {first.level}.", "Estimate both again.")
    if last.code != first.code and not used:
        raise HygieneError("controls", "None is named, yet the estimate changed.", "Name what was done.")
    review = add_months(on, REVIEW_MONTHS[last.level])
    return Estimate(
        first, last, review.isoformat(), tuple(_said(before, after, last, used)), f"{SOURCE}; {REVIEW_SOURCE}"
    )


def skipped(controls: Mapping[str, Iterable[str]], reasons: Mapping[str, str]) -> list[str]:
    """Tiers of the hierarchy above the lowest used that hold no control and give no reason why not: each is to be
    thought through first, because what is higher up does not depend on people remembering it."""
    used = [place for place, tier in enumerate(TIERS) if any(text.strip() for text in controls.get(tier, ()))]
    above = TIERS[: used[-1]] if used else TIERS
    held = {TIERS[place] for place in used}
    return [tier for tier in above if tier not in held and not reasons.get(tier, "").strip()]


def _said(before: tuple[int, str], after: tuple[int, str], last: Cell, used: Sequence[str]) -> list[str]:
    said = []
    if used and all(tier in ("administer", "protect") for tier in used):
        said.append(
            "Only rules and protective equipment: they fail with whoever forgets them. Look for something higher up."
        )
    if after[0] > before[0] and not set(used) & {"eliminate", "substitute", "enclose"}:
        said.append("A lesser injury is claimed without a change to the work itself: say what makes it lesser.")
    if last.level == "High":
        said.append("High after controls: do not start; find further controls and ask a competent person.")
    elif last.level == "Serious":
        said.append("Serious after controls: whoever leads the shop agrees in writing before it is done again.")
    return said
