"""Exposure, sampling and rates against published rules and worked examples, each with the tolerance of its print."""

from __future__ import annotations

import pytest

from webapp.core import alloys, exposure, rates, sampling
from webapp.core.exposure import ACTION, BELOW, OVER
from webapp.library.alloys import alloys as library
from webapp.library.limits import limits

AVERAGES = [
    ([[150, 2], [75, 2], [50, 4]], 81.25, 0.005, "29 CFR 1910.1000(d)(1)(ii): 81.25 ppm"),
    ([[120, 2], [80, 3], [40, 3]], 75, 0.5, "calculator7.snowdaycalculatornow.com, example 1: 75 ppm"),
    ([[50, 2], [0, 6]], 12.5, 0.05, "calculator7.snowdaycalculatornow.com, example 2: 12.5 ppm"),
    ([[10, 2]], 2.5, 0.05, "a hygienists' forum (industrialhygiene 1jpcmpc): 10 mg/m3 for 2 of 8 h make 2.5"),
    ([[10, 1]], 1.25, 0.005, "a hygienists' forum (industrialhygiene 1jpcmpc): 10 mg/m3 for 1 of 8 h make 1.25"),
    ([[0.12, 7 + 20 / 60]], 0.11, 0.005, "HSE EH40, example 1, from memory: 7 h 20 min at 0.12 mg/m3 make 0.11"),
    (
        [[0.32, 2.5], [0.07, 2], [0.20, 2], [0.10, 1.5]],
        0.19,
        0.005,
        "HSE EH40, example 2, from memory: four periods make 0.19 mg/m3",
    ),
]


@pytest.mark.parametrize(("periods", "printed", "within", "source"), AVERAGES)
def test_eight_hour_averages(periods: list[list[float]], printed: float, within: float, source: str) -> None:
    assert source
    assert exposure.average(periods).eight_hours == pytest.approx(printed, abs=within)


def test_the_divisor_is_always_eight() -> None:
    """29 CFR 1910.1000(d)(1)(i): E = (C T + ...) / 8, also where ten hours were worked."""
    assert exposure.average([[0.8, 10]]).eight_hours == 1


def test_the_rules_own_example_is_below_its_limit() -> None:
    """29 CFR 1910.1000(d)(1)(ii): 81.25 ppm is less than 100 ppm."""
    assert exposure.compare(81.25, 100, "ppm").word == BELOW


def test_the_rules_own_mixture() -> None:
    """29 CFR 1910.1000(d)(2)(ii): 500/1000 + 45/200 + 40/200 = 0.500 + 0.225 + 0.200 = 0.925, less than unity."""
    found = exposure.mixture([[500, 1000], [45, 200], [40, 200]], "named by the rule")
    assert found.parts == (0.5, 0.225, 0.2)
    assert (found.index, found.word) == (0.925, BELOW)


# 29 CFR 1910.1025(c)(2), as ishn.com 87733, ohshub.com, paint-inspector.com (10 h) and workplace-hygiene.com (12 h,
# whole ug/m3) work it out: 400 / hours.
@pytest.mark.parametrize(("hours", "limit"), [(8, 50), (10, 40), (12, 33)])
def test_lead_over_a_long_day(hours: float, limit: float) -> None:
    assert exposure.lead_shift(50, hours).limit == pytest.approx(limit, abs=0.5)


# Brief and Scala (1975) by the day: jurgiel.com (8 and 12 h), ohshub.com (10 h).
@pytest.mark.parametrize(("hours", "factor"), [(8, 1), (10, 0.7), (12, 0.5)])
def test_brief_and_scala_by_the_day(hours: float, factor: float) -> None:
    assert exposure.long_day(1, hours).factor == pytest.approx(factor, abs=0.0005)


# Brief and Scala by the week, (40 / h) ((168 - h) / 128), from memory; worked by hand.
@pytest.mark.parametrize(("hours", "factor"), [(40, 1), (56, 0.625), (60, 0.5625)])
def test_brief_and_scala_by_the_week(hours: float, factor: float) -> None:
    assert exposure.long_week(1, hours).factor == pytest.approx(factor, abs=0.0005)


def _osha(substance: str, kind: str) -> float:
    return next(
        one.milligrams * 1000
        for one in limits()
        if (one.substance, one.authority, one.kind) == (substance, "us_osha", kind)
    )


# The library's own limits with the words of their standards, in ug/m3.
STANDARDS = [
    ("lead", 29, BELOW, "29 CFR 1910.1025: action level 30, limit 50"),
    ("lead", 30, ACTION, "29 CFR 1910.1025: action level 30, limit 50"),
    ("lead", 49.9, ACTION, "29 CFR 1910.1025: limit 50"),
    ("lead", 50, OVER, "29 CFR 1910.1025: limit 50"),
    ("beryllium", 0.09, BELOW, "29 CFR 1910.1024: action level 0.1, limit 0.2"),
    ("beryllium", 0.1, ACTION, "29 CFR 1910.1024: at or above the action level"),
    ("beryllium", 0.2, OVER, "29 CFR 1910.1024: limit 0.2"),
    ("cadmium", 2.5, ACTION, "29 CFR 1910.1027: action level 2.5, limit 5"),
    ("cadmium", 5, OVER, "29 CFR 1910.1027: limit 5"),
]


@pytest.mark.parametrize(("substance", "measured", "word", "source"), STANDARDS)
def test_substances_with_an_action_level(substance: str, measured: float, word: str, source: str) -> None:
    assert source
    found = exposure.compare(measured, _osha(substance, "twa"), "ug/m3", _osha(substance, "action"))
    assert found.word == word


