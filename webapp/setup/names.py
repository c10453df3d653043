"""Names of everything defined, for summaries."""

from __future__ import annotations

from typing import Any

from sqlalchemy.orm import Session

from webapp.records.kinds.base import Name
from webapp.setup.definitions import TYPES, list_all

_INNER = ("meters", "parts", "fluids")


def namer(session: Session) -> Name:
    """A function from an id to the name of what it stands for; unknown ids are called by what they are."""
    names: dict[str, str] = {}
    for type_ in TYPES:
        for row in list_all(session, type_):
            names[row["id"]] = row["name"]
            names |= {inner["id"]: inner["name"] for key in _INNER for inner in _list(row, key)}

    def name(id_: str) -> str:
        return names.get(id_, "a task raised" if id_ else "nothing")

    return name


def _list(row: dict[str, Any], key: str) -> list[dict[str, Any]]:
    found = row.get(key)
    return found if isinstance(found, list) else []
