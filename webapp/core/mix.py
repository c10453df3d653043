"""Coolant arithmetic: what a refractometer shows, and how much concentrate and water to add.

Volumes are in one unit throughout (L or gal), strengths in per cent by volume of concentrate. The mix is
taken as ideal: volumes add up, concentrate is 100 %. Formulas: total concentrate before and after is the
same, c_add = (V c_target - V_rest c_rest) / (V - V_rest) (cncmarket.de); strength = reading x factor
(blog.commonwealthoil.com, toweroil.com).

Twin: static/src/core/mix.js, held to tests/vectors/mix.json.
"""

from __future__ import annotations

import math
import re
from dataclasses import asdict, dataclass

from webapp.core.numbers import is_number, say, tidy
from webapp.core.problems import MixError

GALLON_CUBIC_INCHES = 231
# Below this share of a step two volumes count as the same: binary leaves a residue of about 1e-13.
_RESIDUE = 1e-9


@dataclass(frozen=True)
class TopUp:
    """What to do, in this order: drain, then add concentrate and water; and what the sump then holds.

    `exact_*` are the amounts before rounding to the jug. `makeup` is the strength of concentrate and water
    mixed beforehand, None when nothing is added. `undrained` is None unless something must be drained: the
    strength that filling up without it would give, with water alone (too strong) or concentrate alone (weak).
    """

    drain: float
    concentrate: float
    water: float
    exact_drain: float
    exact_concentrate: float
    exact_water: float
    makeup: float | None
    volume: float
    strength: float
    undrained: float | None

    @property
    def reachable(self) -> bool:
        """Whether target and level are both reached without draining."""
        return self.exact_drain == 0

    def to_dict(self) -> dict[str, object]:
        """The mix as JSON carries it."""
        return {**asdict(self), "reachable": self.reachable}


@dataclass(frozen=True)
class Reach:
    """What filling up alone can give: `room` to the mark, the strength with water alone and with concentrate alone."""

    room: float
    low: float
    high: float

    def to_dict(self) -> dict[str, float]:
        """The reach as JSON carries it."""
        return asdict(self)


@dataclass(frozen=True)
class Ratio:
    """The two readings of a mix written "1:20", in per cent."""

    one_to: float
    one_in: float


def strength(reading: float, factor: float) -> float:
    """Strength in % from a refractometer reading (Brix) and the factor on the coolant's data sheet."""
    _above_zero(factor, "factor")
    _not_below(reading, "reading", 0)
    made = reading * factor
    if made > 100:
        raise MixError("reading", f"{say(made)} % is more than pure concentrate.", "Check reading and factor.")
    return tidy(made)


def reading_for(percent: float, factor: float) -> float:
    """The refractometer reading (Brix) to aim at for a strength in %."""
    _percent(percent, "percent")
    _above_zero(factor, "factor")
    return tidy(percent / factor)


def top_up(
    capacity: float,
    level: float,
    percent: float,
    target: float,
    fill_to: float | None = None,
    step: float = 0,
) -> TopUp:
    """How to bring a sump from `level` at `percent` % to `fill_to` (None: its capacity) at `target` %.

    `step` is the smallest amount that can be measured (a jug's mark): concentrate is rounded to the nearest
    step, water down, drainage up, so that the sump never runs over. MixError for figures that cannot be.
    """
    _above_zero(capacity, "capacity")
    full = capacity if fill_to is None else fill_to
    _check_levels(capacity, level, full)
    now, aim = _percent(percent, "percent") / 100, _percent(target, "target") / 100
    if not 0 < aim < 1:
        raise MixError("target", f"{say(target)} % is no mix.", "Give a strength between 0 and 100 %.")
    _not_below(step, "step", 0)
    keep = _keep(level, full, now, aim)
    exact = (level - keep, full * aim - keep * now, (full - keep) - (full * aim - keep * now))
    if step and keep < level:
        keep = max(level - _up(level - keep, step), 0)
    concentrate, water = _pour(keep, full, now, aim, step)
    return _mixed((level, keep, full, now, aim), exact, concentrate, water)


def reach(capacity: float, level: float, percent: float, fill_to: float | None = None) -> Reach:
    """The strengths in % that filling from `level` to `fill_to` (None: the capacity) can give without draining."""
    _above_zero(capacity, "capacity")
    full = capacity if fill_to is None else fill_to
    _check_levels(capacity, level, full)
    now = _percent(percent, "percent") / 100
    room = max(full - level, 0)
    held = level + room
    return Reach(tidy(room), tidy(level * now / held * 100), tidy((level * now + room) / held * 100))


def _keep(level: float, full: float, now: float, aim: float) -> float:
    """How much of the old mix can stay: all, unless it is too strong, too weak or too much."""
    keep = min(level, full)
    if now > aim:
        keep = min(keep, full * aim / now)
    elif now < aim:
        keep = min(keep, full * (1 - aim) / (1 - now))
    return level if tidy(level - keep) <= _RESIDUE * full else keep


