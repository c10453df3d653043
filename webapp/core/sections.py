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
}
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
    outside, wall = values
    if wall * 2 > outside:
        raise SectionError("wall", "It is more than half the outside diameter.", "Measure wall and diameter.")
    return tidy(math.pi * wall * (outside - wall))


def part(bar: float, blank: float, kerf: float = 0) -> Parting:
    """How many blanks a bar gives, and the cuts for them.

    The last blank needs no cut when it comes out even. With a kerf each cut also takes its width.
    """
    _length(bar, "bar")
    _length(blank, "blank")
    if not is_number(kerf) or kerf < 0:
        raise SectionError("kerf", "It is not a number of 0 or more.", "Give the width of the cut, or 0.")
    if blank > bar + _SLACK:
        raise SectionError("blank", "It is longer than the bar.", "Check both lengths.")
    blanks = math.floor((bar + kerf + _SLACK) / (blank + kerf))
    rest = bar - blanks * blank - (blanks - 1) * kerf
    if rest <= _SLACK:
        return Parting(blanks, blanks - 1, 0)
    return Parting(blanks, blanks, tidy(max(rest - kerf, 0)))


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
    return value


def _count(value: float, field: str) -> float:
    if not is_number(value) or value < 0:
        raise SectionError(field, "It is not a number of 0 or more.", "Count it again.")
    return value
