"""Way oil against published figures: each row is a check, with its source beside it."""

from __future__ import annotations

import pytest

from webapp.core.lubrication import OilError, Stretch, usual_use, viscosity
from webapp.core.numbers import tidy

AIMS = "aimsindustrial.com.au, oil viscosity chart (seen): the number is the viscosity at 40 °C, -/+ 10 %"
LUBESOLUT = "lubesolut.com, table of 18 ISO VG grades after ISO 3448 (seen)"
GRADES = [
    (32, 28.8, 35.2, 0.05, AIMS),
    (46, 41.4, 50.6, 0.05, AIMS),
    (68, 61.2, 74.8, 0.05, AIMS),
    (100, 90, 110, 0.5, AIMS),
    (220, 198, 242, 0.5, AIMS),
    (2, 2.0, 2.4, 0.05, LUBESOLUT),
    (3, 2.9, 3.5, 0.05, LUBESOLUT),
    (5, 4.1, 5.1, 0.05, LUBESOLUT),
    (7, 6.1, 7.5, 0.05, LUBESOLUT),
    (10, 9.0, 11.0, 0.05, LUBESOLUT),
    (15, 13.5, 16.5, 0.05, LUBESOLUT),
    (22, 19.8, 24.2, 0.05, LUBESOLUT),
    (150, 135, 165, 0.5, LUBESOLUT),
    (320, 288, 352, 0.5, LUBESOLUT),
    (460, 414, 506, 0.5, LUBESOLUT),
    (680, 612, 748, 0.5, LUBESOLUT),
    (1000, 900, 1100, 0.5, LUBESOLUT),
    (1500, 1350, 1650, 0.5, LUBESOLUT),
]


@pytest.mark.parametrize(("grade", "low", "high", "within", "source"), GRADES)
def test_viscosity_grades(grade: int, low: float, high: float, within: float, source: str) -> None:
    assert viscosity(grade) == (pytest.approx(low, abs=within), pytest.approx(high, abs=within)), source


def test_what_is_no_grade() -> None:
    with pytest.raises(OilError, match="grade: VG 33 is no grade"):
        viscosity(33)


NOINT1 = "NIST StRD, NoInt1: a line through nought (certified, seen)"
USE = usual_use([Stretch(0, 0, float(x), float(x + 70)) for x in range(60, 71)], mark=1)
assert USE is not None
T_TABLE = "NIST/SEMATECH e-Handbook 1.3.6.7.2, Student's t, 0.975 (from memory)"
USES = [
    ("rate", USE.rate, 2.07438016528926, 1e-12, NOINT1),
    ("scatter", USE.residual, 3.56753034006338, 1e-12, NOINT1),
    ("t with 10 degrees", USE.t, 2.228, 5e-4, T_TABLE),
    ("upper bound", USE.high, 2.07438 + 2.228 * 0.0165289, 5e-5, NOINT1 + " and " + T_TABLE),
    ("lower bound", USE.low, 2.07438 - 2.228 * 0.0165289, 5e-5, NOINT1 + " and " + T_TABLE),
]


@pytest.mark.parametrize(("what", "found", "printed", "within", "source"), USES, ids=[row[0] for row in USES])
def test_use_is_a_line_through_nought(what: str, found: float, printed: float, within: float, source: str) -> None:
    assert found == pytest.approx(printed, abs=within), source


@pytest.mark.parametrize(("count", "printed"), [(3, 4.303), (5, 2.776), (6, 2.571), (20, 2.093)])
def test_students_t(count: int, printed: float) -> None:
    known = [Stretch(0, 0, 10.0 + number, 1.0 + number % 2) for number in range(count)]
    use = usual_use(known, mark=1)
    assert use is not None
    assert tidy(use.t, 3) == printed, T_TABLE
