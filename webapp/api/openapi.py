"""How the API describes itself: our fields, our one shape of error, and who may call what."""

from __future__ import annotations

import http
from typing import Any

from flask import Flask, Response, jsonify
from flask_smorest import Api
from marshmallow import Schema, fields
from werkzeug.exceptions import HTTPException

from webapp.api.problems import http_answer
from webapp.records.fields import Amounts, Day, Flag, Id, Moment, Number, PhotoHash, Text, Whole
from webapp.security.access import access_of
from webapp.security.devices import COOKIE
from webapp.setup.definitions import TYPES

UUID = "^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$"
SHA256 = "^[0-9a-f]{64}$"
PROBLEM = "application/problem+json"

# What stands in the places of an address, by the name of the place.
PLACES: dict[str, dict[str, Any]] = {
    "type_": {"type": "string", "enum": list(TYPES)},
    "id_": {"type": "string", "pattern": UUID},
    "device_id": {"type": "string", "pattern": UUID},
    "sha256": {"type": "string", "pattern": SHA256},
    "token": {"type": "string", "pattern": "^[A-Za-z0-9_-]{43}$"},
    "key": {"type": "string", "pattern": "^[a-z0-9_]+$"},
    "what": {"type": "string", "enum": ["machines", "tasks"]},
}
WAYS_IN = {
    "token": {"type": "http", "scheme": "bearer", "description": "a device's token, for scripts"},
    "cookie": {"type": "apiKey", "in": "cookie", "name": COOKIE, "description": "a device's token, for browsers"},
}


class FaultOut(Schema):
    """One thing wrong: which field, what with it, how to mend it."""

    field = fields.String(required=True)
    problem = fields.String(required=True)
    mend = fields.String(required=True)


class ProblemOut(Schema):
    """A problem document (RFC 9457)."""

    type = fields.String(required=True)
    title = fields.String(required=True)
    status = fields.Integer(required=True)
    detail = fields.String(required=True)
    errors = fields.List(fields.Nested(FaultOut), required=True)
    now = fields.Dict(metadata={"description": "of a clash: the definition as it is now"})


class OurApi(Api):
    """flask-smorest's Api with our error shape and our description."""

    ERROR_SCHEMA = ProblemOut

    def handle_http_exception(self, error: HTTPException) -> Response:  # type: ignore[override]
        return http_answer(error)

    def _init_spec(self, **options: Any) -> None:
        super()._init_spec(**options)
        self.ma_plugin.converter.add_attribute_function(_describe)

    def _register_responses(self) -> None:
        for name, phrase in [
            ("DEFAULT_ERROR", "What went wrong"),
            *((one.name, one.phrase) for one in http.HTTPStatus),
        ]:
            answer = {"description": phrase, "content": {PROBLEM: {"schema": self.ERROR_SCHEMA}}}
            self.spec.components.response(name, answer, lazy=True)

    def _openapi_json(self) -> Response:
        return jsonify(description(self._app, self.spec.to_dict()))


def description(app: Flask, document: dict[str, Any]) -> dict[str, Any]:
    """The document with what the views do not say themselves: places of addresses, and who may call."""
    document.setdefault("components", {})["securitySchemes"] = WAYS_IN
    document["security"] = [{name: []} for name in WAYS_IN]
    for rule in app.url_map.iter_rules():
        path = document["paths"].get(rule.rule.replace("<", "{").replace(">", "}"))
        for method in (rule.methods or set()) if path else ():
            operation = path.get(method.lower(), {})
            if operation and access_of(app, rule.endpoint, method) == "open":
                operation["security"] = []
        for place in (path or {}).get("parameters", ()):
            place["schema"] = PLACES[place["name"]]
    return document


def _describe(_converter: Any, field: fields.Field[Any], ret: dict[str, Any], **_: Any) -> dict[str, Any]:
    """Our fields as JSON Schema; the first that fits. Null is told where it is allowed."""
    told = next((tell(field) for kind, tell in _TELLERS if isinstance(field, kind)), {})
    if told and field.allow_none:
        told["type"] = [told["type"], "null"]
        if "enum" in ret and None not in ret["enum"]:
            told["enum"] = [*ret["enum"], None]
    return told


def _number(field: Number) -> dict[str, Any]:
    limits = {"minimum": field.low, "exclusiveMinimum": field.above, "maximum": field.high}
    kind = "integer" if isinstance(field, Whole) else "number"
    return {"type": kind, **{name: limit for name, limit in limits.items() if limit is not None}}


def _text(field: Text) -> dict[str, Any]:
    return {"type": "string", "maxLength": field.longest} | ({} if field.blank else {"pattern": "\\S"})


_TELLERS: list[tuple[type, Any]] = [
    (Amounts, lambda field: {"type": "object", "propertyNames": {"pattern": UUID}}),
    (Id, lambda field: {"type": "string", "pattern": UUID}),
    (Day, lambda field: {"type": "string", "format": "date"}),
    (Moment, lambda field: {"type": "string", "format": "date-time"}),
    (PhotoHash, lambda field: {"type": "string", "pattern": SHA256}),
    (Flag, lambda field: {"type": "boolean"}),
    (Number, _number),
    (Text, _text),
]
