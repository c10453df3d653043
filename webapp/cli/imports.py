"""`wayround import`: what was counted elsewhere, through the record like everything else."""

from __future__ import annotations

from pathlib import Path

import click

from webapp.cli.common import opened, with_settings
from webapp.cli.meter_file import RowFault, bring_in, read_rows
from webapp.config import Settings
from webapp.database import db


@click.group("import")
def import_() -> None:
    """Bring data in from files."""


@import_.command("meters")
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--by", metavar="PERSON", help="Name, initials or id of whoever read them. Default: the owner.")
@click.option("--dry-run", is_flag=True, help="Check every line and say what would happen; store nothing.")
@with_settings
def meters(file: Path, by: str | None, dry_run: bool, settings: Settings) -> None:
    """Add the counter readings in FILE.csv to the record: all of them, or none when a line is wrong.

    Columns: machine (name or id), meter (name, kind or id), at (date and time; without an offset it is the
    shop's), value (the counter's face, in the meter's unit). A file may be brought in again: readings
    that are in the record already are left alone.
    """
    with opened(settings):
        try:
            rows = read_rows(file)
            brought = bring_in(rows, by, dry_run=dry_run)
        except RowFault as fault:
            for line in fault.lines:
                click.echo(line, err=True)
            raise click.ClickException("Nothing was brought in. Mend the file and run this again.") from None
        finally:
            db.session.remove()
    verb = "would be added" if dry_run else "added"
    click.echo(f"{brought.added} readings {verb}, {brought.known} were in the record already.")
