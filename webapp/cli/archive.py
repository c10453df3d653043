"""The backup file: a zip of the database, the photos, the key that web push knows this server by and, if asked, the
certificates, with their hashes."""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
import sqlite3
import tempfile
import zipfile
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any

import fsspec
from sqlalchemy.engine import make_url

from webapp.cli.version import own_version
from webapp.config import DATABASE_FILE, Settings
from webapp.core.instants import instant_text
from webapp.reminders.channels.encryption import KEY_FILE
from webapp.security.certificates import files_in
from webapp.setup.ids import now_ms

FORMAT = 2
"""1: without the key for web push."""
MANIFEST = "manifest.json"
_ALLOWED = re.compile(
    rf"{re.escape(DATABASE_FILE)}|{re.escape(KEY_FILE)}|photos/[0-9a-f]{{2}}/[0-9a-f]{{64}}\.jpg|certificates/(ca|server)\.(crt|key)"
)
_CHUNK = 1024 * 1024


class Unusable(Exception):
    """A backup that cannot be made or used, and why."""


@dataclass(frozen=True)
class Written:
    """What a backup holds."""

    files: int
    size: int


def write(settings: Settings, target: Path, *, with_certificates: bool) -> Written:
    """Write a backup and read it again. The target is replaced only by a whole one."""
    database = sqlite_file(settings)
    part = target.with_name(f".{target.name}.part")
    try:
        with tempfile.TemporaryDirectory(dir=target.parent, prefix=".wayround-backup-") as scratch:
            copy = Path(scratch) / DATABASE_FILE
            copy_database(database, copy)
            with _private(part) as raw, zipfile.ZipFile(raw, "w", zipfile.ZIP_DEFLATED) as zipped:
                _fill(zipped, settings, copy, with_certificates)
        files = check(part)
        part.replace(target)
    except OSError as error:
        raise Unusable(f"{target} cannot be written: {error.strerror or error}.") from None
    finally:
        part.unlink(missing_ok=True)
    return Written(len(files), target.stat().st_size)


def sqlite_file(settings: Settings) -> Path:
    """The database's file. Raises Unusable for a database server: it has its own tools for this."""
    url = make_url(settings.database_url)
    if url.get_backend_name() != "sqlite" or not url.database:
        raise Unusable(
            "The database is no SQLite file: use the tools of its server (pg_dump, pg_restore) for it, "
            f"and copy the photos from {settings.photos_url}."
        )
    return Path(url.database)


def copy_database(source: Path, target: Path) -> None:
    """SQLite's online backup: one moment of the database, writers go on meanwhile. The copy is checked."""
    live_url = f"{source.absolute().as_uri()}?mode=ro"
    try:
        with closing(sqlite3.connect(live_url, uri=True)) as live, closing(sqlite3.connect(target)) as copy:
            live.backup(copy)
            copy.execute("PRAGMA journal_mode=DELETE")  # one file, nothing beside it
            fault = copy.execute("PRAGMA integrity_check").fetchone()[0]
    except sqlite3.DatabaseError as error:
        fault = str(error)
    if fault != "ok":
        raise Unusable(f"The database is damaged ({fault}). Keep the last good backup and restore from it.")


def _fill(zipped: zipfile.ZipFile, settings: Settings, database: Path, with_certificates: bool) -> None:
    """Photos come after the database: every photo its entries name and the server had then is there still."""
    files = {DATABASE_FILE: _add(zipped, DATABASE_FILE, database.open("rb"))}
    for name, content in _photos(settings.photos_url):
        files[name] = _add(zipped, name, content, squeeze=False)
    if (settings.data / KEY_FILE).exists():
        # Every browser's subscription is bound to it: without it nobody is reminded until they sign up anew.
        files[KEY_FILE] = _add(zipped, KEY_FILE, (settings.data / KEY_FILE).open("rb"))
    folder = files_in(settings.data).folder
    if with_certificates and folder.exists():
        for path in sorted(folder.iterdir()):
            name = f"certificates/{path.name}"
            if _ALLOWED.fullmatch(name):
                files[name] = _add(zipped, name, path.open("rb"))
    manifest = {
        "format": FORMAT,
        "made_at": instant_text(now_ms()),
        "version": own_version(),
        "files": files,
    }
    zipped.writestr(MANIFEST, json.dumps(manifest, indent=1))


def _photos(url: str) -> Iterator[tuple[str, Any]]:
    fs, root = fsspec.core.url_to_fs(url)
    for path in sorted(fs.find(root)) if fs.exists(root) else []:
        name = "photos/" + "/".join(path.split("/")[-2:])
        if _ALLOWED.fullmatch(name):
            yield name, fs.open(path, "rb")


def _add(zipped: zipfile.ZipFile, name: str, content: IO[bytes], *, squeeze: bool = True) -> dict[str, Any]:
    about = zipfile.ZipInfo(name)
    about.compress_type = zipfile.ZIP_DEFLATED if squeeze else zipfile.ZIP_STORED
    about.external_attr = 0o600 << 16
    with content, zipped.open(about, "w", force_zip64=True) as target:
        return _copied(content, target)


def _copied(source: IO[bytes], target: IO[bytes] | None) -> dict[str, Any]:
    """Copy a stream (or only read it); its SHA-256 and size."""
    digest, size = hashlib.sha256(), 0
    while chunk := source.read(_CHUNK):
        digest.update(chunk)
        size += len(chunk)
        if target is not None:
            target.write(chunk)
    return {"sha256": digest.hexdigest(), "bytes": size}


def check(file: Path) -> dict[str, Any]:
    """Read a whole backup against its manifest. Returns the manifest's files; raises Unusable."""
    try:
        with zipfile.ZipFile(file) as zipped:
            files = _manifest(zipped)
            for name, wanted in files.items():
                with zipped.open(name) as content:
                    if _copied(content, None) != wanted:
                        raise Unusable(f"{file}: {name} is not what it was when the backup was made.")
            return files
    except (zipfile.BadZipFile, KeyError, EOFError) as error:
        raise Unusable(f"{file} is no whole backup of Wayround ({error}).") from None
    except OSError as error:
        raise Unusable(f"{file} cannot be read: {error.strerror or error}.") from None


def _manifest(zipped: zipfile.ZipFile) -> dict[str, Any]:
    try:
        manifest = json.loads(zipped.read(MANIFEST))
        files = dict(manifest["files"])
        known = 1 <= manifest["format"] <= FORMAT
    except (ValueError, TypeError, KeyError):
        raise Unusable("The file has no manifest of Wayround, so it is no backup of it.") from None
    if not known:
        raise Unusable("The backup was made by a newer Wayround. Install that version first.")
    strange = sorted(name for name in files if not _ALLOWED.fullmatch(name))
    if strange or DATABASE_FILE not in files or set(zipped.namelist()) != {*files, MANIFEST}:
        raise Unusable("What is in the file is not what its manifest lists.")
    return files


def unpack(file: Path, folder: Path) -> None:
    """Unpack a checked backup into an empty folder, its photos into `photos` there."""
    with zipfile.ZipFile(file) as zipped:
        for name in _manifest(zipped):
            target = folder / name
            target.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            with zipped.open(name) as source, _private(target) as out:
                shutil.copyfileobj(source, out, _CHUNK)


def _private(path: Path) -> IO[bytes]:
    """A new file that only this user can read."""
    path.unlink(missing_ok=True)
    return os.fdopen(os.open(path, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600), "w+b")
