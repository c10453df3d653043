"""What must hold of every mix, band, bar and number."""

from __future__ import annotations

import math
from datetime import date
from fractions import Fraction
from itertools import pairwise
from typing import Any

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import assume, given
from hypothesis import strategies as st

from webapp.core.bands import LIMITS, BandError, check_band, verdict
from webapp.core.dates import add_interval, add_months, say_date, say_days
from webapp.core.mix import MixError, neat, ratio, reading_for, strength, top_up
from webapp.core.numbers import is_number, say, tidy
from webapp.core.sections import SHAPES, SectionError, area, part
from webapp.core.units import celsius, convert, fahrenheit

volumes = st.floats(0.5, 2000)
shares = st.floats(0, 1)
percents = st.floats(0, 30)
targets = st.floats(1, 20)
CLOSE = 1e-5


@given(volumes, shares, percents, targets, shares)
def test_a_mix_reaches_level_and_strength(
    capacity: float, filled: float, percent: float, target: float, mark: float
) -> None:
    level, fill_to = capacity * filled, capacity * max(mark, 0.1)
    mix = top_up(capacity, level, percent, target, fill_to)
    assert mix.volume == pytest.approx(fill_to, abs=CLOSE)
    assert mix.strength == pytest.approx(target, abs=1e-4)


@given(volumes, shares, percents, targets, st.sampled_from([0, 0.1, 0.25, 1, 5]))
def test_a_mix_is_never_negative_never_runs_over_and_loses_nothing(
    capacity: float, filled: float, percent: float, target: float, step: float
) -> None:
    level = capacity * filled
    mix = top_up(capacity, level, percent, target, step=step)
    assert min(mix.drain, mix.concentrate, mix.water) >= 0
    assert mix.drain <= level + CLOSE
    assert mix.volume <= capacity + CLOSE
    assert mix.volume == pytest.approx(level - mix.drain + mix.concentrate + mix.water, abs=CLOSE)
    held = (level - mix.drain) * percent / 100 + mix.concentrate
    assert held == pytest.approx(mix.volume * mix.strength / 100, abs=CLOSE)


@given(volumes, shares, percents, targets, st.sampled_from([0.25, 0.5, 1.0]))
def test_what_is_poured_is_whole_steps_of_the_jug(
    capacity: float, filled: float, percent: float, target: float, step: float
) -> None:
    mix = top_up(capacity, capacity * filled, percent, target, step=step)
    assert (mix.concentrate / step).is_integer() and (mix.water / step).is_integer()
    assert abs(mix.concentrate - min(mix.exact_concentrate, mix.concentrate + step)) <= step * 1.5


@given(volumes, shares, percents, targets)
def test_draining_is_asked_for_only_when_adding_alone_cannot_do(
    capacity: float, filled: float, percent: float, target: float
) -> None:
    level = capacity * filled
    room = capacity - level
    with_water = level * percent / capacity
    with_concentrate = (level * percent + room * 100) / capacity
    assume(min(abs(with_water - target), abs(with_concentrate - target)) > 1e-3)
    mix = top_up(capacity, level, percent, target)
    assert mix.reachable == (with_water <= target <= with_concentrate)
    if not mix.reachable:
        reached = with_water if percent > target else with_concentrate
        assert mix.undrained == pytest.approx(reached, abs=1e-4)


@given(volumes, percents, st.floats(0, 50))
def test_neat_concentrate_balances(volume: float, percent: float, rise: float) -> None:
    target = percent + rise
    added = neat(volume, percent, target)
    assert (volume * percent / 100 + added) / (volume + added) * 100 == pytest.approx(target, abs=1e-3)


@given(st.floats(0.5, 60), st.floats(0.5, 5))
def test_reading_and_strength_are_inverse(percent: float, factor: float) -> None:
    assert strength(reading_for(percent, factor), factor) == pytest.approx(percent, abs=CLOSE)


@given(st.integers(1, 500))
def test_the_two_meanings_of_a_ratio(parts: int) -> None:
    both = ratio(f"1:{parts}")
    assert both.one_to < both.one_in
    assert both.one_to == pytest.approx(float(Fraction(100, parts + 1)), abs=1e-6)


@given(
    st.sampled_from(["capacity", "level", "percent", "target", "fill_to", "step"]),
    st.sampled_from([math.nan, math.inf, -math.inf, -1, "5", None, True]),
)
def test_a_figure_that_is_none_is_refused_by_name(field: str, value: Any) -> None:
    assume(not (field == "fill_to" and value is None))
    figures: dict[str, Any] = {"capacity": 50, "level": 40, "percent": 6, "target": 8}
    with pytest.raises(MixError) as refused:
        top_up(**{**figures, field: value})
    assert refused.value.field == field


bands = st.dictionaries(st.sampled_from(LIMITS), st.integers(-20, 20).map(float))
ORDER = ["stop low", "act low", "within", "act high", "stop high"]


@given(bands, st.floats(-30, 30), st.floats(0, 30))
def test_a_higher_reading_is_never_judged_lower(band: dict[str, float], value: float, more: float) -> None:
    try:
        check_band(band)
    except BandError:
        assume(False)
    assert ORDER.index(verdict(value, band)) <= ORDER.index(verdict(value + more, band))