def test_beryllium_for_fifteen_minutes() -> None:
    """29 CFR 1910.1024(c)(2): 2.0 ug/m3 over 15 min: 6 for 5 min between cleaner air makes exactly that."""
    found = exposure.short_term([[0, 10], [6, 5], [0, 10]])
    assert found.whole
    assert exposure.compare(found.highest, _osha("beryllium", "stel"), "ug/m3").word == OVER
    less = exposure.short_term([[0, 10], [5.9, 5], [0, 10]])
    assert exposure.compare(less.highest, _osha("beryllium", "stel"), "ug/m3").word == BELOW


# The mass balance: weight % of the library's alloys (each with its source there) in measured dust, worked by hand.
BALANCES = [
    ("C14500", "Te", 1.0, 0.004, 0.007, "0.40 to 0.70 % of tellurium (concast.com)"),
    ("C17200", "Be", 0.01, 0.00018, 0.0002, "1.80 to 2.00 % of beryllium (lfa-wire.com)"),
    ("C36000", "Pb", 2.0, 0.05, 0.06, "2.5 to 3.0 % of lead (diversifiedbronze.com)"),
]


@pytest.mark.parametrize(("key", "element", "dust", "low", "high", "source"), BALANCES)
def test_an_element_in_measured_dust(key: str, element: str, dust: float, low: float, high: float, source: str) -> None:
    assert source
    alloy = next(one for one in library().values() if one.uns == key)
    found = alloys.in_dust(alloy.composition, element, dust)
    assert (found.low, found.high) == pytest.approx((low, high), rel=1e-6)


def test_which_limit_decides() -> None:
    """At 2 % beryllium its limit of 0.2 ug/m3 is met at 0.01 mg/m3 of dust, a hundredth of copper dust's own 1 mg/m3;
    at 0.7 % tellurium (limit 0.1 mg/m3) only at 14 mg/m3, where the dust's own limit decides (arithmetic on 1.2)."""
    assert sampling.dust_for(0.0002, 2.0) == pytest.approx(0.01)
    assert sampling.dust_for(0.1, 0.7) == pytest.approx(14.3, abs=0.05)


# A Californian guidance memo of 4 August 1989 on results below detection (lfweb.sjgov.org 618705): 10 / 1.414.
@pytest.mark.parametrize("detection", [10, 200])
def test_below_detection(detection: float) -> None:
    assert sampling.below_detection(detection, 1).value == pytest.approx(detection / 1.414, rel=2e-4)


# cdc.gov, NIOSHTIC 00194540 (Hornung and Reed 1990): LOD / sqrt 2, LOD / 2 for highly skewed data; and from memory that
# a geometric standard deviation of 3 divides them.
@pytest.mark.parametrize(("spread", "by"), [(None, "LOD / sqrt 2"), (2.9, "LOD / sqrt 2"), (3.0, "LOD / 2")])
def test_which_substitute_for_a_result_below_detection(spread: float | None, by: str) -> None:
    found = sampling.below_detection(2, 1000, spread)
    assert found.by == by
    assert found.value < found.below == 0.002


# jurgiel.com: mg on the filter by m3 of air. 480 min at 2 L/min are 0.96 m3.
@pytest.mark.parametrize(("micrograms", "milligrams"), [(960, 1.0), (48, 0.05), (0.192, 0.0002)])
def test_from_a_filter_to_a_concentration(micrograms: float, milligrams: float) -> None:
    air = sampling.air_volume(2.0, 2.0, 480).litres
    assert air == 960
    assert sampling.concentration(micrograms, air) == pytest.approx(milligrams)


RATES = [
    (5, 100_000, 10, "oshacademy.com 708: 5 x 200 000 / 100 000"),
    (10, 100_000, 20, "oshacademy.com 708: 10 x 200 000 / 100 000"),
    (22, 645_089, 6.8, "OSHA's worked example of a DART rate (readbag.com, safex data resource): 6.8"),
    (1, 10_000, 20.0, "COMAR 09.12.24.09, a machine shop, DART and TRC of 2005: 20.0"),
    (1, 36_000, 5.6, "COMAR 09.12.24.09, a machine shop, DART of three years: 5.56 = 5.6"),
    (1, 200_000, 1, "osha.gov, frequently asked question 326: 200 000 h are 100 people for 40 h and 50 weeks"),
]


@pytest.mark.parametrize(("cases", "hours", "rate", "source"), RATES)
def test_rates_of_cases(cases: int, hours: float, rate: float, source: str) -> None:
    assert source
    assert rates.rate(cases, hours).rate == pytest.approx(rate, abs=0.05)


# Exact limits of a count, at the base of 200 000 h where count and rate are one.
RANGES = [
    (25, 16.18, 36.90, 0.005, "graphpad.com, how the interval of a count is computed: 16.18 to 36.90"),
    (10, 4.80, 18.39, 0.005, "calculatorhub.com, exact (Garwood): 4.80 to 18.39"),
    (0, 0, 3.689, 0.0015, "rdocumentation.org, epitools pois.exact: 3.689 for none"),
]


@pytest.mark.parametrize(("cases", "low", "high", "within", "source"), RANGES)
def test_range_of_a_count(cases: int, low: float, high: float, within: float, source: str) -> None:
    assert source
    found = rates.rate(cases, 200_000)
    assert (found.low, found.high) == (pytest.approx(low, abs=within), pytest.approx(high, abs=within))
