"""Control charts and lines against published cases: each row is a check, with its source beside it."""

from __future__ import annotations

import math
from random import Random

import pytest

from webapp.core.control import autocorrelation, cusum, ewma, individuals, nelson, western_electric
from webapp.core.drift import fit, through_nought

NIST_6322 = "NIST/SEMATECH e-Handbook 6.3.2.2, individuals chart (seen)"
FLOW = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
INDIVIDUALS = [
    ("centre", individuals(FLOW).centre, 50.81, 5e-3),
    ("mean moving range", individuals(FLOW).mean_range, 1.8778, 5e-5),
    ("upper limit", individuals(FLOW).upper, 55.8041, 5e-5),
    ("lower limit", individuals(FLOW).lower, 45.8159, 5e-5),
    ("upper limit of ranges", individuals(FLOW).range_upper, 6.1347, 5e-5),
]


@pytest.mark.parametrize(("what", "found", "printed", "within"), INDIVIDUALS)
def test_individuals(what: str, found: float, printed: float, within: float) -> None:
    assert found == pytest.approx(printed, abs=within), NIST_6322


def test_individuals_shows_no_point_beyond() -> None:
    """NIST 6.3.2.2: the process is in control, none of the plotted points are outside."""
    limits = individuals(FLOW)
    assert not [one for one in western_electric(FLOW, limits.centre, limits.sigma) if one.rule == "we1"]


def test_moving_ranges() -> None:
    """SAS/QC, IRCHART (seen): of 3.4, 3.7 and 3.6 the ranges are 0.3 and 0.1, so their mean is 0.2."""
    assert individuals([3.4, 3.7, 3.6]).mean_range == pytest.approx(0.2, abs=1e-9)


NIST_6324 = "NIST/SEMATECH e-Handbook 6.3.2.4, EWMA chart (seen)"
SERIES = [
    52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6,
    52.1,
]  # fmt: skip
SMOOTHED = [
    50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05, 49.38, 49.92,
    50.73, 51.23, 51.94, 51.99,
]  # fmt: skip
EWMA = ewma(SERIES, 50, 2.0539, 0.3)


@pytest.mark.parametrize(("number", "printed"), list(enumerate(SMOOTHED, 1)))
def test_ewma_values(number: int, printed: float) -> None:
    assert EWMA.values[number - 1] == pytest.approx(printed, abs=5.1e-3), NIST_6324


# NIST cuts sqrt(0.3 / 1.7) to 0.4201, which moves the limits by 0.0001.
@pytest.mark.parametrize(("found", "printed"), [(EWMA.upper, 52.5884), (EWMA.lower, 47.4115)])
def test_ewma_limits(found: float, printed: float) -> None:
    assert found == pytest.approx(printed, abs=1.5e-4), NIST_6324


def test_ewma_shows_no_signal() -> None:
    """NIST 6.3.2.4: the process is in control. In the long run's limits, which NIST draws."""
    assert all(EWMA.lower < value < EWMA.upper for value in EWMA.values)


NIST_6323 = "NIST/SEMATECH e-Handbook 6.3.2.3, CUSUM (seen)"
GROUPS = [
    324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600, 324.625, 325.150,
    328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350,
]  # fmt: skip
NIST_SUMS = cusum(GROUPS, 325, 0.3175, 4.1959)
HIGH = {13: 3.0075, 14: 4.94, 15: 7.4475, 16: 10.63, 17: 11.9875, 18: 14.445, 19: 16.0025, 20: 19.035}
LOW = {2: 0.0075, 4: 0.3325, 7: 0.5575, 8: 0.715, 9: 0.1725, 10: 0.255, 11: 0.3125}


@pytest.mark.parametrize(("number", "printed"), HIGH.items())
def test_cusum_above(number: int, printed: float) -> None:
    assert NIST_SUMS.high[number - 1] == pytest.approx(printed, abs=5e-5), NIST_6323


@pytest.mark.parametrize(("number", "printed"), LOW.items())
def test_cusum_below(number: int, printed: float) -> None:
    assert NIST_SUMS.low[number - 1] == pytest.approx(printed, abs=5e-5), NIST_6323


def test_cusum_signals_at_the_fourteenth_group() -> None:
    """NIST 6.3.2.3: the first signal comes at group 14."""
    assert (NIST_SUMS.signals[0].index, NIST_SUMS.signals[0].side) == (13, "high")


