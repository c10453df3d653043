"""Meters and what makes them run: readings, additions, batches."""

from __future__ import annotations

from typing import Any

from marshmallow import ValidationError, validate, validates_schema

from webapp.core.numbers import say
from webapp.records.faults import said
from webapp.records.fields import Amounts, Body, Flag, Number, Ref, Text, Whole
from webapp.records.kinds.base import Kind, Name, alloy_said, kind
from webapp.records.kinds.parts import add_cut_minutes
from webapp.records.state import Doc, Effective, add_to_meter, meter_of, newest_first, read_meter

READINGS_KEPT = 12


def _counted(meter: str, amount: float, name: Name) -> str:
    """What was counted on to a meter, in its unit."""
    return f"{name(meter)} +{say(amount)} {name.unit(meter)}".rstrip()


def keep_reading(doc: Doc, quantity: str, row: Doc) -> None:
    """Keep a reading among the machine's newest."""
    newest_first(doc["readings"].setdefault(quantity, []), row, READINGS_KEPT)


@kind
class MeterRead(Kind):
    """A counter's face was read."""

    name = "meter.read"

    @classmethod
    def body(cls) -> type[Body]:
        return Body.from_dict(
            {"meter": Ref("meter", required=True), "value": Number(0, required=True), "replaced": Flag(), "ran": Flag()}
        )  # type: ignore[return-value]

    def fold(self, doc: Doc, entry: Effective) -> None:
        before = meter_of(doc, entry.body["meter"])["total"]
        read_meter(doc, entry.body["meter"], entry.body["value"], entry.body.get("replaced", False), entry.at)
        # A machine that counts itself says that it just ran; a person's reading may be of last week's hours.
        if entry.body.get("ran") and meter_of(doc, entry.body["meter"])["total"] > before:
            doc["used_at"] = entry.at

    def summary(self, body: dict[str, Any], name: Name) -> str:
        new = " (new counter)" if body.get("replaced") else ""
        value = f"{say(body['value'])} {name.unit(body['meter'])}".rstrip()
        return f"{name(body['meter'])} read {value}{new}"


@kind
class MeterAdded(Kind):
    """So much was counted on to a meter, in the meter's unit."""

    name = "meter.added"

    @classmethod
    def body(cls) -> type[Body]:
        return Body.from_dict({"meter": Ref("meter", required=True), "amount": Number(above=0, required=True)})  # type: ignore[return-value]

    def fold(self, doc: Doc, entry: Effective) -> None:
        add_to_meter(doc, entry.body["meter"], entry.body["amount"], entry.at)

    def summary(self, body: dict[str, Any], name: Name) -> str:
        return _counted(body["meter"], body["amount"], name)


class BatchBody(Body):
    """A batch. Cutters come with their minutes a load, so they need the loads to be worth anything."""

    @validates_schema(skip_on_field_errors=True)
    def _cutters_count(self, data: dict[str, Any], **_: Any) -> None:
        cutters = data.get("cutters") or {}
        if cutters and "loads" not in data:
            message = said("is missing, though cutters are named", "send how many loads the cutters made")
            raise ValidationError(message, "loads")
        idle = said("is 0", "send the minutes it cuts in a load, or leave the cutter out")
        if faults := {part: [idle] for part, minutes in cutters.items() if minutes == 0}:
            raise ValidationError({"cutters": faults})


@kind
class BatchRun(Kind):
    """A batch was run: what it adds to which meters, and the figures that came from."""

    name = "batch.run"

    @classmethod
    def body(cls) -> type[Body]:
        some = validate.Length(min=1, max=20, error=said("is empty", "name at least one meter and its amount"))
        few = validate.Length(max=100, error=said("names more than 100 cutters", "log the rest as a batch of its own"))
        return BatchBody.from_dict(
            {
                "adds": Amounts(0, required=True, validate=some),
                "what": Text(200),
                "alloy": Text(40),
                "loads": Whole(0, 100_000),
                "minutes_per_load": Number(0, 10_000),
                "cutters": Amounts(0, 10_000, allow_none=True, validate=few),
                "cuts": Whole(0, 1_000_000),
                "area_per_cut": Number(0, 1e6),
                "note": Text(),
            }
        )  # type: ignore[return-value]

    def fold(self, doc: Doc, entry: Effective) -> None:
        for meter, amount in sorted(entry.body["adds"].items()):
            add_to_meter(doc, meter, amount, entry.at)
        if entry.body.get("cutters"):
            add_cut_minutes(doc, entry.body["cutters"], entry.body["loads"])

    def summary(self, body: dict[str, Any], name: Name) -> str:
        what = body.get("what") or alloy_said(body.get("alloy") or "batch", name)
        adds = ", ".join(_counted(meter, amount, name) for meter, amount in sorted(body["adds"].items()))
        return f"{what}: {adds}"


@kind
class ReadingTaken(Kind):
    """A measured number with its unit."""

    name = "reading.taken"

    @classmethod
    def body(cls) -> type[Body]:
        return Body.from_dict(
            {
                "quantity": Text(60, required=True),
                "value": Number(-1e6, 1e6, required=True),
                "unit": Text(20, required=True, blank=True),
                "instrument": Text(60),
                "note": Text(),
            }
        )  # type: ignore[return-value]

    def fold(self, doc: Doc, entry: Effective) -> None:
        body = entry.body
        row = {"at": entry.at, "value": body["value"], "unit": body["unit"], "by": entry.by}
        keep_reading(doc, body["quantity"], row)

    def summary(self, body: dict[str, Any], name: Name) -> str:
        what = body["quantity"].replace(".", " ").replace("_", " ").capitalize()
        return f"{what} {say(body['value'])} {body['unit']}".strip()
