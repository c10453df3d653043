"""Running commands: in this process by click's runner, and as a process of their own."""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from webapp.cli import main

Run = Callable[..., Result]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A data folder that is not there yet."""
    return tmp_path / "data"


@pytest.fixture
def run(folder: Path) -> Iterator[Run]:
    """Runs `wayround` with the data folder; a command that breaks by an exception fails the test."""
    levels = {name: logging.getLogger(name).level for name in ("alembic", "apscheduler")}

    def call(*args: object, data: Path | None = None) -> Result:
        result = CliRunner().invoke(main, [*map(str, args), "--data", str(data or folder)])
        if result.exception is not None and not isinstance(result.exception, SystemExit):
            raise result.exception
        return result

    yield call
    for name, level in levels.items():
        logging.getLogger(name).setLevel(level)
