"""Sync on the wire: push, changes, snapshot, photos."""

from __future__ import annotations

import hashlib
import re
from typing import Any

from flask import Response, current_app, g, jsonify, request
from marshmallow import EXCLUDE, Schema, ValidationError, fields, validate

from webapp.api.bodies import Blueprint, read_json
from webapp.api.problems import Problem
from webapp.api.wire import BatchIn, ChangesOut, PushOut, SnapshotOut
from webapp.core.instants import InstantError, parse_instant
from webapp.database import db
from webapp.records.append import Delivery, Result
from webapp.records.faults import Fault, faults_of, said
from webapp.records.fields import Count, Id, Text
from webapp.security.access import device_required
from webapp.security.models import Device
from webapp.setup.ids import now_ms
from webapp.sync import pull
from webapp.sync.photos import LARGEST_BYTES
from webapp.sync.push import push

MOST_ENTRIES = 500
OLDEST_APP = 1
"""The lowest `Wayround-App` number that may still sync; older apps are told with 426 and keep their outbox."""

_BYTES = {"type": "string", "format": "binary"}
_PHOTO_TYPES = ("image/jpeg", "image/png", "image/webp")

blueprint = Blueprint("sync", __name__, url_prefix="/api/v1", description="What phones bring and fetch")


class PushIn(Schema):
    """A batch of entries."""

    class Meta:
        unknown = EXCLUDE

    sent_at = Text(40, required=True)
    entries = fields.List(
        fields.Raw(allow_none=True),
        required=True,
        validate=validate.Length(max=MOST_ENTRIES, error=said("has too many entries", f"send at most {MOST_ENTRIES}")),
    )
    made_on = Id()


class ChangesIn(Schema):
    """From where, and how many."""

    class Meta:
        unknown = EXCLUDE

    after = Count(0, 2**53, load_default=0)
    epoch = Text(36)
    limit = Count(1, 5000, load_default=500)


def _current_app_only() -> None:
    """Tell an app that is too old to update. It keeps its outbox."""
    number = request.headers.get("Wayround-App", "")
    if re.fullmatch(r"[0-9]{1,9}", number) and int(number) < OLDEST_APP:
        fault = Fault("Wayround-App", f"is {number}, too old for this server", "update the app; what it holds is kept")
        raise Problem(426, "The app is too old", errors=[fault])


@blueprint.before_request
def _before() -> None:
    _current_app_only()


@blueprint.post("/sync/push")
@device_required
@blueprint.doc(requestBody={"required": True, "content": {"application/json": {"schema": BatchIn}}})
@blueprint.response(200, PushOut)
def push_entries() -> Response:
    """Store entries durably; a result for each, in the order sent."""
    sent = _push_body()
    received = now_ms()
    made_on = sent.get("made_on")
    device = _maker(made_on) if made_on else g.device.id
    via = g.device.id if made_on and made_on != g.device.id else None
    done = push(Delivery(device, _sent_ms(sent["sent_at"]), received, via), sent["entries"])
    results = [_result(result) for result in done.results]
    return jsonify({"results": results, "head": done.head, "gaps": done.gaps})


def _push_body() -> dict[str, Any]:
    try:
        return dict(PushIn().load(read_json("entries", "send the batch in halves")))
    except ValidationError as error:
        raise Problem(422, "The batch cannot be used", errors=faults_of(error)) from None


def _sent_ms(text: str) -> int:
    try:
        return parse_instant(text)
    except InstantError as error:
        raise Problem(422, "The batch cannot be used", errors=[Fault("sent_at", error.problem, error.mend)]) from None


def _maker(device: str) -> str:
    if db.session.get(Device, device) is None:
        fault = Fault("made_on", "is no device of this shop", "leave it out, or name the device that made the entries")
        raise Problem(422, "The batch cannot be used", errors=[fault])
    return device


def _result(result: Result) -> dict[str, Any]:
    # What was sent as the id and is no text names nothing; the results stand in the order sent.
    row: dict[str, Any] = {"id": result.id if isinstance(result.id, str) else None, "outcome": result.outcome}
    if result.position is not None:
        row["position"] = result.position
    if result.faults:
        detail = "; ".join(f"{f.field} {f.problem}: {f.mend}" for f in result.faults)
        errors = [fault.to_dict() for fault in result.faults]
        row["problem"] = {"title": "The entry was refused", "status": 422, "detail": detail, "errors": errors}
    return row


def _json(page: pull.Page) -> Response:
    return Response(page.text, content_type="application/json")


@blueprint.get("/sync/changes")
@device_required
@blueprint.arguments(ChangesIn, location="query")
@blueprint.response(200, ChangesOut)
def changes(asked: dict[str, Any]) -> Response:
    """What came after a position: entries, definitions and the state they left."""
    try:
        return _json(pull.changes(db.session(), g.device.id, asked["after"], asked["limit"], asked.get("epoch")))
    except pull.Gone:
        fault = Fault("after", "is no position of this record", "fetch the snapshot, and send again what it lacks")
        raise Problem(410, "The record was brought back from a backup", errors=[fault]) from None


@blueprint.get("/sync/snapshot")
@device_required
@blueprint.response(200, SnapshotOut)
def snapshot() -> Response:
    """Everything a new phone needs."""
    return _json(pull.snapshot(db.session(), g.device.id, now_ms()))


def _photo_name(sha256: str) -> str:
    if not re.fullmatch(r"[0-9a-f]{64}", sha256):
        raise Problem(
            422,
            "No photo's name",
            errors=[Fault("sha256", "is no SHA-256", "send 64 hex digits in lower case")],
        )
    return sha256


@blueprint.put("/photos/<sha256>")
@device_required
@blueprint.doc(requestBody={"required": True, "content": {kind: {"schema": _BYTES} for kind in _PHOTO_TYPES}})
@blueprint.response(204)
def put_photo(sha256: str) -> None:
    """Keep a photo under the hash of its bytes; repeating is harmless."""
    name = _photo_name(sha256)
    if (request.content_length or 0) > LARGEST_BYTES:
        fault = Fault("photo", "is too large", f"send at most {LARGEST_BYTES} bytes")
        raise Problem(413, "Too large", errors=[fault])
    current_app.extensions["wayround_photos"].put(name, request.get_data())


@blueprint.get("/photos/<sha256>")
@device_required
@blueprint.response(200, _BYTES, content_type="image/jpeg")
def get_photo(sha256: str) -> Response:
    """The photo as JPEG."""
    kept = current_app.extensions["wayround_photos"].get(_photo_name(sha256))
    if kept is None:
        raise Problem(404, "No such photo", errors=[Fault("sha256", "is not here yet", "it may still be on its phone")])
    response = Response(kept, content_type="image/jpeg")
    response.headers["Cache-Control"] = "private, max-age=31536000, immutable"
    response.set_etag(hashlib.sha256(kept).hexdigest())
    return response
