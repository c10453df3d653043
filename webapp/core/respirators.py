"""Respirators: which class is enough for a measured exposure, up to what it may be worn, and a cartridge's hours.

Hazard ratio = exposure / limit; maximum use concentration = assigned protection factor (APF) x limit, never above IDLH
nor above what the cartridge's maker allows: 29 CFR 1910.134(d)(3)(i)(A) Table 1 and (B). Concentrations in one unit.
A class is arithmetic on a measurement; fit, seal and a doctor's word decide whether it protects the person.
Twin: static/src/core/respirators.js, tests/vectors/respirators.json.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from webapp.core.exposure import UNMEASURED, figure, reaches
from webapp.core.figures import known
from webapp.core.numbers import is_number, say, tidy
from webapp.core.problems import HygieneError

APF_SOURCE = "29 CFR 1910.134(d)(3)(i)(A), Table 1"
MUC_SOURCE = "29 CFR 1910.134(d)(3)(i)(B): APF x limit, never above IDLH nor above the cartridge's own bound"
UNKNOWN_SOURCE = "29 CFR 1910.134(d)(1)(iii), from memory: an exposure that cannot be estimated counts as IDLH"
CHANGE_SOURCE = (
    "29 CFR 1910.134(d)(3)(iii)(B)(2): an end-of-service indicator or a schedule from the maker's or own data"
)
FIT_MONTHS = 12
"""A fit test holds a year, and until the face, the model or the size changes: 29 CFR 1910.134(f)(2), from memory."""
# Of a quantitative fit test: 29 CFR 1910.134(f)(7), from memory.
FIT_FACTORS = {"quarter": 100, "half": 100, "full": 500}


@dataclass(frozen=True)
class Class:
    """A row and column of Table 1. `proven`: the factor with the maker's evidence, where the print allows one;
    `tight`: it seals to the face, so it needs a fit test and a seal check; `feeds`: air from elsewhere."""

    key: str
    name: str
    apf: int
    proven: int | None
    tight: bool
    feeds: bool


def _rows(kind: str, name: str, feeds: bool, factors: dict[str, tuple[int, int | None]]) -> list[Class]:
    return [
        Class(f"{kind} {piece}", f"{name}, {_PIECES[piece]}", apf, proven, piece in FIT_FACTORS, feeds)
        for piece, (apf, proven) in factors.items()
    ]


_PIECES = {
    "quarter": "quarter mask",
    "half": "half mask",
    "full": "full facepiece",
    "hood": "helmet or hood",
    "loose": "loose-fitting facepiece",
}
CLASSES = (
    *_rows("filter", "Air-purifying", False, {"quarter": (5, None), "half": (10, None), "full": (50, None)}),
    *_rows(
        "powered",
        "Powered air-purifying",
        False,
        {"half": (50, None), "full": (1000, None), "hood": (25, 1000), "loose": (25, None)},
    ),
    *_rows("line demand", "Supplied air, demand", True, {"half": (10, None), "full": (50, None)}),
    *_rows(
        "line flow",
        "Supplied air, continuous flow",
        True,
        {"half": (50, None), "full": (1000, None), "hood": (25, 1000), "loose": (25, None)},
    ),
    *_rows("line pressure", "Supplied air, pressure demand", True, {"half": (50, None), "full": (1000, None)}),
    *_rows("tank demand", "Self-contained, demand", True, {"half": (10, None), "full": (50, None), "hood": (50, None)}),
    *_rows("tank pressure", "Self-contained, pressure demand", True, {"full": (10_000, None), "hood": (10_000, None)}),
)
_BY_KEY = {one.key: one for one in CLASSES}


@dataclass(frozen=True)
class Use:
    """Up to what a class may be worn: `bound` says which of the three set it ("APF", "IDLH", "cartridge")."""

    concentration: float
    bound: str
    why: str
    source: str


@dataclass(frozen=True)
class Choice:
    """`word`: "none needed by this limit", "choose one of these", "only for IDLH" or "not measured". `classes` are the
    keys that are enough, lowest factor first; `ratio` exposure / limit."""

    word: str
    ratio: float | None
    classes: tuple[str, ...]
    why: str
    source: str


@dataclass(frozen=True)
class Cartridge:
    """Hours and days of a cartridge: `word` is "in use", "change now" or "no schedule"; `hours_left` None without hours
    to hold it to."""

    word: str
    used: float
    hours_left: float | None
    why: str
    source: str


def apf(key: str, evidence: bool = False) -> int:
    """The assigned protection factor of a class; `evidence`: the maker has shown 1000 for this hood or helmet."""
    one = _BY_KEY[known(key, "respirator", _BY_KEY)]
    return one.proven if evidence and one.proven is not None else one.apf


def hazard_ratio(exposure: float, limit: float) -> float:
    """How many times the limit an exposure is."""
    return tidy(_amount(exposure, "exposure") / _above_zero(limit, "limit"), 4)


def maximum_use(
    key: str, limit: float, idlh: float | None = None, cartridge: float | None = None, evidence: bool = False
) -> Use:
    """The most concentrated air in which a class may be worn, by the lowest of its three bounds."""
    factor = apf(key, evidence)
    bounds = [(factor * _above_zero(limit, "limit"), "APF")]
    if idlh is not None:
        bounds.append((_above_zero(idlh, "idlh"), "IDLH"))
    if cartridge is not None:
        bounds.append((_above_zero(cartridge, "cartridge"), "cartridge"))
    lowest, bound = min(bounds, key=lambda one: one[0])
    why = f"{factor} x {figure(limit)} is {figure(factor * limit)}."
    if bound != "APF":
        why += f" {'IDLH' if bound == 'IDLH' else 'The cartridge'} ends it at {figure(lowest)}."
    return Use(tidy(lowest, 9), bound, why, MUC_SOURCE)


def choose(exposure: float | None, limit: float, idlh: float | None = None) -> Choice:
    """The classes whose factor covers a measured exposure. Below the limit none is asked by it; at or over IDLH only
    a full facepiece with its own or piped air and a way out is; unmeasured, nothing can be chosen."""
    bound = _above_zero(limit, "limit")
    danger = None if idlh is None else _above_zero(idlh, "idlh")
    if exposure is None:
        why = "Measure it first. Until then the air counts as immediately dangerous, and nobody goes in."
        return Choice(UNMEASURED, None, (), why, UNKNOWN_SOURCE)
    found = _amount(exposure, "exposure")
    ratio = found / bound
    if danger is not None and reaches(found, danger):
        why = f"{figure(found)} is at or over IDLH, {figure(danger)}: out of there; a shop has no work in such air."
        return Choice("only for IDLH", tidy(ratio, 4), ("tank pressure full",), why, "29 CFR 1910.134(d)(2)")
    if not reaches(found, bound):
        why = (
            f"{figure(found)} is below the limit of {figure(bound)}. Other limits and the work's own rules may ask one."
        )
        return Choice("none needed by this limit", tidy(ratio, 4), (), why, APF_SOURCE)
    enough = [one for one in CLASSES if one.apf >= ratio * (1 - 1e-9)]
    keys = tuple(one.key for one in sorted(enough, key=lambda one: one.apf))
    why = f"{figure(found)} is {figure(ratio)} times the limit: a factor of at least that. Lower the dust first."
    return Choice("choose one of these" if keys else "only for IDLH", tidy(ratio, 4), keys, why, APF_SOURCE)


def needs(key: str) -> tuple[str, ...]:
    """What a class asks before it is worn, each with its paragraph of 29 CFR 1910.134 (from memory but for the seal
    check, (g)(1)(iii), which was seen)."""
    one = _BY_KEY[known(key, "respirator", _BY_KEY)]
    asked = ["A doctor's or nurse's word that the person may wear it: (e).", "Training, each year: (k)."]
    if one.tight:
        asked.append("A fit test with this make, model and size within the year: (f)(2).")
        asked.append("A seal check each time it is put on: (g)(1)(iii). No hair where it seals: (g)(1)(i).")
    if one.feeds:
        asked.append("Breathing air of Grade D at least, from a compressor or bottles made for it: (i)(1).")
    if one.key.startswith(("filter", "powered")):
        asked.append(
            "A filter of the class that the substance's own standard asks, and a schedule to change it: (d)(3)."
        )
    return tuple(asked)


def fit_factor(piece: str, measured: float) -> bool:
    """Whether a quantitative fit test's factor is reached: 100 for quarter and half masks, 500 for full facepieces."""
    return reaches(_amount(measured, "measured"), FIT_FACTORS[known(piece, "piece", FIT_FACTORS)])