MONTGOMERY = (
    "D. C. Montgomery, Introduction to Statistical Quality Control, table 9.1 and example 9.1 (as quoted, seen)"
)
TABLE_9_1 = [
    9.45, 7.99, 9.29, 11.66, 12.16, 10.18, 8.04, 11.46, 9.20, 10.34, 9.03, 11.47, 10.51, 9.40, 10.08, 9.37, 10.62,
    10.31, 8.52, 10.84, 10.90, 9.33, 12.29, 11.50, 10.60, 11.08, 10.38, 11.62, 11.31, 10.52,
]  # fmt: skip
UPPER_SUMS = [
    0.0, 0.0, 0.0, 1.16, 2.82, 2.50, 0.04, 1.00, 0.0, 0.0, 0.0, 0.97, 0.98, 0.0, 0.0, 0.0, 0.12, 0.0, 0.0, 0.34, 0.74,
    0.0, 1.79, 2.79, 2.89, 3.47, 3.35, 4.47, 5.28, 5.30,
]  # fmt: skip


@pytest.mark.parametrize(("period", "printed"), list(enumerate(UPPER_SUMS, 1)))
def test_tabular_cusum(period: int, printed: float) -> None:
    assert cusum(TABLE_9_1, 10, 0.5, 5).high[period - 1] == pytest.approx(printed, abs=5.1e-3), MONTGOMERY


def test_tabular_cusum_signals_at_period_29() -> None:
    """Montgomery, example 9.1: the upper sum passes h = 5 at period 29, at 5.28."""
    assert cusum(TABLE_9_1, 10, 0.5, 5).signals[0].index == 28


AUTOCORRELATIONS = [
    ([16, 22, 19, 25, 18], -0.5, "STAT 420, examples for 11/29/2007 (coursehero.com, seen)"),
    ([1, 2, 3, 4, 5], 0.4, "stats.stackexchange.com, question 641570 (seen)"),
]


@pytest.mark.parametrize(("values", "printed", "source"), AUTOCORRELATIONS)
def test_autocorrelation(values: list[float], printed: float, source: str) -> None:
    assert autocorrelation(values) == pytest.approx(printed, abs=1e-9), source


WESTERN = "Western Electric rules as NIST 6.3.2 lists them (seen)"
NELSON = "L. S. Nelson 1984, as the jmp.com help on tests for special causes describes them (seen)"
# Scores in sigma; the rule and the place of the reading (from nought) at which it must break first, or None.
RULES = [
    ("beyond 3 sigma", [0, 3.1], "we1", 1, WESTERN),
    ("on 3 sigma", [0, 3.0], "we1", None, WESTERN + "; a point on a line belongs to the inner zone (jmp.com)"),
    ("2 of 3 beyond 2 sigma", [2.1, 0, 2.2], "we2", 2, WESTERN),
    ("2 of 3, on both sides", [2.1, 0, -2.2], "we2", None, WESTERN),
    ("2 of 4 beyond 2 sigma", [2.1, 0, 0, 2.2], "we2", None, WESTERN),
    ("4 of 5 beyond 1 sigma", [-1.1, -1.2, 0, -1.3, -1.4], "we3", 4, WESTERN),
    ("3 of 5 beyond 1 sigma", [-1.1, 0, 0, -1.3, -1.4], "we3", None, WESTERN),
    ("8 in a row above", [0.1] * 8, "we4", 7, WESTERN),
    ("7 in a row above", [0.1] * 7, "we4", None, WESTERN),
    ("8 broken by one below", [0.1] * 4 + [-0.1] + [0.1] * 4, "we4", None, WESTERN),
    ("9 in a row above", [0.1] * 9, "nelson2", 8, NELSON),
    ("8 in a row above", [0.1] * 8, "nelson2", None, NELSON),
    ("6 rising", [0, 0.1, 0.2, 0.3, 0.4, 0.5], "nelson3", 5, NELSON),
    ("5 rising", [0, 0.1, 0.2, 0.3, 0.4, 0.3], "nelson3", None, NELSON),
    ("6 falling", [0.5, 0.4, 0.3, 0.2, 0.1, 0], "nelson3", 5, NELSON),
    ("14 in turn", [0.5, -0.5] * 7, "nelson4", 13, NELSON),
    ("13 in turn", [0.5, -0.5] * 6 + [0.5], "nelson4", None, NELSON),
    ("15 within 1 sigma", [0.9, -0.9, 0.4] * 5, "nelson7", 14, NELSON),
    ("14 within 1 sigma", [0.9, -0.9] * 7, "nelson7", None, NELSON),
    ("8 beyond 1 sigma on both sides", [1.5, -1.5] * 4, "nelson8", 7, NELSON),
    ("8 beyond 1 sigma on one side", [1.5] * 8, "nelson8", None, NELSON),
]


