"""One shape for every error: RFC 9457 problem documents that name the field and say how to mend it."""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import Any

from flask import Flask, Response, current_app, request
from flask.json.provider import DefaultJSONProvider
from marshmallow import ValidationError
from sqlalchemy.exc import OperationalError
from werkzeug.exceptions import HTTPException

from webapp.records.faults import Fault, Refused, faults_of
from webapp.security.refusals import MustWait, SignInRefused
from webapp.setup.definitions import Clash

__all__ = ["Fault", "Problem", "answer", "http_answer", "init_app"]

_MENDS = {
    400: "send JSON of the shape the API describes",
    404: "check the address; what is asked for may never have been here",
    405: "use a method that this address takes",
    413: "send less at once",
    415: "send Content-Type: application/json",
    429: "wait, then try again",
}
_FIELDS = {404: "path", 405: "method", 413: "body", 415: "Content-Type"}


class Problem(Exception):
    """An error with its status and what is wrong, to be raised anywhere in a view."""

    def __init__(self, status: int, title: str, detail: str = "", errors: Iterable[Fault] = ()) -> None:
        super().__init__(title)
        self.status, self.title, self.detail, self.errors = status, title, detail, list(errors)


def document(status: int, title: str, detail: str = "", errors: Iterable[Fault] = (), **more: Any) -> dict[str, Any]:
    """The body of a problem document."""
    body: dict[str, Any] = {"type": "about:blank", "title": title, "status": status}
    body["detail"] = detail or "; ".join(f"{e.field} {e.problem}: {e.mend}" for e in errors) or title
    return body | {"errors": [error.to_dict() for error in errors]} | more


def answer(body: dict[str, Any]) -> Response:
    """A problem document as a response."""
    return Response(json.dumps(body), status=body["status"], content_type="application/problem+json")


def http_answer(error: HTTPException) -> Response:
    """Anything werkzeug, Flask or flask-smorest raises."""
    status = error.code or 500
    if status < 400:
        return Response(error.get_response())
    messages = getattr(error, "data", {}).get("messages")
    if messages:
        faults = faults_of(ValidationError(messages.get("json", messages.get("query", messages))))
        return answer(document(status, "Something sent cannot be used", errors=faults))
    mend = _MENDS.get(status, "try again; if it stays, look at the server's log")
    fault = Fault(_FIELDS.get(status, "request"), (error.description or error.name).rstrip("."), mend)
    response = answer(document(status, error.name, errors=[fault]))
    for name, value in error.get_headers():
        if name in ("Allow", "Retry-After"):
            response.headers[name] = value
    return response


class _Json(DefaultJSONProvider):
    """Writes JSON in the order the code gives."""

    sort_keys = False


def init_app(app: Flask) -> None:
    """Answer every error, expected or not, with a problem document; nothing internal leaks."""
    app.json = _Json(app)

    @app.errorhandler(Problem)
    def _problem(error: Problem) -> Response:
        return answer(document(error.status, error.title, error.detail, error.errors))

    @app.errorhandler(Refused)
    def _refused(error: Refused) -> Response:
        return answer(document(422, "Something sent cannot be used", errors=error.faults))

    @app.errorhandler(Clash)
    def _clash(error: Clash) -> Response:
        mend = "look at both side by side, then save again over what is there now"
        fault = Fault("If-Match", "names an older revision: somebody changed it since", mend)
        return answer(document(412, "Changed since it was read", errors=[fault], now=error.now))

    @app.errorhandler(SignInRefused)
    def _sign_in(error: SignInRefused) -> Response:
        fault = Fault(error.field, error.problem, error.mend)
        response = answer(document(error.status, error.title, errors=[fault]))
        if isinstance(error, MustWait):
            response.headers["Retry-After"] = str(error.seconds)
        if error.status == 401:
            response.headers["WWW-Authenticate"] = "Bearer"
        return response

    @app.errorhandler(OperationalError)
    def _database(error: OperationalError) -> Response:
        current_app.logger.error("database: %s", error)
        fault = Fault("request", "could not be stored just now", "send the same again: repeating is harmless")
        response = answer(document(503, "The database does not answer", errors=[fault]))
        response.headers["Retry-After"] = "5"
        return response

    @app.errorhandler(Exception)
    def _unexpected(error: Exception) -> Response:
        if isinstance(error, HTTPException):
            return http_answer(error)
        current_app.logger.exception("unexpected in %s %s", request.method, request.path)
        fault = Fault("request", "met a fault of the server", "try again; if it stays, look at the server's log")
        return answer(document(500, "A fault of the server", errors=[fault]))
