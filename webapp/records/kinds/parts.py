"""Wearing parts changed, and what is left of them in the drawer."""

from __future__ import annotations

from typing import Any

from webapp.records.fields import Body, Number, Ref, Text
from webapp.records.kinds.base import Kind, Name, kind
from webapp.records.state import Doc, Effective, newest_first, r6, totals

LIVES_KEPT = 20


@kind
class PartChanged(Kind):
    """A wearing part was changed: one life ends, the next begins, the drawer holds fewer."""

    name = "part.changed"
    touches_shop = True

    @classmethod
    def body(cls) -> type[Body]:
        return Body.from_dict(
            {
                "part": Ref("part", required=True),
                "reason": Text(200, required=True),
                "item": Ref("item", allow_none=True),
                "used": Number(0, 1000),
                "note": Text(allow_none=True),
            }
        )  # type: ignore[return-value]

    def fold(self, doc: Doc, entry: Effective) -> None:
        now = totals(doc)
        fitted = doc["parts"].setdefault(entry.body["part"], {"lives": []})
        if "at" in fitted:
            lived = {meter: r6(total - fitted["meters"].get(meter, 0)) for meter, total in now.items()}
            life = {"from": fitted["at"], "to": entry.at, "reason": entry.body["reason"], "meters": lived}
            newest_first(fitted["lives"], life, LIVES_KEPT)
        fitted.update(at=entry.at, by=entry.by, meters=now)

    def fold_shop(self, doc: Doc, entry: Effective) -> None:
        item = entry.body.get("item")
        if item:
            drawer = doc["stock"].setdefault(item, {"count": 0, "at": None})
            drawer["count"] = r6(drawer["count"] - entry.body.get("used", 1))

    def summary(self, body: dict[str, Any], name: Name) -> str:
        return f"{name(body['part'])} changed: {body['reason']}"


@kind
class StockCounted(Kind):
    """The drawer was counted."""

    name = "stock.counted"
    machine_needed = False

    @classmethod
    def body(cls) -> type[Body]:
        return Body.from_dict({"item": Ref("item", required=True), "count": Number(0, 1e6, required=True)})  # type: ignore[return-value]

    def subjects(self, machine: str | None) -> tuple[str, ...]:
        return ("shop",)

    def fold(self, doc: Doc, entry: Effective) -> None:
        doc["stock"][entry.body["item"]] = {"count": entry.body["count"], "at": entry.at}

    def fold_shop(self, doc: Doc, entry: Effective) -> None:
        self.fold(doc, entry)

    def summary(self, body: dict[str, Any], name: Name) -> str:
        return f"{name(body['item'])}: {body['count']:g} in the drawer"
