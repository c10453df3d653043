"""`wayround export`: papers to print, and the record in files that other programs read."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

import click

from webapp.cli.common import opened, require_shop, with_settings
from webapp.config import Settings
from webapp.database import db
from webapp.records.faults import Refused
from webapp.reports.binder import write_binder
from webapp.reports.entries import span_of
from webapp.reports.finding import machines_named
from webapp.reports.record_lines import write_record
from webapp.reports.tables import write_tables
from webapp.setup.ids import now_ms

_FILE = click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
_OPTIONS = {"first": "--from", "from": "--from", "to": "--to", "machines": "--machine", "machine": "--machine"}


@click.group("export")
def export() -> None:
    """Write papers and files from the record."""


@contextmanager
def _told() -> Iterator[None]:
    """What cannot be used ends the command, each fault under the option's own name."""
    try:
        yield
    except Refused as refused:
        lines = [f"{_OPTIONS.get(f.field, f.field)} {f.problem}: {f.mend}" for f in refused.faults]
        raise click.ClickException("\n".join(lines)) from None
    finally:
        db.session.remove()


@contextmanager
def written(file: Path) -> Iterator[IO[bytes]]:
    """The file, put in its place only when it is whole."""
    part = file.with_name(f".{file.name}.part")
    try:
        with part.open("wb") as out:
            yield out
        part.replace(file)
    except OSError as error:
        raise click.ClickException(f"{file} cannot be written: {error.strerror or error}.") from None
    finally:
        part.unlink(missing_ok=True)


@export.command()
@_FILE
@click.option("--from", "first", metavar="DATE", help="First day, YYYY-MM-DD. Default: the record's first.")
@click.option("--to", "last", metavar="DATE", help="Last day. Default: today.")
@click.option("--machine", "machines", multiple=True, metavar="NAME", help="Only this machine; may be repeated.")
@with_settings
def binder(file: Path, first: str | None, last: str | None, machines: tuple[str, ...], settings: Settings) -> None:
    """Print the records binder of a span of days to FILE, a PDF."""
    with opened(settings), _told():
        session, now = db.session(), now_ms()
        require_shop(session)
        chosen = machines_named(session, machines)
        span = span_of(session, first, last, now)
        with written(file) as out, click.progressbar(length=100, label=f"Binder, {span}") as bar:
            made = write_binder(
                session, out, span, now, machines=chosen, progress=lambda percent, what: bar.update(percent - bar.pos)
            )
            bar.update(100 - bar.pos)
    click.echo(f"{file}: {made.pages} pages, {made.entries} entries; the chain stood at {made.position}, {made.chain}")


@export.command()
@_FILE
@with_settings
def record(file: Path, settings: Settings) -> None:
    """Write the whole record to FILE as JSON Lines, with its chain and every revision of set-up.

    Anybody can check such a file with the short program in the guide for contributors. Photos, devices and passwords
    are not in it: `wayround backup` has photos too, `wayround import record` brings the file back.
    """
    with opened(settings), _told():
        require_shop(db.session())
        with written(file) as out, click.progressbar(length=100, label="Record") as bar:
            made = write_record(db.session(), out, now_ms(), lambda percent: bar.update(percent - bar.pos))
            bar.update(100 - bar.pos)
    click.echo(f"{file}: {made.entries} entries. The chain ends in {made.chain}")


@export.command()
@_FILE
@click.option("--from", "first", metavar="DATE", help="First day, YYYY-MM-DD. Default: the record's first.")
@click.option("--to", "last", metavar="DATE", help="Last day. Default: today.")
@with_settings
def entries(file: Path, first: str | None, last: str | None, settings: Settings) -> None:
    """Write the entries of a span of days to FILE, a zip with a CSV file for each kind."""
    with opened(settings), _told():
        session = db.session()
        require_shop(session)
        span = span_of(session, first, last, now_ms())
        with written(file) as out, click.progressbar(length=100, label=f"Entries, {span}") as bar:
            counts = write_tables(session, out, span, lambda percent: bar.update(percent - bar.pos))
    click.echo(f"{file}: {len(counts)} tables, {sum(counts.values())} rows, {span}")
