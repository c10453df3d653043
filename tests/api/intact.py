"""What must be the same after anything that was refused: the record, its chain, the state, set-up, and who may in."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from flask import Flask
from sqlalchemy import select

from webapp.database import Base, db
from webapp.records.verify import verify
from webapp.security.models import Device
from webapp.setup import definitions

# What a refused request may leave behind: its own payload, that its device was seen and which of its numbers came,
# and that somebody guessed.
MAY_CHANGE = {"quarantine", "device", "guess"}


def picture(app: Flask) -> dict[str, list[tuple[Any, ...]]]:
    """Every row of every table that nothing refused may touch."""
    with app.app_context():
        tables = [table for table in Base.metadata.sorted_tables if table.name not in MAY_CHANGE]
        found = {table.name: sorted(map(tuple, db.session.execute(select(table))), key=repr) for table in tables}
        who = select(Device.id, Device.name, Device.token_hash, Device.kind, Device.person, Device.revoked_at)
        found["who may in"] = sorted(map(tuple, db.session.execute(who)), key=repr)
        db.session.rollback()
    assert found["entry"] and found["state"] and found["definition"]
    return found


def assert_sound(app: Flask) -> None:
    """The chain verifies, the state is what a full refold gives (`verify` looks), and set-up is what the chain covers."""
    with app.app_context():
        session = db.session()
        assert verify(session).whole
        assert definitions.faults(session) == []
        session.rollback()


@contextmanager
def unchanged(app: Flask) -> Iterator[None]:
    """Nothing already stored changes in here."""
    before = picture(app)
    yield
    after = picture(app)
    assert after == before, [name for name, rows in before.items() if rows != after[name]]
