"""The database: one SQLAlchemy handle, SQLite's pragmas, and `writing()`, the unit of work."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from flask import Flask
from flask_migrate import Migrate
from flask_sqlalchemy import SQLAlchemy
from sqlalchemy import event
from sqlalchemy.engine import Connection, Engine
from sqlalchemy.orm import DeclarativeBase, Session

from webapp.paths import migrations_folder


class Base(DeclarativeBase):
    """Base of every table."""


db = SQLAlchemy(model_class=Base, disable_autonaming=True)
migrate = Migrate()

_WRITE = "wayround_write"
FROZEN_AFTER = "5min"
"""How long a transaction on PostgreSQL may lie idle before the server ends its connection."""


def init_app(app: Flask) -> None:
    """Bind the database and its migrations to the app."""
    db.init_app(app)
    migrate.init_app(app, db, directory=str(migrations_folder()))
    with app.app_context():
        _prepare(db.engine)


def _prepare(engine: Engine) -> None:
    """Teach the database's driver what we need of it."""
    (_prepare_sqlite if engine.dialect.name == "sqlite" else _prepare_postgresql)(engine)


def _prepare_postgresql(engine: Engine) -> None:
    """A process that freezes within a transaction holds the others up, but not for ever."""

    @event.listens_for(engine, "connect")
    def _limits(raw: Any, _record: Any) -> None:
        with raw.cursor() as cursor:  # which every driver has
            cursor.execute(f"SET idle_in_transaction_session_timeout = '{FROZEN_AFTER}'")
        raw.commit()


def _prepare_sqlite(engine: Engine) -> None:
    """Its pragmas and transactions."""

    @event.listens_for(engine, "connect")
    def _pragmas(raw: Any, _record: Any) -> None:
        raw.isolation_level = None  # the driver would otherwise begin (deferred) by itself
        for pragma in ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON", "busy_timeout=20000"):
            raw.execute(f"PRAGMA {pragma}")

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        # A read that turns into a write ignores the busy timeout, so a write says so at once.
        writes = connection.get_execution_options().get(_WRITE, False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


@contextmanager
def writing() -> Iterator[Session]:
    """One write transaction: commits when the block ends, rolls everything back when it raises.

    Whatever the session read before is dropped first, so a writer never acts on an old picture.
    """
    session = db.session()
    session.rollback()
    session.connection(execution_options={_WRITE: True})
    try:
        yield session
        session.commit()
    except BaseException:
        session.rollback()
        raise
