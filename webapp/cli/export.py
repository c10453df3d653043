"""`wayround export`: papers to print, and the record in files that other programs read."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

import click

from webapp.cli.common import opened, require_shop, with_settings
from webapp.config import Settings
from webapp.core.instants import shop_date
from webapp.database import db
from webapp.records.faults import Refused
from webapp.reports import codes, setup_sheets
from webapp.reports.binder import write_binder
from webapp.reports.cards import cards_for, own_alloys, write_cards
from webapp.reports.entries import span_of
from webapp.reports.finding import machines_named
from webapp.reports.labels import Label, layout, write_labels
from webapp.reports.papers import LABELLED, labels_of
from webapp.reports.record_lines import write_record
from webapp.reports.sheets import write_sheets
from webapp.reports.tables import write_tables
from webapp.security.addresses import phone_base
from webapp.setup.ids import now_ms
from webapp.upkeep.exposures import chosen

_FILE = click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
_OPTIONS = {
    "from": "--from", "to": "--to", "machines": "--machine", "of": "--of", "form": "--form", "size": "--size",
    "paper": "--paper", "alloys": "--alloy", "media": "--medium", "process": "--process",
}  # fmt: skip


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
    with opened(settings) as app, _told():
        session, now = db.session(), now_ms()
        require_shop(session)
        chosen = machines_named(session, machines)
        span = span_of(session, first, last, now)
        with written(file) as out, click.progressbar(length=100, label=f"Binder, {span}") as bar:
            made = write_binder(
                session, out, span, now, photo=app.extensions["wayround_photos"].get, machines=chosen,
                progress=lambda percent, what: bar.update(percent - bar.pos),
            )  # fmt: skip
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


@export.command()
@_FILE
@click.option("--machine", "machines", multiple=True, metavar="NAME", help="Only this machine; may be repeated.")
@click.option("--form", default="start-up", show_default=True, metavar="FORM", help="Which lists to print.")
@with_settings
def sheets(file: Path, machines: tuple[str, ...], form: str, settings: Settings) -> None:
    """Print check sheets to FILE, a PDF: one machine a page, for a day without phones.

    What was written on them is typed in afterwards with `wayround import rounds`.
    """
    with opened(settings), _told():
        session = db.session()
        require_shop(session)
        chosen = machines_named(session, machines)
        with written(file) as out:
            pages = write_sheets(session, out, now_ms(), _base(settings), machines=chosen, form=form)
    click.echo(f"{file}: {pages} pages")


@export.command()
@_FILE
@click.option("--of", "type_", type=click.Choice(LABELLED), default="machine", help="Default: machine.")
@click.option("--machine", "machines", multiple=True, metavar="NAME", help="Only this machine; may be repeated.")
@click.option("--size", default="70x37", show_default=True, metavar="WxH", help="Of a label in mm, such as 62x29.")
@click.option("--paper", default="A4", show_default=True, help="A4, Letter, or roll: a label a page.")
@click.option("--skip", type=click.IntRange(0, 500), default=0, help="Places of the first sheet that are used up.")
@click.option("--outlines", is_flag=True, help="Lines to cut along, for plain paper.")
@with_settings
def labels(
    file: Path, type_: str, machines: tuple[str, ...], size: str, paper: str, skip: int, outlines: bool,
    settings: Settings,
) -> None:  # fmt: skip
    """Print labels to FILE: a PDF, or the QR code of one machine where FILE ends in .svg or .png."""
    with opened(settings), _told():
        session = db.session()
        require_shop(session)
        made = labels_of(session, _base(settings), type_, machines_named(session, machines))
        if file.suffix in (".svg", ".png"):
            if len(made) != 1:
                raise click.ClickException(f"--machine names {len(made)}: for one code name exactly one machine.")
            with written(file) as out:
                out.write(_code(file.suffix, made[0]))
            click.echo(f"{file}: opens {made[0].address}")
            return
        with written(file) as out:
            pages = write_labels(out, made, layout(size, paper), now_ms(), skip=skip, outlines=outlines)
    click.echo(f"{file}: {len(made)} labels on {pages} pages")


@export.command()
@_FILE
@click.option(
    "--alloy",
    "alloy_keys",
    multiple=True,
    metavar="KEY",
    help="An alloy of the library, such as C36000, or one of the shop's own by its name.",
)
@click.option("--medium", "medium_keys", multiple=True, metavar="KEY", help="A blasting medium, such as glass_bead.")
@click.option(
    "--process", default="dry_sand", show_default=True, metavar="KEY", help="The work an alloy's card is for."
)
@with_settings
def cards(
    file: Path, alloy_keys: tuple[str, ...], medium_keys: tuple[str, ...], process: str, settings: Settings
) -> None:
    """Print hazard cards for the wall to FILE, a PDF: cautions and controls in front, limits and sources behind."""
    with opened(settings), _told():
        shop, now = require_shop(db.session()), now_ms()
        wanted = cards_for(alloy_keys, medium_keys, process, own_alloys(db.session()))
        size = "A4" if shop["units"] == "metric" else "Letter"
        with written(file) as out:
            on = shop_date(now, shop["time_zone"])
            pages = write_cards(out, wanted, chosen(shop), shop["name"], size, on, now)
    click.echo(f"{file}: {len(wanted)} cards on {pages} pages")


def _code(suffix: str, label: Label) -> bytes:
    return codes.svg(label.address, label.name) if suffix == ".svg" else codes.png(label.address)


def _base(settings: Settings) -> str:
    """The address that phones use, for codes on paper; ends the command when there is none."""
    base = phone_base(settings, settings.port)
    if base is None:
        raise click.ClickException("Phones reach no address of this shop. Set WAYROUND_ADDRESS to the one they use.")
    return base


@export.command()
@_FILE
@with_settings
def machines(file: Path, settings: Settings) -> None:
    """Write the machines to FILE as a spreadsheet (CSV), to edit and bring back with `wayround import machines`."""
    _setup_sheet(settings, file, "machines")


@export.command()
@_FILE
@with_settings
def tasks(file: Path, settings: Settings) -> None:
    """Write the tasks to FILE as a spreadsheet (CSV), to edit and bring back with `wayround import tasks`."""
    _setup_sheet(settings, file, "tasks")


def _setup_sheet(settings: Settings, file: Path, what: str) -> None:
    with opened(settings), _told():
        require_shop(db.session())
        with written(file) as out:
            count = setup_sheets.write_sheet(db.session(), out, what)
    click.echo(f"{file}: {count} {what}")
