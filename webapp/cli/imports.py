"""`wayround import`: what was counted elsewhere, through the record like everything else."""

from __future__ import annotations

from pathlib import Path

import click

from webapp.cli.common import opened, prepare_folder, with_settings
from webapp.cli.lock import FolderLocked, hold
from webapp.cli.meter_file import RowFault, bring_in, read_rows
from webapp.cli.meter_mapping import mapped_rows, read_mapping
from webapp.config import Settings
from webapp.database import db, writing
from webapp.reports import record_lines


@click.group("import")
def import_() -> None:
    """Bring data in from files."""


@import_.command("meters")
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option(
    "--mapping",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    metavar="FILE",
    help="TOML or JSON that says which columns of a machine's own file hold which meter, and in what unit.",
)
@click.option("--by", metavar="PERSON", help="Name, initials or id of whoever read them. Default: the owner.")
@click.option("--dry-run", is_flag=True, help="Check every line and say what would change; store nothing.")
@with_settings
def meters(file: Path, mapping: Path | None, by: str | None, dry_run: bool, settings: Settings) -> None:
    """Add the counter readings in FILE.csv to the record: all of them, or none when a line is wrong.

    Columns: machine (name or id), meter (name, kind or id), at (date and time; without an offset it is the
    shop's), value (the counter's face, in the meter's unit). A file may be brought in again: readings
    that are in the record already are left alone.

    A file that a machine writes has columns of its own: name them in a mapping.

    \b
      at = "Time"
      at_format = "%d.%m.%Y %H:%M"
      machine = "Mill 1"
      [[meter]]
      column = "Spindle on (min)"
      meter = "Spindle hours"
      unit = "min"
    """
    with opened(settings):
        try:
            rows = mapped_rows(file, read_mapping(mapping)) if mapping else read_rows(file)
            brought = bring_in(rows, by, dry_run=dry_run)
        except RowFault as fault:
            for line in fault.lines:
                click.echo(line, err=True)
            raise click.ClickException("Nothing was brought in. Mend the file and run this again.") from None
        finally:
            db.session.remove()
    goes = "would go" if dry_run else "went"
    for one in brought.changes:
        told = f"{goes} from {one.before:g} to {one.after:g} {one.unit}, {one.readings} reading"
        click.echo(f"{one.machine}, {one.meter}: {told}{'' if one.readings == 1 else 's'}")
    verb = "would be added" if dry_run else "added"
    click.echo(f"{brought.added} readings {verb}, {brought.known} were in the record already.")


@import_.command("record")
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@with_settings
def record(file: Path, settings: Settings) -> None:
    """Bring in the whole record from FILE, as `wayround export record` wrote it, into an empty data folder.

    Every link of the chain is checked before anything is kept. Set the owner's password afterwards with
    `wayround owner password`; phones join anew.
    """
    prepare_folder(settings.data)
    try:
        with (
            hold(settings.data), opened(settings, make=True), file.open(encoding="utf-8") as lines,
            click.progressbar(length=100, label="Record") as bar, writing() as session,
        ):  # fmt: skip
            brought = record_lines.bring_in(session, lines, lambda percent: bar.update(percent - bar.pos))
            bar.update(100 - bar.pos)
    except FolderLocked:
        raise click.ClickException(f"{settings.data} is being served. Stop the server first.") from None
    except record_lines.LineFault as fault:
        raise click.ClickException(f"{file}: {fault}. Nothing was brought in.") from None
    except UnicodeDecodeError:
        raise click.ClickException(f"{file} is no UTF-8 text. Nothing was brought in.") from None
    click.echo(f"{brought.entries} entries, every link of the chain holds. It ends in {brought.chain}")
