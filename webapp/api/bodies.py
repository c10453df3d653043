"""What comes in a request: JSON within reason, or a problem that names what is wrong with it."""

from __future__ import annotations

import json
from typing import Any, NoReturn

import flask_smorest
from flask import Request, request
from webargs.flaskparser import FlaskParser

from webapp.api.problems import Problem
from webapp.records.faults import Fault

LARGEST_JSON = 2 * 2**20
DEEPEST = 64
"""Levels of nesting; what phones and people send has six at most."""


def read_json(field: str = "body", mend: str = "send less at once") -> Any:
    """The JSON of the request (RFC 8259). Raises Problem: 413 too large (of `field`), 415 no JSON by its type,
    400 malformed."""
    if (request.content_length or 0) > LARGEST_JSON or len(request.get_data()) > LARGEST_JSON:
        raise Problem(413, "Too much at once", errors=[Fault(field, f"is more than {LARGEST_JSON} bytes", mend)])
    if not request.is_json:
        fault = Fault("Content-Type", f"is «{request.mimetype}»", "send Content-Type: application/json")
        raise Problem(415, "Not JSON", errors=[fault])
    try:
        value = json.loads(request.get_data().decode(), parse_constant=_no_number)
        _refuse_depths(value)
    except (ValueError, RecursionError) as error:
        fault = Fault("body", f"is no JSON: {_why(error)}", "send JSON (RFC 8259) of the shape the API describes")
        raise Problem(400, "Malformed JSON", errors=[fault]) from None
    return value


def read_object() -> dict[str, Any]:
    """The JSON object of the request. Raises Problem."""
    sent = read_json()
    if not isinstance(sent, dict):
        raise Problem(422, "Cannot be used", errors=[Fault("body", "is no object", "send a JSON object")])
    return sent


def _no_number(name: str) -> NoReturn:
    raise ValueError(f"{name} is no number of JSON")


def _refuse_depths(value: Any) -> None:
    """What is nested beyond reason would end the server's own recursions far from here."""
    level = [value]
    for _ in range(DEEPEST):
        inner = (node.values() if isinstance(node, dict) else node for node in level if isinstance(node, dict | list))
        level = [node for nodes in inner for node in nodes]
        if not level:
            return
    raise RecursionError


def _why(error: ValueError | RecursionError) -> str:
    if isinstance(error, json.JSONDecodeError):
        return f"{error.msg}, line {error.lineno}, column {error.colno}"
    if isinstance(error, UnicodeDecodeError):
        return f"byte {error.start} is no UTF-8"
    return "it is nested too deep" if isinstance(error, RecursionError) else str(error)


class _Arguments(FlaskParser):
    """Reads bodies as everything else here does."""

    def _raw_load_json(self, req: Request) -> Any:
        return read_json()


class Blueprint(flask_smorest.Blueprint):
    """A blueprint whose arguments are read, and refused, in our way."""

    ARGUMENTS_PARSER = _Arguments()
