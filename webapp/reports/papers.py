"""What the small papers need from set-up: which labels there are, and in which order."""

from __future__ import annotations

from collections.abc import Collection

from sqlalchemy.orm import Session

from webapp.records.faults import Fault, Refused
from webapp.reports.codes import address
from webapp.reports.labels import Label
from webapp.setup import definitions

LABELLED = ("machine", "bay")


def labels_of(session: Session, base: str, type_: str, wanted: Collection[str] = ()) -> list[Label]:
    """A label for every machine or bay in use, or for those named by id, by name. Raises Refused naming `of`."""
    if type_ not in LABELLED:
        raise Refused(Fault("of", f"is «{type_}»", f"choose one of: {', '.join(LABELLED)}"))
    shop = definitions.list_all(session, "shop")[0]["name"]
    bays = {row["id"]: row["name"] for row in definitions.list_all(session, "bay")}
    rows = [row for row in definitions.list_all(session, type_) if not row["retired"]]
    unknown = sorted(set(wanted) - {row["id"] for row in rows})
    if unknown:
        raise Refused(Fault(f"{type_}s", f"names {unknown[0]}, no {type_} in use", f"choose a {type_} of the shop"))
    rows = [row for row in rows if not wanted or row["id"] in wanted]
    rows.sort(key=lambda row: (str(row["name"]).casefold(), row["id"]))
    return [Label(address(base, type_, row["id"]), row["name"], bays.get(row.get("bay")) or shop) for row in rows]
