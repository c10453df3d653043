"""`wayround import`: what was counted elsewhere, through the record like everything else."""

from __future__ import annotations

from pathlib import Path

import click

from webapp.cli import round_file
from webapp.cli.common import opened, owner_id, prepare_folder, require_shop, with_settings
from webapp.cli.lock import FolderLocked, hold
from webapp.cli.meter_file import RowFault, bring_in, read_rows
from webapp.cli.meter_mapping import mapped_rows, read_mapping
from webapp.config import Settings
from webapp.database import db, writing
from webapp.records.faults import Refused
from webapp.reports import record_lines, setup_sheets


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


@import_.command("rounds")
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--dry-run", is_flag=True, help="Check every line and say what would be added; store nothing.")
@with_settings
def rounds(file: Path, dry_run: bool, settings: Settings) -> None:
    """Type in rounds that were walked on printed sheets, from a CSV file with a line for each check.

    Columns: machine, list, at (2027-03-02 06:40, the shop's time), by, check (its number on the sheet), answer (ok,
    not ok, n/a), value, note. They count at the sheet's time and are marked as typed in from paper.
    """
    typed = round_file.Typed((), 0)
    with opened(settings):
        try:
            with writing() as session:
                typed = round_file.bring_in(session, file)
                if dry_run:
                    raise setup_sheets.Undone
        except setup_sheets.Undone:
            pass
        except RowFault as fault:
            for line in fault.lines:
                click.echo(line, err=True)
            raise click.ClickException("Nothing was brought in. Mend the file and run this again.") from None
        finally:
            db.session.remove()
    for told in typed.added:
        click.echo(told)
    verb = "would be added" if dry_run else "added"
    click.echo(f"{len(typed.added)} rounds {verb}, {typed.known} were in the record already.")


@import_.command("machines")
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--dry-run", is_flag=True, help="Say what would change, line by line; store nothing.")
@with_settings
def machines(file: Path, dry_run: bool, settings: Settings) -> None:
    """Change and add machines from a spreadsheet (CSV), as `wayround export machines` writes it."""
    _setup_sheet(settings, file, "machines", dry_run)


@import_.command("tasks")
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--dry-run", is_flag=True, help="Say what would change, line by line; store nothing.")
@with_settings
def tasks(file: Path, dry_run: bool, settings: Settings) -> None:
    """Change and add tasks from a spreadsheet (CSV), as `wayround export tasks` writes it."""
    _setup_sheet(settings, file, "tasks", dry_run)


def _setup_sheet(settings: Settings, file: Path, what: str, dry_run: bool) -> None:
    changes: list[setup_sheets.Change] = []
    with opened(settings):
        try:
            text = file.read_text("utf-8")
            with writing() as session:
                require_shop(session)
                changes = setup_sheets.bring_in(session, what, text, owner_id(session) or "")
                if dry_run:
                    raise setup_sheets.Undone
        except setup_sheets.Undone:
            pass
        except UnicodeDecodeError:
            raise click.ClickException(f"{file} is no UTF-8 text: save it as CSV in UTF-8.") from None
        except Refused as refused:
            for fault in refused.faults:
                click.echo(f"{fault.field}: {fault.problem}: {fault.mend}", err=True)
            raise click.ClickException("Nothing was changed. Mend the file and run this again.") from None
        finally:
            db.session.remove()
    for line in setup_sheets.lines_told(changes):
        click.echo(line)
    counted = {word: sum(change.action == word for change in changes) for word in ("add", "change", "leave")}
    told = "would be " if dry_run else ""
    click.echo(f"{counted['add']} {told}added, {counted['change']} {told}changed, {counted['leave']} left as they are.")
