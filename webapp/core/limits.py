"""Exposure limits by (substance, form, authority): those that a shop chose, and the strictest of all beside them.

A limit is a figure in print, never a verdict. Figures compare only within one kind (average, short-term, ceiling,
action level) and one sampled fraction: a respirable figure is not stricter than a total one, it is another
measurement.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from webapp.core.numbers import tidy
from webapp.core.problems import LimitError
from webapp.core.sources import Source

Kind = Literal["twa", "stel", "ceiling", "action"]
Fraction = Literal["total", "inhalable", "thoracic", "respirable", "not stated"]
# The form of a limit that its print sets for dust, fume and mist alike.
ANY = "any"
KINDS: tuple[Kind, ...] = ("twa", "stel", "ceiling", "action")
# Total and inhalable samplers both aim at the whole dust; they differ, and the card says which one it is.
SAMPLED: dict[Fraction, str] = {
    "total": "whole",
    "inhalable": "whole",
    "not stated": "whole",
    "thoracic": "thoracic",
    "respirable": "respirable",
}
_MILLIGRAMS = {"mg/m3": 1.0, "ug/m3": 0.001}


@dataclass(frozen=True, slots=True)
class Limit:
    """One figure of one authority. `minutes` is the averaging time (0: at no moment); `since` and `until` (the day
    after the last), ISO dates, bound when it applies; `counted_as` is the element that the mass is counted as."""

    substance: str
    form: str
    authority: str
    kind: Kind
    value: float
    unit: Literal["mg/m3", "ug/m3"]
    minutes: int
    fraction: Fraction
    source: Source
    counted_as: str | None = None
    since: str | None = None
    until: str | None = None
    note: str | None = None

    @property
    def milligrams(self) -> float:
        """The value in mg/m3."""
        return tidy(self.value * _MILLIGRAMS[self.unit], 9)

    @property
    def sampled(self) -> str:
        """Which measurement it is compared with: "whole", "thoracic" or "respirable"."""
        return SAMPLED[self.fraction]


@dataclass(frozen=True, slots=True)
class Answer:
    """`chosen`: limits of the asked authorities in force; `strictest`: the lowest in force of any authority for each
    kind and fraction (several when equal); `coming`: those of any authority with a later date; `silent`: asked
    authorities that have none in force here."""

    substance: str
    form: str
    chosen: tuple[Limit, ...]
    strictest: tuple[Limit, ...]
    coming: tuple[Limit, ...]
    silent: tuple[str, ...]


def look_up(limits: Iterable[Limit], substance: str, form: str, authorities: Sequence[str], on: str) -> Answer:
    """The limits of one substance in one form on a day (ISO date). LimitError when the library has none in that
    form: copper fume has its own limit, ten times below that of copper dust, so no form stands in for another.
    A limit printed without a form ("any") goes for each."""
    own = [one for one in limits if one.substance == substance]
    if not own:
        raise LimitError("substance", f"The library has no limit for {substance}.", "Ask a hygienist.")
    found = [one for one in own if one.form in (form, ANY)]
    if not found:
        forms = ", ".join(sorted({one.form for one in own}))
        raise LimitError("form", f"There is none for {substance} as {form}.", f"Choose one of: {forms}.")
    in_force = [one for one in found if (one.since or on) <= on and (one.until is None or on < one.until)]
    chosen = tuple(one for one in in_force if one.authority in authorities)
    answered = {one.authority for one in chosen}
    return Answer(
        substance,
        form,
        chosen,
        strictest=_strictest(in_force),
        coming=tuple(one for one in found if one.since is not None and one.since > on),
        silent=tuple(one for one in authorities if one not in answered),
    )


def _strictest(found: Sequence[Limit]) -> tuple[Limit, ...]:
    kept: list[Limit] = []
    for kind in KINDS:
        for sampled in ("whole", "thoracic", "respirable"):
            alike = [one for one in found if one.kind == kind and one.sampled == sampled]
            lowest = min((one.milligrams for one in alike), default=None)
            kept += [one for one in alike if one.milligrams == lowest]
    return tuple(kept)
