"""One server a data folder: a lock that the system lets go of however the process ends."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl


class FolderLocked(Exception):
    """Another process serves this folder."""


@contextmanager
def hold(folder: Path) -> Iterator[None]:
    """Hold the folder's lock for the block. Raises FolderLocked when another process holds it."""
    with (folder / "server.lock").open("a+") as file:
        _take(file)
        yield
    # Closing lets the lock go. The file stays: whoever deletes it could lock out nobody.


def _take(file: IO[str]) -> None:
    try:
        if sys.platform == "win32":
            file.seek(0)
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        raise FolderLocked(os.fspath(file.name)) from None