@pytest.mark.parametrize(
    ("what", "scores", "rule", "first", "source"), RULES, ids=[f"{rule} {what}" for what, _, rule, _, _ in RULES]
)
def test_rules(what: str, scores: list[float], rule: str, first: int | None, source: str) -> None:
    run = western_electric if rule.startswith("we") else nelson
    found = [one.index for one in run([10 + 2 * score for score in scores], 10, 2) if one.rule == rule]
    assert (found[0] if found else None) == first, source


def test_the_four_rules_alarm_by_chance_once_in_92() -> None:
    """Champ and Woodall 1987, as quoted widely (seen): one false alarm in 91.75 readings with all four rules.

    3000 runs of chance have a standard error near 1.6.
    """
    rng = Random(1987)
    lengths = []
    for _ in range(3000):
        values: list[float] = []
        while not (signals := western_electric(values[-40:], 0, 1) if values else []):
            values += [rng.gauss(0, 1) for _ in range(20)]
            # Twenty new readings at a time, with what went before in the window of the longest rule.
        early = min(one.index for one in signals) + max(len(values) - 40, 0) + 1
        lengths.append(early)
    assert sum(lengths) / len(lengths) == pytest.approx(91.75, abs=5)


STRD_NORRIS = "NIST StRD, Norris (certified; rows 19 to 36 from memory, all 36 reproduce the certified values)"
NORRIS = [
    (0.2, 0.1), (337.4, 338.8), (118.2, 118.1), (884.6, 888.0), (10.1, 9.2), (226.5, 228.1), (666.3, 668.5),
    (996.3, 998.5), (448.6, 449.1), (777.0, 778.9), (558.2, 559.2), (0.4, 0.3), (0.6, 0.1), (775.5, 778.1),
    (666.9, 668.8), (338.0, 339.3), (447.5, 448.9), (11.6, 10.8), (556.0, 557.7), (228.1, 228.3), (995.8, 998.0),
    (887.6, 888.8), (120.2, 119.6), (0.3, 0.3), (0.3, 0.6), (556.8, 557.6), (339.1, 339.3), (887.2, 888.0),
    (999.0, 998.5), (779.0, 778.9), (11.1, 10.2), (118.3, 117.6), (229.2, 228.9), (669.1, 668.4), (448.9, 449.2),
    (0.5, 0.2),
]  # fmt: skip
LINE = fit([x for x, _ in NORRIS], [y for _, y in NORRIS])
STRD_NOINT1 = "NIST StRD, NoInt1 (certified values as quoted in many test suites, seen)"
NOINT1 = through_nought(list(range(60, 71)), list(range(130, 141)))
LINES = [
    ("intercept", LINE.intercept, -0.262323073774029, STRD_NORRIS),
    ("slope", LINE.slope, 1.00211681802045, STRD_NORRIS),
    ("deviation of the intercept", LINE.sd_at(0), 0.232818234301152, STRD_NORRIS),
    ("deviation of the slope", LINE.slope_sd, 0.429796848199937e-03, STRD_NORRIS),
    ("residual deviation", LINE.scatter, 0.884796396144373, STRD_NORRIS),
    ("slope through nought", NOINT1.slope, 2.07438016528926, STRD_NOINT1),
    ("its deviation", NOINT1.slope_sd, 0.165289256198347e-01, STRD_NOINT1),
    ("its residual deviation", NOINT1.scatter, 3.56753034006338, STRD_NOINT1),
]


@pytest.mark.parametrize(("what", "found", "printed", "source"), LINES, ids=[row[0] for row in LINES])
def test_lines(what: str, found: float, printed: float, source: str) -> None:
    assert math.isclose(found, printed, rel_tol=1e-9), source
