"""Every kind of entry there is, by name."""

from webapp.records.kinds import (  # noqa: F401  (they register)
    fluids,
    hazards,
    mending,
    meters,
    parts,
    people,
    rounds,
    stops,
    tasks,
)
from webapp.records.kinds.base import KINDS, Kind

__all__ = ["KINDS", "Kind"]
