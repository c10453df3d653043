"""The saw's arithmetic: the vectors it shares with the phone, and what must hold of every cut."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.core.outcomes import outcome, refused, vectors
from webapp.core import band_speeds, sawing, speeds
from webapp.core.sections import SHAPES, area, bundle, part

FUNCTIONS = {
    "surface_speed": speeds.surface_speed,
    "rpm_for": speeds.rpm_for,
    "cut_widths": sawing.cut_widths,
    "teeth_in_cut": sawing.teeth_in_cut,
    "pitch_advice": sawing.pitch_advice,
    "break_in": sawing.break_in,
    "tension": sawing.tension,
    "band_speed": band_speeds.band_speed,
}
ODD = [math.nan, math.inf, -math.inf, 0, -1, 1e300, "1", None, True]


@pytest.mark.parametrize("case", vectors("sawing"))
def test_vectors(case: dict[str, Any]) -> None:
    assert case["source"].strip()
    assert outcome(FUNCTIONS[case["in"]["fn"]], case["in"]["args"]) == case["out"]


@pytest.mark.parametrize("value", ODD)
def test_a_figure_that_cannot_be_is_refused_by_name(value: Any) -> None:
    assert refused(speeds.surface_speed, {"diameter": value, "rpm": 100, "units": "us"}) == "diameter"
    assert refused(speeds.rpm_for, {"speed": value, "diameter": 8, "units": "us"}) == "speed"
    assert refused(sawing.teeth_in_cut, {"width": value, "pitch": "4/6", "units": "us"}) == "width"
    assert refused(sawing.pitch_advice, {"width": value, "units": "metric"}) == "width"
    assert refused(band_speeds.band_speed, {"metal": "304", "size": value, "units": "us"}) == "size"
    tension = {"width": 1, "thickness": 0.035, "stress": value, "blade": "bimetal", "units": "us"}
    assert refused(sawing.tension, tension) == "stress"
    if value != 0:
        assert refused(sawing.break_in, {"cut": value, "units": "us"}) == "cut"
        assert refused(part, {"bar": 12, "blank": 1, "kerf": value if value is not True else -1}) == "kerf"


@given(st.floats(1, 60), st.floats(100, 3000), st.sampled_from(["us", "metric"]))
def test_speed_and_turns_are_inverse(diameter: float, rpm: float, units: str) -> None:
    speed = speeds.surface_speed(diameter, rpm, units)
    assert speeds.rpm_for(speed, diameter, units) == pytest.approx(rpm, rel=1e-3)


@given(st.floats(0.5, 60), st.floats(1, 3000))
def test_both_units_say_the_same_speed(inches: float, rpm: float) -> None:
    us, metric = speeds.surface_speed(inches, rpm, "us"), speeds.surface_speed(inches * 25.4, rpm, "metric")
    assert metric == pytest.approx(us * 0.3048, abs=1e-3)


@given(st.sampled_from(sorted(SHAPES)), st.floats(0.5, 10), st.floats(0.01, 0.2))
def test_average_width_times_the_way_down_is_the_area(shape: str, size: float, wall: float) -> None:
    measures = {name: wall if name == "wall" else size for name in SHAPES[shape]}
    widths = sawing.cut_widths(shape, measures)
    assert widths.average * widths.travel == pytest.approx(area(shape, measures), rel=1e-4, abs=1e-5)
    # Three roundings to six places lie between the two.
    assert widths.average <= widths.widest + 5e-6


@given(st.floats(0.01, 20), st.sampled_from(["10/14", "6/10", "4/6", "18", "2/3"]))
def test_a_finer_pitch_never_has_fewer_teeth_in_the_cut(width: float, pitch: str) -> None:
    teeth = sawing.teeth_in_cut(width, pitch, "us")
    assert teeth.fewest <= teeth.most
    assert (teeth.verdict == "too few") == (teeth.fewest < 3)
    assert sawing.teeth_in_cut(width, "24", "us").fewest >= teeth.most


@given(st.floats(0.05, 30))
def test_every_source_advises_a_pitch_for_every_width(width: float) -> None:
    rows = sawing.pitch_advice(width, "us")
    assert [row.source for row in rows] == [sawing.MH31, sawing.MANUAL, sawing.CHART]
    assert all(row.teeth for row in rows)


def test_every_metal_listed_has_a_speed_and_a_source() -> None:
    for metal in band_speeds.metals():
        for speed in band_speeds.band_speed(metal, 2, "us"):
            assert 0 < speed.low <= speed.high < 1000 and speed.source and speed.printed


@given(st.sampled_from(band_speeds.metals()), st.floats(0.05, 12), st.booleans(), st.booleans())
def test_dry_or_carbon_is_never_faster(metal: str, size: float, dry: bool, carbon: bool) -> None:
    plain = band_speeds.band_speed(metal, size, "us")
    changed = band_speeds.band_speed(metal, size, "us", dry, carbon)
    for one, other in zip(plain, changed, strict=True):
        assert other.low <= one.low and other.high <= one.high


@given(st.floats(0, 300))
def test_a_blade_is_broken_in_by_steps(cut: float) -> None:
    now, later = sawing.break_in(cut, "us"), sawing.break_in(cut + 1, "us")
    assert 0.5 <= now.share <= later.share <= 1
    assert now.left + min(cut, 100) == pytest.approx(100, abs=1e-3)


@given(st.integers(1, 40), st.floats(0.1, 6))
def test_a_bundle_is_so_many_pieces(pieces: int, side: float) -> None:
    assert bundle("square", {"side": side}, pieces) == pytest.approx(pieces * area("square", {"side": side}), abs=1e-6)


@given(st.integers(1000, 20_000), st.integers(100, 900), st.integers(1, 90), st.integers(0, 300), st.integers(1, 300))
def test_with_grip_and_end_loss_every_length_is_accounted_for(
    bar: int, blank: int, kerf: int, end: int, grip: int
) -> None:
    """In thousandths: blanks, kerfs, end loss and the rest add up to the bar, and no further blank would fit."""
    if blank + kerf + grip + end + kerf > bar:
        return
    parted = part(bar / 1000, blank / 1000, kerf / 1000, end / 1000, grip / 1000)
    used = parted.blanks * blank + parted.cuts * kerf + end
    assert parted.cuts == parted.blanks + (end > 0)
    assert used + parted.left_over * 1000 == pytest.approx(bar, abs=1e-3)
    assert grip <= round(parted.left_over * 1000) < grip + blank + kerf
