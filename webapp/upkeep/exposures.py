"""What was measured in the air and in the ear, beside the limits that the shop chose and the strictest of all.

One row for each agent, place or person and work: its newest measurement. How each stands is worked out in
`core/measured.py`, which the phone does too.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from typing import Any

from webapp.core.measured import beside, worst_first
from webapp.library.limits import limits, substances
from webapp.library.noise import noise_values

Doc = dict[str, Any]

HOUSE_LIMITS: dict[str, tuple[str, ...]] = {
    "US": ("us_osha",),
    "US-CA": ("us_calosha",),
    "GB": ("uk_hse",),
    "UK": ("uk_hse",),
    "DE": ("de_trgs900",),
    "NL": ("nl",),
    "AU": ("au_wes",),
    "EU": ("eu",),
}
"""What binds where a shop chose nothing, by its jurisdiction; other states of the US fall back on US."""


def chosen(shop: Mapping[str, Any]) -> list[str]:
    """The authorities whose limits a shop (a definition) goes by."""
    if own := shop.get("authorities"):
        return list(own)
    place = str(shop.get("jurisdiction", "US")).strip().upper()
    return list(HOUSE_LIMITS.get(place) or HOUSE_LIMITS.get(place.split("-")[0]) or ())


def measured(
    kept: Mapping[str, list[Doc]], authorities: Sequence[str], today: date, zone_day: Callable[[str], str]
) -> list[Doc]:
    """Rows for the newest measurement of each agent at each place or person and work, the worst first.

    `kept`: the shop's state; `zone_day`: the shop's date of an instant as text.
    """
    names = {key: one.name for key, one in substances().items()}
    rows = []
    for key, agent in kept.items():
        for row in _newest(agent):
            on = row["on"] or zone_day(row["at"])
            rows.append(beside(key, row, limits(), noise_values(), names, authorities, on, today.isoformat()))
    return sorted(rows, key=worst_first)


def _newest(rows: Sequence[Doc]) -> list[Doc]:
    """The first of each person or place and work; they come newest first."""
    found: dict[tuple[Any, ...], Doc] = {}
    for row in rows:
        found.setdefault((row["person"], row["place"], row["process"], row["alloy"], row["fraction"]), row)
    return list(found.values())
