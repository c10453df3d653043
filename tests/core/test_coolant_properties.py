"""What must hold of every sump, every loss, every mix by the jug and every sign."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from webapp.core import coolant, coolant_signs, mix
from webapp.core.coolant_signs import SignError
from webapp.core.problems import MixError

CLOSE = 1e-5
lengths = st.floats(5, 200)
units = st.sampled_from(["in", "cm", "mm"])


@st.composite
def sumps(draw: st.DrawFn) -> tuple[dict[str, Any], float]:
    """A sump that set-up accepts, with its capacity in litres."""
    if draw(st.booleans()):
        unit = draw(units)
        scale = 20 if unit == "mm" else 1  # a sump of a few millimetres is none
        sump = {"shape": "flat", "length": draw(lengths) * scale, "width": draw(lengths) * scale, "unit": unit}
        return sump, coolant.volume_at(sump, 100, 1e9, "L")
    steps = draw(st.lists(st.tuples(st.floats(0.1, 9), st.floats(0.1, 40)), min_size=2, max_size=6))
    depth = volume = 0.0
    rows = []
    for more, held in steps:
        depth, volume = depth + more, volume + held
        rows.append([depth, volume])
    return {"table": rows, "unit": draw(units)}, volume


@given(sumps(), st.floats(0, 1), st.floats(0, 1))
def test_a_deeper_sump_never_holds_less(made: tuple[dict[str, Any], float], one: float, other: float) -> None:
    sump, capacity = made
    coolant.check_sump(sump, capacity, "L")
    deepest = coolant.depth_at(sump, capacity, capacity, "L")
    low, high = sorted((one * deepest, other * deepest))
    assert 0 <= coolant.volume_at(sump, low, capacity, "L") <= coolant.volume_at(sump, high, capacity, "L") + CLOSE


@given(sumps(), st.floats(0, 1))
def test_depth_and_volume_are_inverse(made: tuple[dict[str, Any], float], share: float) -> None:
    sump, capacity = made
    volume = capacity * share
    depth = coolant.depth_at(sump, volume, capacity, "L")
    # Depth is told to a millionth of its unit; a wide flat sump holds a hundredth of a litre in that.
    assert coolant.volume_at(sump, depth, capacity, "L") == pytest.approx(volume, rel=1e-4, abs=1e-2)


@given(st.floats(1, 1000), st.floats(0.5, 20), st.floats(0, 1), st.floats(0.05, 0.95))
def test_losses_find_the_share_that_was_put_in(volume: float, percent: float, share: float, left: float) -> None:
    """Evaporation and drag-out played in a thousand small steps."""
    held, strength, steps = volume, percent, 1000
    lost = volume * (1 - left) / steps
    for _ in range(steps):
        concentrate = held * strength - lost * (1 - share) * strength
        held -= lost
        strength = concentrate / held
    assume(strength < 99)
    found = coolant.losses(volume, percent, held, strength)
    assert found.share == pytest.approx(share, abs=5e-3)
    assert found.water + found.mix == pytest.approx(found.lost, abs=CLOSE)
    assert found.concentrate == pytest.approx((volume * percent - held * strength) / 100, abs=CLOSE)
    assert min(found.lost, found.water, found.mix, found.concentrate) >= -CLOSE


@given(st.floats(1, 1000), st.floats(0.1, 50), st.floats(0.1, 1), st.floats(0.1, 50))
def test_losses_never_tell_of_less_than_nothing(volume: float, percent: float, left: float, after: float) -> None:
    found = coolant.losses(volume, percent, volume * left, after)
    assert min(found.lost, found.water, found.mix) >= 0
    assert found.share is None or 0 <= found.share <= 1
    if found.beyond == "stronger":
        assert after > percent
    if found.beyond == "weaker":
        assert after < percent


@given(st.floats(0, 500), st.floats(1, 100), st.floats(0.1, 50), st.floats(0, 500), st.floats(0, 5))
def test_hardness_after_a_fill_keeps_every_salt(
    hardness: float, level: float, water: float, made_of: float, concentrate: float
) -> None:
    after = coolant.hardness_after_fill(hardness, level, water, made_of, concentrate)
    salts = hardness * level + made_of * water
    assert after * (level + water + concentrate) == pytest.approx(salts, rel=1e-6, abs=1e-3)
    assert after <= max(hardness, made_of) + CLOSE


@settings(max_examples=30)
@given(st.floats(50, 500), st.floats(0, 0.7), st.floats(0.5, 10))
def test_hardness_settles_where_it_was_said_to(made_of: float, share: float, percent: float) -> None:
    """Two thousand small fills at a steady strength come to `hardness_in_the_end`."""
    hardness = made_of
    for _ in range(2000):
        hardness = coolant.hardness_after_loss(hardness, 100, 99, share)
        concentrate = (1 - share) * percent / 100
        hardness = coolant.hardness_after_fill(hardness, 99, 1 - concentrate, made_of, concentrate)
    assert hardness == pytest.approx(coolant.hardness_in_the_end(made_of, share, percent), rel=0.03)


volumes = st.floats(0.5, 2000)
shares = st.floats(0, 1)


@given(volumes, shares, st.floats(0, 30), st.floats(1, 20), st.sampled_from([0.05, 0.1, 0.25, 0.5, 1.0]))
def test_what_is_measured_stays_within_a_jug_mark(
    capacity: float, filled: float, percent: float, target: float, jug: float
) -> None:
    """Concentrate to half a mark (unless there is no room for it), water and drainage to a whole one."""
    made = mix.top_up(capacity, capacity * filled, percent, target, step=jug)
    need = made.exact_concentrate + (made.drain - made.exact_drain) * percent / 100  # more goes out than it had to
    assert made.concentrate <= need + jug / 2 + CLOSE
    assert -CLOSE < made.drain - made.exact_drain < jug + CLOSE
    if not made.exact_drain:
        room = capacity * (1 - filled)
        short = max(made.exact_concentrate - made.concentrate, 0)
        assert short <= jug / 2 + CLOSE or made.concentrate + jug > room - CLOSE
        assert -CLOSE < room - made.concentrate - made.water < jug + CLOSE


@given(volumes, shares, st.floats(0, 30), st.floats(1, 20), st.sampled_from([0.0, 0.1, 1.0]))
def test_concentrate_is_neither_made_nor_lost(
    capacity: float, filled: float, percent: float, target: float, jug: float
) -> None:
    level = capacity * filled
    made = mix.top_up(capacity, level, percent, target, step=jug)
    before = (level - made.drain) * percent / 100 + made.concentrate
    assert before == pytest.approx(made.volume * made.strength / 100, abs=capacity * 1e-6 + 1e-6)


@given(volumes, shares, st.floats(0, 30), st.floats(1, 20))
def test_what_filling_alone_reaches_is_reached(capacity: float, filled: float, percent: float, target: float) -> None:
    level = capacity * filled
    reached = mix.reach(capacity, level, percent)
    assert 0 <= reached.low <= percent + CLOSE
    assert percent - CLOSE <= reached.high <= 100
    assume(min(abs(reached.low - target), abs(reached.high - target)) > 1e-3)
    assert mix.top_up(capacity, level, percent, target).reachable == (reached.low < target < reached.high)


@given(st.floats(1, 1000), st.floats(1, 900), st.floats(0.5, 19), st.floats(1, 20))
def test_more_is_needed_the_weaker_it_is(capacity: float, level: float, percent: float, target: float) -> None:
    assume(level < capacity)
    weaker = mix.top_up(capacity, level, percent / 2, target)
    assert weaker.exact_concentrate >= mix.top_up(capacity, level, percent, target).exact_concentrate - CLOSE


FLAT = {"shape": "flat", "length": 100, "width": 50, "unit": "cm"}
NOT_NUMBERS = [math.nan, math.inf, -math.inf, -1, "5", None, True]


@pytest.mark.parametrize("value", NOT_NUMBERS)
@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda x: coolant.volume_at(FLAT, x, 150, "L"), "depth"),
        (lambda x: coolant.depth_at(FLAT, x, 150, "L"), "volume"),
        (lambda x: coolant.losses(x, 8, 1, 8), "before"),
        (lambda x: coolant.losses(10, x, 1, 8), "before_percent"),
        (lambda x: coolant.losses(10, 8, x, 8), "after"),
        (lambda x: coolant.losses(10, 8, 1, x), "after_percent"),
        (lambda x: coolant.hardness_after_loss(x, 10, 5, 0.5), "hardness"),
        (lambda x: coolant.hardness_after_loss(100, 10, 5, x), "share"),
        (lambda x: coolant.hardness_after_fill(100, x, 5, 100), "level"),
        (lambda x: coolant.hardness_in_the_end(x, 0.5, 8), "water_hardness"),
        (lambda x: coolant.read_strength(x, 1, 0), "reading"),
        (lambda x: coolant.read_strength(5, x, 0), "factor"),
        (lambda x: mix.reach(50, x, 8), "level"),
    ],
)
def test_what_is_no_figure_is_refused_by_name(call: Any, field: str, value: Any) -> None:
    with pytest.raises(MixError) as refused:
        call(value)
    assert refused.value.field == field
    assert refused.value.mend


@pytest.mark.parametrize(
    ("sump", "field"),
    [
        ({}, "unit"),
        ({"unit": "in"}, "shape"),
        ({"shape": "round", "unit": "in"}, "shape"),
        ({"shape": "flat", "unit": "ft", "length": 1, "width": 1}, "unit"),
        ({"shape": "flat", "unit": "in", "length": 0, "width": 1}, "length"),
        ({"shape": "flat", "unit": "in", "length": 1}, "width"),
        ({"table": "deep", "unit": "in"}, "table"),
        ({"table": [[1, 2]], "unit": "in"}, "table"),
        ({"table": [1, 2], "unit": "in"}, "table"),
        ({"table": [[1, 2, 3], [2, 3, 4]], "unit": "in"}, "table"),
        ({"table": [[1, 2], [1, 3]], "unit": "in"}, "table"),
        ({"table": [[1, 3], [2, 3]], "unit": "in"}, "table"),
        ({"table": [[-1, 2], [1, 3]], "unit": "in"}, "table"),
        ({"table": [[1, 0], [2, 3]], "unit": "in"}, "table"),
        ({"table": [[1, 2], [2, 99]], "unit": "in"}, "table"),
        ({"table": [[1, 2], [2, math.nan]], "unit": "in"}, "table"),
    ],
)
def test_a_sump_that_cannot_be_is_refused_by_name(sump: dict[str, Any], field: str) -> None:
    with pytest.raises(MixError) as refused:
        coolant.check_sump(sump, 40, "gal")
    assert refused.value.field == field


def test_a_level_that_rose_asks_for_the_fill() -> None:
    with pytest.raises(MixError, match=r"after: The level rose from 30 to 35. Log what was filled in"):
        coolant.losses(30, 8, 35, 8)


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: coolant_signs.acidity(15, {}), "ph"),
        (lambda: coolant_signs.acidity(math.nan, {}), "ph"),
        (lambda: coolant_signs.tramp_oil(101), "tramp_oil"),
        (lambda: coolant_signs.warmth(140), "temperature"),
        (lambda: coolant_signs.dip_slide(-1), "dip_slide"),
        (lambda: coolant_signs.dip_slide(1, "2013"), "version"),
        (lambda: coolant_signs.make_up_water(math.inf), "hardness"),
        (lambda: coolant_signs.sump_hardness(-3, True), "hardness"),
    ],
)
def test_a_sign_that_cannot_be_is_refused_by_name(call: Any, field: str) -> None:
    with pytest.raises(SignError) as refused:
        call()
    assert refused.value.field == field


@given(st.floats(0, 14), st.booleans())
def test_ph_outside_its_band_always_asks_for_work(ph: float, copper: bool) -> None:
    sign = coolant_signs.acidity(ph, {"act_low": 8.5, "act_high": 9.5}, copper)
    assert (sign.level == "act") == (not 8.5 <= ph <= 9.5)
    assert sign.do and sign.source


@given(st.floats(0, 1e9), st.floats(0, 1e9), st.sampled_from(sorted(coolant_signs.DIP_SLIDES)))
def test_more_bacteria_are_never_judged_better(one: float, other: float, version: str) -> None:
    order = ("within", "look", "act")
    low, high = (order.index(coolant_signs.dip_slide(count, version).level) for count in sorted((one, other)))
    assert low <= high


def test_copper_signs_say_what_to_do() -> None:
    tinted = coolant_signs.copper(True, False, "blue-green", 9.4)
    assert (tinted.level, tinted.key) == ("act", "copper")
    assert "inhibitor is spent" in tinted.says and "9.4 is above 9" in tinted.says
    assert "supplier" in tinted.do and "waste carrier" in tinted.do
    stained = coolant_signs.copper(False, True, "parts stain")
    assert (stained.level, "dry parts" in stained.do) == ("look", True)
    assert coolant_signs.copper(False, False, "clear").level == "within"
    above = coolant_signs.acidity(9.2, {"act_low": 8.5, "act_high": 9.5}, copper=True)
    assert (above.level, "brass" in above.says) == ("look", True)
    assert coolant_signs.acidity(9.2, {"act_low": 8.5, "act_high": 9.5}, copper=False).level == "within"
