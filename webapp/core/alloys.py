"""Alloys: what is in them, how heavy they are, and what in them matters.

Percentages are by weight, densities in g/cm3 unless a unit is named. A composition in print is a set of ranges:
every answer about a constituent is therefore a range too, and a hazard is judged by its upper end.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from webapp.core.numbers import is_number, say, tidy
from webapp.core.problems import AlloyError
from webapp.core.sources import Source

# Pound 453.59237 g and inch 2.54 cm are definitions: 1 lb/in3 is 27.6799 g/cm3.
GRAMS_IN_POUND = 453.59237
CUBIC_CM_IN_CUBIC_INCH = 2.54**3
POUND_PER_CUBIC_INCH = GRAMS_IN_POUND / CUBIC_CM_IN_CUBIC_INCH


@dataclass(frozen=True, slots=True)
class Constituent:
    """One element of a composition in weight %: a range, one side of it, a nominal figure, or the remainder."""

    element: str
    source: Source
    low: float | None = None
    high: float | None = None
    nominal: float | None = None
    rest: bool = False


@dataclass(frozen=True, slots=True)
class Density:
    """Mass by volume; `high` where the print gives a range. `unit` is "g/cm3" or "lb/in3"; `origin`: whose figure it
    is where it is not the alloy's own in print."""

    value: float
    unit: str
    source: Source
    high: float | None = None
    origin: str | None = None


@dataclass(frozen=True, slots=True)
class Machinability:
    """How readily it cuts, in % of the alloy that `base` names: figures on two bases do not compare."""

    value: float
    base: str
    source: Source


@dataclass(frozen=True, slots=True)
class Behaviour:
    """How chips break, what dust does, or under which name scrap is kept: words with their source."""

    key: str
    text: str
    source: Source


@dataclass(frozen=True, slots=True)
class Element:
    """Why an element matters to lungs, blood or skin, and from which weight % of an alloy on. `substance` is what the
    exposure limits call it, `hot_substance` what heat makes of it besides."""

    symbol: str
    name: str
    why: str
    source: Source
    from_percent: float
    threshold_source: Source
    substance: str | None = None
    hot_substance: str | None = None


@dataclass(frozen=True, slots=True)
class Alloy:
    """A metal as it is bought. `base` is the symbol of its main metal; what is not known is None.

    Of a shop's own alloy: the number of its `certificate`, the library's alloy that it is handled `like`; the elements
    that matter in it `beyond` those of that alloy, whose words on chips and dust do not cover them; and those that the
    certificate does not name, `assumed` as that alloy permits them.
    """

    key: str
    name: str
    base: str
    family: str
    composition: tuple[Constituent, ...]
    chips: Behaviour
    dust: Behaviour
    scrap: Behaviour
    uns: str | None = None
    form: str | None = None
    also: tuple[str, ...] = ()
    density: Density | None = None
    machinability: Machinability | None = None
    notes: str | None = None
    certificate: str | None = None
    like: str | None = None
    beyond: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Share:
    """Weight % of one element that a composition permits."""

    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Difference:
    """One line of a certificate outside of what the alloy permits."""

    element: str
    found: float
    low: float
    high: float

    def said(self) -> str:
        """The difference as a sentence."""
        bound = f"at most {say(self.high)}" if self.found > self.high else f"at least {say(self.low)}"
        return f"{self.element}: {say(self.found)} % found, {bound} % expected."


def share(composition: Sequence[Constituent], element: str) -> Share | None:
    """The least and the most of an element that a composition permits; None when it is not named in it.

    Nothing stated below is taken as 0; nothing stated above as what the others' least leaves of 100 %, and as its
    least where it takes room from the remainder.
    """
    own = next((one for one in composition if one.element == element), None)
    if own is None:
        return None
    others = [one for one in composition if one.element != element]
    room = max(100 - sum(_least(one) for one in others), 0)
    if own.rest:
        return Share(tidy(max(100 - sum(_most(one) for one in others), 0)), tidy(room))
    # A stated upper end stands even where the others leave less room: prints such as "Cu (+ Te + P) >= 99.90" count
    # a constituent twice, and a hazard must not shrink by that.
    high = own.high if own.high is not None else own.nominal
    return Share(tidy(_least(own)), tidy(high if high is not None else max(room, _least(own))))


