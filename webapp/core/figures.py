"""Figures as people type them: numbers, above zero, not absurd, in units that are known.

Twin: static/src/core/figures.js, the same messages word by word.
"""

from __future__ import annotations

from collections.abc import Iterable

from webapp.core.numbers import is_number
from webapp.core.problems import FigureError


def above_zero(value: object, field: str, most: float) -> float:
    """A figure above zero and at most `most`; FigureError names the field otherwise."""
    if not is_number(value) or value <= 0:
        raise FigureError(field, "It is not a number above zero.", "Measure it, or read it off the plate.")
    return _not_above(value, field, most)


def from_zero(value: object, field: str, most: float) -> float:
    """A figure of zero or more and at most `most`; FigureError names the field otherwise."""
    if not is_number(value) or value < 0:
        raise FigureError(field, "It is not a number of 0 or more.", "Measure it again.")
    return _not_above(value, field, most)


def known(value: object, field: str, choices: Iterable[str]) -> str:
    """One of the words in `choices`; FigureError lists them otherwise."""
    words = list(choices)
    if not isinstance(value, str) or value not in words:
        raise FigureError(field, f'"{value}" is not known.', f"Give one of: {', '.join(words)}.")
    return value


def is_us(units: object) -> bool:
    """Whether the units are "us" (True) or "metric"."""
    return known(units, "units", ("us", "metric")) == "us"


def _not_above(value: float, field: str, most: float) -> float:
    if value > most:
        raise FigureError(field, f"It is more than {most}.", "Check the figure and its unit.")
    return value
