"""Compositions, densities and machinability of the library against the prints they come from, read a second time.

A composition row is alloy, source, and what it prints: {element: (least, most)}; None where it sets no bound, "rest" for
the remainder. A tolerance is the print's own rounding; nothing here is compared more closely than it is printed.
"""

from __future__ import annotations

import pytest

from webapp.core.alloys import Constituent, Density, density_in, in_dust, mass, share
from webapp.core.sources import Source
from webapp.library.alloys import alloys

Bounds = tuple[float | None, float | None] | str
REST = "rest"

COMPOSITIONS: list[tuple[str, str, dict[str, Bounds]]] = [
    ("C11000", "Copper Development Association list of 2010-07-14", {"Cu": (99.90, None)}),
    ("C10100", "Copper Development Association list of 2010-07-14", {"Cu": (99.99, None), "Te": (None, 0.0002)}),
    ("C14500", "concast.com/c14500.php, ASTM B301/B301M-13(2020)", {"P": (0.004, 0.012), "Te": (0.40, 0.70)}),
    ("C17200", "lfa-wire.com C17200", {"Be": (1.80, 2.0), "Si": (None, 0.20), "Al": (None, 0.20)}),
    ("C17300", "lfa-wire.com C17200, C17300", {"Pb": (0.20, 0.60)}),
    (
        "C17510",
        "australwright.com.au C17510",
        {"Be": (0.2, 0.6), "Co": (None, 0.3), "Fe": (None, 0.10), "Ni": (1.4, 2.2), "Al": (None, 0.20)},
    ),
    ("C24000", "substech.com wrought brasses", {"Cu": (78.5, 81.5), "Pb": (None, 0.05), "Fe": (None, 0.05)}),
    (
        "C26000",
        "diversifiedbronze.com and azom.com 6341 C26000",
        {"Cu": (68.5, 71.5), "Zn": REST, "Pb": (None, 0.07), "Fe": (None, 0.05)},
    ),
    ("C27000", "substech.com wrought brasses", {"Cu": (63.0, 68.5), "Pb": (None, 0.10), "Fe": (None, 0.07)}),
    ("C28000", "substech.com wrought brasses", {"Cu": (59.0, 63.0), "Pb": (None, 0.30), "Fe": (None, 0.07)}),
    ("C31400", "metalcare.co.in leaded brasses", {"Cu": (87.5, 90.5), "Pb": (1.3, 2.5), "Ni": (None, 0.7)}),
    ("C31600", "rajhans.com C31600", {"Cu": (87.5, 90.5), "Pb": (1.3, 2.5), "Ni": (0.7, 1.2), "P": (0.04, 0.10)}),
    ("C34500", "metalcare.co.in leaded brasses", {"Cu": (62, 65), "Pb": (1.5, 2.5), "Fe": (None, 0.15)}),
    ("C35300", "metalcare.co.in leaded brasses", {"Cu": (60, 63), "Pb": (1.5, 2.5), "Fe": (None, 0.15)}),
    (
        "C36000",
        "diversifiedbronze.com C36000",
        {"Cu": (60.0, 63.0), "Pb": (2.5, 3.0), "Zn": REST, "Fe": (None, 0.35)},
    ),
    ("C37000", "patelalloys.com C37000", {"Cu": (59.0, 62.0), "Pb": (0.8, 1.5), "Fe": (None, 0.15), "Zn": REST}),
    (
        "C46400",
        "weldaloy.com C46400, Copper Development Association data",
        {"Cu": (59.0, 62.0), "Fe": (None, 0.10), "Pb": (None, 0.20), "Sn": (0.50, 1.0), "Zn": REST},
    ),
    (
        "C48500",
        "btimetals.com and diversifiedbronze.com C48500",
        {"Cu": (59, 62), "Pb": (1.3, 2.2), "Sn": (0.5, 1.0), "Fe": (None, 0.10), "Zn": REST},
    ),
    (
        "C51000",
        "brass-copper-castings.com and btimetals.com C51000",
        {"Sn": (4.2, 5.8), "P": (0.03, 0.35), "Pb": (None, 0.05), "Fe": (None, 0.10), "Zn": (None, 0.30)},
    ),
    (
        "C53400",
        "alloys.copper.org C53400",
        {"Pb": (0.8, 1.2), "Sn": (3.5, 5.8), "Zn": (None, 0.30), "Fe": (None, 0.10), "P": (0.03, 0.35)},
    ),
    (
        "C54400",
        "intermetmetals.com C54400",
        {"Pb": (3.0, 4.0), "Sn": (3.5, 4.5), "Zn": (1.5, 4.5), "Fe": (None, 0.10), "P": (0.01, 0.50)},
    ),
    ("C61400", "Roberge Table E.6", {"Fe": (1.5, 3.5), "Al": (6.0, 8), "Mn": (None, 1), "P": (None, 0.015)}),
    ("C62400", "Roberge Table E.6", {"Fe": (2.0, 4.5), "Al": (10.0, 11.5), "Mn": (None, 0.3), "Si": (None, 0.25)}),
    (
        "C63000",
        "Roberge Table E.6",
        {"Fe": (2.0, 4), "Al": (9.0, 11), "Mn": (None, 1.5), "Si": (None, 0.25), "Ni": (4.0, 5.5)},
    ),
    ("C64200", "Roberge Table E.6", {"Al": (6.3, 7.6), "Si": (1.5, 2.2), "As": (None, 0.15), "Pb": (None, 0.05)}),
    ("C65100", "substech.com wrought silicon bronzes", {"Si": (0.8, 2.0), "Zn": (None, 1.5), "Mn": (None, 0.7)}),
    (
        "C65500",
        "atlasmetal.com C65500",
        {"Pb": (None, 0.05), "Fe": (None, 0.80), "Zn": (None, 1.5), "Mn": (0.5, 1.3), "Si": (2.8, 3.8)},
    ),
    ("C67500", "shree-extrusion.com C67500", {"Cu": (57, 60), "Sn": (0.5, 1.5), "Fe": (0.8, 2.0), "Mn": (0.05, 0.50)}),
    ("C69300", "shlionmetal.com C69300", {"Cu": (73.0, 77.0), "Pb": (None, 0.09)}),
    ("C70600", "husseycopper.com C70600", {"Fe": (1.0, 1.8), "Ni": (9.0, 11.0), "Mn": (None, 1.0), "Pb": (None, 0.02)}),
    ("C71500", "husseycopper.com C71500", {"Fe": (0.40, 0.7), "Ni": (29.0, 33.0), "Zn": (None, 1.0)}),
    (
        "C83600",
        "pwfoundry.com alloy table",
        {"Cu": (84.0, 86.0), "Sn": (4.0, 6.0), "Pb": (4.0, 6.0), "Zn": (4.0, 6.0), "Sb": (None, 0.25)},
    ),
    (
        "C84400",
        "pwfoundry.com alloy table",
        {"Cu": (78.0, 82.0), "Sn": (2.3, 3.5), "Pb": (6.0, 8.0), "Zn": (7.0, 10.0)},
    ),
    (
        "C86300",
        "pwfoundry.com alloy table",
        {"Cu": (60.0, 66.0), "Zn": (22.0, 28.0), "Fe": (2.0, 4.0), "Mn": (2.5, 5.0), "Al": (5.0, 7.5)},
    ),
    (
        "C87500",
        "pwfoundry.com alloy table",
        {"Cu": (79.0, None), "Pb": (None, 0.5), "Zn": (12.0, 16.0), "Si": (3.0, 5.0)},
    ),
    (
        "C90300",
        "pwfoundry.com alloy table",
        {"Cu": (86.0, 89.0), "Sn": (7.5, 9.0), "Zn": (3.0, 5.0), "Pb": (None, 0.3)},
    ),
    ("C90500", "pwfoundry.com alloy table", {"Cu": (86.0, 89.0), "Sn": (9.0, 11.0), "Zn": (1.0, 3.0)}),
    ("C92200", "pwfoundry.com alloy table", {"Cu": (86.0, 90.0), "Sn": (5.5, 6.5), "Pb": (1.0, 2.0), "Zn": (3.0, 5.0)}),
    (
        "C93200",
        "concast.com C93200, ASTM B505/B505M-18",
        {"Cu": (81.0, 85.0), "Pb": (6.0, 8.0), "Sn": (6.3, 7.5), "Zn": (1.0, 4.0), "Sb": (None, 0.35)},
    ),
    (
        "C93700",
        "pwfoundry.com alloy table",
        {"Cu": (78.0, 82.0), "Sn": (9.0, 11.0), "Pb": (8.0, 11.0), "Zn": (None, 0.8)},
    ),
    ("C95400", "randallbearings.com C95400", {"Cu": (83, None), "Al": (10, 11.5), "Fe": (3, 5), "Ni": (None, 1.5)}),
    (
        "C95500",
        "spectrummachine.com C95500; manganese conex-casting.com",
        {"Cu": (78, None), "Al": (10, 11.5), "Fe": (3, 5), "Ni": (3, 5.5), "Mn": (None, 3.5)},
    ),
    (
        "C97600",
        "conexbronze.com C97600",
        {"Cu": (63, 67), "Pb": (3, 5), "Ni": (19, 21.5), "Sn": (3.5, 4.5), "Zn": (3, 9), "Sb": (None, 0.25)},
    ),
    ("S30300", "sagaoflife.com stainless table", {"Cr": (17, 19), "Ni": (8, 10), "S": (0.15, None), "C": (None, 0.15)}),
    ("S30400", "scotforge.com, SAE J405 JAN89", {"Cr": (18.0, 20.0), "Ni": (8.0, 10.5), "C": (None, 0.08)}),
    ("S31600", "scotforge.com, SAE J405 JAN89", {"Cr": (16.0, 18.0), "Ni": (10.0, 14.0), "Mo": (2.0, 3.0)}),
    ("S32100", "scotforge.com, SAE J405 JAN89", {"Cr": (17.0, 19.0), "Ni": (9.0, 12.0), "Mn": (None, 2.0)}),
    ("S41600", "scotforge.com, SAE J405 JAN89", {"Cr": (12.0, 14.0), "S": (0.15, None), "Mn": (None, 1.25)}),
    ("S17400", "eos.info 17-4PH, ASTM A564", {"Cr": (15, 17.5), "Ni": (3, 5), "Cu": (3, 5), "C": (None, 0.07)}),
    (
        "G41400",
        "doubleeaglealloys.com, ASTM A29; frysteel.com",
        {"C": (0.38, 0.43), "Mn": (0.75, 1.0), "Cr": (0.80, 1.10), "Mo": (0.15, 0.25)},
    ),
    ("G10180", "chicagotube.com cold finished bars", {"C": (0.15, 0.20), "Mn": (0.60, 0.90), "S": (None, 0.050)}),
    ("G12150", "chicagotube.com cold finished bars", {"C": (None, 0.09), "Mn": (0.75, 1.05), "S": (0.26, 0.35)}),
    (
        "G12144",
        "compraco.com.br, ASTM A29; chicagotube.com",
        {"Pb": (0.15, 0.35), "S": (0.26, 0.35), "Mn": (0.85, 1.15)},
    ),
    (
        "T11302",
        "rewon.com.my Table 11-1",
        {"Cr": (3.75, 4.50), "Mo": (4.50, 5.50), "W": (5.50, 6.75), "V": (1.75, 2.20)},
    ),
    (
        "T11342",
        "rewon.com.my Table 11-1",
        {"Co": (7.75, 8.75), "Mo": (9.0, 10.0), "Cr": (3.50, 4.25), "C": (1.05, 1.15)},
    ),
    (
        "A96061",
        "luskmetals.com aluminium limits",
        {"Si": (0.40, 0.8), "Cu": (0.15, 0.40), "Mg": (0.8, 1.2), "Cr": (0.04, 0.35), "Zn": (None, 0.25)},
    ),
    (
        "A97075",
        "matweb.com 7075-O, Aluminum Association",
        {"Zn": (5.1, 6.1), "Mg": (2.1, 2.9), "Cu": (1.2, 2), "Cr": (0.18, 0.28)},
    ),
    ("A92024", "luskmetals.com aluminium limits", {"Cu": (3.8, 4.9), "Mg": (1.2, 1.8), "Mn": (0.30, 0.9)}),
    ("A92011", "luskmetals.com aluminium limits", {"Cu": (5.0, 6.0), "Si": (None, 0.40), "Fe": (None, 0.7)}),
    (
        "R56400",
        "luminatitan; bayvillechemical",
        {"Al": (5.5, 6.75), "V": (3.5, 4.5), "O": (None, 0.20), "H": (None, 0.015)},
    ),
    ("M11311", "azom.com 8623; manganese eforu-chemical.com", {"Al": (2.5, 3.5), "Zn": (0.60, 1.4), "Mn": (0.2, 1.0)}),
    ("M11916", "makeitfrom.com AZ91D", {"Mg": (88.7, 91.2), "Al": (8.3, 9.7), "Zn": (0.35, 1.0), "Mn": (0.15, 0.5)}),
    (
        "T30102",
        "azom.com 6218",
        {"C": (0.95, 1.05), "Cr": (4.75, 5.50), "Mo": (0.90, 1.40), "V": (0.15, 0.50), "Si": (None, 0.5)},
    ),
    (
        "T30402",
        "azom.com 6214",
        {"C": (1.40, 1.60), "Cr": (11.00, 13.00), "Mo": (0.70, 1.20), "V": (None, 1.10), "Mn": (None, 0.60)},
    ),
    (
        "T31501",
        "kmac-distribution.com O1",
        {"C": (0.85, 1), "Cr": (0.4, 0.6), "Mn": (1, 1.4), "W": (0.4, 0.6), "V": (None, 0.3)},
    ),
    ("A92011", "johnhoodandcompany.co.uk and azom.com 2803", {"Pb": (0.2, 0.6), "Bi": (0.2, 0.6), "Cu": (5.0, 6.0)}),
]
PRINTED = [(key, element, bounds, source) for key, source, row in COMPOSITIONS for element, bounds in row.items()]

