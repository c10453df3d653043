"""Tokens and names from the terminal."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.conftest import Run
from tests.conftest import set_up
from webapp import create_app
from webapp.config import Settings
from webapp.core.instants import instant_text
from webapp.database import db
from webapp.security import passwords
from webapp.setup.ids import new_id, now_ms


def test_a_token_made_on_an_empty_folder_pushes_an_entry(run: Run, folder: Path) -> None:
    person = run("person", "add", "Ada Quill").stdout.splitlines()[-1]
    added = run("device", "add", "bench script")
    assert added.exit_code == 0
    token = added.stdout.splitlines()[-1]
    body = {"text": "by script"}
    entry = {"id": new_id(), "kind": "note.made", "machine": None, "by": person, "seq": 1, "body": body}
    entry["at"] = instant_text(now_ms())
    client = create_app(Settings(data=folder, plain=True)).test_client()
    headers = {"Authorization": f"Bearer {token}"}
    pushed = client.post("/api/v1/sync/push", json={"sent_at": entry["at"], "entries": [entry]}, headers=headers)
    assert [row["outcome"] for row in pushed.get_json()["results"]] == ["stored"], pushed.text


def test_a_device_is_listed_until_it_is_revoked(run: Run) -> None:
    run("device", "add", "bench script")
    (line,) = run("device", "list").stdout.splitlines()
    id_, kind, *_ = line.split()
    assert kind == "script" and line.endswith("bench script") and "never used" in line
    assert run("device", "revoke", id_).exit_code == 0
    assert run("device", "list").stdout == ""
    again = run("device", "revoke", id_)
    assert again.exit_code == 1 and id_ in again.stderr


@pytest.mark.parametrize("name", ["", "  ", "x" * 81])
def test_a_device_needs_a_name(run: Run, name: str) -> None:
    assert run("device", "add", name).exit_code == 2


def test_a_person_has_initials_and_an_id_on_the_last_line(run: Run) -> None:
    added = run("person", "add", "Ben Okoro", "--initials", "BOK")
    id_ = added.stdout.splitlines()[-1]
    listed = run("person", "list").stdout.split()
    assert added.exit_code == 0 and listed == [id_, "BOK", "member", "Ben", "Okoro"]


def test_a_person_that_cannot_be_is_refused_with_the_mend(run: Run) -> None:
    refused = run("person", "add", "Ben Okoro", "--initials", "TOOLONG")
    assert refused.exit_code == 1 and "initials" in refused.stderr
    assert run("person", "list").stdout == ""


@pytest.mark.parametrize("command", [("device", "list"), ("person", "list"), ("verify",), ("refold",)])
def test_a_folder_without_a_shop_is_said_and_stays_untouched(run: Run, folder: Path, command: tuple[str, ...]) -> None:
    result = run(*command)
    assert result.exit_code == 1 and str(folder) in result.stderr
    assert not folder.exists()


def test_a_lost_password_is_set_anew(run: Run, folder: Path) -> None:
    assert run("person", "add", "nobody yet").exit_code == 0
    assert run("owner", "password", "--password", "three plain words").exit_code == 1
    app = create_app(Settings(data=folder, plain=True))
    shop = set_up(app)
    assert run("owner", "password", "--password", "too short").exit_code == 2
    assert run("owner", "password", "--password", "three plain words").exit_code == 0
    with app.app_context():
        assert passwords.owner_by_password(db.session(), "three plain words") == shop.owner


def test_a_wrong_setting_ends_a_command_by_name(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("WAYROUND_PORT", "many")
    result = run("device", "list")
    assert result.exit_code == 2 and "WAYROUND_PORT" in result.stderr