def percents(composition: Sequence[Constituent]) -> dict[str, float]:
    """The most of each element that the composition permits: what a hazard is judged by."""
    found = {one.element: share(composition, one.element) for one in composition}
    return {element: one.high for element, one in found.items() if one is not None}


def mattering(alloy: Alloy, elements: Iterable[Element]) -> list[tuple[Element, Share]]:
    """The constituents that matter for health, the strictest threshold first, with what the alloy permits."""
    found = [(one, share(alloy.composition, one.symbol)) for one in elements]
    kept = [(one, part) for one, part in found if part is not None and part.high >= one.from_percent]
    return sorted(kept, key=lambda pair: (pair[0].from_percent, pair[0].symbol))


def traces(alloy: Alloy, elements: Iterable[Element]) -> frozenset[str]:
    """The elements that matter among what an alloy leaves behind in a machine, a medium or a collector."""
    return frozenset(one.symbol for one, _ in mattering(alloy, elements))


def in_dust(composition: Sequence[Constituent], element: str, dust: float) -> Share:
    """How much of a measured dust (any unit) is one element, if the dust is the alloy and nothing else: a
    mass balance, no measurement of that element. AlloyError when the composition does not name it."""
    if not is_number(dust) or dust < 0:
        raise AlloyError("dust", "It is not a number of 0 or more.", "Give the measured dust.")
    part = share(composition, element)
    if part is None:
        raise AlloyError("element", f"{element} is not in the composition.", "Choose one that is.")
    return Share(tidy(dust * part.low / 100, 9), tidy(dust * part.high / 100, 9))


def density_in(density: Density, unit: str) -> float:
    """The density (the lower end of a range) in "g/cm3" or "lb/in3"; AlloyError for another unit."""
    factors = {"g/cm3": 1.0, "lb/in3": POUND_PER_CUBIC_INCH}
    for asked in (density.unit, unit):
        if asked not in factors:
            raise AlloyError("unit", f"{asked} is no unit of density here.", "Use g/cm3 or lb/in3.")
    return density.value * factors[density.unit] / factors[unit]


def mass(alloy: Alloy, volume: float, unit: str) -> float:
    """The mass of a volume: kg for "cm3", lb for "in3". AlloyError without a density."""
    if alloy.density is None:
        raise AlloyError("density", f"{alloy.name} has none in the library.", "Take it from the certificate.")
    if not is_number(volume) or volume < 0:
        raise AlloyError("volume", "It is not a number of 0 or more.", "Measure it.")
    if unit == "cm3":
        return tidy(volume * density_in(alloy.density, "g/cm3") / 1000)
    if unit == "in3":
        return tidy(volume * density_in(alloy.density, "lb/in3"))
    raise AlloyError("unit", f"{unit} is no unit of volume here.", "Use cm3 or in3.")


def differences(alloy: Alloy, found: Mapping[str, float]) -> list[Difference]:
    """What on a certificate lies outside of the alloy's composition; an element it does not name may not be
    there at all in print, so it is not compared."""
    out = []
    for element, percent in found.items():
        part = share(alloy.composition, element)
        if part is not None and not part.low <= percent <= part.high:
            out.append(Difference(element, percent, part.low, part.high))
    return out


def _least(one: Constituent) -> float:
    if one.low is not None:
        return one.low
    return one.nominal if one.nominal is not None and one.high is None else 0.0


def _most(one: Constituent) -> float:
    return next((figure for figure in (one.high, one.nominal, one.low) if figure is not None), 0.0)