def _pour(keep: float, full: float, now: float, aim: float, step: float) -> tuple[float, float]:
    """Concentrate and water to add to what was kept, in whole steps."""
    room = max(full - keep, 0)
    concentrate = min(max(full * aim - keep * now, 0), room)
    if step:
        concentrate = min(math.floor(concentrate / step + 0.5), math.floor(room / step + _RESIDUE)) * step
    water = max(room - concentrate, 0)
    return concentrate, math.floor(water / step + _RESIDUE) * step if step else water


def _mixed(
    figures: tuple[float, float, float, float, float],
    exact: tuple[float, float, float],
    concentrate: float,
    water: float,
) -> TopUp:
    level, keep, full, now, aim = figures
    added, volume = concentrate + water, keep + concentrate + water
    room = max(full - level, 0)
    undrained = level * now + (room if now < aim else 0)
    return TopUp(
        drain=tidy(level - keep),
        concentrate=tidy(concentrate),
        water=tidy(water),
        exact_drain=tidy(max(exact[0], 0)),
        exact_concentrate=tidy(max(exact[1], 0)),
        exact_water=tidy(max(exact[2], 0)),
        makeup=tidy(concentrate / added * 100) if added > 0 else None,
        volume=tidy(volume),
        strength=tidy((keep * now + concentrate) / volume * 100) if volume > 0 else 0,
        undrained=tidy(undrained / (level + room) * 100) if exact[0] > 0 else None,
    )


def neat(volume: float, percent: float, target: float) -> float:
    """Concentrate that raises a volume's strength when its level may rise: V (c2 - c1) / (1 - c2)."""
    _not_below(volume, "volume", 0)
    now, aim = _percent(percent, "percent") / 100, _percent(target, "target") / 100
    if aim >= 1:
        raise MixError("target", "100 % is not reached by adding.", "Give a strength below 100 %.")
    if aim < now:
        raise MixError("target", "It lies below the strength now.", "Add water instead, or raise the target.")
    return tidy(volume * (aim - now) / (1 - aim))


def ratio(text: str) -> Ratio:
    """Both meanings of "1:20": 1 part to 20 of water (1/21) and 1 part in 20 (1/20); sources use either."""
    match = re.fullmatch(r"\s*1\s*[:/]\s*(\d+(?:\.\d+)?)\s*", text, re.ASCII)
    if match is None or float(match[1]) < 1:
        raise MixError("ratio", f'"{text}" is not a ratio.', "Write it as 1:20, or give per cent.")
    parts = float(match[1])
    return Ratio(one_to=tidy(100 / (1 + parts)), one_in=tidy(100 / parts))


def percent_of(text: str, meaning: str | None = None) -> float:
    """A strength as people write it, in %: "8", "8 %", or "1:20" with `meaning` "to" (1/21) or "in" (1/20).

    MixError for a ratio without its meaning: the sources use both, and nobody should guess.
    """
    match = re.fullmatch(r"\s*(\d+(?:[.,]\d+)?)\s*%?\s*", text, re.ASCII)
    if match is not None:
        return tidy(_percent(float(match[1].replace(",", ".")), "target"))
    both = ratio(text)
    if meaning not in ("to", "in"):
        parts = text.strip()
        raise MixError(
            "meaning",
            f"{parts} can be {say(both.one_to)} % (1 part to the water) or {say(both.one_in)} % (1 part in the whole).",
            "Say which of the two is meant.",
        )
    return both.one_to if meaning == "to" else both.one_in


def sump_volume(length: float, width: float, depth: float, units: str) -> float:
    """What a rectangular sump holds: inches give US gallons ("us"), centimetres give litres ("metric")."""
    for value, field in ((length, "length"), (width, "width"), (depth, "depth")):
        _above_zero(value, field)
    if units not in ("us", "metric"):
        raise MixError("units", f'"{units}" is not known.', "Give us or metric.")
    return tidy(length * width * depth / (GALLON_CUBIC_INCHES if units == "us" else 1000))


def _up(amount: float, step: float) -> float:
    return math.ceil(amount / step - _RESIDUE) * step


def _check_levels(capacity: float, level: float, full: float) -> None:
    _not_below(level, "level", 0)
    _above_zero(full, "fill_to")
    for value, field in ((level, "level"), (full, "fill_to")):
        if value > capacity:
            raise MixError(field, f"{say(value)} is more than the sump holds ({say(capacity)}).", "Measure again.")


def _percent(value: float, field: str) -> float:
    _not_below(value, field, 0)
    if value > 100:
        raise MixError(field, f"{say(value)} % is more than pure concentrate.", "Give 0 to 100 %.")
    return value


def _above_zero(value: float, field: str) -> None:
    if not is_number(value) or value <= 0:
        raise MixError(field, "It is not a number above zero.", "Measure it, or look on the data sheet.")


def _not_below(value: float, field: str, least: float) -> None:
    if not is_number(value) or value < least:
        raise MixError(field, f"It is not a number of {say(least)} or more.", "Measure it again.")
