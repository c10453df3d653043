"""What set-up has defined, as far as the record must know it to check an entry."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True)
class Known:
    """Ids of people and machines, and for everything else its type and machine (None: the shop's)."""

    people: frozenset[str] = frozenset()
    machines: frozenset[str] = frozenset()
    things: dict[str, tuple[str, str | None]] = field(default_factory=dict)
    """id -> (type, machine): meter, part, fluid, checklist, item, task."""