# Alloy, printed density, its unit, half of its last digit, where printed.
DENSITIES: list[tuple[str, float, str, float, str]] = [
    ("C11000", 0.321, "lb/in3", 0.0005, "a mill's sheet on scribd.com: 0.321-0.323"),
    ("C14500", 8.94, "g/cm3", 0.005, "modisoncopper.com: 0.323 lb/in3, specific gravity 8.94"),
    ("C26000", 8.53, "g/cm3", 0.005, "olinbrass.com and azom.com 6341"),
    ("C35300", 0.307, "lb/in3", 0.0005, "azom.com 6393: 8.50 g/cm3, 0.307 lb/in3"),
    ("C36000", 8.5, "g/cm3", 0.05, "diversifiedbronze.com: specific gravity 8.5"),
    ("C37000", 8.41, "g/cm3", 0.01, "patelalloys.com: 0.304 lb/in3, specific gravity 8.41"),
    ("C46400", 0.304, "lb/in3", 0.0005, "brass-copper-castings.com C46400"),
    ("C48500", 8.44, "g/cm3", 0.005, "btimetals.com C48500"),
    ("C51000", 8.86, "g/cm3", 0.005, "btimetals.com C51000"),
    ("C53400", 8.91, "g/cm3", 0.06, "alloys.copper.org: 0.32 lb/in3 to two places, specific gravity 8.91"),
    ("C54400", 8.89, "g/cm3", 0.04, "brass-tubes.com: 0.320 lb/in3 and 8.89 g/cm3, which differ"),
    ("C65500", 0.308, "lb/in3", 0.0005, "atlasmetal.com C65500"),
    ("C70600", 8.94, "g/cm3", 0.005, "husseycopper.com C70600"),
    ("C71500", 8.94, "g/cm3", 0.005, "husseycopper.com C71500, specific gravity"),
    ("C77000", 0.314, "lb/in3", 0.0005, "azom.com 6449"),
    ("C93200", 8.91, "g/cm3", 0.005, "dura-barms.com C93200"),
    ("C95500", 7.53, "g/cm3", 0.005, "spectrummachine.com C95500"),
    ("C97600", 0.321, "lb/in3", 0.0005, "conexbronze.com C97600"),
    ("C14300", 0.323, "lb/in3", 0.0005, "azom.com 6331"),
    ("S17400", 0.280, "lb/in3", 0.0005, "azom.com 6778"),
    ("G41400", 7.85, "g/cm3", 0.02, "azom.com 9163 for 4140H: 7.85 g/cm3, 0.284 lb/in3"),
    ("G12144", 0.284, "lb/in3", 0.0005, "compraco.com.br 12L14"),
    ("A97075", 0.102, "lb/in3", 0.0005, "matweb.com 7075-O"),
    ("A96061", 2.70, "g/cm3", 0.005, "btimetals.com 6061"),
    ("M11311", 0.0639, "lb/in3", 0.0001, "azom.com 8623"),
    ("C27000", 0.306, "lb/in3", 0.0005, "patelalloys.com JIS C2700: 0.306"),
    ("C28000", 0.303, "lb/in3", 0.0005, "alloys.copper.org C28000: 0.303"),
    ("C62400", 7.45, "g/cm3", 0.005, "beartechalloys.com C624: 0.269 lb/in3, 7.45 g/cm3"),
    ("C63000", 0.274, "lb/in3", 0.0005, "randallbearings.com C63000"),
    ("C83600", 0.318, "lb/in3", 0.0005, "brass-copper-castings.com C83600: .318"),
    ("C84400", 0.314, "lb/in3", 0.0005, "brass-copper-castings.com C84400: .314"),
    ("C86300", 7.83, "g/cm3", 0.005, "conex-casting.com C86300: 0.283 lb/in3, 7.83 g/cm3"),
    ("C86400", 0.301, "lb/in3", 0.0005, "conexbronze.com C864: .301"),
    ("C90300", 8.8, "g/cm3", 0.005, "concast.com C90300: 0.318 lb/in3, 8.80 g/cm3"),
    ("C90500", 0.315, "lb/in3", 0.0005, "concast.com C90500"),
    ("C93700", 0.32, "lb/in3", 0.005, "stpaulfoundry.com C93700: 0.32"),
    ("S31600", 8.0, "g/cm3", 0.05, "jpkinstruments.com: 8 g/cm3, 0.290 lb/in3"),
    ("T30102", 7.86, "g/cm3", 0.005, "azom.com 6218: 7.86 g/cm3, 0.284 lb/in3"),
    ("T30402", 7.7, "g/cm3", 0.05, "azom.com 6214: 7.7, 0.278 lb/in3"),
    ("T31501", 7.85, "g/cm3", 0.005, "theworldmaterial.com O1: 7.85, 0.283 lb/in3"),
    ("A92011", 2.83, "g/cm3", 0.005, "johnhoodandcompany.co.uk 2011"),
]

