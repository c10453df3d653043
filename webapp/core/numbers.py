"""Numbers so rounded that Python and JavaScript agree to the last digit.

Python rounds halves to even and JavaScript upward, so both sides use floor(x * 10**n + 0.5) / 10**n.
"""

from __future__ import annotations

import math
from typing import TypeGuard


def tidy(value: float, places: int = 6) -> float:
    """Round half up to `places`; a whole number comes back as an int, so that JSON shows 250, not 250.0."""
    scale = 10.0**places
    rounded = math.floor(value * scale + 0.5) / scale
    return int(rounded) if rounded.is_integer() else rounded


def say(value: float) -> str:
    """A number for a sentence: at most two decimals, but three figures of what is below a tenth.

    A gauge's 0.0015 in must not read as 0, nor a feeler's 0.015 in as 0.02; below a millionth nothing is left.
    """
    size = abs(value)
    places = 2 if size >= 0.1 else 4 if size >= 0.01 else 5 if size >= 0.001 else 6
    return f"{tidy(value, places):.{places}f}".rstrip("0").rstrip(".")


def is_number(value: object) -> TypeGuard[float]:
    """True for a finite int or float that fits a double; a bool is no number here."""
    try:
        return isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)
    except OverflowError:  # JSON allows integers of thousands of digits
        return False
