"""Instants and days: RFC 3339 to milliseconds and back, and the shop's date of an instant."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from webapp.core.problems import InstantError

__all__ = ["InstantError", "instant_text", "parse_instant", "shop_date"]

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MS = timedelta(milliseconds=1)
_MEND = "Send RFC 3339 with an offset, such as 2027-03-02T06:58:11.120-05:00."
# datetime.fromisoformat also takes week dates and basic forms, which JavaScript and RFC 3339 do not.
_RFC_3339 = re.compile(
    r"(\d{4})-(\d\d)-(\d\d)[Tt](\d\d):(\d\d):(\d\d)(?:\.(\d+))?(?:([Zz])|([+-])(\d\d):(\d\d))?", re.ASCII
)


def parse_instant(text: str, field: str = "at") -> int:
    """RFC 3339 date and time with offset -> ms since 1970-01-01T00:00:00Z, rounded down.

    A leap second (:60) counts as the first moment of the next minute. Raises InstantError for anything
    else, a missing offset and a year outside 1900 to 9998 among it.
    """
    match = _RFC_3339.fullmatch(text)
    if match is None:
        raise InstantError(field, f"{text[:40]!r} is not a full date and time.", _MEND)
    year, month, day, hour, minute, second = (int(part) for part in match.groups()[:6])
    fraction, utc, sign, off_hours, off_minutes = match.groups()[6:]
    if not utc and not sign:
        raise InstantError(field, f"{text[:40]!r} has no offset from UTC.", _MEND)
    try:
        moment = datetime(year, month, day, hour, minute, min(second, 59), tzinfo=UTC)
    except ValueError as error:
        raise InstantError(field, f"{text[:40]!r} does not exist ({error}).", _MEND) from None
    if not 1900 <= year <= 9998 or second > 60:
        raise InstantError(field, f"{text[:40]!r} is out of range.", "Check the clock of the device.")
    ms = (moment - _EPOCH) // _MS + (1000 if second == 60 else int((fraction or "0").ljust(3, "0")[:3]))
    return ms - _offset_ms(sign, off_hours, off_minutes, text, field)


def _offset_ms(sign: str | None, hours: str, minutes: str, text: str, field: str) -> int:
    if not sign:
        return 0
    if int(hours) > 23 or int(minutes) > 59:
        raise InstantError(field, f"{text[:40]!r} has an offset that does not exist.", _MEND)
    return (int(hours) * 60 + int(minutes)) * (-60_000 if sign == "-" else 60_000)


def instant_text(ms: int) -> str:
    """Ms since 1970 -> `YYYY-MM-DDTHH:MM:SS.mmmZ`."""
    return (_EPOCH + ms * _MS).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def shop_date(ms: int, zone: str) -> date:
    """The calendar date of an instant on the shop's wall; `zone` is an IANA name."""
    return (_EPOCH + ms * _MS).astimezone(ZoneInfo(zone)).date()
