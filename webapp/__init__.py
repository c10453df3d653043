"""Wayround: create_app(), the one place where the parts are wired together.

The parts are imported inside it, so that `webapp.core` can be used without Flask or a database.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from flask import Flask

    from webapp.config import Settings


def create_app(settings: Settings | None = None) -> Flask:
    """The application over one shop's data folder."""
    from flask import Flask
    from flask_compress import Compress

    from webapp import database, security
    from webapp.api import problems
    from webapp.config import Settings
    from webapp.feeds import models as _feed_models  # noqa: F401  (the migrations must know every table)
    from webapp.reminders import models  # noqa: F401
    from webapp.reports.jobs import Jobs
    from webapp.sync.photos import PhotoStore

    settings = settings or Settings.from_environment()
    settings.data.mkdir(parents=True, exist_ok=True)
    app = Flask(__name__, static_folder=None)
    app.config.update(
        SQLALCHEMY_DATABASE_URI=settings.database_url,
        MAX_CONTENT_LENGTH=settings.max_body,
        MAX_FORM_MEMORY_SIZE=settings.max_body,
        API_TITLE="Wayround",
        API_VERSION="1",
        OPENAPI_VERSION="3.1.0",
        OPENAPI_URL_PREFIX="/api/v1",
        OPENAPI_JSON_PATH="openapi.json",
        # Fast before small: a snapshot shrinks tenfold either way, and the shop's computer may be slow.
        COMPRESS_ALGORITHM=["gzip"],
        COMPRESS_LEVEL=3,
        COMPRESS_MIN_SIZE=1000,
        COMPRESS_MIMETYPES=["application/json", "application/problem+json"],
        WAYROUND=settings,
    )
    database.init_app(app)
    app.extensions["wayround_photos"] = PhotoStore(settings.photos_url)
    app.extensions["wayround_papers"] = Jobs(settings.data)
    Compress(app)
    security.init_app(app)
    problems.init_app(app)
    _register(app)
    return app


def _register(app: Flask) -> None:
    """Every blueprint there is."""
    from webapp.api import (
        cards,
        definitions,
        devices,
        feeds,
        history,
        records,
        reminders,
        reports,
        session,
        shell,
        sync,
        upkeep,
    )
    from webapp.api.openapi import OurApi

    api = OurApi(app)
    for module in (session, devices, sync, definitions, records, history, upkeep, feeds, cards, reminders, reports):
        api.register_blueprint(module.blueprint)
    app.register_blueprint(shell.blueprint)
