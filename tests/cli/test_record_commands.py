"""verify and refold end with 0 only when the record and the state are whole."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from tests.cli.conftest import Run
from tests.conftest import Shop


@pytest.fixture
def filled(shop: Shop) -> Path:
    """A shop with a few entries; its data folder."""
    shop.push(shop.added(2.5), shop.note(), shop.added(1.0))
    return Path(shop.app.config["WAYROUND"].data)


def alter(folder: Path, statement: str) -> None:
    """Do to the database what nobody should."""
    with closing(sqlite3.connect(folder / "wayround.sqlite3")) as database:
        assert database.execute(statement).rowcount >= 1
        database.commit()


def test_a_whole_record_is_said_to_be_whole(run: Run, filled: Path) -> None:
    verified = run("verify", data=filled)
    assert verified.exit_code == 0 and "every link" in verified.stdout
    with closing(sqlite3.connect(filled / "wayround.sqlite3")) as database:
        chain = database.execute("SELECT chain FROM entry ORDER BY position DESC").fetchone()[0]
    assert verified.stdout.strip().endswith(chain)
    assert run("refold", "--check", data=filled).exit_code == 0


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE entry SET document = replace(document, 'a note', 'a lie')",
        "DELETE FROM entry WHERE position = (SELECT max(position) - 1 FROM entry)",
        "DELETE FROM entry WHERE position = (SELECT max(position) FROM entry)",
        "UPDATE entry SET person = 'someone else' WHERE kind = 'note.made'",
        "UPDATE record_head SET position = position + 1",
    ],
)
def test_any_alteration_is_found(run: Run, filled: Path, statement: str) -> None:
    alter(filled, statement)
    verified = run("verify", data=filled)
    assert verified.exit_code == 1 and "not whole" in verified.stderr


def test_a_wrong_state_is_found_and_mended(run: Run, filled: Path) -> None:
    alter(filled, "UPDATE state SET body = replace(body, '3.5', '9.5')")
    assert run("refold", "--check", data=filled).exit_code == 1
    mended = run("refold", data=filled)
    assert mended.exit_code == 0 and "1 stored states differed" in mended.stdout
    assert run("refold", "--check", data=filled).exit_code == 0