@given(bands)
def test_limits_are_accepted_only_when_they_rise(band: dict[str, float]) -> None:
    limits = [band[name] for name in LIMITS if name in band]
    try:
        check_band(band)
    except BandError as refused:
        assert refused.field in band
        assert any(high <= low for low, high in pairwise(limits))
    else:
        assert limits == sorted(limits)
        assert all(verdict(limit, {name: limit}) == "within" for name, limit in band.items())


@pytest.mark.parametrize(
    ("band", "field"),
    [
        ({"act_low": 8, "act_high": 8}, "act_high"),
        ({"act_low": 9, "target": 8}, "target"),
        ({"stop_low": 5, "act_low": 4}, "act_low"),
        ({"act_high": 9, "stop_high": 8}, "stop_high"),
        ({"actlow": 1}, "actlow"),
        ({"act_low": math.nan}, "act_low"),
        ({"act_low": "6"}, "act_low"),
    ],
)
def test_limits_that_contradict_each_other_are_named(band: dict[str, Any], field: str) -> None:
    with pytest.raises(BandError) as refused:
        check_band(band)
    assert refused.value.field == field


@pytest.mark.parametrize("value", [math.nan, math.inf, "7", None, True])
def test_a_reading_that_is_no_number_is_refused_never_within(value: Any) -> None:
    with pytest.raises(BandError):
        verdict(value, {"act_low": 1})


@given(st.integers(1, 20_000), st.integers(1, 5_000), st.integers(0, 200))
def test_a_bar_holds_its_blanks_and_no_more(bar: int, blank: int, kerf: int) -> None:
    """In thousandths of an inch, against whole-number arithmetic."""
    assume(kerf <= blank <= bar)
    parted = part(bar / 1000, blank / 1000, kerf / 1000)
    rest = bar - parted.blanks * blank - (parted.blanks - 1) * kerf
    assert 0 <= rest < blank + kerf
    assert parted.cuts == parted.blanks - (rest == 0)
    assert parted.left_over == pytest.approx(max(rest - kerf, 0) / 1000, abs=1e-9)


@given(st.sampled_from(sorted(SHAPES)), st.sampled_from([math.nan, 0, -1, "1", None, True]))
def test_a_section_without_a_measure_is_refused_by_name(shape: str, value: Any) -> None:
    for name in SHAPES[shape]:
        measures: Any = {**dict.fromkeys(SHAPES[shape], 1.0), name: value}
        with pytest.raises(SectionError) as refused:
            area(shape, measures)
        assert refused.value.field == name


@given(st.floats(0.1, 50))
def test_areas_lie_as_geometry_says(size: float) -> None:
    """A circle lies inside its hexagon, which lies inside its square; a hollow tube is less than its round."""
    circle, square = area("round", {"diameter": size}), area("square", {"side": size})
    assert circle < area("hex", {"flats": size}) < square
    assert area("tube", {"outside": size, "wall": size / 8}) < circle
    assert area("tube", {"outside": size, "wall": size / 2}) == pytest.approx(circle, abs=CLOSE)


@given(st.dates(date(1970, 1, 1), date(2200, 1, 1)), st.integers(0, 1200))
def test_months_agree_with_relativedelta(day: date, months: int) -> None:
    assert add_months(day, months) == day + relativedelta(months=months)
    assert add_interval(day, "years", months // 12) == day + relativedelta(years=months // 12)


@given(st.floats(-1e9, 1e9))
def test_rounding_is_close_and_stays(value: float) -> None:
    rounded = tidy(value)
    assert abs(rounded - value) <= 1e-6
    assert tidy(rounded) == pytest.approx(rounded, abs=1e-6)


def test_rounding_and_words() -> None:
    assert [tidy(0.5, 0), tidy(1.5, 0), tidy(2.5, 0), tidy(-0.5, 0)] == [1, 2, 3, 0]
    assert (repr(tidy(250.0)), say(7.126), say(-1e-9), say(3.0)) == ("250", "7.13", "0", "3")
    # What a gauge or a feeler shows is not rounded away: 0.0015 in is no nought, 0.015 in not 0.02.
    assert [say(one) for one in (0.0015, -0.0002, 0.015, 0.06172, 0.1234)] == [
        "0.0015",
        "-0.0002",
        "0.015",
        "0.0617",
        "0.12",
    ]
    assert (say_date(date(2027, 9, 4)), say_days(1), say_days(0)) == ("4 Sep 2027", "1 day", "0 days")
    assert [is_number(value) for value in (1, 1.5, True, math.nan, "1", None)] == [True, True] + [False] * 4


@given(st.floats(0.001, 1e6), st.sampled_from([("in", "mm"), ("gal", "L"), ("psi", "bar"), ("ft/min", "m/s")]))
def test_units_go_there_and_back(value: float, pair: tuple[str, str]) -> None:
    assert convert(convert(value, *pair), *reversed(pair)) == pytest.approx(value, rel=1e-12)


def test_temperatures() -> None:
    assert (celsius(212), fahrenheit(0), fahrenheit(celsius(68.0))) == (100, 32, 68)
