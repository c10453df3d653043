"""The nightly backup: a file a day in the folder that is set, the newest few kept."""

from __future__ import annotations

import re

from webapp.config import current
from webapp.core.instants import shop_date
from webapp.database import db
from webapp.reminders.faults import Trouble
from webapp.setup.definitions import shop_zone
from webapp.setup.ids import now_ms

_OURS = re.compile(r"wayround-\d{4}-\d\d-\d\d\.zip", re.ASCII)


def make(_holder: str) -> str:
    """Write today's backup and forget the oldest. Raises Trouble when there is none to rely on."""
    from webapp.cli import archive

    settings = current()
    folder = settings.backups
    if folder is None:
        return "No folder is set for it: WAYROUND_BACKUPS."
    day = shop_date(now_ms(), shop_zone(db.session()))
    db.session.remove()
    try:
        folder.mkdir(exist_ok=True)
        target = folder / f"wayround-{day.isoformat()}.zip"
        written = archive.write(settings, target, with_certificates=False)
        old = sorted(path for path in folder.iterdir() if _OURS.fullmatch(path.name))[: -settings.backups_keep]
        for path in old:
            path.unlink()
    except archive.Unusable as error:
        raise Trouble(f"No backup was made. {error}") from None
    except OSError as error:
        raise Trouble(f"No backup was made: {error.strerror or error}. See to the folder {folder}.") from None
    return f"{target.name}: {written.files} files, {written.size} bytes, read again and whole."
