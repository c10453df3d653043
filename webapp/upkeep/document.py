"""The whole shop's upkeep in one document, kept by phones and shown without signal."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy.orm import Session

from webapp.core.instants import shop_date
from webapp.records.append import head
from webapp.reminders.standing import troubles
from webapp.setup.definitions import shop_zone
from webapp.upkeep import air, tasks, use, wear, work
from webapp.upkeep.fluids import fluids_document
from webapp.upkeep.shop import load

SHAPE = 2
"""Counted up when the document's shape changes, so that a phone asks for it again after an update."""


def version(session: Session, now_ms: int) -> str:
    """What the document depends on: its shape, where the record stands, the shop's date, and which jobs fail. Its
    ETag."""
    at, day = head(session), shop_date(now_ms, shop_zone(session)).isoformat()
    failing = "".join(f"-{row['job']}/{row['since']}".replace(" ", "_") for row in troubles(session))
    return f"{SHAPE}-{at.epoch}-{at.position}-{day}{failing}"


def document(session: Session, now_ms: int) -> dict[str, Any]:
    """Forecasts, daily use, bundles, wearing parts, fluids and air of every machine; hazards, exposures and
    people of the shop, and the work of 8 weeks."""
    shop = load(session, now_ms)
    uses = use.measure(session, shop)
    foreseen = tasks.foresee(shop, uses)
    shared = wear.share(session, now_ms)
    airs = air.machines(session, shop)
    at = datetime.fromtimestamp(now_ms / 1000, UTC).astimezone(ZoneInfo(shop.zone))
    return {
        "as_of": at.isoformat(timespec="seconds"),
        "time_zone": shop.zone,
        "head": head(session).position,
        "machines": {
            key: {
                "tasks": tasks.document(foreseen, shop, uses, key),
                "meters": use.document(uses, shop, key),
                "bundles": work.bundles(foreseen, shop, key),
                "parts": wear.parts_document(session, machine, now_ms, shared),
                "fluids": fluids_document(session, machine, now_ms),
                "air": airs[key],
            }
            for key, machine in shop.machines.items()
        },
        "shop": {"tasks": tasks.document(foreseen, shop, uses, None)},
        "air": air.document(session, shop, airs),
        "troubles": troubles(session),
        "workload": work.workload(foreseen, shop, uses, work.doers(session, shop)),
    }
