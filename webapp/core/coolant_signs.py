"""What coolant shows beside its strength: bacteria, pH, tramp oil, heat, hardness, smell, and the signs of copper.

Each figure is judged by itself and says what to do, with its source. "within" is inside the figure named, "look"
asks for a person, "act" for work today. A sign is no diagnosis: several point the same way before a charge goes.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Literal

from webapp.core.bands import verdict
from webapp.core.numbers import is_number, say
from webapp.core.problems import Problem

Level = Literal["within", "look", "act"]
TRAMP_OIL_MOST = 2.0
WARMEST = 30.0
COPPER_PH = 9.0
SOFT, HARD = 70.0, 200.0
SUMP_HARD = 400.0
_OWN = "common practice, no source"


class SignError(Problem):
    """A figure that coolant cannot show."""


@dataclass(frozen=True)
class Sign:
    """One sign: how it stands, what it says, what to do, its source, and the cautions of doing it (by key)."""

    key: str
    level: Level
    says: str
    do: str
    source: str
    cautions: tuple[str, ...] = ()

    def to_dict(self) -> dict[str, object]:
        """The sign as JSON carries it."""
        return asdict(self) | {"cautions": list(self.cautions)}


@dataclass(frozen=True)
class Scale:
    """Dip-slide classes, in CFU per ml: below `good` good, below `poor` reasonable, from there on poor."""

    source: str
    good: float
    poor: float


DIP_SLIDES = {
    "hse": Scale("HSE, hse.gov.uk/metalworking/bacterial.htm, current page", 1e4, 1e6),
    "hse-2012": Scale("HSE, the same page as of 2012-11-28, replaced since", 1e3, 1e6),
}
"""The classes by version: the page was changed, and a count is read by the one in force when it was taken."""


def dip_slide(count: float, version: str = "hse") -> Sign:
    """Bacteria in CFU per ml by one of the published scales; SignError for an unknown scale or a bad count."""
    if version not in DIP_SLIDES:
        raise SignError("version", f'"{version}" is not known.', f"Give one of: {', '.join(DIP_SLIDES)}.")
    _count(count, "dip_slide")
    scale = DIP_SLIDES[version]
    shown = f"{count:,.0f} CFU/ml".replace(",", " ")
    if count < scale.good:
        return Sign("dip_slide", "within", f"{shown}: good.", "Keep the weekly slide going.", scale.source)
    if count < scale.poor:
        return Sign(
            "dip_slide", "look", f"{shown}: reasonable.",
            "Review: strength, pH, tramp oil and dead corners; bring the strength up, skim, stir.",
            scale.source, ("coolant_skin", "concentrate"),
        )  # fmt: skip
    return Sign(
        "dip_slide", "act", f"{shown}: poor.",
        "Act at once: keep people out of the mist, ask the supplier about cleaning or biocide, change the charge.",
        scale.source, ("coolant_skin", "biocide"),
    )  # fmt: skip


def acidity(ph: float, band: Mapping[str, float | None], copper: bool = False) -> Sign:
    """pH against the charge's band; `copper`: copper alloys are cut in it, which high pH attacks."""
    if not is_number(ph) or not 0 <= ph <= 14:
        raise SignError("ph", "It is not between 0 and 14.", "Read it again with a fresh strip or a set meter.")
    where = verdict(ph, band)
    source = f"the band on the machine's list; weekly by HSE metalworking fluid guidance; {_OWN} for what to do"
    if where.endswith("low"):
        do = "Look for bacteria: smell, dip slide, strength. Bring the strength up before anything else is added."
        return Sign("ph", "act", f"pH {say(ph)} is low.", do, source, ("coolant_skin", "concentrate"))
    if where.endswith("high"):
        do = "Check the strength: too strong, or something else got in. It is hard on skin and on copper alloys."
        return Sign("ph", "act", f"pH {say(ph)} is high.", do, source, ("coolant_skin",))
    if copper and ph > COPPER_PH:
        return Sign(
            "ph", "look", f"pH {say(ph)} is inside the band, but above 9 it is hard on brass and bronze.",
            "Do not let copper-alloy parts stand wet; watch for staining and a blue-green tint.",
            "productionmachining.com, Preventing Metal Corrosion with Metalworking Fluids: above 9 non-ferrous suffers",
        )  # fmt: skip
    return Sign("ph", "within", f"pH {say(ph)} is inside the band.", "Nothing to do.", source)


