"""What to measure where nothing was: by the kinds and fractions of the limits that apply, and the controls meanwhile.

Says no figure: an exposure that was not measured has none. Twin: static/src/core/measuring.js,
tests/vectors/measuring.json.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from webapp.core.hazards import TIERS
from webapp.core.limits import Limit

_THROUGH = {
    "whole": "through a filter on a pump",
    "thoracic": "through a thoracic sampler on a pump",
    "respirable": "through a cyclone and a filter on a pump",
}
PUMP = "Check the pump's flow before and after; send a blank filter with it."


@dataclass(frozen=True)
class Wanted:
    """`measure`: what to sample, longest first; `controls`: [tier, what], in the order of the hierarchy, to be there
    before anything is measured and whatever it shows."""

    measure: tuple[str, ...]
    controls: tuple[tuple[str, str], ...]


def wanted(limits: Sequence[Limit], controls: Mapping[str, Sequence[str]]) -> Wanted:
    """What the limits that apply ask to be measured, and the controls (tier: texts) of the work."""
    told = [_sample(limit) for limit in sorted(limits, key=lambda one: _rank(one.kind, one.minutes))]
    once = list(dict.fromkeys(told))
    texts = tuple((tier, text) for tier in TIERS for text in controls.get(tier, ()))
    return Wanted((*once, PUMP) if once else (), texts)


def _rank(kind: str, minutes: int) -> int:
    return 0 if kind in ("twa", "action") else 1 if minutes > 0 else 2


def _sample(limit: Limit) -> str:
    of = limit.counted_as or limit.substance.replace("_", " ")
    through = _THROUGH[limit.sampled]
    rank = _rank(limit.kind, limit.minutes)
    if rank == 0:
        return f"Air of the breathing zone {through}, for the whole shift; the laboratory finds {of}."
    if rank == 1:
        return f"The same {through}, for the {limit.minutes} minutes in which most is in the air; {of}."
    return f"The worst moment, with an instrument that reads at once; without one, 15 minutes {through}; {of}."