# Alloy, rating, base, where printed.
MACHINABILITY: list[tuple[str, float, str, str]] = [
    ("C14500", 85, "C36000 = 100", "jetminmetal.com and concast.com C14500"),
    ("C17200", 20, "C36000 = 100", "jsktraders.com C17200"),
    ("C26000", 30, "C36000 = 100", "diversifiedbronze.com C26000"),
    ("C35300", 90, "C36000 = 100", "azom.com 6393"),
    ("C36000", 100, "C36000 = 100", "brass-copper-castings.com C36000"),
    ("C37000", 70, "C36000 = 100", "patelalloys.com C37000"),
    ("C46400", 30, "C36000 = 100", "weldaloy.com C46400"),
    ("C48500", 70, "C36000 = 100", "brass-copper-castings.com C48500"),
    ("C53400", 70, "C36000 = 100", "alloys.copper.org C53400"),
    ("C54400", 80, "C36000 = 100", "brass-tubes.com C54400"),
    ("C65500", 30, "C36000 = 100", "beartechalloys.com C65500"),
    ("C93200", 70, "C36000 = 100", "concast.com C93200"),
    ("C95400", 60, "C36000 = 100", "randallbearings.com C95400"),
    ("C95500", 50, "C36000 = 100", "conex-casting.com C95500"),
    ("C97600", 70, "C36000 = 100", "conexbronze.com C97600"),
    ("G10180", 78, "1212 = 100", "chicagotube.com"),
    ("G12150", 136, "1212 = 100", "chicagotube.com"),
    ("C27000", 30, "C36000 = 100", "patelalloys.com JIS C2700"),
    ("C62400", 50, "C36000 = 100", "beartechalloys.com C624"),
    ("C63000", 30, "C36000 = 100", "randallbearings.com and beartechalloys.com C630"),
    ("C83600", 84, "C36000 = 100", "brass-copper-castings.com C83600"),
    ("C84400", 90, "C36000 = 100", "brass-copper-castings.com C84400"),
    ("C86300", 8, "C36000 = 100", "conex-casting.com and azom.com 6483 C86300"),
    ("C86400", 65, "C36000 = 100", "conexbronze.com C864"),
    ("C90300", 30, "C36000 = 100", "concast.com and spectrummachine.com C90300"),
    ("C90500", 30, "C36000 = 100", "concast.com C90500"),
    ("C93700", 80, "C36000 = 100", "stpaulfoundry.com C93700: 80 % of free-cutting brass"),
]


