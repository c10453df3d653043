"""The alloys: every value with its source, compositions that add up, certificates, and what matters in each."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from webapp import library
from webapp.core.alloys import (
    Alloy,
    Constituent,
    Density,
    Share,
    density_in,
    differences,
    in_dust,
    mass,
    mattering,
    percents,
    share,
    traces,
)
from webapp.core.problems import AlloyError, HazardError
from webapp.core.sources import Source
from webapp.library.advice import to_measure
from webapp.library.alloys import alloys, composition, elements
from webapp.library.reading import LibraryError
from webapp.library.sources import source, sources

FAMILIES = {
    "copper",
    "tellurium copper",
    "sulfur copper",
    "chromium copper",
    "beryllium copper",
    "leaded brass",
    "lead-free brass",
    "phosphor bronze",
    "aluminium bronze",
    "silicon bronze",
    "bearing bronze",
    "nickel silver",
    "austenitic stainless",
    "tool steel",
    "aluminium",
    "titanium",
    "magnesium",
}
each_alloy = pytest.mark.parametrize("alloy", alloys().values(), ids=list(alloys()))
CERTIFICATE = Source("certificate", "Mill certificate", "a mill", "2026-11-20", "seen")


def cited(alloy: Alloy) -> Iterator[Source]:
    yield from (part.source for part in alloy.composition)
    yield from (word.source for word in (alloy.chips, alloy.dust, alloy.scrap))
    yield from (figure.source for figure in (alloy.density, alloy.machinability) if figure is not None)


def test_the_shop_finds_its_metals() -> None:
    assert len(alloys()) >= 45
    assert {alloy.family for alloy in alloys().values()} >= FAMILIES
    for uns in ("S30300", "S30400", "S31600", "S32100", "S17400", "G41400", "A96061", "A97075", "R56400", "M11311"):
        assert alloys()[uns].uns == uns


@each_alloy
def test_every_value_has_a_source_with_its_date_and_mark(alloy: Alloy) -> None:
    for one in cited(alloy):
        assert one.text and one.where and re.search(r"\d{4}", one.dated), one.key
        assert one.mark in ("seen", "second-hand", "from memory")


@each_alloy
def test_every_figure_has_a_unit_or_a_base(alloy: Alloy) -> None:
    if alloy.density is not None:
        assert alloy.density.unit in ("g/cm3", "lb/in3")
        assert 1.5 < density_in(alloy.density, "g/cm3") < 10
    if alloy.machinability is not None:
        assert alloy.machinability.base.endswith("= 100")


@each_alloy
def test_a_composition_can_be(alloy: Alloy) -> None:
    """Least parts make at most 100 %, and what is allowed reaches it; the main metal is in it."""
    parts = [share(alloy.composition, part.element) for part in alloy.composition]
    assert all(part is not None and 0 <= part.low <= part.high <= 100 for part in parts)
    assert sum(part.low or 0 for part in alloy.composition) <= 100
    assert sum(part.high for part in parts if part) >= 100
    assert len({part.element for part in alloy.composition}) == len(alloy.composition)
    # A trace with a least and no most (sulfur in 303) has only the room that the others leave.
    closed = {part.element for part in alloy.composition if part.high or part.nominal or part.rest}
    found = {element: most for element, most in percents(alloy.composition).items() if element in closed}
    found.setdefault(alloy.base, percents(alloy.composition)[alloy.base])
    assert max(found, key=lambda element: found[element]) == alloy.base


@each_alloy
def test_its_words_fit_its_metal(alloy: Alloy) -> None:
    """Lead and beryllium show in the dust and the scrap that the card names, not only in the figures."""
    matters = traces(alloy, elements().values())
    if "Be" in matters:
        assert alloy.dust.key == alloy.scrap.key == "beryllium_copper"
    elif alloy.base == "Cu":
        assert (alloy.dust.key == "leaded_copper") == ("Pb" in matters)
    if alloy.base in ("Al", "Mg", "Ti"):
        assert alloy.dust.key in ("light_metal", "magnesium", "titanium")


def test_elements_say_why_they_matter() -> None:
    for element in elements().values():
        assert element.why.endswith(".") and element.from_percent > 0
        assert element.source.dated and element.threshold_source.dated
    assert list(elements())[:2] == ["Be", "Pb"]


def test_what_matters_in_some_alloys() -> None:
    def symbols(key: str) -> list[str]:
        return [element.symbol for element, _ in mattering(alloys()[key], elements().values())]

    assert symbols("C17200")[0] == "Be"
    assert symbols("C36000") == ["Pb", "Cu", "Zn"]
    assert symbols("C14500") == ["Te", "Cu"]
    assert "Pb" not in symbols("C26000") and "Pb" not in symbols("C69300")
    assert symbols("S30400") == ["Ni", "Cr", "Mn", "Fe"]
    assert "Pb" in symbols("G12144") and "Pb" in symbols("A92011")


def test_a_print_that_counts_a_constituent_twice_hides_nothing() -> None:
    """ASTM B301 prints copper with tellurium counted in as at least 99.90 %: tellurium is still up to 0.70 %."""
    parts = composition({"Cu": ">=99.90", "Te": "0.40-0.70", "source": "memory"}, "here")
    assert share(parts, "Te") == Share(0.4, 0.7)


def test_shares_of_a_remainder_a_nominal_and_an_open_range() -> None:
    parts = composition({"Cu": "~55", "Ni": "~18", "S": ">=0.15", "Zn": "rest", "source": "memory"}, "here")
    assert share(parts, "Cu") == Share(55, 55)
    assert share(parts, "Zn") == Share(26.85, 26.85)
    assert share(parts, "S") == Share(0.15, 27)
    assert share(parts, "Pb") is None


@pytest.mark.parametrize(
    ("table", "said"),
    [
        ({"Cu": "60.0-63.0"}, "here.source: is missing"),
        ({"Cu": "about 60", "source": "memory"}, "here.Cu: is 'about 60'; write"),
        ({"Cu": 60, "source": "memory"}, "here.Cu: is 60; write"),
        ({"Cu": "63.0-60.0", "source": "memory"}, "write the lower figure first"),
        ({"Cu": "rest", "Zn": "rest", "source": "memory"}, "has two remainders"),
        ({"Cu": "rest", "source": "hearsay"}, "source 'hearsay' is not in sources.toml"),
        ({"Cu": "rest @hearsay", "source": "memory"}, "source 'hearsay' is not in sources.toml"),
    ],
)
def test_a_bad_composition_is_refused_with_its_place(table: dict[str, object], said: str) -> None:
    with pytest.raises(LibraryError, match=re.escape(said)):
        composition(table, "here")


def test_a_certificate_outside_of_its_alloy_says_which_figure() -> None:
    found = differences(alloys()["C36000"], {"Cu": 64.0, "Pb": 3.4, "Zn": 32.6})
    assert [one.said() for one in found] == [
        "Cu: 64 % found, at most 63 % expected.",
        "Pb: 3.4 % found, at most 3 % expected.",
        "Zn: 32.6 % found, at least 33.65 % expected.",
    ]


def test_arithmetic_refuses_what_cannot_be() -> None:
    brass = alloys()["C36000"]
    for call, field in (
        (lambda: in_dust(brass.composition, "Pb", -1), "dust"),
        (lambda: in_dust(brass.composition, "Be", 1), "element"),
        (lambda: mass(brass, -1, "cm3"), "volume"),
        (lambda: mass(brass, 1, "litre"), "unit"),
        (lambda: mass(alloys()["C69300"], 1, "cm3"), "density"),
        (lambda: density_in(Density(1, "kg/m3", CERTIFICATE), "g/cm3"), "unit"),
    ):
        with pytest.raises(AlloyError) as error:
            call()
        assert error.value.field == field


def test_what_to_measure_names_the_substance_in_its_form() -> None:
    on = date(2026, 11, 25)
    sanding = to_measure(alloys()["C17200"], "dry_sand", ["us_osha"], on)
    assert sanding[0].substance == "beryllium" and sanding[-1].substance == "particulates"
    welding = {one.substance: one for one in to_measure(alloys()["S30400"], "weld", ["us_osha"], on)}
    assert {"chromium", "chromium_vi", "nickel", "iron_oxide"} <= welding.keys()
    brazing = {one.substance: one for one in to_measure(alloys()["C26000"], "weld", ["us_osha"], on)}
    assert brazing["copper"].answer is not None and brazing["copper"].answer.chosen[0].value == 0.1
    assert brazing["zinc_oxide"].answer is not None
    assert "zinc_oxide" not in {one.substance for one in to_measure(alloys()["C26000"], "dry_sand", [], on)}
    assert all(one.form != "mist" for one in to_measure(alloys()["C26000"], "mill", [], on))
    with pytest.raises(HazardError, match="process"):
        to_measure(alloys()["C26000"], "forge", [], on)


def test_sources_are_all_used_and_none_twice() -> None:
    folder = Path(library.__file__).parent
    text = "".join(
        (folder / f"{name}.toml").read_text("utf-8")
        for name in ("alloys", "metals", "media", "limits", "noise", "rules")
    )
    unused = [key for key in sources() if not re.search(rf'["@]{key}\b', text)]
    assert unused == []
    assert len({(one.text, one.where, one.dated) for one in sources().values()}) == len(sources())


def test_a_source_that_was_not_read_says_so() -> None:
    assert source("memory", "here").said().endswith("(from memory: confirm)")
    assert source("eu_lead", "here").said().endswith("(commonly cited, confirm)")
    assert "(" not in source("concast_c14500", "here").said().replace("(composition of ASTM B301/B301M-13(2020))", "")


def test_a_constituent_is_one_thing() -> None:
    for alloy in alloys().values():
        for part in alloy.composition:
            assert isinstance(part, Constituent)
            stated = [part.rest, part.nominal is not None, part.low is not None or part.high is not None]
            assert stated.count(True) == 1, (alloy.key, part)
