"""What a saw cuts: section areas, the cuts that part a bar, and what a batch adds to the meters.

Lengths are in one unit (in, or cm), areas in its square. Areas are geometry; a hexagon is measured across
its flats. Twin: static/src/core/sections.js, held to tests/vectors/sections.json.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import asdict, dataclass

from webapp.core.numbers import is_number, tidy
from webapp.core.problems import SectionError

# The measures that each shape needs, as the form asks for them.
SHAPES: dict[str, tuple[str, ...]] = {
    "round": ("diameter",),
    "square": ("side",),
    "plate": ("width", "thickness"),
    "tube": ("outside", "wall"),
    "hex": ("flats",),
    "rectangle": ("width", "height"),
    "box": ("width", "height", "wall"),
}
# Longer than any bar in any unit that a shop types: a slip of the finger.
_LONGEST = 1_000_000
_MOST_COUNTED = 1_000_000_000
# A bar that is short of a whole blank by less than this, in its own unit, counts as whole.
_SLACK = 1e-6


@dataclass(frozen=True)
class Parting:
    """A bar cut into blanks: how many, by how many cuts, and what is left over (after the last kerf)."""

    blanks: int
    cuts: int
    left_over: float

    def to_dict(self) -> dict[str, float]:
        """The parting as JSON carries it."""
        return asdict(self)


def area(shape: str, measures: Mapping[str, float]) -> float:
    """The area of one straight cut through a section.

    A plate is cut across its width or ripped along its length: `width` is the length of the cut either way.
    SectionError for an unknown shape, a missing measure, or a wall thicker than the tube allows.
    """
    if shape not in SHAPES:
        raise SectionError("shape", f'"{shape}" is not known.', f"Give one of: {', '.join(SHAPES)}.")
    values = [_length(measures.get(name), name) for name in SHAPES[shape]]
    if shape == "round":
        return tidy(math.pi * values[0] * values[0] / 4)
    if shape == "square":
        return tidy(values[0] * values[0])
    if shape == "plate":
        return tidy(values[0] * values[1])
    if shape == "hex":
        return tidy(math.sqrt(3) / 2 * values[0] * values[0])
    if shape == "rectangle":
        return tidy(values[0] * values[1])
    return _hollow(shape, values)


def _hollow(shape: str, values: list[float]) -> float:
    """The area of a tube (outside, wall), or of a square-cornered box (width, height, wall)."""
    wall, least = values[-1], min(values[:-1])
    if wall * 2 > least:
        words = "outside diameter" if shape == "tube" else "narrower side"
        mend = "diameter" if shape == "tube" else "sides"
        raise SectionError("wall", f"It is more than half the {words}.", f"Measure wall and {mend}.")
    if shape == "tube":
        return tidy(math.pi * wall * (least - wall))
    return tidy(2 * wall * (values[0] + values[1] - 2 * wall))


def bundle(shape: str, measures: Mapping[str, float], pieces: float) -> float:
    """The area of one cut through so many equal pieces clamped together."""
    each = area(shape, measures)
    if _count(pieces, "pieces") < 1 or pieces != math.floor(pieces):
        raise SectionError("pieces", "It is not a whole number of 1 or more.", "Count the pieces in the vice.")
    return tidy(each * pieces)


def part(bar: float, blank: float, kerf: float = 0, end_loss: float = 0, grip: float = 0) -> Parting:
    """How many blanks a bar gives, and the cuts for them.

    The last blank needs no cut when it comes out even. With a kerf each cut also takes its width. `end_loss` is
    trimmed off the raw end by a cut of its own; `grip` is the shortest rest that the vice still holds, so that with
    one the last blank is cut off too. What is left over includes the grip.
    """
    _length(bar, "bar")
    _length(blank, "blank")
    _loss(kerf, "kerf", "Give the width of the cut, or 0.")
    _loss(end_loss, "end_loss", "Give the length trimmed off the raw end, or 0.")
    _loss(grip, "grip", "Give the shortest rest that the vice holds, or 0.")
    if kerf > blank:
        raise SectionError("kerf", "It is wider than the blank.", "Check both figures and their unit.")
    if blank > bar + _SLACK:
        raise SectionError("blank", "It is longer than the bar.", "Check both lengths.")
    trims = 1 if end_loss > 0 else 0
    usable = bar - end_loss - trims * kerf
    if blank + (kerf + grip if grip > 0 else 0) > usable + _SLACK:
        raise SectionError("bar", "No blank is left after end loss and grip.", "Give a longer bar, or less loss.")
    if grip > 0:
        blanks = math.floor((usable - grip + _SLACK) / (blank + kerf))
        return Parting(blanks, blanks + trims, tidy(usable - blanks * (blank + kerf)))
    blanks = math.floor((usable + kerf + _SLACK) / (blank + kerf))
    rest = usable - blanks * blank - (blanks - 1) * kerf
    if rest <= _SLACK:
        return Parting(blanks, blanks - 1 + trims, 0)
    return Parting(blanks, blanks + trims, tidy(max(rest - kerf, 0)))


def cut_area(cuts: float, area_per_cut: float) -> float:
    """What so many cuts add to the cut-area meter."""
    return tidy(_count(cuts, "cuts") * _count(area_per_cut, "area_per_cut"))


def spindle_hours(loads: float, minutes_per_load: float) -> float:
    """What so many loads of a cycle add to the spindle-hour meter."""
    return tidy(_count(loads, "loads") * _count(minutes_per_load, "minutes_per_load") / 60)


def holes(pieces: int, holes_each: int) -> int:
    """Holes that the drill makes in one load."""
    return int(_count(pieces, "pieces") * _count(holes_each, "holes_each"))


def _length(value: float | None, field: str) -> float:
    if not is_number(value) or value <= 0:
        raise SectionError(field, "It is not a length above zero.", "Measure it.")
    return _not_absurd(value, field, _LONGEST)


def _loss(value: float, field: str, mend: str) -> None:
    if not is_number(value) or value < 0:
        raise SectionError(field, "It is not a number of 0 or more.", mend)
    _not_absurd(value, field, _LONGEST)


def _count(value: float, field: str) -> float:
    if not is_number(value) or value < 0:
        raise SectionError(field, "It is not a number of 0 or more.", "Count it again.")
    return _not_absurd(value, field, _MOST_COUNTED)


def _not_absurd(value: float, field: str, most: float) -> float:
    if value > most:
        raise SectionError(field, f"It is more than {most}.", "Check the figure and its unit.")
    return value
