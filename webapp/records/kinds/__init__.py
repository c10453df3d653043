"""Every kind of entry there is, by name."""

from webapp.records.kinds import fluids, mending, meters, parts, rounds, stops, tasks  # noqa: F401  (they register)
from webapp.records.kinds.base import KINDS, Kind

__all__ = ["KINDS", "Kind"]
