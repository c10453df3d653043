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
    """A number for a sentence: at most two decimals."""
    return str(tidy(value, 2))


def is_number(value: object) -> TypeGuard[float]:
    """True for a finite int or float that fits a double; a bool is no number here."""
    try:
        return isinstance(value, (int, float)) and not isinstance(value, bool) and math.isfinite(value)
    except OverflowError:  # JSON allows integers of thousands of digits
        return False
