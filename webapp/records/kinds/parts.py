"""Wearing parts changed, and what is left of them in the drawer."""

from __future__ import annotations

from datetime import date
from typing import Any

from marshmallow import fields

from webapp.core.dates import say_date
from webapp.core.numbers import say
from webapp.records.fields import Body, Day, Number, Ref, Text, one_of
from webapp.records.kinds.base import Kind, Name, kind
from webapp.records.state import Doc, Effective, newest_first, r6, totals

LIVES_KEPT = 20
ORDERS_KEPT = 20
# Noted of what was fitted, so they belong to the life that begins; `material` to the one that ends.
FITTED_NOTES = ("grade", "edge", "tool", "stick_out")


class StickOut(Body):
    """How far a cutter stands out of its holder."""

    value = Number(above=0, high=10_000, required=True)
    unit = Text(4, required=True, validate=one_of("in", "mm"))


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
                "grade": Text(60, allow_none=True),
                "material": Text(60, allow_none=True),
                "edge": Text(10, allow_none=True, validate=one_of("new", "re-ground")),
                "tool": Text(20, allow_none=True),
                "stick_out": fields.Nested(StickOut, allow_none=True),
                "note": Text(allow_none=True),
            }
        )  # type: ignore[return-value]

    def fold(self, doc: Doc, entry: Effective) -> None:
        now = totals(doc)
        fitted = doc["parts"].setdefault(entry.body["part"], {"lives": []})
        if "at" in fitted:
            lived = {meter: r6(total - fitted["meters"].get(meter, 0)) for meter, total in now.items()}
            life = {"from": fitted["at"], "to": entry.at, "reason": entry.body["reason"], "meters": lived}
            if entry.body.get("material"):
                life["material"] = entry.body["material"]
            life |= {key: fitted.pop(key) for key in ("minutes", *FITTED_NOTES) if key in fitted}
            newest_first(fitted["lives"], life, LIVES_KEPT)
        fitted.update(at=entry.at, by=entry.by, meters=now)
        fitted.update({key: entry.body[key] for key in FITTED_NOTES if entry.body.get(key)})

    def fold_shop(self, doc: Doc, entry: Effective) -> None:
        item = entry.body.get("item")
        if item:
            drawer = doc["stock"].setdefault(item, {"count": 0, "at": None})
            drawer["count"] = r6(drawer["count"] - entry.body.get("used", 1))

    def summary(self, body: dict[str, Any], name: Name) -> str:
        return f"{name(body['part'])} changed: {body['reason']}"


def add_cut_minutes(doc: Doc, cutters: dict[str, float], loads: float) -> None:
    """Count a batch's cut minutes on to the cutters that made it.

    Minutes count from a cutter's last change; of one whose change was never noted the life is not known.
    """
    for part, minutes in sorted(cutters.items()):
        fitted = doc["parts"].get(part)
        if fitted is not None:
            fitted["minutes"] = r6(fitted.get("minutes", 0) + r6(minutes * loads))


@kind
class StockCounted(Kind):
    """The drawer was counted; `arrived` says how many of what was on order have come and are in the count."""

    name = "stock.counted"
    machine_needed = False

    @classmethod
    def body(cls) -> type[Body]:
        return Body.from_dict(
            {
                "item": Ref("item", required=True),
                "count": Number(0, 1e6, required=True),
                "arrived": Number(0, 1e6),
            }
        )  # type: ignore[return-value]

    def subjects(self, machine: str | None) -> tuple[str, ...]:
        return ("shop",)

    def fold(self, doc: Doc, entry: Effective) -> None:
        doc["stock"][entry.body["item"]] = {"count": entry.body["count"], "at": entry.at}
        _deliver(doc, entry.body["item"], entry.body.get("arrived", 0))

    def fold_shop(self, doc: Doc, entry: Effective) -> None:
        self.fold(doc, entry)

    def summary(self, body: dict[str, Any], name: Name) -> str:
        arrived = f", {say(body['arrived'])} delivered" if body.get("arrived") else ""
        return f"{name(body['item'])}: {say(body['count'])} in the drawer{arrived}"


@kind
class StockOrdered(Kind):
    """Spares were ordered: on order until a count says that they have come. An order called off is voided."""

    name = "stock.ordered"
    machine_needed = False

    @classmethod
    def body(cls) -> type[Body]:
        return Body.from_dict(
            {
                "item": Ref("item", required=True),
                "count": Number(above=0, high=1e6, required=True),
                "expected": Day(allow_none=True),
                "note": Text(allow_none=True),
            }
        )  # type: ignore[return-value]

    def subjects(self, machine: str | None) -> tuple[str, ...]:
        return ("shop",)

    def fold(self, doc: Doc, entry: Effective) -> None:
        body = entry.body
        orders = doc.setdefault("orders", {}).setdefault(body["item"], [])
        orders.append({"at": entry.at, "by": entry.by, "count": body["count"], "expected": body.get("expected")})
        del orders[:-ORDERS_KEPT]

    def fold_shop(self, doc: Doc, entry: Effective) -> None:
        self.fold(doc, entry)

    def summary(self, body: dict[str, Any], name: Name) -> str:
        expected = f", expected {say_date(date.fromisoformat(body['expected']))}" if body.get("expected") else ""
        return f"{name(body['item'])}: {say(body['count'])} ordered{expected}"


def _deliver(doc: Doc, item: str, arrived: float) -> None:
    """What has come is taken off the oldest order first; more than was ordered is in the count alone."""
    orders = doc.get("orders", {}).get(item, [])
    while arrived > 0 and orders:
        taken = min(arrived, orders[0]["count"])
        arrived, orders[0]["count"] = r6(arrived - taken), r6(orders[0]["count"] - taken)
        if orders[0]["count"] == 0:
            orders.pop(0)
    if not orders:
        doc.get("orders", {}).pop(item, None)