def cartridge(
    used: Sequence[float],
    maker_hours: float | None = None,
    own_hours: float | None = None,
    opened: str | None = None,
    until: str | None = None,
    today: str | None = None,
) -> Cartridge:
    """Hours of use so far against the maker's and the shop's own schedule: the shorter counts, and nothing beyond what
    was entered. `until`, the last day it may be used (ISO date), ends it too; `today` is needed beside it.

    HygieneError for hours that are none and for a last day before it was opened.
    """
    hours = [_hours(one, f"used[{place}]") for place, one in enumerate(used)]
    bounds = [(one, name) for one, name in ((maker_hours, "maker_hours"), (own_hours, "own_hours")) if one is not None]
    spent = sum(hours)
    if until is not None and opened is not None and until < opened:
        raise HygieneError("until", "It lies before the day it was opened.", "Read both dates again.")
    if until is not None and today is None:
        raise HygieneError("today", "It is missing.", "Give today's date.")
    if not bounds and until is None:
        why = "No hours and no last day were entered: take the maker's, or work out your own and write down from what."
        return Cartridge("no schedule", tidy(spent, 2), None, why, CHANGE_SOURCE)
    most = min((_hours(one, name) for one, name in bounds), default=None)
    left = None if most is None else max(most - spent, 0.0)
    worn = left is not None and left <= 1e-9
    late = until is not None and today is not None and today > until
    return Cartridge(
        "change now" if worn or late else "in use",
        tidy(spent, 2),
        None if left is None else tidy(left, 2),
        _cartridge_why(spent, most, until, worn, late),
        CHANGE_SOURCE,
    )


def _cartridge_why(spent: float, most: float | None, until: str | None, worn: bool, late: bool) -> str:
    parts = []
    if most is not None:
        parts.append(f"{say(spent)} h of {say(most)} h used{': it is spent' if worn else ''}.")
    if until is not None:
        parts.append(f"Its last day {'was' if late else 'is'} {until}.")
    return f"{' '.join(parts)} Smell, taste or harder breathing ends it at once."


def _amount(value: float, field: str) -> float:
    if not is_number(value) or value < 0:
        raise HygieneError(field, "It is not a number of 0 or more.", "Give what was measured.")
    return value


def _hours(value: float, field: str) -> float:
    if not is_number(value) or not 0 <= value <= 10_000:
        raise HygieneError(field, "It is not between 0 and 10000 h.", "Give the hours it was worn, or may be.")
    return value


def _above_zero(value: float, field: str) -> float:
    if not is_number(value) or value <= 0:
        raise HygieneError(field, "It is not a number above zero.", "Take it from its print.")
    return value