def part(key: str, element: str) -> Constituent:
    return next(one for one in alloys()[key].composition if one.element == element)


@pytest.mark.parametrize(("key", "element", "bounds", "source"), PRINTED, ids=[f"{row[0]}-{row[1]}" for row in PRINTED])
def test_a_constituent_stands_as_it_is_printed(key: str, element: str, bounds: Bounds, source: str) -> None:
    found = part(key, element)
    if bounds == REST:
        assert found.rest, source
    else:
        assert (found.low, found.high) == bounds, source


@pytest.mark.parametrize(("key", "printed", "unit", "within", "source"), DENSITIES, ids=[row[0] for row in DENSITIES])
def test_a_density_agrees_with_another_print(key: str, printed: float, unit: str, within: float, source: str) -> None:
    density = alloys()[key].density
    assert density is not None
    # A figure printed to three places in one unit cannot be compared more closely than that in the other.
    rounding = 0.0005 * (27.6799 if density.unit == "lb/in3" and unit == "g/cm3" else 1)
    assert density_in(density, unit) == pytest.approx(printed, abs=within + rounding), source


@pytest.mark.parametrize(("key", "rating", "base", "source"), MACHINABILITY, ids=[row[0] for row in MACHINABILITY])
def test_a_machinability_rating_stands_on_its_base(key: str, rating: float, base: str, source: str) -> None:
    found = alloys()[key].machinability
    assert found is not None and (found.value, found.base) == (rating, base), source


