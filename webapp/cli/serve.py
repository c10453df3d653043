"""`wayround serve`: the app, for the shop's phones."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import Any

import click

from webapp.cli.common import data_option, opened, read_settings
from webapp.cli.serving import run, start_logging
from webapp.config import Settings
from webapp.database import db, writing
from webapp.security import codes
from webapp.security.addresses import local_base, phone_base
from webapp.security.signing_in import is_set_up


@click.command()
@data_option
@click.option("--host", metavar="H", help="Address to listen on. Default: every one; 127.0.0.1 with --plain.")
@click.option("--port", type=click.IntRange(0, 65535), metavar="N", help="Port. Default: 8443.")
@click.option("--plain", is_flag=True, default=None, help="No TLS. For this machine alone, or behind a proxy.")
def serve(data: Path | None, **options: Any) -> None:
    """Serve the app until Ctrl-C. On an empty data folder it prints the address that sets the shop up."""
    settings = read_settings(data=data, **options)
    start_logging(settings.log_level)
    with opened(settings, make=True) as app:
        run(app, settings, partial(_announce, settings))


def _announce(settings: Settings, port: int) -> None:
    """Say where the app is; on an empty folder with the one-time code that sets the shop up."""
    here, phones = local_base(settings, port), phone_base(settings, port)
    click.echo(f"Wayround serves {settings.data}")
    click.echo(f"  on this machine: {here}/")
    if phones:
        click.echo(f"  on phones:       {phones}/")
    if not settings.plain:
        click.echo(f"  for phones, install this certificate first: {phones or here}/ca.crt")
    if not is_set_up(db.session()):
        with writing() as session:
            code = codes.make_code(session, "first")
        click.echo("No shop is set up yet. Open this address, once, within a day:")
        click.echo(f"  {here}/#/first?code={code.text}")
    db.session.remove()
    click.echo("Ctrl-C stops it.")
