"""A mill certificate: what one bar was analysed to hold, as a composition of its own.

Percentages are by weight. A figure is taken as it stands, a bound ("at most") as an upper end; the main metal, where
the certificate leaves it out, is the remainder. What it does not name may still be there: a hazard is not taken to be
away because a line was not copied. Twin: static/src/core/certificates.js, tests/vectors/own_alloys.json.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from webapp.core.alloys import Alloy, Constituent, Element, mattering, share
from webapp.core.numbers import is_number, tidy
from webapp.core.problems import AlloyError
from webapp.core.sources import Source

# A certificate rounds each figure; together they may miss 100 % by this much before it is an error (own choice).
SLACK = 1.0
# The elements up to uranium, by symbol: a misspelt one would raise no caution.
_UP_TO_URANIUM = (
    "H He Li Be B C N O F Ne Na Mg Al Si P S Cl Ar K Ca Sc Ti V Cr Mn Fe Co Ni Cu Zn Ga Ge As Se Br Kr Rb Sr Y Zr Nb "
    "Mo Tc Ru Rh Pd Ag Cd In Sn Sb Te I Xe Cs Ba La Ce Pr Nd Pm Sm Eu Gd Tb Dy Ho Er Tm Yb Lu Hf Ta W Re Os Ir Pt Au "
    "Hg Tl Pb Bi Po At Rn Fr Ra Ac Th Pa U"
)
SYMBOLS = frozenset(_UP_TO_URANIUM.split())
# What may be without a density in a sum of densities, in weight %: the gases and traces of an analysis (own choice).
WITHOUT_DENSITY = 1.0


@dataclass(frozen=True, slots=True)
class Line:
    """One element of a certificate in weight %: the figure found, or the bound below which it was found."""

    element: str
    percent: float | None = None
    at_most: float | None = None


def composed(base: str, lines: Sequence[Line], source: Source) -> tuple[Constituent, ...]:
    """The certificate as a composition. `base`: symbol of the main metal.

    AlloyError names `base`, `composition`, or `composition.<place>.element`, `.percent` or `.at_most`.
    """
    if base not in SYMBOLS:
        raise AlloyError("base", f"{base} is no element.", "Give the symbol of the main metal, such as Cu.")
    if not lines:
        raise AlloyError("composition", "It names no element.", "Copy the certificate's analysis.")
    for place, line in enumerate(lines):
        _check_line(f"composition.{place}", line, {one.element for one in lines[:place]}, base)
    _check_sum(base, lines)
    parts = tuple(_constituent(line, source) for line in lines)
    if all(line.element != base for line in lines):
        parts = (Constituent(base, source, rest=True), *parts)
    _check_base(base, parts)
    return parts


def assumed(base: str, lines: Sequence[Line], like: Alloy, elements: Iterable[Element]) -> tuple[Constituent, ...]:
    """The elements that matter in the alloy it is like and that the certificate does not name, as that permits them."""
    named = {base, *(line.element for line in lines)}
    cited = {part.element: part.source for part in like.composition}
    return tuple(
        Constituent(element.symbol, cited[element.symbol], high=part.high)
        for element, part in mattering(like, elements)
        if element.symbol not in named
    )


def density_by_parts(composition: Sequence[Constituent], densities: Mapping[str, float]) -> float | None:
    """g/cm3 by the reciprocal rule, 100 / density = sum of (weight % / density) over the elements: volumes are added as
    if each kept its own, which real alloys miss by a few per cent. None where more than 1 % has no density."""
    weights = {one.element: _weight(composition, one) for one in composition}
    known = {element: weight for element, weight in weights.items() if element in densities}
    total = sum(known.values())
    if total <= 0 or sum(weights.values()) - total > WITHOUT_DENSITY:
        return None
    return tidy(total / sum(weight / densities[element] for element, weight in known.items()), 2)


def _weight(composition: Sequence[Constituent], one: Constituent) -> float:
    part = share(composition, one.element)
    return 0.0 if part is None else part.high if one.rest else part.low


def _constituent(line: Line, source: Source) -> Constituent:
    if line.percent is not None:
        return Constituent(line.element, source, line.percent, line.percent)
    return Constituent(line.element, source, high=line.at_most)


def _check_line(field: str, line: Line, before: set[str], base: str) -> None:
    if line.element not in SYMBOLS:
        raise AlloyError(f"{field}.element", f"{line.element} is no element.", "Give its symbol, such as Pb.")
    if line.element in before:
        raise AlloyError(f"{field}.element", f"{line.element} stands twice.", "Give each element once.")
    if (line.percent is None) == (line.at_most is None):
        raise AlloyError(
            f"{field}.percent", "It needs one figure.", "Give percent, or at_most where only a bound is printed."
        )
    name, figure = ("percent", line.percent) if line.percent is not None else ("at_most", line.at_most)
    if not is_number(figure) or not 0 <= figure <= 100:
        raise AlloyError(f"{field}.{name}", "It is not between 0 and 100.", "Copy it again, in weight %.")
    if name == "at_most" and line.element == base:
        mend = "Give what was found, or leave it out: it is then the remainder."
        raise AlloyError(f"{field}.at_most", f"{base} is the main metal, and a bound does not say how much.", mend)


def _check_sum(base: str, lines: Sequence[Line]) -> None:
    found = sum(line.percent for line in lines if line.percent is not None)
    most = found + sum(line.at_most for line in lines if line.at_most is not None)
    if found > 100 + SLACK:
        raise AlloyError("composition", f"The figures make {tidy(found, 2)} %.", "Check each: together about 100 %.")
    if most < 100 - SLACK and any(line.element == base for line in lines):
        mend = f"Check each: together about 100 %. Where {base} is what is left, leave it out."
        raise AlloyError("composition", f"The figures make {tidy(most, 2)} %.", mend)


def _check_base(base: str, parts: Sequence[Constituent]) -> None:
    own = share(parts, base)
    for part in parts:
        if own is not None and part.low is not None and part.element != base and part.low > own.high:
            raise AlloyError(
                "base",
                f"{base} is at most {tidy(own.high, 2)} %, and {part.element} is {tidy(part.low, 2)} %.",
                "Choose the element that there is most of.",
            )
