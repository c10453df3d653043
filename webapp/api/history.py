"""History on the wire: one document for a span of days, which phones keep for when there is no signal."""

from __future__ import annotations

from datetime import date
from typing import Any

from flask import Response, request
from marshmallow import EXCLUDE, Schema

from webapp.api.bodies import Blueprint
from webapp.core.instants import shop_date
from webapp.database import db
from webapp.history.document import text, version
from webapp.history.span import asked_for
from webapp.records.fields import Day
from webapp.security.access import device_required
from webapp.setup.definitions import shop_zone
from webapp.setup.ids import now_ms

blueprint = Blueprint("history", __name__, url_prefix="/api/v1", description="What has been, reckoned from the record")


class HistoryIn(Schema):
    """Which days of the shop, both included; without them the last 53 weeks."""

    class Meta:
        unknown = EXCLUDE

    first = Day(data_key="from")
    last = Day(data_key="to")


@blueprint.get("/history")
@device_required
@blueprint.arguments(HistoryIn, location="query")
@blueprint.response(200, {"type": "object"})
@blueprint.alt_response(304, description="Not changed since the ETag named")
def history(asked: dict[str, Any]) -> Response:
    """Rounds done, late and missed by day, tasks on time, time spent and out of service, of 54 weeks at most.

    The ETag changes with every entry and with the shop's date; what is asked for again unchanged is 304.
    """
    session, now = db.session(), now_ms()
    zone = shop_zone(session)
    first, last = (date.fromisoformat(asked[key]) if key in asked else None for key in ("first", "last"))
    span = asked_for(first, last, shop_date(now, zone), zone, now)
    tag = version(session, span)
    known = request.if_none_match.contains_weak(tag)
    response = Response(status=304) if known else Response(text(session, span), mimetype="application/json")
    response.set_etag(tag, weak=True)
    response.headers["Cache-Control"] = "private, no-cache"
    return response
