"""Instants and days: RFC 3339 to milliseconds and back, and the shop's date of an instant."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MS = timedelta(milliseconds=1)


@dataclass(frozen=True)
class InstantError(ValueError):
    """A text that is no instant: what is wrong, and the mend."""

    problem: str
    mend: str


def parse_instant(text: str) -> int:
    """RFC 3339 date and time with offset -> ms since 1970-01-01T00:00:00Z, rounded down.

    Raises InstantError for anything else, a missing offset among it.
    """
    mend = "send RFC 3339 with an offset, such as 2027-03-02T06:58:11.120-05:00"
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        raise InstantError(f"is «{text}», no date and time", mend) from None
    if len(text) < 20 or text[10] not in "Tt ":
        raise InstantError(f"is «{text}», no full date and time", mend)
    if moment.tzinfo is None:
        raise InstantError(f"is «{text}», which has no offset from UTC", mend)
    return (moment - _EPOCH) // _MS


def instant_text(ms: int) -> str:
    """Ms since 1970 -> `YYYY-MM-DDTHH:MM:SS.mmmZ`."""
    moment = _EPOCH + ms * _MS
    return moment.strftime("%Y-%m-%dT%H:%M:%S.") + f"{ms % 1000:03d}Z"


def shop_date(ms: int, zone: str) -> date:
    """The calendar date of an instant on the shop's wall."""
    return (_EPOCH + ms * _MS).astimezone(ZoneInfo(zone)).date()
