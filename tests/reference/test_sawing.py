"""The saw against published figures: each row of a table is one check, with its source and the print's rounding."""

from __future__ import annotations

import math

import pytest

from webapp.core import band_speeds, sawing, speeds
from webapp.core.sections import area, bundle, cut_area, part

TRADE = "common practice, no source"
GEOMETRY = "geometry, worked by hand"
SAW_TABLE = "a saw manual's worked example (manualshive.com, 280-GSHE, p. 11)"
MANUAL = "manualshive.com, BS-13LS, p. 10"
MH31 = "Machinery's Handbook, 31st edition, p. 1245"
CHART = "surface speed conversion chart (paperzz.com 7943063)"
TENSION = "forrestmfg.com"

AREAS = [
    ("round", {"diameter": 1}, 0.785, 5e-4, TRADE + ": a cut through 1 in round crosses 0.785 sq in"),
    ("plate", {"width": 12, "thickness": 0.5}, 6, 0, TRADE + ": a 12 in long 1/2 in plate ripped lengthwise"),
    ("plate", {"width": 4, "thickness": 0.5}, 2, 0, TRADE + ": a 4 in wide 1/2 in plate cut across"),
    ("round", {"diameter": 4}, 12.5, 0.1, SAW_TABLE + ": prints 12.5 (exactly 12.566)"),
    ("round", {"diameter": 3}, 7.0, 0.1, SAW_TABLE + ": prints 7.0 (exactly 7.069)"),
    ("tube", {"outside": 4, "wall": 0.5}, 5.5, 0.05, SAW_TABLE),
    ("hex", {"flats": 1}, 0.866, 5e-4, GEOMETRY + ": sqrt(3) / 2"),
    ("square", {"side": 6}, 36, 0, GEOMETRY),
    ("rectangle", {"width": 2, "height": 3}, 6, 0, GEOMETRY),
    ("box", {"width": 2, "height": 3, "wall": 0.25}, 2.25, 1e-6, GEOMETRY + ": 6 - 1.5 x 2.5"),
]


@pytest.mark.parametrize(("shape", "measures", "printed", "within", "source"), AREAS)
def test_area_of_a_cut(shape: str, measures: dict[str, float], printed: float, within: float, source: str) -> None:
    assert source
    assert area(shape, measures) == pytest.approx(printed, abs=within or 1e-9)


def test_a_bar_parted() -> None:
    """Common practice, no source: 12 in of 1 in round into 1/2 in blanks is 23 cuts with the kerf ignored."""
    assert (part(12, 0.5).cuts, part(12, 0.5).blanks) == (23, 24)
    assert cut_area(23, 0.785) == pytest.approx(18.06, abs=5e-3)
    assert bundle("round", {"diameter": 1}, 4) == pytest.approx(math.pi, abs=1e-6)


def test_average_width_of_a_tube() -> None:
    """A saw manual's worked example: 5.5 sq in over 4 in is 1.38 in, for which a 4/6 blade is named."""
    average = sawing.cut_widths("tube", {"outside": 4, "wall": 0.5}).average
    assert average == pytest.approx(1.38, abs=0.01)
    handbook = sawing.pitch_advice(average, "us")[0]
    assert [teeth.pitch for teeth in handbook.teeth] == ["4/6"]


# Diameter in, rpm, printed ft/min, tolerance. The chart rounds down here and there: one foot a minute is its print.
SURFACE = [
    (2, 800, 419, 1, CHART),
    (4, 800, 837, 1, CHART),
    (6, 800, 1256, 1, CHART),
    (8, 800, 1675, 1, CHART),
    (10, 800, 2094, 1, CHART),
    (12, 800, 2513, 1, CHART),
    (20, 900, 4712, 1, CHART),
    (2, 1000, 524, 1, CHART),
    (4, 1000, 1047, 1, CHART),
    (6, 1000, 1570, 1, CHART),
    (24, 1000, 6283, 1, CHART),
    (8, 1800, 3770, 1, CHART + ": the chart prints 2770, a slip of the type"),
    (2, 1400, 733, 1, CHART + ": the chart prints 738, a slip of the type"),
]


