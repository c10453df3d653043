"""`wayround owner password`: the way back in when the owner's password is lost."""

from __future__ import annotations

import click

from webapp.cli.common import opened, owner_id, require_shop, with_settings
from webapp.config import Settings
from webapp.database import writing
from webapp.security import devices, passwords


@click.group()
def owner() -> None:
    """The owner's sign-in."""


@owner.command("password")
@click.password_option(help="The new password. Asked for when left out, which keeps it out of the shell's history.")
@with_settings
def password_(password: str, settings: Settings) -> None:
    """Set a new password for the owner and end the owner's sign-in on every device."""
    if not passwords.SHORTEST <= len(password) <= passwords.LONGEST:
        raise click.UsageError(f"Give {passwords.SHORTEST} to {passwords.LONGEST} characters.")
    with opened(settings), writing() as session:
        require_shop(session)
        person = owner_id(session)
        if person is None:
            raise click.ClickException("The shop has no owner among its people.")
        passwords.set_password(session, person, password)
        devices.let_owner_out_everywhere(session)
    click.echo("The owner's password is changed.")
