"""What every command shares: `--data`, the settings, and the opened database."""

from __future__ import annotations

import functools
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import click
from alembic import command
from alembic.util import CommandError
from flask import Flask
from sqlalchemy.engine import make_url
from sqlalchemy.exc import DatabaseError

from webapp import create_app
from webapp.config import SettingError, Settings
from webapp.setup import definitions

Command = Callable[..., Any]


class NewerDatabase(click.ClickException):
    """The database has tables that this version does not know."""

    def __init__(self) -> None:
        super().__init__("The database was made by a newer Wayround. Install that version first.")


def data_option(function: Command) -> Command:
    """`--data DIR`, the same on every command."""
    return click.option(
        "--data",
        type=click.Path(file_okay=False, path_type=Path),
        metavar="DIR",
        help="Data folder. Default: WAYROUND_DATA, or this platform's usual place.",
    )(function)


def with_settings(function: Command) -> Command:
    """Give the command `settings` in place of `data`; a setting that is wrong ends it with exit code 2."""

    @data_option
    @functools.wraps(function)
    def run(data: Path | None, **options: Any) -> Any:
        return function(settings=read_settings(data=data), **options)

    return run


def read_settings(data: Path | None = None, **overrides: Any) -> Settings:
    """Settings from the environment with a command's options on top."""
    try:
        settings = Settings.from_environment(**overrides)
    except SettingError as error:
        raise click.UsageError(str(error)) from None
    return settings if data is None else settings.with_data(data)


@contextmanager
def opened(settings: Settings, *, make: bool = False) -> Iterator[Flask]:
    """The app in its context with the database's tables up to date; made from nothing only when `make`."""
    if not make and not database_exists(settings):
        raise click.ClickException(
            f"There is no shop in {settings.data}. Name its folder with --data, or run `wayround serve`."
        )
    prepare_folder(settings.data)
    try:
        app = create_app(settings)
        with app.app_context():
            _bring_up_to_date(app)
            yield app
    except DatabaseError as error:
        raise click.ClickException(f"The database does not answer ({error.orig}). See `wayround doctor`.") from error


def _bring_up_to_date(app: Flask) -> None:
    """Run the migrations that are lacking. Raises NewerDatabase."""
    try:
        # Not flask_migrate.upgrade(): that ends the process at a fault, and says why only in the log.
        command.upgrade(app.extensions["migrate"].migrate.get_config(), "head")
    except CommandError:
        raise NewerDatabase from None


def database_exists(settings: Settings) -> bool:
    """Whether a SQLite file is there; a database elsewhere is asked only when it is opened."""
    url = make_url(settings.database_url)
    if url.get_backend_name() != "sqlite" or not url.database:
        return True
    return Path(url.database).exists()


def prepare_folder(folder: Path) -> None:
    """Make the data folder, for its owner alone. Ends the command when it cannot be written."""
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as error:
        raise click.ClickException(f"The data folder {folder} cannot be made: {error.strerror}.") from None
    if not os.access(folder, os.W_OK | os.X_OK):
        raise click.ClickException(f"The data folder {folder} cannot be written. Give this user the right to.")


def require_shop(session: Any) -> dict[str, Any]:
    """The shop's definition; ends the command when nothing has been set up."""
    shops = definitions.list_all(session, "shop")
    if not shops:
        raise click.ClickException("No shop is set up here. Start `wayround serve` and open the address it prints.")
    return shops[0]


def owner_id(session: Any) -> str | None:
    """The person id of the owner, or None before the shop is set up."""
    people = definitions.list_all(session, "person")
    return next((row["id"] for row in people if row["role"] == "owner" and not row["retired"]), None)
