"""The library's cards on the wire: alloys, media, limits and rules, which phones keep for when there is no signal."""

from __future__ import annotations

import hashlib
import json
from functools import cache

from flask import Response, request

from webapp.api.bodies import Blueprint
from webapp.library.cards import cards
from webapp.security.access import device_required

blueprint = Blueprint("cards", __name__, url_prefix="/api/v1", description="What the library knows of metals and dust")


@cache
def _document() -> tuple[bytes, str]:
    """The cards as JSON, and their ETag: they change only with a release."""
    text = json.dumps(cards(), ensure_ascii=False, separators=(",", ":")).encode()
    return text, hashlib.sha256(text).hexdigest()[:32]


@blueprint.get("/library/cards")
@device_required
@blueprint.response(200, {"type": "object"})
@blueprint.alt_response(304, description="Not changed since the ETag named")
def library_cards() -> Response:
    """Every card of the library with its sources: alloys, media, exposure limits, hazard rules.

    The same for every shop; the ETag changes with a release, and what is asked for again unchanged is 304.
    """
    text, tag = _document()
    same = request.if_none_match.contains_weak(tag)
    response = Response(status=304) if same else Response(text, mimetype="application/json")
    response.set_etag(tag, weak=True)
    response.headers["Cache-Control"] = "private, no-cache"
    return response