def test_the_prints_are_many() -> None:
    """Counted so that a row cannot get lost: compositions, densities and ratings, each with its source."""
    assert len(PRINTED) + len(DENSITIES) + len(MACHINABILITY) >= 240
    assert all(row[-1] for table in (PRINTED, DENSITIES, MACHINABILITY) for row in table)


def test_pound_per_cubic_inch() -> None:
    """NIST SP 811: 1 lb/in3 = 27.67990 g/cm3; so 0.323 lb/in3 is 8.941 g/cm3 (recomputed)."""
    source = Source("test", "NIST SP 811", "nist.gov", "2008", "second-hand")
    assert density_in(Density(1, "lb/in3", source), "g/cm3") == pytest.approx(27.67990, abs=5e-6)
    assert density_in(Density(0.323, "lb/in3", source), "g/cm3") == pytest.approx(8.941, abs=5e-4)


def test_tellurium_in_copper_dust() -> None:
    """At 0.55 % tellurium, copper dust of 1 mg/m3 carries 0.0055 mg/m3 of tellurium (recomputed)."""
    source = Source("test", "nominal composition", "brass-extrusions.com C14500", "read 2026-11", "seen")
    nominal = [Constituent("Cu", source, rest=True), Constituent("Te", source, nominal=0.55)]
    found = in_dust(nominal, "Te", 1.0)
    assert (found.low, found.high) == (0.0055, 0.0055)


