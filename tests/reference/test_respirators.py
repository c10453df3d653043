"""Respirators against 29 CFR 1910.134, Table 1, and published maximum use concentrations, one check a row."""

from __future__ import annotations

import pytest

from webapp.core import respirators
from webapp.core.exposure import UNMEASURED

# 29 CFR 1910.134(d)(3)(i)(A), Table 1, as up.codes and grainger's quick tip 330 print it.
TABLE = [
    ("filter quarter", 5), ("filter half", 10), ("filter full", 50),
    ("powered half", 50), ("powered full", 1000), ("powered hood", 25), ("powered loose", 25),
    ("line demand half", 10), ("line demand full", 50),
    ("line flow half", 50), ("line flow full", 1000), ("line flow hood", 25), ("line flow loose", 25),
    ("line pressure half", 50), ("line pressure full", 1000),
    ("tank demand half", 10), ("tank demand full", 50), ("tank demand hood", 50),
    ("tank pressure full", 10_000), ("tank pressure hood", 10_000),
]  # fmt: skip


@pytest.mark.parametrize(("key", "factor"), TABLE)
def test_assigned_protection_factors(key: str, factor: int) -> None:
    assert respirators.apf(key) == factor


def test_the_table_has_no_other_rows() -> None:
    assert [one.key for one in respirators.CLASSES] == [key for key, _ in TABLE]


# Note 4 to Table 1: 1000 for helmets and hoods only with the maker's evidence; 25 for all others, loose-fitting too.
@pytest.mark.parametrize(
    ("key", "factor"),
    [("powered hood", 1000), ("line flow hood", 1000), ("powered loose", 25), ("line flow loose", 25)],
)
def test_factors_with_the_makers_evidence(key: str, factor: int) -> None:
    assert respirators.apf(key, evidence=True) == factor


USES = [
    ("filter quarter", 0.05, 0.25, "NIOSH Pocket Guide, cobalt (npgd0146): REL 0.05, up to 0.25 mg/m3 with APF 5"),
    ("filter half", 0.05, 0.5, "NIOSH Pocket Guide, cobalt (npgd0146): up to 0.5 mg/m3 with APF 10"),
    ("filter half", 50, 500, "compliancetrainingonline.com: lead, limit 50: 500 ug/m3 in a half mask"),
    ("filter half", 5, 50, "advancedsafetytraining.com: cadmium, 10 x 5 = 50 ug/m3"),
    (
        "powered loose",
        0.05,
        1.25,
        "1926.62, as quoted by cdc.gov/niosh: lead up to 1.25 mg/m3 above the half mask's 0.5",
    ),
]


@pytest.mark.parametrize(("key", "limit", "most", "source"), USES)
def test_maximum_use_concentrations(key: str, limit: float, most: float, source: str) -> None:
    assert source
    assert respirators.maximum_use(key, limit).concentration == pytest.approx(most)


# 29 CFR 1910.134(d)(3)(i)(B)(3), as omicsonline.org quotes it: where the product is above IDLH or the cartridge's own
# bound, that bound is the maximum. Nickel: limit 1 mg/m3, IDLH 10 mg/m3 (cdc.gov/niosh/idlh/7440020).
@pytest.mark.parametrize(
    ("idlh", "cartridge", "most", "bound"),
    [(None, None, 50, "APF"), (10, None, 10, "IDLH"), (10, 4, 4, "cartridge"), (100, 200, 50, "APF")],
)
def test_never_above_idlh(idlh: float | None, cartridge: float | None, most: float, bound: str) -> None:
    found = respirators.maximum_use("filter full", 1.0, idlh, cartridge)
    assert (found.concentration, found.bound) == (most, bound)


# Lead, limit 0.05 mg/m3: exposures on either side of each factor of Table 1.
NEEDED = [(0.24, 5), (0.25, 5), (0.26, 10), (0.5, 10), (0.51, 25), (1.25, 25), (1.26, 50), (2.5, 50), (2.6, 1000)]


@pytest.mark.parametrize(("exposure", "least"), NEEDED)
def test_the_least_factor_that_is_enough(exposure: float, least: int) -> None:
    found = respirators.choose(exposure, 0.05, 100)
    assert min(respirators.apf(key) for key in found.classes) == least


def test_what_is_not_measured_has_no_class() -> None:
    """29 CFR 1910.134(d)(1)(iii), from memory: what cannot be estimated counts as immediately dangerous."""
    found = respirators.choose(None, 0.05, 100)
    assert (found.word, found.classes) == (UNMEASURED, ())


# 29 CFR 1910.134(f)(7), from memory: 100 or more for quarter and half masks, 500 or more for full facepieces.
@pytest.mark.parametrize(
    ("piece", "measured", "passed"),
    [("half", 100, True), ("half", 99, False), ("full", 500, True), ("full", 499, False)],
)
def test_fit_factors(piece: str, measured: float, passed: bool) -> None:
    assert respirators.fit_factor(piece, measured) is passed
