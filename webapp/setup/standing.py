"""Standing a machine of the starter library in the shop."""

from __future__ import annotations

from typing import Any

from sqlalchemy.orm import Session

from webapp import library
from webapp.core.instants import shop_date
from webapp.setup.definitions import create, list_all
from webapp.setup.ids import new_id, now_ms


def stand(
    session: Session, key: str, name: str, bay: str | None, made_by: str, *, at_ms: int | None = None
) -> dict[str, Any]:
    """Define a starter machine with its items, checklists and tasks, counting from the shop's date at `at_ms`.

    Call inside `writing()`, after the shop is there. Returns the machine.
    """
    shop = list_all(session, "shop")[0]
    at = at_ms or now_ms()
    start = shop_date(at, shop["time_zone"])
    rows = library.instantiate(key, name, bay, new_id, start=start, units=shop["units"])
    made = [_make(session, type_, dict(body), made_by, at) for type_, body in rows]
    return made[0]


def _make(session: Session, type_: str, body: dict[str, Any], made_by: str, at: int) -> dict[str, Any]:
    id_ = body.pop("id")
    return create(session, type_, body, made_by, id_=id_, at_ms=at)
