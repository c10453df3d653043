"""The front end's files, and the health of the server."""

from __future__ import annotations

import mimetypes
from pathlib import Path

from flask import Blueprint, Response, jsonify, request, send_from_directory
from sqlalchemy import text
from werkzeug.security import safe_join

from webapp.database import db
from webapp.paths import front_end_folder
from webapp.security.access import open_to_all

blueprint = Blueprint("shell", __name__)

_UNBUILT = (
    "<!doctype html><title>Wayround</title><p>The front end is not built. "
    "Install Wayround with pip, or run <code>npm ci && npm run build</code> in static/.</p>"
)


@blueprint.get("/healthz")
@open_to_all
def health() -> Response:
    """200 when the database answers."""
    db.session.execute(text("SELECT 1"))
    return jsonify({"status": "ok"})


@blueprint.get("/")
@open_to_all
def index() -> Response:
    """The app's one page."""
    if not (front_end_folder() / "index.html").exists():
        return Response(_UNBUILT, status=503, content_type="text/html; charset=utf-8")
    return _file("index.html")


@blueprint.get("/<path:name>")
@open_to_all
def file(name: str) -> Response:
    """A file of the front end."""
    return _file(name)


def _is_file(path: str | None) -> bool:
    try:
        return path is not None and Path(path).is_file()
    except OSError:  # a name longer than the file system knows
        return False


_ENCODINGS = (("br", ".br"), ("gzip", ".gz"))


def _file(name: str) -> Response:
    """A file, compressed when the build made it so and the browser takes it."""
    folder = front_end_folder()
    for encoding, ending in _ENCODINGS:
        if encoding in request.accept_encodings and _is_file(safe_join(str(folder), name + ending)):
            response = send_from_directory(folder, name + ending, mimetype=mimetypes.guess_type(name)[0])
            response.headers["Content-Encoding"] = encoding
            break
    else:
        response = send_from_directory(folder, name)
    response.headers["Vary"] = "Accept-Encoding"
    hashed = name.startswith("assets/")
    # The worker and the page must always be asked for anew; a hashed file never changes.
    response.headers["Cache-Control"] = "public, max-age=31536000, immutable" if hashed else "no-cache"
    return response
