"""`wayround refold`: works out from the entries alone what the shop is now."""

from __future__ import annotations

import click

from webapp.cli.common import opened, with_settings
from webapp.config import Settings
from webapp.database import db, writing
from webapp.records.folding import rebuild
from webapp.records.verify import state_faults


@click.command()
@click.option("--check", is_flag=True, help="Change nothing; end with 1 when the stored state differs.")
@with_settings
def refold(check: bool, settings: Settings) -> None:
    """Fold the whole record again and store the result; with --check only compare, byte for byte."""
    with opened(settings):
        if check:
            _compare()
            return
        with writing() as session:
            differed = rebuild(session)
    click.echo(f"Folded again; {differed} stored states differed and are mended.")


def _compare() -> None:
    faults = state_faults(db.session())
    for fault in faults:
        click.echo(fault, err=True)
    if faults:
        raise click.ClickException("The stored state is not what the entries say. `wayround refold` mends it.")
    click.echo("The stored state is, byte for byte, what the entries say.")
