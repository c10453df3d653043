"""`wayround device`: scripts and browsers that may speak for the shop."""

from __future__ import annotations

import click

from webapp.cli.common import opened, with_settings
from webapp.config import Settings
from webapp.database import db, writing
from webapp.security import devices


@click.group()
def device() -> None:
    """Add, list and close out devices."""


@device.command("add")
@click.argument("name")
@with_settings
def add(name: str, settings: Settings) -> None:
    """Make a token for a scripted device called NAME; it stands alone on the last line, and only now.

    Scripts send it as `Authorization: Bearer TOKEN`. Works before the shop is set up.
    """
    if not name.strip() or len(name.strip()) > devices.LONGEST_NAME:
        raise click.UsageError(f"NAME must have 1 to {devices.LONGEST_NAME} characters.")
    with opened(settings, make=True), writing() as session:
        made, token = devices.enrol(session, name, "script")
        click.echo(f"Device {made.name} ({made.id}) may speak for the shop. Its token is shown this once:")
    click.echo(token)


@device.command("list")
@with_settings
def list_(settings: Settings) -> None:
    """List the devices that may come in: id, kind, last use, name."""
    with opened(settings):
        for row in devices.listed(db.session()):
            click.echo(f"{row.id}  {row.kind:<7}  {row.last_seen_at or 'never used':<24}  {row.name}")


@device.command("revoke")
@click.argument("device_id", metavar="ID")
@with_settings
def revoke(device_id: str, settings: Settings) -> None:
    """Close out the device ID (see `wayround device list`); what it has sent stays in the record."""
    with opened(settings), writing() as session:
        if not devices.revoke(session, device_id):
            raise click.ClickException(f"No device {device_id} that may come in. See `wayround device list`.")
    click.echo(f"Device {device_id} is closed out.")
