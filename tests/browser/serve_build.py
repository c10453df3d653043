"""The `wayround` command with the build of the front end that the first argument names: for tests of updates."""

from __future__ import annotations

import sys
from pathlib import Path

from webapp.api import shell
from webapp.cli import main

if __name__ == "__main__":
    folder = Path(sys.argv.pop(1))
    shell.front_end_folder = lambda: folder
    main()
