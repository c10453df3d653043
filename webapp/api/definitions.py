"""Set-up on the wire: definitions with revisions, and the starter library."""

from __future__ import annotations

import re
from dataclasses import asdict
from typing import Any

from flask import Response, g, jsonify, request
from marshmallow import Schema

from webapp import library
from webapp.api.bodies import Blueprint, read_object
from webapp.api.problems import Problem
from webapp.api.wire import ANY_BODY, ANY_ROW, ROWS, Revision, Starter
from webapp.database import db, writing
from webapp.records.faults import Fault
from webapp.records.fields import Id, Text, is_uuid
from webapp.security.access import device_required, owner_required
from webapp.setup import definitions
from webapp.setup.standing import stand

blueprint = Blueprint("definitions", __name__, url_prefix="/api/v1", description="What people define")

_DEFINITION = {"required": True, "content": {"application/json": {"schema": ANY_BODY}}}
IF_MATCH = {
    "in": "header",
    "name": "If-Match",
    "required": True,
    "schema": {"type": "string", "pattern": '^"[0-9]{1,9}"$'},
}


class StandIn(Schema):
    """How the machine is called and where it stands."""

    name = Text(80, required=True)
    bay = Id(allow_none=True, load_default=None)


def _type(type_: str) -> str:
    if type_ not in definitions.TYPES:
        fault = Fault("type", f"is «{type_}»", f"use one of: {', '.join(definitions.TYPES)}")
        raise Problem(404, "No such type", errors=[fault])
    return type_


def _found(type_: str, id_: str) -> dict[str, Any]:
    row = definitions.get(db.session(), _type(type_), id_) if is_uuid(id_) else None
    if row is None:
        raise Problem(404, "Not set up", errors=[Fault("id", f"is no {type_} of this shop", "sync, then try again")])
    return row


def tagged(row: dict[str, Any], status: int = 200) -> Response:
    """A definition; its ETag is its revision."""
    response = jsonify(row)
    response.status_code = status
    response.set_etag(str(row["revision"]))
    return response


def _body() -> dict[str, Any]:
    sent = read_object()
    return {key: value for key, value in sent.items() if key not in ("id", "revision", "retired", "dates", "type")}


def read_revision() -> int:
    """The revision that the request was made from, by its If-Match."""
    tag = request.headers.get("If-Match", "").strip()
    number = tag.removeprefix("W/").strip('"').removesuffix(":gzip")  # compressing marks the tag of what it sends
    if not re.fullmatch(r"[0-9]{1,9}", number):
        problem = f"is «{tag}», no revision" if tag else "is missing"
        fault = Fault("If-Match", problem, "send the revision that you read, as the ETag gave it")
        raise Problem(428, "Say which revision you read", errors=[fault])
    return int(number)


@blueprint.get("/definitions/<type_>")
@device_required
@blueprint.response(200, {"type": "array", "items": ANY_ROW})
def list_definitions(type_: str) -> Response:
    """Every definition of a type, retired ones too."""
    return jsonify(definitions.list_all(db.session(), _type(type_)))


@blueprint.post("/definitions/<type_>")
@owner_required
@blueprint.doc(requestBody=_DEFINITION)
@blueprint.response(201, ANY_ROW)
def create_definition(type_: str) -> Response:
    """Define something new."""
    with writing() as session:
        row = definitions.create(session, _type(type_), _body(), g.device.person)
    return tagged(row, 201)


@blueprint.get("/definitions/<type_>/<id_>")
@device_required
@blueprint.response(200, ANY_ROW)
def get_definition(type_: str, id_: str) -> Response:
    """One definition; its ETag is its revision."""
    return tagged(_found(type_, id_))


@blueprint.put("/definitions/<type_>/<id_>")
@owner_required
@blueprint.doc(requestBody=_DEFINITION, parameters=[IF_MATCH])
@blueprint.response(200, ANY_ROW)
def put_definition(type_: str, id_: str) -> Response:
    """Edit what was read at the revision named by If-Match; `retired` takes it out of use."""
    now = _found(type_, id_)
    retired = read_object().get("retired", now["retired"])
    if not isinstance(retired, bool):
        raise Problem(422, "Cannot be used", errors=[Fault("retired", "is no truth value", "send true or false")])
    read = read_revision()
    with writing() as session:
        row = definitions.update(session, type_, id_, _body(), read, g.device.person, retired=retired)
    return tagged(row)


@blueprint.get("/definitions/<type_>/<id_>/revisions")
@device_required
@blueprint.response(200, Revision(many=True))
def get_revisions(type_: str, id_: str) -> Response:
    """Every revision, newest first."""
    _found(type_, id_)
    return jsonify(definitions.revisions(db.session(), id_))


@blueprint.get("/library/machines")
@device_required
@blueprint.response(200, Starter(many=True))
def list_starters() -> Response:
    """The machines of the starter library."""
    return jsonify([asdict(starter) for starter in library.starters()])


@blueprint.post("/library/machines/<key>/stand")
@owner_required
@blueprint.arguments(StandIn)
@blueprint.response(201, ROWS["machine"])
def stand_machine(sent: dict[str, Any], key: str) -> Response:
    """Set up a machine of the starter library with its checklists, tasks and items, in one go."""
    if key not in {starter.key for starter in library.starters()}:
        raise Problem(404, "Not in the library", errors=[Fault("key", f"is «{key}»", "choose a machine of the list")])
    with writing() as session:
        row = stand(session, key, sent["name"], sent["bay"], g.device.person)
    return tagged(row, 201)
