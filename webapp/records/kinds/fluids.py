"""Coolant, way oil and other fluids: topped up and changed."""

from __future__ import annotations

from typing import Any

from webapp.core.numbers import say
from webapp.records.fields import Body, Number, Ref, Text
from webapp.records.kinds.base import Kind, Name, kind
from webapp.records.state import Doc, Effective, r6, totals


def _fluid(doc: Doc, key: str) -> Doc:
    blank: Doc = {"changed_at": None, "changed_meters": {}, "added_at": None, "added": 0}
    found: Doc = doc["fluids"].setdefault(key, blank)
    return found


@kind
class FluidAdded(Kind):
    """So much was filled up; `water` and `concentrate` say what it was mixed from."""

    name = "fluid.added"

    @classmethod
    def body(cls) -> type[Body]:
        return Body.from_dict(
            {
                "fluid": Ref("fluid", required=True),
                "amount": Number(above=0, high=1e5, required=True),
                "water": Number(0, 1e5, allow_none=True),
                "concentrate": Number(0, 1e5, allow_none=True),
                "unit": Text(20, required=True),
                "note": Text(allow_none=True),
            }
        )  # type: ignore[return-value]

    def fold(self, doc: Doc, entry: Effective) -> None:
        fluid = _fluid(doc, entry.body["fluid"])
        fluid["added"] = r6(fluid["added"] + entry.body["amount"])
        fluid["added_at"] = entry.at

    def summary(self, body: dict[str, Any], name: Name) -> str:
        return f"{name(body['fluid'])}: {say(body['amount'])} {body['unit']} added"


@kind
class FluidChanged(Kind):
    """The whole charge was changed."""

    name = "fluid.changed"

    @classmethod
    def body(cls) -> type[Body]:
        return Body.from_dict(
            {
                "fluid": Ref("fluid", required=True),
                "amount": Number(above=0, high=1e5, allow_none=True),
                "unit": Text(20, allow_none=True),
                "strength": Number(0, 100, allow_none=True),
                "note": Text(allow_none=True),
            }
        )  # type: ignore[return-value]

    def fold(self, doc: Doc, entry: Effective) -> None:
        fluid = _fluid(doc, entry.body["fluid"])
        fluid.update(changed_at=entry.at, changed_meters=totals(doc), added=0)

    def summary(self, body: dict[str, Any], name: Name) -> str:
        amount = f", {say(body['amount'])} {body.get('unit') or ''}".rstrip() if body.get("amount") else ""
        strength = "" if body.get("strength") is None else f", at {say(body['strength'])} %"
        return f"{name(body['fluid'])}: charge changed{amount}{strength}"
