"""Cut areas, parting and batch arithmetic against figures of the trade."""

from __future__ import annotations

import math

import pytest

from webapp.core.sections import area, cut_area, holes, part, spindle_hours


def test_a_bar_parted_into_blanks() -> None:
    """A 12 in bar of 1 in round into 1/2 in blanks: 23 cuts with the kerf ignored, each 0.785 sq in."""
    parted = part(12, 0.5)
    assert (parted.blanks, parted.cuts, parted.left_over) == (24, 23, 0)
    each = area("round", {"diameter": 1})
    assert each == pytest.approx(0.785, abs=5e-4)
    assert cut_area(parted.cuts, each) == pytest.approx(18.06, abs=5e-3)


def test_plate_ripped_and_cut_across() -> None:
    """1/2 in plate: ripped along 12 in it is 6 sq in, cut across 4 in it is 2 sq in."""
    assert area("plate", {"width": 12, "thickness": 0.5}) == 6
    assert area("plate", {"width": 4, "thickness": 0.5}) == 2


def test_tube_by_the_saw_table() -> None:
    """A tube of 4 in outside and 3 in inside: 12.5 - 7.0 = 5.5 sq in printed, 5.498 exactly; / 4 in is 1.38 in."""
    tube = area("tube", {"outside": 4, "wall": 0.5})
    assert tube == pytest.approx(5.5, abs=0.005)
    assert tube == pytest.approx(area("round", {"diameter": 4}) - area("round", {"diameter": 3}), abs=2e-6)
    assert tube / 4 == pytest.approx(1.38, abs=0.01)


def test_hexagon_by_geometry() -> None:
    """Six triangles of side s = flats / sqrt(3): area 3 sqrt(3) / 2 s^2."""
    side = 0.75 / math.sqrt(3)
    assert area("hex", {"flats": 0.75}) == pytest.approx(3 * math.sqrt(3) / 2 * side**2, abs=1e-6)


def test_a_fixture_of_four_with_ten_holes_each() -> None:
    assert holes(4, 10) == 40


def test_spindle_hours_of_a_day() -> None:
    """12 loads of 25 minutes are 300 minutes, 5 hours."""
    assert spindle_hours(12, 25) == 5
