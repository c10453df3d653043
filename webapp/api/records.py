"""The record on the wire, newest first, and what is due today."""

from __future__ import annotations

import re
from datetime import date, timedelta
from typing import Any

from flask import Response, g, jsonify
from marshmallow import EXCLUDE, Schema, ValidationError, fields, validates_schema

from webapp.api.bodies import Blueprint
from webapp.api.problems import Problem
from webapp.api.wire import DueRow, RecordsOut, SealedRow
from webapp.database import db
from webapp.records import reading
from webapp.records.faults import Fault, said
from webapp.records.fields import Count, Day, Id, Text, is_uuid
from webapp.reminders.today import judge_all
from webapp.security import devices
from webapp.security.access import device_required
from webapp.setup.definitions import shop_zone
from webapp.setup.ids import now_ms
from webapp.setup.names import namer
from webapp.upkeep.history import day_start_ms

blueprint = Blueprint("records", __name__, url_prefix="/api/v1", description="The record, and what is due")


class Before(fields.Field[reading.Order]):
    """`ms,id`: the `order` of the last entry of the page before."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kw: Any) -> reading.Order:
        ms, _, id_ = str(value).partition(",")
        if not re.fullmatch(r"-?[0-9]{1,16}", ms) or not is_uuid(id_):
            raise ValidationError(said("is no place in the record", "send the `order` of the last entry you have"))
        return int(ms), id_


class MachineOrShop(Id):
    """A machine's id, or "shop" for what was done at no machine."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kw: Any) -> str:
        return "shop" if value == "shop" else super()._deserialize(value, attr, data, **kw)


class RecordsIn(Schema):
    """Which part of the record; days are the shop's, both included."""

    class Meta:
        unknown = EXCLUDE

    machine = MachineOrShop()
    kind = Text(40)
    person = Id()
    first = Day(data_key="from")
    last = Day(data_key="to")
    alloy = Text(40)
    finding = Id()
    before = Before()
    limit = Count(1, 500, load_default=100)

    @validates_schema(skip_on_field_errors=True)
    def _in_order(self, asked: dict[str, Any], **_: Any) -> None:
        if "first" in asked and "last" in asked and asked["last"] < asked["first"]:
            problem = said(f"is {asked['last']}, before the first day", f"send {asked['first']} or a later day")
            raise ValidationError(problem, "to")


@blueprint.get("/records")
@device_required
@blueprint.arguments(RecordsIn, location="query")
@blueprint.response(200, RecordsOut)
def records(asked: dict[str, Any]) -> Response:
    """A page of the record, newest first, each entry with its one line.

    `alloy` finds what names the metal, first or as amended; `finding` everything that belongs to one: its round,
    tags, raised tasks and closing.
    """
    session = db.session()
    wanted = reading.Wanted(
        **{key: asked.get(key) for key in ("machine", "kind", "person", "alloy", "finding", "before")},
        since_ms=_midnight(asked.get("first"), 0),
        until_ms=_midnight(asked.get("last"), 1),
    )
    rows = reading.newest(session, namer(session), wanted, asked["limit"] + 1)
    more = len(rows) > asked["limit"]
    # One's own entries are told with their bodies here: this is for reading, not for sync.
    return jsonify({"entries": rows[: asked["limit"]], "more": more, "device": g.device.id})


def _midnight(day: str | None, later: int) -> int | None:
    """The instant at which a day of the shop, or one so many days later, begins."""
    if day is None:
        return None
    return day_start_ms(date.fromisoformat(day) + timedelta(days=later), shop_zone(db.session()))


@blueprint.get("/records/<id_>")
@device_required
@blueprint.response(200, SealedRow)
def record(id_: str) -> Response:
    """One entry with its place in the chain: `chain` is the SHA-256 of `previous` and `text`, both as UTF-8.

    `mendings` are the amendments and voidings of it, in order.
    """
    session = db.session()
    found = reading.one(session, namer(session), id_) if is_uuid(id_) else None
    if found is None:
        raise Problem(404, "No such entry", errors=[Fault("id", "is no entry of this record", "take it from a list")])
    return jsonify(found | {"device": devices.named(session).get(found["receipt"]["device"])})


@blueprint.get("/due")
@device_required
@blueprint.response(200, DueRow(many=True))
def due() -> Response:
    """Every task with its due state today, as the server computes it."""
    judged = judge_all(db.session(), now_ms())
    return jsonify([{"task": row.task["id"], "machine": row.task["machine"], "name": row.task["name"]}
                    | row.due.to_dict() for row in judged])  # fmt: skip
