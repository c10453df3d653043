"""`wayround doctor`: what is wrong with this installation and how to mend it. It changes nothing."""

from __future__ import annotations

import os
import shutil
import sqlite3
import sys
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

import click
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import create_engine, func, inspect, select, text
from sqlalchemy.engine import Connection
from sqlalchemy.exc import SQLAlchemyError

from webapp.cli.archive import Unusable, sqlite_file
from webapp.cli.common import data_option, database_exists
from webapp.config import SettingError, Settings, known_variables
from webapp.paths import front_end_folder, migrations_folder
from webapp.reminders.models import ScheduledJob
from webapp.security import certificates
from webapp.security.models import Device

OLDEST_PYTHON = (3, 11)
LEAST_FREE_BYTES = 200 * 1024 * 1024
# No record of this program is older than the program: a clock before this day is wrong.
EARLIEST = datetime(2026, 1, 1, tzinfo=UTC)
SET_CLOCK = "Set this machine's clock, best from the network: entries are judged by it."
CLOCK_LEEWAY = timedelta(minutes=5)
AUTHORITY_WARNING = timedelta(days=365)
LATEST_JOB = timedelta(minutes=10)


@dataclass(frozen=True)
class Finding:
    """One thing looked at. `mend` says what to do about it; empty when nothing is wrong."""

    subject: str
    state: str
    mend: str = ""


@click.command()
@data_option
def doctor(data: Path | None) -> None:
    """Look for what is wrong here; list the settings. Ends with 1 when something must be mended."""
    try:
        settings = Settings.from_environment()
    except SettingError as error:
        raise click.ClickException(str(error)) from None
    settings = settings if data is None else settings.with_data(data)
    findings = [finding for look in LOOKS for finding in look(settings)]
    for finding in findings:
        click.echo(f"{'WRONG' if finding.mend else 'ok   '}  {finding.subject}: {finding.state}")
        if finding.mend:
            click.echo(f"       {finding.mend}")
    _list_settings(settings)
    wrong = sum(bool(finding.mend) for finding in findings)
    if wrong:
        raise click.ClickException(f"{wrong} of {len(findings)} things must be mended.")
    click.echo("Nothing wrong was found.")


def _list_settings(settings: Settings) -> None:
    click.echo("Settings (environment variables):")
    for variable, (name, help_text) in known_variables().items():
        value = getattr(settings, name)
        shown = ", ".join(value) if isinstance(value, tuple) else "" if value is None else str(value)
        if name in ("database", "smtp_password") and value:
            shown = "set (it may hold a password, so it is not shown)"
        origin = "set" if os.environ.get(variable, "").strip() else "default"
        click.echo(f"  {variable} = {shown or '-'}  [{origin}] {help_text}")


def _python(_settings: Settings) -> list[Finding]:
    running = ".".join(map(str, sys.version_info[:3]))
    old = sys.version_info < OLDEST_PYTHON
    return [Finding("Python", running, "Install Python 3.11 or newer." if old else "")]


def _clock(_settings: Settings) -> list[Finding]:
    now = datetime.now(UTC)
    return [Finding("Clock", f"{now:%Y-%m-%d %H:%M:%S} UTC", SET_CLOCK if now < EARLIEST else "")]


def _folder(settings: Settings) -> list[Finding]:
    folder = settings.data
    if not folder.exists():
        above = next(parent for parent in folder.parents if parent.exists())
        mend = "" if os.access(above, os.W_OK) else f"Make it, or give this user the right to write {above}."
        return [Finding("Data folder", f"{folder} is made by the first `wayround serve`", mend)]
    if not folder.is_dir() or not os.access(folder, os.W_OK | os.X_OK):
        return [Finding("Data folder", f"{folder} cannot be written", "Give this user the right to write it.")]
    free = shutil.disk_usage(folder).free
    mend = "Make room on this disk: a full disk stops every phone's sync." if free < LEAST_FREE_BYTES else ""
    return [Finding("Data folder", f"{folder}, {free // 2**20} MiB free", mend)]


def _database(settings: Settings) -> list[Finding]:
    if not database_exists(settings):
        return [Finding("Database", "none yet; the first `wayround serve` makes it")]
    try:
        engine = create_engine(settings.database_url)
        with engine.connect() as connection:
            connection.execute(text("SELECT 1"))
            current = MigrationContext.configure(connection).get_current_revision()
            last_use = _last_use(connection) if current else None
            jobs = _jobs(connection) if inspect(connection).has_table(ScheduledJob.__tablename__) else []
        engine.dispose()
    except (SQLAlchemyError, ImportError) as error:
        state = f"does not answer ({type(error).__name__})"
        return [Finding("Database", state, "Check WAYROUND_DATABASE, and that its server runs.")]
    return [Finding("Database", "answers"), *_integrity(settings), _migrations(current), *_gone_back(last_use), *jobs]


