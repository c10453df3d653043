"""Now, as the sign-in tables keep it. One place, so that a test can move the clock."""

from __future__ import annotations

from webapp.core.instants import instant_text
from webapp.setup.ids import now_ms

SECOND = 1000
MINUTE = 60 * SECOND
HOUR = 60 * MINUTE
DAY = 24 * HOUR


def now_text(plus: int = 0) -> str:
    """Now and `plus` ms later, as `YYYY-MM-DDTHH:MM:SS.mmmZ`."""
    return instant_text(now_ms() + plus)
