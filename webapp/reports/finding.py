"""Which machines are meant: by id or by name, with a fault that says which names there are."""

from __future__ import annotations

from collections.abc import Iterable

from sqlalchemy.orm import Session

from webapp.records.faults import Fault, Refused
from webapp.setup import definitions


def machines_named(session: Session, wanted: Iterable[str]) -> list[str]:
    """The ids of the machines called so, each an id or a name (in any case). Raises Refused naming `machines`."""
    rows = definitions.list_all(session, "machine")
    ids = {row["id"] for row in rows}
    by_name: dict[str, list[str]] = {}
    for row in rows:
        by_name.setdefault(row["name"].casefold(), []).append(row["id"])
    found, faults = [], []
    for one in wanted:
        here = [one] if one in ids else by_name.get(one.casefold(), [])
        if len(here) == 1:
            found += here
        elif here:
            faults.append(Fault("machines", f"names “{one}”, as {len(here)} machines are called", "name it by its id"))
        else:
            names = ", ".join(sorted(row["name"] for row in rows)) or "none is set up"
            faults.append(Fault("machines", f"names “{one}”, no machine of this shop", f"choose from: {names}"))
    if faults:
        raise Refused(*faults)
    return found