def test_lead_in_the_dust_of_free_cutting_brass() -> None:
    """2.5 to 3.0 % of 1 mg/m3: 0.025 to 0.030 mg/m3 of lead, the OSHA action level at the upper end (recomputed)."""
    found = in_dust(alloys()["C36000"].composition, "Pb", 1.0)
    assert (found.low, found.high) == (0.025, 0.03)


def test_zinc_of_free_cutting_brass_is_what_the_others_leave() -> None:
    """100 - 63 - 3 - 0.35 = 33.65 and 100 - 60 - 2.5 = 37.5; a foundry prints 35.4 nominal."""
    zinc = share(alloys()["C36000"].composition, "Zn")
    assert zinc is not None and (zinc.low, zinc.high) == (33.65, 37.5)
    assert zinc.low <= 35.4 <= zinc.high


def test_weight_of_a_bar() -> None:
    """1 in round, 12 in long: 9.425 in3; at 0.307 lb/in3 2.893 lb, in metric 154.4 cm3 and 1.3126 kg (recomputed)."""
    brass = alloys()["C36000"]
    assert mass(brass, 9.42478, "in3") == pytest.approx(2.893, abs=5e-4)
    assert mass(brass, 154.4444, "cm3") == pytest.approx(2.893 * 0.45359237, abs=5e-4)