@pytest.mark.parametrize(("diameter", "rpm", "printed", "within", "source"), SURFACE)
def test_surface_speed(diameter: float, rpm: float, printed: float, within: float, source: str) -> None:
    assert source
    assert speeds.surface_speed(diameter, rpm, "us") == pytest.approx(printed, abs=within)


TURNS = [
    (300, 0.5, 2291.8, 0.05, "kandhsalesinc.com: 12 x 300 / (pi x 0.5)"),
    (300, 0.5, 2292, 0.5, "kandhsalesinc.com: 3.82 x 300 / 0.5"),
    (6500, 6, 4138, 1, "themacgrinders.com: 3.82 x 6500 / 6"),
]


@pytest.mark.parametrize(("speed", "diameter", "printed", "within", "source"), TURNS)
def test_turns_for_a_speed(speed: float, diameter: float, printed: float, within: float, source: str) -> None:
    assert source
    assert speeds.rpm_for(speed, diameter, "us") == pytest.approx(printed, abs=within)


TEETH = [
    (0.25, "10", 2.5, "too few", "fsmdirect.com: at least 3 teeth"),
    (0.25, "14", 3.5, "within", "fsmdirect.com: at least 3 teeth"),
    (0.3, "10", 3, "within", "fsmdirect.com: no fewer than three"),
    (1.5, "10", 15, "many", "fsmdirect.com: no more than 10 to 14"),
]


@pytest.mark.parametrize(("width", "pitch", "fewest", "verdict", "source"), TEETH)
def test_teeth_in_the_cut(width: float, pitch: str, fewest: float, verdict: str, source: str) -> None:
    assert source
    teeth = sawing.teeth_in_cut(width, pitch, "us")
    assert (teeth.fewest, teeth.verdict) == (fewest, verdict)


# Stock in, pitch, row of pitch_advice.
PITCHES = [
    (0.25, "10/14", 0, MH31),
    (0.75, "6/10", 0, MH31),
    (1.25, "4/6", 0, MH31),
    (4, "3/4", 0, MH31),
    (8, "2/3", 0, MH31),
    (1.25, "5/8", 1, MANUAL + ": differs from the handbook"),
    (2.5, "4/6", 1, MANUAL),
    (4, "3/4", 1, MANUAL),
    (0.5, "10/14", 2, "sawblade.com, up to 1 in"),
    (5, "5/8", 2, "sawblade.com, 3 to 6 in"),
]


@pytest.mark.parametrize(("width", "pitch", "row", "source"), PITCHES)
def test_pitch_by_stock(width: float, pitch: str, row: int, source: str) -> None:
    assert source
    assert sawing.pitch_advice(width, "us")[row].teeth[0].pitch == pitch


# Metal, stock in, printed ft/min, printed m/min (0: not printed).
SPEEDS = [
    ("173", 4, 314, 96, MANUAL),
    ("932", 4, 314, 96, MANUAL),
    ("365", 4, 284, 87, MANUAL),
    ("623", 4, 264, 81, MANUAL),
    ("260", 4, 244, 74, MANUAL),
    ("655", 4, 244, 74, MANUAL),
    ("110", 4, 234, 71, MANUAL),
    ("172", 4, 234, 71, MANUAL),
    ("510", 4, 234, 71, MANUAL),
    ("630", 4, 229, 70, MANUAL),
    ("811", 4, 214, 65, MANUAL),
    ("1117", 4, 339, 103, MANUAL),
    ("1137", 4, 289, 88, MANUAL),
    ("1144", 4, 279, 85, MANUAL),
    ("304", 4, 120, 0, MH31),
    ("304", 0.25, 120 * 1.15, 0, MH31 + ": 15 % more at 1/4 in"),
    ("304", 0.75, 120 * 1.12, 0, MH31 + ": 12 % more at 3/4 in"),
    ("304", 1.25, 120 * 1.10, 0, MH31 + ": 10 % more at 1-1/4 in"),
    ("304", 8, 120 * 0.88, 0, MH31 + ": 12 % less at 8 in"),
    ("172", 2.5, 234 * 1.05, 0, MANUAL + ": 5 % more at 2-1/2 in"),
    ("172", 8, 234 * 0.88, 0, MANUAL + ": 12 % less at 8 in"),
]


