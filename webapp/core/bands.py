"""The limits of a reading: act low, stop low, target, act high, stop high, and where a value lies in them.

Twin: static/src/core/bands.js, held to tests/vectors/bands.json.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import combinations

from webapp.core.numbers import is_number, say
from webapp.core.problems import BandError

# From the lowest to the highest; any may be left out.
LIMITS = ("stop_low", "act_low", "target", "act_high", "stop_high")
_WORDS = {name: name.replace("_", " ") for name in LIMITS}
# A stop may lie on its act limit (act and stop are then one), but a low limit never on a high one.
_MAY_MEET = {
    ("stop_low", "act_low"),
    ("act_high", "stop_high"),
    ("act_low", "target"),
    ("target", "act_high"),
}


def verdict(value: float, band: Mapping[str, float | None]) -> str:
    """Where a reading lies: "within", "act low", "act high", "stop low" or "stop high".

    A value on a limit is still on its inner side; value and band are in the same unit. BandError for a
    value that is no finite number: such a reading must not pass as within.
    """
    if not is_number(value):
        raise BandError("value", "The reading is not a number.", "Read the instrument again.")
    for name, beyond in (("stop_low", -1), ("stop_high", 1), ("act_low", -1), ("act_high", 1)):
        limit = band.get(name)
        if limit is not None and (value - limit) * beyond > 0:
            return _WORDS[name]
    return "within"


def check_band(band: Mapping[str, float | None]) -> None:
    """BandError unless the limits are known, finite, and rise from stop low to stop high."""
    for name, limit in band.items():
        if name not in LIMITS:
            raise BandError(name, "This limit is not known.", f"Use only: {', '.join(LIMITS)}.")
        if limit is not None and not is_number(limit):
            raise BandError(name, "It is not a number.", "Give the limit in the reading's unit, or leave it out.")
    given = [(name, limit) for name in LIMITS if (limit := band.get(name)) is not None]
    for (low, low_limit), (high, high_limit) in combinations(given, 2):
        if low_limit > high_limit or (low_limit == high_limit and (low, high) not in _MAY_MEET):
            raise BandError(
                high,
                f"{_WORDS[high].capitalize()} ({say(high_limit)}) does not lie above {_WORDS[low]} ({say(low_limit)}).",
                "Limits rise: stop low, act low, target, act high, stop high.",
            )
