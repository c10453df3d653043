"""Coolant arithmetic against worked examples in print."""

from __future__ import annotations

import pytest

from webapp.core.mix import neat, ratio, reading_for, strength, sump_volume, top_up
from webapp.core.units import convert


def test_refractometer_factor() -> None:
    """blog.commonwealthoil.com: a reading of 5 with a factor of 1.60 is 8 %."""
    assert strength(5, 1.60) == 8


def test_reading_to_aim_at() -> None:
    """toweroil.com: for 10 % with a factor of 2.2 aim at 4.5 (printed rounded; exactly 4.545)."""
    assert reading_for(10, 2.2) == pytest.approx(4.5, abs=0.05)
    assert reading_for(10, 2.2) == pytest.approx(10 / 2.2, abs=1e-6)


def test_make_up_for_a_sump_that_lost_water() -> None:
    """cncmarket.de: 1000 L at a target of 8 %, 300 L lost, the remaining 700 L at 10 %: make up with 3.33 %."""
    mix = top_up(capacity=1000, level=700, percent=10, target=8)
    assert (mix.concentrate, mix.water) == (10, 290)
    assert mix.makeup == pytest.approx(3.33, abs=0.005)
    assert mix.strength == 8


def test_concentrate_alone_into_a_sump_without_a_fixed_level() -> None:
    """x = V (c2 - c1) / (1 - c2): 50 gal from 5 to 8 % take 1.630 gal (recomputed)."""
    assert neat(50, 5, 8) == pytest.approx(1.630, abs=5e-4)


def test_one_to_twenty_is_ambiguous() -> None:
    """Sources use 1/20 = 5 % and 1/21 = 4.76 %."""
    both = ratio("1:20")
    assert both.one_in == 5
    assert both.one_to == pytest.approx(4.76, abs=0.005)


def test_rectangular_sump() -> None:
    """A US gallon is 231 cubic inches: 48 x 24 x 10 in hold 49.87 gal."""
    gallons = sump_volume(48, 24, 10, "us")
    assert gallons == pytest.approx(49.87, abs=0.005)
    litres = sump_volume(48 * 2.54, 24 * 2.54, 10 * 2.54, "metric")
    assert convert(gallons, "gal", "L") == pytest.approx(litres, rel=1e-6)


# The inch is 25.4 mm and the US gallon 231 cubic inches, exactly; the printed roundings are those of the table
# of SI conversion factors in US transport research reports (nap.edu, record 14211).
@pytest.mark.parametrize(
    ("value", "unit", "to", "printed", "within"),
    [
        (1, "in", "mm", 25.4, 0),
        (1, "ft", "m", 0.305, 5e-4),
        (1, "sq in", "mm2", 645.2, 0.05),
        (1, "gal", "L", 3.785, 5e-4),
        (1, "fl oz", "mL", 29.57, 5e-3),
        (1, "psi", "kPa", 6.89, 5e-3),
        (1, "gal", "fl oz", 128, 1e-9),
    ],
)
def test_printed_conversion_factors(value: float, unit: str, to: str, printed: float, within: float) -> None:
    assert convert(value, unit, to) == pytest.approx(printed, abs=within or 1e-12)
