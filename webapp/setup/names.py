"""Names of everything defined, for summaries."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from sqlalchemy.orm import Session

from webapp.setup.definitions import TYPES, list_all

_INNER = ("meters", "parts", "fluids")


@dataclass(frozen=True)
class Namer:
    """The names of what ids stand for, and the units of meters; unknown ids are called by what they are."""

    names: dict[str, str]
    units: dict[str, str]

    def __call__(self, id_: str, /) -> str:
        """The name of anything defined."""
        return self.names.get(id_, "a task raised" if id_ else "nothing")

    def unit(self, id_: str, /) -> str:
        """The unit that a meter counts in; "" of anything else."""
        return self.units.get(id_, "")


def namer(session: Session) -> Namer:
    """The names of everything defined now."""
    rows = [row for type_ in TYPES for row in list_all(session, type_)]
    things = [thing for row in rows for key in _INNER for thing in _list(row, key)]
    units = {meter["id"]: meter["unit"] for row in rows for meter in _list(row, "meters")}
    return Namer({one["id"]: one["name"] for one in (*rows, *things)}, units)


def _list(row: dict[str, Any], key: str) -> list[dict[str, Any]]:
    found = row.get(key)
    return found if isinstance(found, list) else []
