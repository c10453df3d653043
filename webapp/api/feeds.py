"""How the machines that count themselves do: a feed that is silent must be seen."""

from __future__ import annotations

from typing import Any

from marshmallow import Schema, fields

from webapp.api.bodies import Blueprint
from webapp.database import db
from webapp.feeds.polling import standings
from webapp.records.fields import Id
from webapp.security.access import device_required

blueprint = Blueprint("feeds", __name__, url_prefix="/api/v1", description="Meters that machines count themselves")


class FeedRow(Schema):
    """A feed: which meter, when its agent last answered, what is wrong, and what it counted."""

    machine = Id(required=True)
    meter = Id(required=True)
    data_item = fields.String(required=True)
    seen_at = fields.String(required=True, allow_none=True)
    problem = fields.String(required=True, allow_none=True)
    counted_seconds = fields.Float(required=True)
    notes = fields.Dict(keys=fields.String(), values=fields.Integer(), required=True)


@blueprint.get("/feeds")
@device_required
@blueprint.response(200, FeedRow(many=True))
def feeds() -> list[dict[str, Any]]:
    """Every feed that is set up, and how it does."""
    return standings(db.session())
