"""Signing in and out: who this browser is, the first set-up, joining by code, the owner's password."""

from __future__ import annotations

from typing import Any

from flask import Response, g, jsonify, request
from marshmallow import Schema, fields, validate

from webapp.api.bodies import Blueprint
from webapp.config import current
from webapp.database import db, writing
from webapp.records.faults import said
from webapp.records.fields import Text
from webapp.security import devices, passwords, signing_in
from webapp.security.access import device_required, open_to_all, owner_required
from webapp.security.devices import COOKIE, Caller
from webapp.setup import definitions

blueprint = Blueprint("session", __name__, url_prefix="/api/v1", description="Signing in and out")

# Browsers keep a cookie 400 days at most; each start of the app asks for the session and renews it.
COOKIE_LASTS = 400 * 24 * 3600
_LONG_ENOUGH = validate.Length(
    min=passwords.SHORTEST,
    error=said("is too short", f"choose at least {passwords.SHORTEST} characters; a few words are easiest"),
)


class DeviceOut(Schema):
    """The device that asks."""

    id = fields.String()
    name = fields.String()


class SessionOut(Schema):
    """Who the server takes this browser for."""

    first_run = fields.Boolean()
    signed_in = fields.Boolean()
    owner = fields.Boolean()
    device = fields.Nested(DeviceOut, allow_none=True)
    shop = fields.String(allow_none=True)
    demo = fields.Boolean()


class FirstIn(Schema):
    """A new shop and its owner; `shop` and `owner` as in the definitions."""

    code = Text(40, required=True)
    shop = fields.Dict(required=True)
    owner = fields.Dict(required=True)
    password = Text(passwords.LONGEST, required=True, validate=_LONG_ENOUGH)
    device_name = Text(devices.LONGEST_NAME, required=True)


class OwnerIn(Schema):
    """The owner's password; the name is for a browser that is not enrolled yet."""

    password = Text(passwords.LONGEST, required=True)
    device_name = Text(devices.LONGEST_NAME, load_default="Owner's browser")


class JoinIn(Schema):
    """A one-time code and what the device is to be called."""

    code = Text(40, required=True)
    device_name = Text(devices.LONGEST_NAME, required=True)


def _entrant(device_name: str) -> signing_in.Entrant:
    return signing_in.Entrant(request.remote_addr or "unknown", device_name, g.device)


def _session(caller: Caller | None) -> dict[str, Any]:
    """The session of a caller. A stranger learns whether there is a shop, not what it is called."""
    shops = definitions.list_all(db.session(), "shop")
    return {
        "first_run": not shops,
        "signed_in": caller is not None,
        "owner": caller is not None and caller.owner,
        "device": caller and {"id": caller.id, "name": caller.name},
        "shop": shops[0]["name"] if shops and caller else None,
        "demo": current().demo,
    }


def _answer(token: str | None) -> Response:
    """The session as it is now, with the cookie when this browser carries a token."""
    if token is None and g.device and g.device.by_cookie:
        token = request.cookies[COOKIE]
    caller = devices.by_token(token, by_cookie=True) if token else devices.authenticate(request)
    response = jsonify(_session(caller))
    if token:
        _keep_cookie(response, token)
    return response


def _keep_cookie(response: Response, token: str) -> None:
    secure = current().secure_cookies
    response.set_cookie(COOKIE, token, max_age=COOKIE_LASTS, httponly=True, samesite="Strict", secure=secure, path="/")


@blueprint.get("/session")
@open_to_all
@blueprint.response(200, SessionOut)
def get_session() -> Response:
    """Who this browser is, and whether a shop is set up."""
    return _answer(None)


@blueprint.post("/session/first")
@open_to_all
@blueprint.arguments(FirstIn)
@blueprint.response(200, SessionOut)
def set_up(sent: dict[str, Any]) -> Response:
    """Set the shop up with the code from the server's terminal; this browser is the owner's."""
    who = _entrant(sent.pop("device_name"))
    return _answer(signing_in.set_up(who, **sent))


@blueprint.post("/session/owner")
@open_to_all
@blueprint.arguments(OwnerIn)
@blueprint.response(200, SessionOut)
def sign_in_owner(sent: dict[str, Any]) -> Response:
    """The owner signs in on this device, for twelve hours from the last use."""
    return _answer(signing_in.sign_in_owner(_entrant(sent["device_name"]), sent["password"]))


@blueprint.delete("/session/owner")
@owner_required
@blueprint.response(204)
def sign_out_owner() -> None:
    """The owner signs out; the device stays."""
    with writing() as session:
        devices.let_owner_out(session, g.device.id)


@blueprint.post("/session/join")
@open_to_all
@blueprint.arguments(JoinIn)
@blueprint.response(200, SessionOut)
def join(sent: dict[str, str]) -> Response:
    """Enrol this browser with a one-time code from the owner."""
    return _answer(signing_in.join(_entrant(sent["device_name"]), sent["code"]))


@blueprint.delete("/session")
@device_required
@blueprint.response(204)
def leave() -> Response:
    """This device leaves the shop; it needs a new code to come back."""
    with writing() as session:
        devices.revoke(session, g.device.id)
    response = Response(status=204)
    response.delete_cookie(COOKIE, path="/", httponly=True, samesite="Strict", secure=current().secure_cookies)
    return response
