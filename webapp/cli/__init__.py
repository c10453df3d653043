"""The `wayround` command. One command a file; each says by its exit code whether what it says is so."""

from __future__ import annotations

import click

from webapp.cli.backtest import backtest
from webapp.cli.backup import backup
from webapp.cli.demo import demo
from webapp.cli.device import device
from webapp.cli.doctor import doctor
from webapp.cli.export import export
from webapp.cli.feed import feed
from webapp.cli.imports import import_
from webapp.cli.owner import owner
from webapp.cli.person import person
from webapp.cli.refold import refold
from webapp.cli.restore import restore
from webapp.cli.serve import serve
from webapp.cli.verify import verify
from webapp.cli.version import own_version


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(own_version(), prog_name="wayround")
def main() -> None:
    """Wayround: whether the machines are fit to start, what is due, and a record that stands up later."""


for command in (
    serve,
    demo,
    device,
    person,
    owner,
    backup,
    restore,
    verify,
    refold,
    export,
    import_,
    feed,
    backtest,
    doctor,
):
    main.add_command(command)
