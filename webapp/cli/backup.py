"""`wayround backup`: the shop in one file, taken while the server runs."""

from __future__ import annotations

from pathlib import Path

import click

from webapp.cli import archive
from webapp.cli.common import database_exists, with_settings
from webapp.config import Settings


@click.command()
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@click.option(
    "--with-certificates",
    is_flag=True,
    help="Also the certificate authority's key, so that phones trust the restored server at once. "
    "Keep such a file locked away.",
)
@with_settings
def backup(file: Path, with_certificates: bool, settings: Settings) -> None:
    """Write the database, the photos and the key for push reminders to FILE, a zip with the hash of each part, and read
    it again."""
    if not database_exists(settings):
        raise click.ClickException(f"There is no shop in {settings.data}. Name its folder with --data.")
    try:
        written = archive.write(settings, file, with_certificates=with_certificates)
    except archive.Unusable as error:
        raise click.ClickException(str(error)) from None
    click.echo(f"{file}: {written.files} files, {written.size} bytes, read again and whole.")
