"""`wayround person`: the people whose names stand under entries."""

from __future__ import annotations

import click

from webapp.cli.common import opened, owner_id, with_settings
from webapp.config import Settings
from webapp.database import db, writing
from webapp.records.faults import Refused
from webapp.setup import definitions
from webapp.setup.ids import new_id


@click.group()
def person() -> None:
    """Add and list people."""


@person.command("add")
@click.argument("name")
@click.option("--initials", help="Up to four letters. Default: the first letters of NAME.")
@with_settings
def add(name: str, initials: str | None, settings: Settings) -> None:
    """Add a person called NAME; the last line is the id. Works before the shop is set up."""
    body = {"name": name} | ({"initials": initials} if initials else {})
    with opened(settings, make=True):
        try:
            with writing() as session:
                id_ = new_id()
                definitions.create(session, "person", body, owner_id(session) or id_, id_=id_)
        except Refused as refusal:
            told = "; ".join(f"{fault.field} {fault.problem}: {fault.mend}" for fault in refusal.faults)
            raise click.ClickException(told) from None
    click.echo(f"{name} is added.")
    click.echo(id_)


@person.command("list")
@with_settings
def list_(settings: Settings) -> None:
    """List the people: id, initials, role, name."""
    with opened(settings):
        for row in definitions.list_all(db.session(), "person"):
            if not row["retired"]:
                click.echo(f"{row['id']}  {row['initials']:<4}  {row['role']:<6}  {row['name']}")
