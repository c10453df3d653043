"""`wayround demo`: an invented shop with a year behind it, to try everything on."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

import click
from flask import Flask

import seed_demo
from seed_demo.people import PEOPLE
from webapp.cli.common import data_option, opened, owner_id, read_settings
from webapp.cli.serving import run, start_logging
from webapp.config import Settings
from webapp.database import db, writing
from webapp.security import codes, passwords
from webapp.security.addresses import local_base, phone_base
from webapp.security.signing_in import is_set_up
from webapp.security.tokens import new_code

MARK = "demo-shop.txt"
_UNFINISHED = "An invented shop is being made here.\n"


@click.command()
@data_option
@click.option("--port", type=click.IntRange(0, 65535), metavar="N", help="Port. Default: 8443.")
@click.option("--plain", is_flag=True, default=None, help="No TLS; for this machine alone.")
def demo(data: Path | None, **options: Any) -> None:
    """Serve an invented shop. It is thrown away at the end, unless --data names a folder to keep it in."""
    settings = read_settings(**options)
    start_logging("WARNING")
    with _folder(data) as folder:
        settings = replace(settings.with_data(folder), database="", photos="", demo=True)
        with opened(settings, make=True) as app:
            password = _filled(app)
            run(app, settings, partial(_announce, settings, password))


@contextmanager
def _folder(kept: Path | None) -> Iterator[Path]:
    """The folder named, or one that is removed at the end."""
    if kept is not None:
        yield kept
        return
    folder = Path(tempfile.mkdtemp(prefix="wayround-demo-"))
    try:
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _filled(app: Flask) -> str:
    """Seed an empty folder, and give the owner a new password either way.

    Refuses a folder with a real shop in it: its owner's password would be replaced.
    """
    mark = app.config["WAYROUND"].data / MARK
    if not is_set_up(db.session()):
        mark.write_text(_UNFINISHED, encoding="utf-8")
        with click.progressbar(length=100, label="Making a year of an invented shop") as bar:
            seed_demo.seed(app, lambda percent, _told: bar.update(percent - bar.pos))
        mark.write_text("An invented shop, made by `wayround demo`.\n", encoding="utf-8")
    elif not mark.exists():
        raise click.ClickException(f"{mark.parent} holds a shop that is no demo. Name another folder.")
    elif mark.read_text(encoding="utf-8") == _UNFINISHED:
        raise click.ClickException(f"The demo in {mark.parent} was never finished. Delete that folder first.")
    # Not the one of the seed, which anybody can read there: phones of the network reach this server.
    password = f"demo-{new_code(8).lower()}"
    with writing() as session:
        passwords.set_password(session, owner_id(session) or "", password)
    return password


def _announce(settings: Settings, password: str, port: int) -> None:
    """Say where the shop is, and how to come in as its owner or as somebody else."""
    here, phones = local_base(settings, port), phone_base(settings, port)
    with writing() as session:
        code = codes.make_code(session, "join")
    click.echo(f"The invented shop is at {here}/")
    if phones:
        click.echo(f"  on phones:         {phones}/  (certificate: {phones}/ca.crt)")
    click.echo(f"  owner's password:  {password}")
    click.echo(f"  to join as others: {here}/#/join?code={code.text}  (once, within ten minutes)")
    click.echo("  PINs (they say who, and lock nothing): " + ", ".join(f"{p.name} {p.pin}" for p in PEOPLE))
    click.echo("Ctrl-C stops it.")
