"""Backup and restore: what is written can be read, and nothing is replaced before it is proven."""

from __future__ import annotations

import io
import json
import os
import sqlite3
import stat
import threading
import zipfile
from contextlib import closing
from hashlib import sha256
from pathlib import Path

import pytest
from PIL import Image

from tests.cli.conftest import Run
from tests.conftest import Shop
from webapp.cli.lock import hold
from webapp.reminders.channels.encryption import KEY_FILE, public_bytes, server_key
from webapp.security import certificates


@pytest.fixture
def filled(shop: Shop) -> Path:
    """A shop with entries and a photo; its data folder."""
    picture = io.BytesIO()
    Image.new("RGB", (8, 8), "teal").save(picture, "PNG")
    name = sha256(picture.getvalue()).hexdigest()
    put = shop.app.test_client().put(f"/api/v1/photos/{name}", data=picture.getvalue(), headers=shop.headers())
    assert put.status_code == 204, put.text
    shop.push(shop.added(2.5), shop.note())
    return Path(shop.app.config["WAYROUND"].data)


@pytest.fixture
def saved(run: Run, filled: Path, tmp_path: Path) -> Path:
    """A backup of that shop."""
    file = tmp_path / "shop.zip"
    result = run("backup", file, data=filled)
    assert result.exit_code == 0, result.output
    return file


