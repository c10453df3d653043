"""Inch and metric: factors that are exact by definition (inch 25.4 mm, US gallon 231 cubic inches).

Source: NIST Special Publication 811, appendix B (from memory; the factors are definitions).
"""

from __future__ import annotations

from webapp.core.problems import MixError

SECONDS_IN = {"h": 3600, "hr": 3600, "hours": 3600, "min": 60, "minutes": 60, "s": 1}
"""Units of time as meters are named in, in seconds."""

# Each unit as a multiple of the first of its kind.
_KINDS: tuple[dict[str, float], ...] = (
    {"mm": 1, "cm": 10, "in": 25.4, "m": 1000, "ft": 304.8},
    {"mm2": 1, "cm2": 100, "sq in": 645.16},
    {"L": 1, "mL": 0.001, "gal": 3.785411784, "fl oz": 0.0295735295625},
    {"kPa": 1, "bar": 100, "psi": 6.894757293168},
    {"m/s": 1, "m/min": 1 / 60, "ft/min": 0.00508},
    # Water hardness as calcium carbonate in mg/L: degrees German, English and French, grains per US gallon.
    {"ppm": 1, "dGH": 17.848, "gpg": 17.118, "clark": 14.254, "fH": 10, "mmol/L": 100.0869},
)


def convert(value: float, unit: str, to: str) -> float:
    """A value in another unit of the same kind, unrounded; MixError for units that do not belong together."""
    for kind in _KINDS:
        if unit in kind and to in kind:
            return value * kind[unit] / kind[to]
    raise MixError("unit", f"{unit} cannot be turned into {to}.", "Use two units of the same kind.")


def celsius(fahrenheit: float) -> float:
    """Degrees Fahrenheit in degrees Celsius."""
    return (fahrenheit - 32) / 1.8


def fahrenheit(celsius: float) -> float:
    """Degrees Celsius in degrees Fahrenheit."""
    return celsius * 1.8 + 32
