"""Alembic's environment: runs inside the app, so the database is the one the app is set to."""

from __future__ import annotations

from alembic import context
from flask import current_app
from sqlalchemy import text

from webapp.database import Base

engine = current_app.extensions["migrate"].db.engine


def run() -> None:
    """Migrate in one transaction; PostgreSQL gives up soon rather than hold the shop's writes."""
    with engine.connect() as connection:
        if connection.dialect.name == "postgresql":
            connection.execute(text("SET lock_timeout = '5s'"))
            connection.execute(text("SET statement_timeout = '120s'"))
            connection.commit()
        context.configure(
            connection=connection,
            target_metadata=Base.metadata,
            render_as_batch=connection.dialect.name == "sqlite",
            compare_type=True,
        )
        with context.begin_transaction():
            context.run_migrations()


run()