def tables(folder: Path) -> dict[str, list[tuple[object, ...]]]:
    """Everything in the database."""
    with closing(sqlite3.connect(folder / "wayround.sqlite3")) as database:
        names = [row[0] for row in database.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        return {name: sorted(map(tuple, database.execute(f"SELECT * FROM {name}")), key=repr) for name in names}


def rewrite(file: Path, change: dict[str, bytes | None], manifest: dict[str, object] | None = None) -> None:
    """The same zip with parts changed, added or (None) left out."""
    with zipfile.ZipFile(file) as zipped:
        parts: dict[str, bytes | None] = {name: zipped.read(name) for name in zipped.namelist()}
    parts |= change
    if manifest:
        parts["manifest.json"] = json.dumps(json.loads(parts["manifest.json"] or b"") | manifest).encode()
    with zipfile.ZipFile(file, "w") as zipped:
        for name, content in parts.items():
            if content is not None:
                zipped.writestr(name, content)


def test_what_comes_back_is_what_was_saved(run: Run, filled: Path, saved: Path, folder: Path) -> None:
    restored = run("restore", saved)
    assert restored.exit_code == 0, restored.output
    before, after = tables(filled), tables(folder)
    assert before.pop("record_head")[0][:-1] == after.pop("record_head")[0][:-1]  # all but the epoch
    assert after == before
    photos = {path.name: path.read_bytes() for path in (filled / "photos").rglob("*.jpg")}
    assert len(photos) == 1
    assert {path.name: path.read_bytes() for path in (folder / "photos").rglob("*.jpg")} == photos
    assert run("verify").exit_code == 0
    assert run("refold", "--check").exit_code == 0
    assert not (folder / "restoring").exists()


def test_a_restored_record_is_of_another_epoch(run: Run, shop: Shop, filled: Path, saved: Path) -> None:
    epoch = tables(filled)["record_head"][0][-1]
    assert run("restore", saved, "--replace", data=filled).exit_code == 0
    assert tables(filled)["record_head"][0][-1] != epoch


def test_the_manifest_holds_the_hash_of_every_part(saved: Path) -> None:
    with zipfile.ZipFile(saved) as zipped:
        manifest = json.loads(zipped.read("manifest.json"))
        for name, about in manifest["files"].items():
            assert sha256(zipped.read(name)).hexdigest() == about["sha256"]
        assert set(zipped.namelist()) == {*manifest["files"], "manifest.json"}
    assert stat.S_IMODE(saved.stat().st_mode) == 0o600


def test_a_backup_is_one_moment_while_the_shop_goes_on(run: Run, shop: Shop, tmp_path: Path, folder: Path) -> None:
    stop, failed = threading.Event(), []

    def work() -> None:
        while not stop.is_set():
            response = shop.push(shop.added(0.5), shop.added(0.5))
            failed.extend(row for row in response.get_json()["results"] if row["outcome"] != "stored")

    worker = threading.Thread(target=work)
    worker.start()
    try:
        saved = [run("backup", tmp_path / f"{n}.zip", data=shop.app.config["WAYROUND"].data) for n in range(3)]
    finally:
        stop.set()
        worker.join()
    assert not failed and [result.exit_code for result in saved] == [0, 0, 0]
    assert run("restore", tmp_path / "2.zip").exit_code == 0
    assert run("verify").exit_code == 0


def test_a_shop_is_never_overwritten_unasked(run: Run, filled: Path, saved: Path) -> None:
    before = tables(filled)
    refused = run("restore", saved, data=filled)
    assert refused.exit_code == 1 and "--replace" in refused.stderr
    assert tables(filled) == before


def test_a_replaced_shop_is_moved_aside(run: Run, shop: Shop, filled: Path, saved: Path) -> None:
    shop.push(shop.note("after the backup"))
    later = tables(filled)
    replaced = run("restore", saved, "--replace", data=filled)
    assert replaced.exit_code == 0, replaced.output
    (aside,) = filled.glob("before-restore-*")
    assert str(aside) in replaced.stdout and tables(aside) == later
    assert b"after the backup" not in (filled / "wayround.sqlite3").read_bytes()


def test_nothing_is_restored_under_a_running_server(run: Run, filled: Path, saved: Path) -> None:
    with hold(filled):
        refused = run("restore", saved, "--replace", data=filled)
    assert refused.exit_code == 1 and "Stop the server" in refused.stderr


def test_a_damaged_backup_restores_nothing(run: Run, saved: Path, folder: Path) -> None:
    content = bytearray(saved.read_bytes())
    content[len(content) // 3] ^= 0xFF
    saved.write_bytes(content)
    assert run("restore", saved).exit_code == 1
    assert not (folder / "wayround.sqlite3").exists()


@pytest.mark.parametrize(
    ("change", "manifest", "told"),
    [
        ({"wayround.sqlite3": b"other"}, None, "not what it was"),
        ({"wayround.sqlite3": None}, None, "not what its manifest lists"),
        ({"manifest.json": None}, None, "no manifest"),
        ({"manifest.json": b"[]"}, None, "no manifest"),
        ({"extra.txt": b"x"}, None, "not what its manifest lists"),
        ({}, {"format": 3}, "newer Wayround"),
        ({"../evil": b"x"}, {"files": {"../evil": {}, "wayround.sqlite3": {}}}, "not what its manifest lists"),
    ],
)
def test_a_file_that_is_no_backup_is_refused_with_the_reason(
    run: Run, saved: Path, folder: Path, change: dict[str, bytes | None], manifest: dict[str, object], told: str
) -> None:
    rewrite(saved, change, manifest)
    refused = run("restore", saved)
    assert refused.exit_code == 1 and told in refused.stderr
    assert not (folder / "wayround.sqlite3").exists()


def test_a_record_that_was_altered_before_the_backup_is_not_restored(
    run: Run, filled: Path, folder: Path, tmp_path: Path
) -> None:
    with closing(sqlite3.connect(filled / "wayround.sqlite3")) as database:
        database.execute("UPDATE entry SET document = replace(document, 'a note', 'a lie')")
        database.commit()
    assert run("backup", tmp_path / "lie.zip", data=filled).exit_code == 0
    refused = run("restore", tmp_path / "lie.zip")
    assert refused.exit_code == 1 and "not whole" in refused.stderr
    assert not (folder / "wayround.sqlite3").exists()


def test_a_backup_of_a_newer_version_is_refused(run: Run, filled: Path, folder: Path, tmp_path: Path) -> None:
    with closing(sqlite3.connect(filled / "wayround.sqlite3")) as database:
        database.execute("UPDATE alembic_version SET version_num = '9999'")
        database.commit()
    assert run("backup", tmp_path / "newer.zip", data=filled).exit_code == 0
    refused = run("restore", tmp_path / "newer.zip")
    assert refused.exit_code == 1 and "newer Wayround" in refused.stderr
    assert not (folder / "wayround.sqlite3").exists()


def test_certificates_go_along_only_when_asked(
    run: Run, filled: Path, saved: Path, folder: Path, tmp_path: Path
) -> None:
    authority = certificates.ensure(filled, ["localhost"]).files.authority.read_bytes()
    with zipfile.ZipFile(saved) as zipped:
        assert not [name for name in zipped.namelist() if name.startswith("certificates/")]
    assert run("backup", tmp_path / "all.zip", "--with-certificates", data=filled).exit_code == 0
    without = run("restore", saved)
    assert without.exit_code == 0 and "install the new ca.crt" in without.stdout
    whole = run("restore", tmp_path / "all.zip", "--replace")
    assert whole.exit_code == 0 and "ca.crt" not in whole.stdout
    back = certificates.ensure(folder, ["localhost"])
    assert not back.renewed and back.files.authority.read_bytes() == authority


def test_browsers_that_take_push_are_reached_after_a_restore(
    run: Run, filled: Path, folder: Path, tmp_path: Path
) -> None:
    key = public_bytes(server_key(filled).public_key())
    assert run("backup", tmp_path / "all.zip", data=filled).exit_code == 0
    restored = run("restore", tmp_path / "all.zip")
    assert restored.exit_code == 0 and "off and on again" not in restored.output
    assert public_bytes(server_key(folder).public_key()) == key
    if os.name != "nt":
        assert stat.S_IMODE((folder / KEY_FILE).stat().st_mode) == 0o600
    (folder / KEY_FILE).unlink()
    other = public_bytes(server_key(folder).public_key())
    replaced = run("restore", tmp_path / "all.zip", "--replace")
    assert replaced.exit_code == 0 and public_bytes(server_key(folder).public_key()) == key
    (aside,) = folder.glob("before-restore-*")
    assert public_bytes(server_key(aside).public_key()) == other


def test_a_restore_without_the_key_says_which_browsers_must_sign_up_anew(
    run: Run, filled: Path, tmp_path: Path
) -> None:
    """As a backup of format 1 was, which had no key in it."""
    with closing(sqlite3.connect(filled / "wayround.sqlite3")) as database:
        row = ("s", "d", "p", "https://push.example/1", "x", "y", 0)
        database.execute("INSERT INTO push_subscription VALUES (?, ?, ?, ?, ?, ?, ?)", row)
        database.commit()
    assert run("backup", tmp_path / "old.zip", data=filled).exit_code == 0
    restored = run("restore", tmp_path / "old.zip")
    assert restored.exit_code == 0 and "1 browser took push" in restored.output, restored.output
    assert "off and on again" in restored.output


def test_a_backup_that_cannot_be_written_leaves_the_old_one(run: Run, filled: Path, saved: Path) -> None:
    before = saved.read_bytes()
    (filled / "wayround.sqlite3").write_bytes(b"SQLite format 3\0" + b"\xff" * 5000)
    failed = run("backup", saved, data=filled)
    assert failed.exit_code == 1
    assert saved.read_bytes() == before
    assert [path.name for path in saved.parent.glob(".*")] == []


def test_a_backup_into_a_missing_folder_is_said(run: Run, filled: Path, tmp_path: Path) -> None:
    failed = run("backup", tmp_path / "no" / "where.zip", data=filled)
    assert failed.exit_code == 1 and "cannot be written" in failed.stderr
