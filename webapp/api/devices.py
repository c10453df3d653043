"""The owner's list of devices, and one-time codes for further ones."""

from __future__ import annotations

from typing import Any

import segno
from flask import g, request
from marshmallow import Schema, fields

from webapp.api.bodies import Blueprint
from webapp.api.problems import Problem
from webapp.config import current
from webapp.database import db, writing
from webapp.records.faults import Fault
from webapp.records.fields import is_uuid
from webapp.security import addresses, codes, devices
from webapp.security.access import owner_required

blueprint = Blueprint("devices", __name__, url_prefix="/api/v1", description="Phones, browsers and scripts")


class DeviceRow(Schema):
    """A device that may come in. `seq_missing`: numbers of its entries that never came."""

    id = fields.String()
    name = fields.String()
    kind = fields.String()
    person = fields.String(allow_none=True)
    created_at = fields.String()
    last_seen_at = fields.String(allow_none=True)
    owner_until = fields.String(allow_none=True)
    seq_missing = fields.List(fields.List(fields.Integer()))
    this = fields.Function(lambda row: row.id == g.device.id, metadata={"type": "boolean"})


class CodeOut(Schema):
    """A one-time code, the address it opens, and that address as a QR code."""

    code = fields.String()
    url = fields.String()
    qr = fields.String()
    expires_at = fields.String()


@blueprint.get("/devices")
@owner_required
@blueprint.response(200, DeviceRow(many=True))
def list_devices() -> list[Any]:
    """Every device that may come in, the oldest first."""
    return list(devices.listed(db.session()))


@blueprint.post("/devices/codes")
@owner_required
@blueprint.response(201, CodeOut)
def make_code() -> dict[str, str]:
    """A code that lets one browser join within ten minutes."""
    with writing() as session:
        code = codes.make_code(session, "join")
    base = addresses.base_for_others(current(), request.scheme, request.host)
    url = f"{base}/#/join?code={code.text}"
    return {"code": code.text, "url": url, "qr": qr_code(url), "expires_at": code.expires_at}


@blueprint.delete("/devices/<device_id>")
@owner_required
@blueprint.response(204)
def revoke_device(device_id: str) -> None:
    """Close a device out; what it has sent stays in the record."""
    with writing() as session:
        if not is_uuid(device_id) or not devices.revoke(session, device_id):
            fault = Fault("id", "is no device that may come in", "fetch the list again")
            raise Problem(404, "No such device", errors=[fault])


def qr_code(text: str) -> str:
    """A text as a QR code (ISO/IEC 18004): SVG, black on white with its quiet zone, at any theme."""
    return str(segno.make(text, error="m", micro=False).svg_inline(border=4, omitsize=True, light="#fff"))