def _last_use(connection: Connection) -> str | None:
    """When a device was last seen, by this machine's clock as it then was."""
    last: str | None = connection.execute(select(func.max(Device.last_seen_at))).scalar()
    return last


def _jobs(connection: Connection) -> list[Finding]:
    """Each job of the scheduler: its next run, and how its last one ended."""
    found = []
    for row in connection.execute(select(ScheduledJob.__table__).order_by(ScheduledJob.name)):
        when = f"next {_moment(row.next_ms)}, last {_moment(row.ended_ms)}"
        state = f"{when}. {row.said}".rstrip(". ") if row.said else when
        mend = (
            f"It has failed since {_moment(row.failed_ms)}. What it said tells what to mend." if row.failed_ms else ""
        )
        late = row.next_ms is not None and row.next_ms < (datetime.now(UTC) - LATEST_JOB).timestamp() * 1000
        state += "; it waits for `wayround serve`, which runs it once" if late else ""
        found.append(Finding(f"Job, {row.name}", state, mend))
    return found


def _moment(ms: int | None) -> str:
    return "never" if ms is None else f"{datetime.fromtimestamp(ms / 1000, UTC):%Y-%m-%d %H:%M} UTC"


def _gone_back(last_use: str | None) -> list[Finding]:
    """A clock that shows less than it once did was wrong then, or is now."""
    if last_use is None or last_use <= f"{datetime.now(UTC) + CLOCK_LEEWAY:%Y-%m-%dT%H:%M:%S}":
        return []
    return [Finding("Clock", f"a device was last seen at {last_use}, which is still to come", SET_CLOCK)]


def _integrity(settings: Settings) -> list[Finding]:
    try:
        file = sqlite_file(settings)
    except Unusable:
        return []  # a database server looks after its own files
    try:
        with closing(sqlite3.connect(f"{file.absolute().as_uri()}?mode=ro", uri=True)) as database:
            state = str(database.execute("PRAGMA quick_check").fetchone()[0])
    except sqlite3.DatabaseError as error:
        state = str(error)
    return [Finding("Database file", state, "" if state == "ok" else "Restore the last good backup.")]


def _migrations(current: str | None) -> Finding:
    config = Config()
    config.set_main_option("script_location", str(migrations_folder()))
    newest = ScriptDirectory.from_config(config).get_current_head()
    mend = "" if current == newest else "Start `wayround serve` once: it brings the tables up to date."
    return Finding("Tables", f"at {current or 'nothing'}, newest {newest}", mend)


def _front_end(_settings: Settings) -> list[Finding]:
    page = front_end_folder() / "index.html"
    if page.exists():
        return [Finding("Front end", "built")]
    return [Finding("Front end", "not built", "Install with pip, or run `npm ci && npm run build` in static/.")]


def _certificates(settings: Settings) -> list[Finding]:
    files = certificates.files_in(settings.data)
    if settings.plain or not files.authority.exists():
        return [Finding("Certificates", "none needed" if settings.plain else "made by the first `wayround serve`")]
    try:
        authority, server = certificates.load(files.authority), certificates.load(files.server)
    except (OSError, ValueError) as error:
        mend = f"Delete {files.folder}, start `wayround serve`, install the new ca.crt on every phone."
        return [Finding("Certificates", f"cannot be read ({type(error).__name__})", mend)]
    return [_authority(authority.not_valid_after_utc), _server(server.not_valid_after_utc), *_keys(files)]


def _authority(ends: datetime) -> Finding:
    soon = ends - AUTHORITY_WARNING < datetime.now(UTC)
    mend = "A new one is made when it ends: plan to install it on every phone." if soon else ""
    return Finding("Certificate authority", f"until {ends:%Y-%m-%d}", mend)


def _server(ends: datetime) -> Finding:
    over = ends < datetime.now(UTC)
    mend = "Start `wayround serve` again: it makes a new one." if over else ""
    return Finding("Server certificate", f"until {ends:%Y-%m-%d}", mend)


def _keys(files: certificates.Files) -> list[Finding]:
    if os.name == "nt":
        return []
    open_to_others = [
        key.name for key in (files.authority_key, files.server_key) if key.exists() and key.stat().st_mode & 0o077
    ]
    mend = f"Run chmod 600 on {', '.join(open_to_others)} in {files.folder}." if open_to_others else ""
    return [Finding("Keys", "readable by others" if open_to_others else "readable by this user only", mend)]


LOOKS: tuple[Callable[[Settings], list[Finding]], ...] = (
    _python,
    _clock,
    _folder,
    _database,
    _front_end,
    _certificates,
)
