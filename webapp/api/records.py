"""The record on the wire, newest first, and what is due today."""

from __future__ import annotations

import re
from typing import Any

from flask import Response, g, jsonify
from marshmallow import EXCLUDE, Schema, ValidationError, fields

from webapp.api.bodies import Blueprint
from webapp.api.wire import DueRow, RecordsOut
from webapp.database import db
from webapp.records import reading
from webapp.records.faults import said
from webapp.records.fields import Count, Id, Text, is_uuid
from webapp.reminders.today import judge_all
from webapp.security.access import device_required
from webapp.setup.ids import now_ms
from webapp.setup.names import namer

blueprint = Blueprint("records", __name__, url_prefix="/api/v1", description="The record, and what is due")


class Before(fields.Field[reading.Order]):
    """`ms,id`: the `order` of the last entry of the page before."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kw: Any) -> reading.Order:
        ms, _, id_ = str(value).partition(",")
        if not re.fullmatch(r"-?[0-9]{1,16}", ms) or not is_uuid(id_):
            raise ValidationError(said("is no place in the record", "send the `order` of the last entry you have"))
        return int(ms), id_


class RecordsIn(Schema):
    """Which part of the record."""

    class Meta:
        unknown = EXCLUDE

    machine = Id()
    kind = Text(40)
    before = Before()
    limit = Count(1, 500, load_default=100)


@blueprint.get("/records")
@device_required
@blueprint.arguments(RecordsIn, location="query")
@blueprint.response(200, RecordsOut)
def records(asked: dict[str, Any]) -> Response:
    """A page of the record, newest first, each entry with its one line."""
    session = db.session()
    wanted = {key: asked.get(key) for key in ("machine", "kind", "before")}
    rows = reading.newest(session, namer(session), limit=asked["limit"] + 1, **wanted)
    more = len(rows) > asked["limit"]
    # One's own entries are told with their bodies here: this is for reading, not for sync.
    return jsonify({"entries": rows[: asked["limit"]], "more": more, "device": g.device.id})


@blueprint.get("/due")
@device_required
@blueprint.response(200, DueRow(many=True))
def due() -> Response:
    """Every task with its due state today, as the server computes it."""
    judged = judge_all(db.session(), now_ms())
    return jsonify([{"task": row.task["id"], "machine": row.task["machine"], "name": row.task["name"]}
                    | row.due.to_dict() for row in judged])  # fmt: skip
