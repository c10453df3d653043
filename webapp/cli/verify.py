"""`wayround verify`: shows that nothing in the record was altered."""

from __future__ import annotations

import click

from webapp.cli.common import opened, with_settings
from webapp.config import Settings
from webapp.database import db
from webapp.records import verify as record
from webapp.setup import definitions


@click.command()
@with_settings
def verify(settings: Settings) -> None:
    """Check every entry's link in the chain, and that what the shop is now follows from the entries.

    Note the chain's end somewhere else from time to time: a record cut short, or made anew as a whole, shows
    only against a note of how it ended.
    """
    with opened(settings):
        verdict = record.verify(db.session())
        wrong = [*verdict.wrong, *definitions.faults(db.session())]
    for fault in wrong:
        click.echo(fault, err=True)
    if wrong:
        raise click.ClickException(f"The record of {verdict.entries} entries is not whole: see above.")
    click.echo(f"{verdict.entries} entries, every link of the chain holds. It ends in {verdict.chain}")