@pytest.mark.parametrize(("metal", "stock", "fpm", "metric", "source"), SPEEDS)
def test_band_speed(metal: str, stock: float, fpm: float, metric: float, source: str) -> None:
    assert source
    first = band_speeds.band_speed(metal, stock, "us")[0]
    assert (first.low, first.high) == (pytest.approx(fpm, abs=0.05), pytest.approx(fpm, abs=0.05))
    if metric:
        assert band_speeds.band_speed(metal, stock * 25.4, "metric")[0].low == pytest.approx(metric, abs=0.6)


def test_dry_and_carbon() -> None:
    """Machinery's Handbook, 31st edition, p. 1245: dry 30 to 50 % less, a carbon blade 50 % less."""
    dry = band_speeds.band_speed("304", 4, "us", dry=True)[0]
    assert (dry.low, dry.high) == (60, 84)
    assert band_speeds.band_speed("304", 4, "us", carbon=True)[0].low == 60


def test_sources_that_differ_stand_side_by_side() -> None:
    """304: 120 ft/min at 4 in by the handbook; 80 to 90 at 6 in by a saw maker's chart (manualshive.com, H-550A)."""
    rows = band_speeds.band_speed("304", 4, "us")
    assert len({row.source for row in rows}) == 2
    assert (rows[1].low, rows[1].high) == (80, 90)


SIX_INCH = [("303", 90, 100), ("316", 70, 80), ("410", 100, 110), ("416", 140, 150), ("321", 90, 100)]


@pytest.mark.parametrize(("metal", "low", "high"), SIX_INCH)
def test_stainless_by_a_saw_makers_chart(metal: str, low: float, high: float) -> None:
    """manualshive.com, H-550A, p. 28: ft/min for 6 in round, with coolant, bimetal."""
    row = band_speeds.band_speed(metal, 6, "us")[-1]
    assert (row.low, row.high) == (low, high)


DRY = [
    ("aluminium", 0.5, 185),
    ("aluminium", 2, 315),
    ("bronze", 0.75, 200),
    ("copper", 0.25, 185),
    ("hard brass", 2, 250),
    ("soft brass", 0.4, 375),
]


@pytest.mark.parametrize(("metal", "stock", "fpm"), DRY)
def test_dry_cutting_chart(metal: str, stock: float, fpm: float) -> None:
    """manualsdump.com, SB1021, p. 27: dry cutting speeds by thickness."""
    assert band_speeds.band_speed(metal, stock, "us")[0].low == fpm


BREAK_IN = [
    (0, 0.5, "break-in"),
    (49, 0.5, "break-in"),
    (100, 1, "done"),
]


@pytest.mark.parametrize(("cut", "share", "stage"), BREAK_IN)
def test_breaking_in(cut: float, share: float, stage: str) -> None:
    """amadamca.com: about half the normal rate and speed for the first 50 to 100 sq in."""
    found = sawing.break_in(cut, "us")
    assert (found.share, found.stage) == (share, stage)


TENSIONS = [
    (0.5, 0.025, 25_000, "bimetal", 312.5, "within", TENSION + ": bimetal 25,000 to 30,000 psi"),
    (0.5, 0.025, 36_000, "bimetal", 450, "above", TENSION + ": at most 35,000 psi"),
    (0.5, 0.025, 15_000, "carbon", 187.5, "within", TENSION + ": carbon 15,000 to 20,000 psi"),
    (0.5, 0.025, 25_000, "carbon", 312.5, "above", TENSION + ": carbon 15,000 to 20,000 psi"),
]


@pytest.mark.parametrize(("width", "thick", "psi", "blade", "leg", "verdict", "source"), TENSIONS)
def test_tension(width: float, thick: float, psi: float, blade: str, leg: float, verdict: str, source: str) -> None:
    assert source
    found = sawing.tension(width, thick, psi, blade, "us")
    assert (found.leg, found.both, found.verdict) == (pytest.approx(leg), pytest.approx(2 * leg), verdict)
