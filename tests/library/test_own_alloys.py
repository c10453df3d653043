"""A shop's own alloys: what a mill certificate makes of them, and that the rules see it as in any alloy of the library."""

from __future__ import annotations

import json
from datetime import date
from typing import Any

import pytest

from tests.library.own_cases import CARDS, FILE, lines, row, vectors
from webapp.core.alloys import Share, density_in, in_dust, mattering, percents, share, traces
from webapp.core.certificates import density_by_parts
from webapp.core.hazards import describe, judge
from webapp.library.advice import to_measure
from webapp.library.alloys import alloys, densities, elements
from webapp.library.hazards import rules
from webapp.library.own import own_alloy

BRASS = row("Brass rod", "Cu", lines(Cu=61.2, Zn=36.0, Pb=2.71, Fe=0.09), like="C36000")


def stops(process: str, alloy: Any, **more: Any) -> set[str]:
    return {stop.rule for stop in judge(rules(), describe(process, alloy, elements().values(), **more)).stops}


def test_the_vectors_are_what_the_server_derives() -> None:
    assert json.loads(FILE.read_text(encoding="utf-8")) == json.loads(json.dumps(vectors()))


def test_the_certificates_own_figures_replace_the_ranges() -> None:
    bar = own_alloy(BRASS)
    assert (bar.key, bar.certificate, bar.name, bar.like) == (BRASS["id"], "T 2207", "Brass rod", "C36000")
    assert share(bar.composition, "Pb") == Share(2.71, 2.71)
    assert in_dust(bar.composition, "Pb", 2).high == pytest.approx(0.0542)
    assert (bar.dust, bar.chips, bar.scrap) == tuple(
        getattr(alloys()["C36000"], name) for name in ("dust", "chips", "scrap")
    )
    assert percents(bar.composition)["Pb"] == 2.71
    assert traces(bar, elements().values()) >= {"Cu", "Pb", "Zn"}
    assert bar.beyond == bar.assumed == ()
    assert bar.composition[0].source.said() == (
        "Mill certificate T 2207: the rod mill's own, with the delivery; kept by the shop; 2026-03-02"
    )


def test_a_certificate_without_its_main_metal_leaves_the_remainder() -> None:
    bar = own_alloy(row("Tips", "Cu", lines(Be=1.86, Co=0.24), like="C17200"))
    assert share(bar.composition, "Cu") == Share(97.3, 97.9)  # nickel is not named: up to the card's 0.6 %
    assert next(element.symbol for element, _ in mattering(bar, elements().values())) == "Be"


@pytest.mark.parametrize("process", ["dry_sand", "grind", "polish", "blast", "weld", "air_clean", "sweep"])
def test_beryllium_stops_an_own_alloy_as_it_stops_the_librarys(process: str) -> None:
    """Like a plain leaded brass by its card, with 0.4 % beryllium by its certificate: the stops are C17200's."""
    odd = own_alloy(row("Odd rod", "Cu", lines(Zn=35.9, Pb=2.7, Be=0.4), like="C36000"))
    beryllium = {rule for rule in stops(process, alloys()["C17200"]) if "beryllium" in rule}
    assert beryllium and beryllium <= stops(process, odd)
    assert odd.beyond == ("Be",) and odd.scrap.key == "own", "not into the bin of leaded brass"
    assert not beryllium & stops(process, own_alloy(BRASS))


def test_the_threshold_is_the_librarys_and_a_bound_counts_by_its_upper_end() -> None:
    for figure, stopped in ((0.09, False), (0.1, True), ("0.09", False), ("0.1", True)):
        bar = own_alloy(row("Rod", "Cu", lines(Zn=30, Be=figure), like="C26000"))
        assert ("beryllium_abrasive" in stops("dry_sand", bar)) is stopped, figure


def test_what_was_not_copied_does_not_take_a_hazard_away() -> None:
    """Lead that the certificate of a free-cutting brass does not name is there as its card permits, and said to be so."""
    short = own_alloy(row("Brass rod", "Cu", lines(Zn=36), like="C36000"))
    assert short.assumed == ("Pb",) and percents(short.composition)["Pb"] == 3
    whole = judge(rules(), describe("air_clean", alloys()["C36000"], elements().values()))
    assert judge(rules(), describe("air_clean", short, elements().values())) == whole
    none = own_alloy(row("Brass rod", "Cu", lines(Zn=36, Pb=0), like="C36000"))
    assert none.assumed == () and percents(none.composition)["Pb"] == 0


def test_an_own_alloy_that_ran_before_leaves_its_traces() -> None:
    odd = own_alloy(row("Odd rod", "Cu", lines(Be=0.4), like="C14500"))
    plain = own_alloy(row("Rod", "Cu", lines(Te=0.5), like="C14500"))
    told = {
        before.name: set(
            judge(rules(), describe("blast", alloys()["C36000"], elements().values(), last=[before])).rules
        )
        for before in (odd, plain)
    }
    assert len(told[odd.name] - told[plain.name]) == 1


def test_what_to_measure_follows_the_certificate() -> None:
    odd = own_alloy(row("Odd rod", "Cu", lines(Zn=35.9, Pb=2.7, Be=0.4, Cd=0.2), like="C36000"))
    found = {one.substance for one in to_measure(odd, "dry_sand", ["us_osha"], date(2026, 11, 25))}
    assert {"beryllium", "lead", "cadmium", "copper"} <= found


def test_light_metals_that_are_like_none_still_burn() -> None:
    """A magnesium alloy without a card beside it is magnesium by its base: the fire rules are those of AZ91."""
    own = own_alloy(row("Casting", "Mg", lines(Al=9, Zn=0.7)))
    card = next(alloy for alloy in alloys().values() if alloy.base == "Mg")
    for process in ("dry_sand", "grind", "mill", "blast"):
        wanted = set(judge(rules(), describe(process, card, elements().values())).rules)
        assert wanted <= set(judge(rules(), describe(process, own, elements().values())).rules), process
    assert (own.family, own.chips.key, own.dust.key, own.scrap.key) == ("other metal", "unknown", "unknown", "own")


def test_densities_by_the_reciprocal_rule_lie_within_some_per_cent_of_print() -> None:
    """Each alloy of the library whose density is printed, against the sum of its elements' volumes."""
    weights, _ = densities()
    off = {}
    for key, alloy in alloys().items():
        found = density_by_parts(alloy.composition, weights)
        if alloy.density and found:
            off[key] = abs(found / density_in(alloy.density, "g/cm3") - 1)
    assert len(off) > 40
    assert max(off.values()) < 0.08, max(off.items(), key=lambda pair: pair[1])
    assert sorted(off.values())[len(off) // 2] < 0.02


def test_a_density_says_whose_it_is() -> None:
    """Zamak 3, from the elements: 95.75 % zinc, 4.1 % aluminium, 0.1 % copper, 0.05 % magnesium. By hand:
    100 / (95.75/7.14 + 4.1/2.7 + 0.1/8.92 + 0.05/1.738) = 6.68 g/cm3 (printed: 6.6 g/cm3, from memory)."""
    zinc = own_alloy(CARDS["like nothing in the library"]).density
    assert zinc and (zinc.value, zinc.unit) == (6.68, "g/cm3") and "worked out" in (zinc.origin or "")
    like = own_alloy(BRASS).density
    assert like and like.value == 0.307 and like.origin == "of C36000, the nearest in the library"
    stated = own_alloy(BRASS | {"density": {"value": 8.47, "unit": "g/cm3"}}).density
    assert stated and stated.value == 8.47 and stated.origin == "from the certificate"
    assert own_alloy(CARDS["without a density"]).density is None
