"""The `wayround` command with another build of the front end, as a newer release would bring it.

python -m tests.browser.serve_build FOLDER OLDEST serve …    OLDEST: the lowest app number that may still sync
"""

from __future__ import annotations

import sys
from pathlib import Path

from webapp.api import shell, sync
from webapp.cli import main

if __name__ == "__main__":
    folder, oldest = Path(sys.argv.pop(1)), int(sys.argv.pop(1))
    shell.front_end_folder = lambda: folder
    sync.OLDEST_APP = oldest
    main()
