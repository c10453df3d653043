"""A process that freezes in the middle of a transaction, on PostgreSQL, where another would wait for it."""

from __future__ import annotations

import pytest
from flask import Flask
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

from webapp.database import FROZEN_AFTER, db

pytestmark = pytest.mark.postgres


def test_its_connection_is_ended_after_a_while(postgres_app: Flask) -> None:
    """PostgreSQL 15, 20.11.1: the server ends a session that lies idle in a transaction for longer."""
    assert db.session.execute(text("SHOW idle_in_transaction_session_timeout")).scalar() == FROZEN_AFTER
    db.session.rollback()
    with db.engine.connect() as frozen:
        frozen.execute(text("SET LOCAL idle_in_transaction_session_timeout = '100ms'"))
        with db.engine.begin() as other:
            other.execute(text("SELECT pg_sleep(1)"))
        with pytest.raises(DBAPIError, match="idle-in-transaction"):
            frozen.execute(text("SELECT 1"))
        frozen.invalidate()
