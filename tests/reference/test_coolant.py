"""Coolant arithmetic against worked examples in print: each row of a table is a check, with its source beside it.

Tolerances are half the last place that the source prints. Where sources work with antifreeze or alcohol the
arithmetic is the same: volumes that add up, strengths in per cent.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from webapp.core.coolant import (
    depth_at,
    hardness_after_loss,
    hardness_in_the_end,
    losses,
    read_strength,
    volume_at,
)
from webapp.core.coolant_signs import dip_slide, tramp_oil, warmth
from webapp.core.mix import neat, percent_of, ratio, reading_for, strength, sump_volume, top_up
from webapp.core.units import celsius, convert, fahrenheit

Row = tuple[str, Callable[[], float], float, float, str]


def check(row: Row) -> None:
    what, found, printed, within, source = row
    assert found() == pytest.approx(printed, abs=within or 1e-9), f"{what}: {source}"


def rows(table: list[Row]) -> list:
    """Each row under its own name."""
    return [pytest.param(row, id=row[0]) for row in table]


COMMONWEALTH = "blog.commonwealthoil.com, How to use a refractometer (seen)"
HAMMA = "hamma-uwt.de, Refractometer value (seen)"
TOWER = "toweroil.com (seen): for 10 % with a factor of 2.2 aim at 4.5"
STRENGTHS: list[Row] = [
    ("5 Brix, factor 1.60", lambda: strength(5, 1.60), 8, 0, COMMONWEALTH),
    ("5.0 Brix, factor 1.5", lambda: strength(5.0, 1.5), 7.5, 0, HAMMA),
    ("5.0 Brix, factor 1.5, zeroed", lambda: read_strength(5.0, 1.5, zero=0).percent, 7.5, 0, HAMMA),
    ("reading to aim at, factor 2.2", lambda: reading_for(10, 2.2), 4.5, 0.05, TOWER),
    ("the same, exactly", lambda: reading_for(10, 2.2), 4.545, 5e-4, TOWER + ", recomputed"),
    ("reading to aim at, factor 1.5", lambda: reading_for(7.5, 1.5), 5.0, 0, HAMMA + ", turned round"),
]


@pytest.mark.parametrize("row", rows(STRENGTHS))
def test_refractometer(row: Row) -> None:
    check(row)


CNCMARKET = "cncmarket.de (seen): 1000 L at 8 %, 300 L lost, the rest at 10 %"
BARTLEBY = "Precalculus, 6th edition, 1.6 problem 57 (bartleby.com, seen): 3.6 L from 60 to 50 %, drain 0.6 L"
ALGEBRA = "algebra.com, question 913981 (seen): 3.6 L from 70 to 50 %, drain 1.029 L"
KENT = "University of Kent, Diluting a % solution, example 1 (seen): 100 mL from 10 to 4 %"
PHARMACY = "pharmacy-tech-study.com, dilution (seen): 1.5 L from 20 to 12 %"
ARMY = "US Army MD0802, alligation (seen): 300 mL from 70 to 40 %; answer recomputed"
UREGINA = "mathcentral.uregina.ca (seen): 20 gal of concentrate at 0.5 % make 4000 gal"
RATIO10 = "calculator.7search.cc (seen): 10 L at 50 % take 5 L"
MIXES: list[Row] = [
    ("lost 300 of 1000 L: concentrate", lambda: top_up(1000, 700, 10, 8).concentrate, 10, 0, CNCMARKET),
    ("lost 300 of 1000 L: water", lambda: top_up(1000, 700, 10, 8).water, 290, 0, CNCMARKET),
    ("lost 300 of 1000 L: make-up", lambda: top_up(1000, 700, 10, 8).makeup or 0, 3.33, 5e-3, CNCMARKET),
    ("lost 300 of 1000 L: strength after", lambda: top_up(1000, 700, 10, 8).strength, 8, 0, CNCMARKET),
    ("60 to 50 %: drain", lambda: top_up(3.6, 3.6, 60, 50).drain, 0.6, 0.05, BARTLEBY),
    ("60 to 50 %: water", lambda: top_up(3.6, 3.6, 60, 50).water, 0.6, 0.05, BARTLEBY),
    ("70 to 50 %: drain", lambda: top_up(3.6, 3.6, 70, 50).drain, 1.029, 5e-4, ALGEBRA),
    ("70 to 50 %: water", lambda: top_up(3.6, 3.6, 70, 50).water, 1.029, 5e-4, ALGEBRA),
    ("10 to 4 %: water", lambda: top_up(250, 100, 10, 4).water, 150, 0, KENT),
    ("10 to 4 %: no concentrate", lambda: top_up(250, 100, 10, 4).concentrate, 0, 0, KENT),
    ("20 to 12 %: water", lambda: top_up(2500, 1500, 20, 12).water, 1000, 0, PHARMACY),
    ("20 to 12 %: volume", lambda: top_up(2500, 1500, 20, 12).volume, 2500, 0, PHARMACY),
    ("70 to 40 %: water", lambda: top_up(525, 300, 70, 40).water, 225, 0, ARMY),
    ("4000 gal at 0.5 %", lambda: top_up(4000, 0, 0, 0.5).concentrate, 20, 0, UREGINA),
    ("10 L at 50 %", lambda: top_up(10, 0, 0, 50).concentrate, 5, 0, RATIO10),
    ("neat, 50 gal from 5 to 8 %", lambda: neat(50, 5, 8), 1.630, 5e-4, "x = V (c2 - c1) / (1 - c2), recomputed"),
]


@pytest.mark.parametrize("row", rows(MIXES))
def test_mixes(row: Row) -> None:
    check(row)


CORROSION = (
    "productionmachining.com, Preventing Metal Corrosion with Metalworking Fluids (seen): 1:30 is 3.3 %, 1:25 is 4 %"
)
JOKISCH = "jokisch-fluids.com (seen): 5 % = 1:20"
MAKEIT = "wiki.makeitlabs.com, coolant (seen): 0.3 gal to 6 gal of water is a 5 % mixture, to 5 gal 6 %"
RATIOS: list[Row] = [
    ("1:30, in the whole", lambda: ratio("1:30").one_in, 3.3, 0.05, CORROSION),
    ("1:25, in the whole", lambda: ratio("1:25").one_in, 4, 0, CORROSION),
    ("1:20, in the whole", lambda: ratio("1:20").one_in, 5, 0, JOKISCH),
    ("1:20, as it is said", lambda: percent_of("1:20", "in"), 5, 0, JOKISCH),
    ("1:20, to the water", lambda: ratio("1:20").one_to, 5, 0.5, MAKEIT),
    ("5:0.3, to the water", lambda: ratio(f"1:{5 / 0.3:.6f}").one_to, 6, 0.5, MAKEIT),
    ("1:20, to the water, exactly", lambda: ratio("1:20").one_to, 4.76, 5e-3, "1/21, recomputed"),
]


@pytest.mark.parametrize("row", rows(RATIOS))
def test_ratios(row: Row) -> None:
    check(row)


BOX = {"shape": "flat", "length": 48, "width": 24, "unit": "in"}
GALLON = "a US gallon is 231 cubic inches (NIST Handbook 44, appendix C): 48 x 24 x 10 in"
SUMPS: list[Row] = [
    ("48 x 24 x 10 in", lambda: sump_volume(48, 24, 10, "us"), 49.87, 5e-3, GALLON),
    ("by its depth", lambda: volume_at(BOX, 10, 60, "gal"), 49.87, 5e-3, GALLON),
    ("depth of 49.87 gal", lambda: depth_at(BOX, 49.87, 60, "gal"), 10, 5e-3, GALLON),
    ("in litres", lambda: volume_at(BOX, 10, 200, "L"), 188.78, 5e-3, GALLON + ", 3.785411784 L a gallon"),
    (
        "in centimetres",
        lambda: sump_volume(48 * 2.54, 24 * 2.54, 10 * 2.54, "metric"),
        188.78,
        5e-3,
        GALLON + ", 2.54 cm an inch",
    ),
]


@pytest.mark.parametrize("row", rows(SUMPS))
def test_sumps(row: Row) -> None:
    check(row)


NAP = "SI conversion factors as printed in US transport research reports (nap.edu, record 14211)"
HB44 = "NIST Handbook 44, appendix C (seen in part)"
USGS = "conversion table of a US geological report (ufdc.ufl.edu, Ocala area 1991, seen)"
SP811 = "NIST SP 811, appendix B (from memory)"
UNITS: list[Row] = [
    ("inch", lambda: convert(1, "in", "mm"), 25.4, 0, NAP),
    ("foot", lambda: convert(1, "ft", "m"), 0.305, 5e-4, NAP),
    ("square inch", lambda: convert(1, "sq in", "mm2"), 645.2, 0.05, NAP),
    ("gallon", lambda: convert(1, "gal", "L"), 3.785, 5e-4, NAP),
    ("gallon, exactly", lambda: convert(1, "gal", "L"), 3.785411784, 0, SP811),
    ("gallon, by the survey", lambda: convert(1, "gal", "L"), 3.785, 5e-4, USGS),
    ("litre", lambda: convert(1, "L", "gal"), 0.264172, 5e-7, SP811),
    ("fluid ounce", lambda: convert(1, "fl oz", "mL"), 29.57, 5e-3, NAP),
    ("fluid ounces in a gallon", lambda: convert(1, "gal", "fl oz"), 128, 1e-9, HB44),
    ("a cup of 8 fluid ounces", lambda: convert(8, "fl oz", "mL"), 237, 0.5, HB44),
    ("dekaliter", lambda: convert(10, "L", "gal"), 2.642, 5e-4, HB44),
    ("psi", lambda: convert(1, "psi", "kPa"), 6.89, 5e-3, NAP),
    ("bar", lambda: convert(1, "bar", "psi"), 14.5038, 5e-5, SP811),
    ("30 °C", lambda: fahrenheit(30), 86, 0, USGS + ": F = 1.8 C + 32"),
    ("86 °F", lambda: celsius(86), 30, 0, USGS + ": F = 1.8 C + 32"),
]


@pytest.mark.parametrize("row", rows(UNITS))
def test_units(row: Row) -> None:
    check(row)


WIKTEL = "wiktel.com, Water hardness (seen), as printed"
FREDERICKSBURG = "City of Fredericksburg, Texas, FAQ (fbgtx.org, seen): 350 mg/L, 17.12 ppm a grain"
AQUA = "aquaserve4u.com (seen): 10 gpg = 171 ppm"
BRIEF = "the usual factors to five figures (from memory)"
HARDNESS: list[Row] = [
    ("ppm in grains", lambda: convert(1, "ppm", "gpg"), 0.058, 5e-4, WIKTEL),
    ("ppm in Clark degrees", lambda: convert(1, "ppm", "clark"), 0.07, 5e-3, WIKTEL),
    ("ppm in French degrees", lambda: convert(1, "ppm", "fH"), 0.10, 5e-3, WIKTEL),
    ("ppm in German degrees", lambda: convert(1, "ppm", "dGH"), 0.056, 5e-4, WIKTEL),
    ("grain in ppm", lambda: convert(1, "gpg", "ppm"), 17.1, 0.05, WIKTEL),
    ("grain in Clark degrees", lambda: convert(1, "gpg", "clark"), 1.20, 5e-3, WIKTEL),
    ("grain in French degrees", lambda: convert(1, "gpg", "fH"), 1.71, 5e-3, WIKTEL),
    # The printed 0.958 is 17.1 / 17.85, of a rounded grain.
    ("grain in German degrees", lambda: convert(1, "gpg", "dGH"), 0.958, 1.2e-3, WIKTEL),
    # Printed as 350 x 0.0584, so its rounding is 350 times that of the factor.
    ("350 ppm in grains", lambda: convert(350, "ppm", "gpg"), 20.44, 0.0175, FREDERICKSBURG),
    ("ppm in grains, five places", lambda: convert(1, "ppm", "gpg"), 0.05841, 1e-5, FREDERICKSBURG),
    ("10 grains", lambda: convert(10, "gpg", "ppm"), 171, 0.5, AQUA),
    ("German degree", lambda: convert(1, "dGH", "ppm"), 17.848, 5e-4, BRIEF),
    ("grain", lambda: convert(1, "gpg", "ppm"), 17.118, 5e-4, BRIEF),
]


@pytest.mark.parametrize("row", rows(HARDNESS))
def test_hardness_units(row: Row) -> None:
    check(row)


TOWER_CASE = "scribd.com/document/46640740, cooling tower case (seen): 114 048 of {0} gal/day evaporate at {1} cycles"
COC5 = "cooling-tower arithmetic B = E / (cycles - 1) (seen): 15 gpm evaporate, 3.75 go to the drain, 5 cycles"
LUBRICOR = "lubricorinc.com/tips (seen): make-up at 60 % of the charge's strength"
ZEBRA = "zebraskimmers (seen): 5 % sump, make-up at 1 to 2 %"
BUILD_UP: list[Row] = [
    # A tower has no concentrate in it, so its salts settle at make-up x 1 / (1 - e).
    ("4 cycles", lambda: hardness_in_the_end(1, 114_048 / 152_064, 0), 4, 5e-4, TOWER_CASE.format(152_064, 4)),
    ("8 cycles", lambda: hardness_in_the_end(1, 114_048 / 130_341, 0), 8, 5e-3, TOWER_CASE.format(130_341, 8)),
    ("5 cycles", lambda: hardness_in_the_end(1, 15 / 18.75, 0), 5, 1e-6, COC5),
    ("water alone lost doubles it", lambda: hardness_after_loss(100, 40, 20, 1), 200, 1e-6, "mass balance, by hand"),
    ("mix alone lost leaves it", lambda: hardness_after_loss(100, 40, 20, 0), 100, 1e-6, "mass balance, by hand"),
    # 700 L at 10 % left of 1000 at 7 %: nothing but water went.
    ("share evaporated", lambda: losses(1000, 7, 700, 10).share or 0, 1, 1e-6, CNCMARKET + ", begun at 7 %"),
    ("concentrate gone", lambda: losses(1000, 8, 700, 10).concentrate, 10, 1e-6, CNCMARKET + ": 80 L held, 70 left"),
]


@pytest.mark.parametrize("row", rows(BUILD_UP))
def test_losses_and_build_up(row: Row) -> None:
    check(row)


@pytest.mark.parametrize(("makeup", "share", "source"), [(0.6, 0.4, LUBRICOR), (0.3, 0.7, ZEBRA)])
def test_rules_of_thumb_for_make_up_hold_the_strength(makeup: float, share: float, source: str) -> None:
    """A sump that loses a tenth, of it `share` as water, and is made up at (1 - share) of its strength stays at it."""
    before, percent = 100.0, 5.0
    after = 99.9
    left = percent * (before / after) ** share
    filled = top_up(before, after, left, percent)
    assert (filled.makeup or 0) / percent == pytest.approx(makeup, abs=0.01), source


HSE = "HSE, hse.gov.uk/metalworking/bacterial.htm (seen)"
HSE_2012 = "HSE, the same page as updated 2012-11-28 (seen)"


@pytest.mark.parametrize(
    ("count", "version", "level", "source"),
    [
        (9_999, "hse", "within", HSE),
        (10_000, "hse", "look", HSE),
        (999_999, "hse", "look", HSE),
        (1_000_000, "hse", "act", HSE),
        (999, "hse-2012", "within", HSE_2012),
        (1_000, "hse-2012", "look", HSE_2012),
        (9_999, "hse-2012", "look", HSE_2012),
        (1_000_000, "hse-2012", "act", HSE_2012),
    ],
)
def test_dip_slides(count: float, version: str, level: str, source: str) -> None:
    assert dip_slide(count, version).level == level, source


@pytest.mark.parametrize(
    ("sign", "level", "source"),
    [
        (tramp_oil(2), "within", "scottishengineering.org.uk (seen): 2 % or less advised"),
        (tramp_oil(2.1), "look", "scottishengineering.org.uk (seen): 2 % or less advised"),
        (warmth(30), "within", "ppe.org, UKLA and HSE (seen): above 30 °C favours microbes"),
        (warmth(30.5), "look", "ppe.org, UKLA and HSE (seen): above 30 °C favours microbes"),
    ],
)
def test_advised_figures(sign: object, level: str, source: str) -> None:
    assert sign.level == level, source  # type: ignore[attr-defined]
