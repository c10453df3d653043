"""Upkeep on the wire: one document for the whole shop, which phones keep for when there is no signal."""

from __future__ import annotations

from flask import Response, jsonify, request

from webapp.api.bodies import Blueprint
from webapp.database import db
from webapp.security.access import device_required
from webapp.setup.ids import now_ms
from webapp.upkeep.document import document, version

blueprint = Blueprint("upkeep", __name__, url_prefix="/api/v1", description="What is ahead, and what it rests on")


@blueprint.get("/upkeep")
@device_required
@blueprint.response(200, {"type": "object"})
@blueprint.alt_response(304, description="Not changed since the ETag named")
def upkeep() -> Response:
    """When tasks fall due, how meters run, what to do together, parts, fluids and the work of the weeks ahead.

    The ETag changes with every entry and with the shop's date; what is asked for again unchanged is 304.
    """
    session, now = db.session(), now_ms()
    tag = version(session, now)
    response = Response(status=304) if request.if_none_match.contains_weak(tag) else jsonify(document(session, now))
    response.set_etag(tag, weak=True)
    response.headers["Cache-Control"] = "private, no-cache"
    return response
