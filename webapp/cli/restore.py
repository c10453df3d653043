"""`wayround restore`: the shop back from a backup file, proven before anything is replaced."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from dataclasses import replace as changed
from datetime import UTC, datetime
from pathlib import Path
from uuid import uuid4

import click
import fsspec

from webapp.cli import archive
from webapp.cli.common import NewerDatabase, opened, prepare_folder, with_settings
from webapp.cli.lock import FolderLocked, hold
from webapp.config import DATABASE_FILE, Settings
from webapp.database import db, writing
from webapp.records.append import head
from webapp.records.verify import Verdict, verify
from webapp.reminders.channels.encryption import KEY_FILE
from webapp.reminders.models import Subscription
from webapp.security.certificates import files_in


@click.command()
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--replace", is_flag=True, help="Replace the shop that is there; it is moved aside, not deleted.")
@with_settings
def restore(file: Path, replace: bool, settings: Settings) -> None:
    """Bring back the shop from FILE. Its hashes, its database and the record's chain are checked first."""
    prepare_folder(settings.data)
    try:
        with hold(settings.data):
            verdict, aside = _restore(file, replace, settings)
            unreached = _unreached(settings)
    except FolderLocked:
        raise click.ClickException(f"{settings.data} is being served. Stop the server first.") from None
    except archive.Unusable as error:
        raise click.ClickException(str(error)) from None
    if aside:
        click.echo(f"What was there before is in {aside}")
    click.echo(f"Restored to {settings.data}: {verdict.entries} entries, every link of the chain holds.")
    if not settings.plain and not files_in(settings.data).authority.exists():
        click.echo(
            "No certificates came with it: `wayround serve` makes new ones, and every phone must install the new "
            "ca.crt. A backup made --with-certificates spares that."
        )
    if unreached:
        who = "1 browser" if unreached == 1 else f"{unreached} browsers"
        click.echo(
            f"{who} took push reminders, but the backup is without the key that they know the server by: on each, "
            "switch reminders off and on again in Set-up."
        )


def _unreached(settings: Settings) -> int:
    """How many browsers are signed up for push with a key that is nowhere any more."""
    if (settings.data / KEY_FILE).exists():
        return 0
    with closing(sqlite3.connect(archive.sqlite_file(settings))) as database:
        return int(database.execute(f"SELECT count(*) FROM {Subscription.__tablename__}").fetchone()[0])  # noqa: S608


def _restore(file: Path, replace: bool, settings: Settings) -> tuple[Verdict, Path | None]:
    target = archive.sqlite_file(settings)
    if target.exists() and not replace:
        raise archive.Unusable(f"There is a shop in {settings.data}. Say --replace to move it aside.")
    archive.check(file)
    staging = settings.data / "restoring"
    shutil.rmtree(staging, ignore_errors=True)
    staging.mkdir(mode=0o700)
    try:
        archive.unpack(file, staging)
        verdict = _proven(staging, settings)
        _bring_photos(staging / "photos", settings.photos_url)
        aside = _set_aside(target, settings.data) if target.exists() else None
        _bring_certificates(staging, settings.data, aside)
        _bring_push_key(staging / KEY_FILE, settings.data / KEY_FILE, aside)
        (staging / DATABASE_FILE).replace(target)
    finally:
        shutil.rmtree(staging, ignore_errors=True)
    return verdict, aside


def _proven(staging: Path, settings: Settings) -> Verdict:
    """Bring the unpacked database up to this version, verify its record and give it an epoch of its own, by which
    devices see that what they sent since the backup is gone. Raises Unusable."""
    try:
        with opened(changed(settings, data=staging, database="", photos="")):
            verdict = verify(db.session())
            with writing() as session:
                head(session, lock=True).epoch = str(uuid4())
            db.session.remove()
            db.engine.dispose()
    except NewerDatabase:
        raise archive.Unusable("The backup was made by a newer Wayround. Install that version first.") from None
    if not verdict.whole:
        raise archive.Unusable("The record in the backup is not whole: " + "; ".join(verdict.wrong[:5]))
    with closing(sqlite3.connect(staging / DATABASE_FILE)) as database:
        database.execute("PRAGMA journal_mode=DELETE")  # so that moving the one file moves everything
    return verdict


def _bring_photos(folder: Path, url: str) -> None:
    """Photos are named by their content, so those that are there already are the same."""
    fs, root = fsspec.core.url_to_fs(url)
    for path in sorted(folder.glob("*/*.jpg")):
        there = f"{root}/{path.parent.name}/{path.name}"
        if not fs.exists(there):
            fs.makedirs(f"{root}/{path.parent.name}", exist_ok=True)
            fs.put_file(str(path), there)


def _set_aside(database: Path, data: Path) -> Path:
    """Move the present database, with what SQLite keeps beside it, out of the way."""
    aside = data / f"before-restore-{datetime.now(UTC):%Y%m%dT%H%M%SZ}"
    aside.mkdir(mode=0o700)
    for path in (database, *(database.with_name(database.name + end) for end in ("-wal", "-shm"))):
        if path.exists():
            path.replace(aside / path.name)
    return aside


def _bring_certificates(staging: Path, data: Path, aside: Path | None) -> None:
    """Only a backup made with them has certificates; they replace those of a shop that is replaced."""
    brought, present = files_in(staging).folder, files_in(data).folder
    if not brought.exists():
        return
    if present.exists():
        if aside is None:
            return
        present.replace(aside / present.name)
    brought.replace(present)


def _bring_push_key(brought: Path, present: Path, aside: Path | None) -> None:
    """The key goes with the subscriptions that are bound to it; one that is there is moved aside, not deleted."""
    if not brought.exists():
        return
    if present.exists() and aside is not None:
        present.replace(aside / present.name)
    brought.replace(present)
