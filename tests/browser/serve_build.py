"""The `wayround` command in a process of its own; with another build of the front end, as a newer release would bring it."""

from __future__ import annotations

import os
from pathlib import Path

from webapp.api import shell, sync
from webapp.cli import main


def serve(log: Path, arguments: list[str], settings: dict[str, str], front_end: Path | None, oldest_app: int) -> None:
    """Run the command for good, its output in `log`; `settings`: WAYROUND_… variables; `oldest_app`: the lowest app
    number that may still sync."""
    os.environ.update(settings)
    out = os.open(log, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o644)
    for stream in (1, 2):
        os.dup2(out, stream)
    if front_end:
        shell.front_end_folder = lambda: front_end
        sync.OLDEST_APP = oldest_app
    main(arguments)