def tramp_oil(share: float) -> Sign:
    """Oil on top as a share of the coolant in %."""
    if not is_number(share) or not 0 <= share <= 100:
        raise SignError("tramp_oil", "It is not between 0 and 100 %.", "Let a jar stand and judge the layer on top.")
    source = "HSE metalworking fluid guidance: weekly, 2 % or less advised (scottishengineering.org.uk)"
    if share <= TRAMP_OIL_MOST:
        return Sign("tramp_oil", "within", f"{say(share)} % tramp oil: at or below 2 %.", "Nothing to do.", source)
    do = "Skim it off, then look where it comes from: way oil, hydraulics, a leaking seal."
    return Sign("tramp_oil", "look", f"{say(share)} % tramp oil: above 2 %.", do, source, ("coolant_skin",))


def warmth(celsius: float) -> Sign:
    """Temperature of the coolant in degrees Celsius."""
    if not is_number(celsius) or not -5 <= celsius <= 100:
        raise SignError("temperature", "It is no temperature of coolant.", "Read it again, and check the unit.")
    source = "UKLA and HSE guidance, second-hand: above 30 °C favours microbes"
    if celsius <= WARMEST:
        return Sign("temperature", "within", f"{say(celsius)} °C: at or below 30 °C.", "Nothing to do.", source)
    do = "Fill to the mark (a small charge heats up), clean the screen, let the pump rest when nothing is cut."
    return Sign("temperature", "look", f"{say(celsius)} °C: above 30 °C bacteria thrive.", do, source)


def make_up_water(ppm: float) -> Sign:
    """Hardness of the water that is filled in, as ppm of calcium carbonate."""
    _count(ppm, "hardness")
    source = "optipro.com, How Water Quality Affects Coolant Performance: below 70 soft, above 200 hard"
    if ppm > HARD:
        do = "Ask the concentrate's supplier; mix hard water with deionised or softened as the data sheet says."
        return Sign("water", "look", f"Make-up water of {say(ppm)} ppm is hard: soap, scum, residues.", do, source)
    if ppm < SOFT:
        do = "Watch for foam when the charge is new; the supplier knows a foam-tamer that fits."
        return Sign("water", "look", f"Make-up water of {say(ppm)} ppm is soft: it may foam.", do, source)
    return Sign("water", "within", f"Make-up water of {say(ppm)} ppm.", "Nothing to do.", source)


def sump_hardness(ppm: float, measured: bool) -> Sign:
    """Hardness in the sump, as ppm of calcium carbonate, measured or reckoned from the fills."""
    _count(ppm, "hardness")
    how = "measured" if measured else "reckoned from the fills: measure it"
    if ppm <= SUMP_HARD:
        return Sign("hardness", "within", f"{say(ppm)} ppm in the sump, {how}.", "Nothing to do.", _OWN)
    do = "Top up with softer or deionised water from now on; change the charge when the emulsion splits or leaves scum."
    return Sign("hardness", "look", f"{say(ppm)} ppm in the sump, {how}: salts have built up.", do, _OWN)


def smell(fresh: bool, said: str) -> Sign:
    """What the round said of the smell."""
    if fresh:
        return Sign("smell", "within", f"Smell: {said}.", "Nothing to do.", _OWN)
    do = "Dip a slide, read pH and strength, skim, stir air in. Rotten eggs: keep out of the mist, change the charge."
    source = f"HSE metalworking fluid guidance: appearance and odour daily; {_OWN} for what to do"
    return Sign("smell", "act", f"Smell: {said}.", do, source, ("coolant_skin", "biocide"))


def copper(tint: bool, staining: bool, said: str, ph: float | None = None) -> Sign:
    """Signs of copper: a blue-green `tint` of the coolant, `staining` of parts, `said` as the round put it.

    Copper goes into solution when the charge's copper inhibitor is spent, or the pH is too high for it.
    """
    source = f"{_OWN}; that high pH attacks copper alloys: productionmachining.com on corrosion and metalworking fluids"
    if not tint and not staining:
        return Sign("copper", "within", f"Tint: {said}.", "Nothing to do.", source)
    high = f" pH {say(ph)} is above 9 and part of it." if ph is not None and ph > COPPER_PH else ""
    if tint:
        return Sign(
            "copper", "act", f"Tint: {said}. Copper is in solution: the inhibitor is spent.{high}",
            "Clear copper chips out of the sump, read pH and strength, have the supplier test for copper and say"
            " whether inhibitor may be added or the charge is done. Old charge: to a waste carrier, it holds copper.",
            source, ("coolant_skin", "concentrate"),
        )  # fmt: skip
    return Sign(
        "copper", "look", f"Tint: {said}. Parts stain: the inhibitor is running out.{high}",
        "Rinse and dry parts after the cut, none left wet overnight; read pH and strength, bring the strength up.",
        source, ("coolant_skin", "concentrate"),
    )  # fmt: skip


def _count(value: float, field: str) -> None:
    if not is_number(value) or value < 0:
        raise SignError(field, "It is not a number of 0 or more.", "Read it again.")
