"""Sander and grinder against published figures, one check a row, each with its source."""

from __future__ import annotations

import pytest

from webapp.core import abrasives

REST = "29 CFR 1910.215(a)(4); OSHA STD 01-12-008: within one-eighth inch"
TONGUE = "29 CFR 1910.215(b)(9): within one-fourth inch"
GAPS = [
    (0.125, 0.25, False, False, REST),
    (0.1251, 0.25, True, False, REST),
    (0.125, 0.2501, False, True, TONGUE),
    (0.0, 0.0, False, False, REST),
]


@pytest.mark.parametrize(("rest", "tongue", "rest_over", "tongue_over", "source"), GAPS)
def test_gaps(rest: float, tongue: float, rest_over: bool, tongue_over: bool, source: str) -> None:
    assert source
    found = abrasives.gaps(rest, tongue, "us")
    assert (found.rest.over, found.tongue.over) == (rest_over, tongue_over)
    assert (found.rest.limit, found.tongue.limit) == (0.125, 0.25)


def test_gaps_in_millimetres() -> None:
    """1/8 in is 3.175 mm and 1/4 in 6.35 mm exactly."""
    found = abrasives.gaps(3.175, 6.35, "metric")
    assert (found.rest.limit, found.tongue.limit, found.caution) == (3.175, 6.35, None)


# WAC 296-806-40516: flanges with a diameter at least one-third the diameter of the wheel.
FLANGES = [(6, 2, False), (6, 1.99, True), (8, 2.67, False), (12, 4, False), (12, 3.9, True)]


@pytest.mark.parametrize(("wheel", "size", "small"), FLANGES)
def test_flange(wheel: float, size: float, small: bool) -> None:
    assert abrasives.flange(wheel, size, "us").over == small


# WAC 296-806-40512(1)(c): spindle speed not greater than the operating speed of the wheel.
MARKS = [(8, 3450, 3600, False), (8, 3600, 3600, False), (8, 3601, 3600, True), (7, 3450, 3450, False)]


@pytest.mark.parametrize(("diameter", "rpm", "marked", "over"), MARKS)
def test_wheel_beside_its_mark(diameter: float, rpm: float, marked: float, over: bool) -> None:
    assert abrasives.wheel_speed(diameter, rpm, marked, "us").over == over


def test_marked_speed_in_feet_a_minute() -> None:
    """generalbroach.com: max sfpm = pi x D x max RPM / 12; 6 in at 4138 rpm is 6500 (themacgrinders.com)."""
    assert abrasives.wheel_speed(6, 3450, 4138, "us").limit == pytest.approx(6500, abs=1)


SHOP = "paperzz.com 7943063"
METRIC = "media.saint-gobain.com"
MH31 = "Machinery's Handbook, 31st edition, Table 1"
# Material, units, what, low, high.
BELTS = [
    ("carbon steel", "us", "offhand", 6500, 6500, SHOP),
    ("stainless", "us", "offhand", 6500, 7000, SHOP),
    ("aluminium", "us", "coarse", 7500, 8000, SHOP),
    ("aluminium", "us", "fine", 6500, 7000, SHOP),
    ("brass", "us", "offhand", 7000, 8000, SHOP),
    ("titanium", "us", "offhand", 2500, 3000, SHOP),
    ("cast iron", "us", "offhand", 7000, 7000, SHOP),
    ("stainless", "metric", "grinding", 20, 30, METRIC),
    ("titanium", "metric", "grinding", 8, 15, METRIC),
    ("carbon steel", "metric", "grinding", 30, 40, METRIC),
    ("cast iron", "metric", "grinding", 30, 40, METRIC),
    ("brass", "metric", "grinding", 25, 35, METRIC),
    ("copper", "metric", "grinding", 25, 35, METRIC),
    ("aluminium", "metric", "grinding", 20, 35, METRIC),
    ("copper", "us", "roughing", 2200, 4500, MH31),
    ("brass", "us", "polishing", 4000, 6500, MH31),
    ("aluminium", "us", "roughing", 5000, 6500, MH31),
    ("aluminium", "us", "polishing", 4500, 6500, MH31),
    ("stainless", "us", "roughing", 3500, 5000, MH31),
    ("stainless", "us", "polishing", 4000, 5500, MH31),
]


@pytest.mark.parametrize(("material", "units", "what", "low", "high", "source"), BELTS)
def test_belt_speed_by_material(material: str, units: str, what: str, low: float, high: float, source: str) -> None:
    rows = [row for row in abrasives.belt_advice(material, units) if row.what == what]
    assert [(row.low, row.high) for row in rows] == [(low, high)]
    assert source in rows[0].source


def test_belt_sources_in_each_others_units() -> None:
    """25 m/s are 4921 ft/min and 2200 ft/min 11.2 m/s: brass by one source starts where another nearly ends."""
    us = {row.what: row for row in abrasives.belt_advice("copper", "us")}
    metric = {row.what: row for row in abrasives.belt_advice("copper", "metric")}
    assert us["grinding"].low == pytest.approx(4921, abs=1)
    assert metric["roughing"].low == pytest.approx(11.2, abs=0.05)
