"""Fixed dates: an RFC 5545 rule expanded in the shop's wall time, by python-dateutil.

The wall time is kept over a change of the clocks; a wall time that the change leaves out is read with the
offset before the gap (RFC 5545, 3.3.5).
"""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from dateutil.rrule import rrule, rrulestr

from webapp.core.problems import RuleError
from webapp.core.rules import Recurrence, Rule, fixed, parse

# How far back and ahead a phone without signal knows its fixed dates.
AROUND = timedelta(days=400)
# No rule may pause longer; also how far a sparse rule is followed back and ahead.
LONGEST_PAUSE = timedelta(days=30 * 366)
LONGEST_SPAN = timedelta(days=60 * 366)


def expand(rule: object, tz: str, start: date, end: date) -> list[date]:
    """The shop dates of a due rule's fixed part from `start` to `end`, both included.

    A rule without an rrule has none. RuleError when the rule, the zone or the span cannot be used.
    """
    recurrence = fixed(_parsed(rule))
    if recurrence is None:
        return []
    return [moment.date() for moment in _wall(recurrence, tz, start, end)]


def occurrences(rule: object, tz: str, start: date, end: date) -> list[datetime]:
    """The same as instants with their offset, for a rule whose anchor carries a time of day."""
    recurrence = fixed(_parsed(rule))
    if recurrence is None:
        return []
    zone = _zone(tz)
    walls = _wall(recurrence, tz, start, end)
    # By way of UTC, so that a wall time inside a gap becomes the one that the clocks really show.
    return [wall.replace(tzinfo=zone).astimezone(UTC).astimezone(zone) for wall in walls]


def dates_for(rule: object, tz: str, today: date) -> list[date]:
    """What the facts' `dates` need: all within 400 days of today, the two before those, and one ahead.

    Without the two before, a date of a sparse rule (a vessel tested every five years) that was missed would
    drop out of sight instead of staying late; without the one ahead such a rule would seem to have ended.
    """
    recurrence = fixed(_parsed(rule))
    if recurrence is None:
        return []
    first, last = today - AROUND, today + AROUND
    dates = [moment.date() for moment in _wall(recurrence, tz, today - LONGEST_PAUSE, last)]
    earlier = sum(day < first for day in dates)
    shown = dates[max(earlier - 2, 0) :]
    if not shown or shown[-1] <= today:
        shown += expand(rule, tz, last + timedelta(days=1), last + LONGEST_PAUSE)[:1]
    return shown


def validate(rule: object, tz: str, field: str = "rule") -> Rule:
    """Read a due rule in full, before it is stored: also that its fixed dates exist at all."""
    parsed = parse(rule, field)
    recurrence = fixed(parsed)
    if recurrence is not None:
        first = recurrence.anchor.date()
        if not _in_any_year(recurrence, _zone(tz)) or not _wall(recurrence, tz, first, first + LONGEST_PAUSE):
            raise RuleError(
                f"{recurrence.field}.rrule", "It never falls on any date.", "Check the month, day and UNTIL."
            )
    return parsed


def _in_any_year(recurrence: Recurrence, zone: ZoneInfo) -> bool:
    """Whether any year has a day that a daily or weekly rule lets through.

    Asked year by year first: day by day, dateutil seeks up to the year 9999 before it gives a rule up.
    """
    parts = dict(recurrence.parts)
    days: dict[str, str] = {
        name: parts[name] for name in ("BYMONTH", "BYMONTHDAY", "BYYEARDAY", "BYWEEKNO") if name in parts
    }
    if parts["FREQ"] not in ("DAILY", "WEEKLY") or not days:
        return True
    days["BYDAY"] = re.sub(r"[+-]?\d+", "", parts.get("BYDAY", "MO,TU,WE,TH,FR,SA,SU"))
    yearly = Recurrence((("FREQ", "YEARLY"), *days.items()), recurrence.anchor, recurrence.field)
    return next(iter(_dateutil(yearly, zone)), None) is not None


def _parsed(rule: object) -> Rule:
    return rule if isinstance(rule, Rule) else parse(rule)


def _zone(tz: str) -> ZoneInfo:
    try:
        return ZoneInfo(tz)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise RuleError("time_zone", f"There is no zone {tz!r}.", "Give one like America/New_York.") from None


def _wall(recurrence: Recurrence, tz: str, start: date, end: date) -> list[datetime]:
    """Wall times between two dates, both included."""
    if end - start > LONGEST_SPAN:
        raise RuleError("end", "The span is too long to expand.", "Ask for 60 years at most.")
    first, last = datetime.combine(start, time.min), datetime.combine(end, time.max)
    return list(_dateutil(recurrence, _zone(tz)).between(first, last, inc=True))


def _dateutil(recurrence: Recurrence, zone: ZoneInfo) -> rrule:
    parts = dict(recurrence.parts)
    field = f"{recurrence.field}.rrule"
    if "UNTIL" in parts:
        parts["UNTIL"] = _until(parts["UNTIL"], zone, field)
    text = ";".join(f"{name}={value}" for name, value in parts.items())
    try:
        made = rrulestr(text, dtstart=recurrence.anchor)
    except (ValueError, KeyError, IndexError, TypeError, AttributeError) as error:
        raise RuleError(
            field, f"It cannot be read ({error}).", "Write it like FREQ=MONTHLY;BYDAY=1MO (RFC 5545)."
        ) from None
    if not isinstance(made, rrule):
        raise RuleError(field, "It holds more than one rule.", "Give one RRULE alone.")
    return made


def _until(text: str, zone: ZoneInfo, field: str) -> str:
    """UNTIL as wall time: an instant in UTC is moved into the zone, a bare date lasts to its end."""
    try:
        if text.endswith("Z"):
            utc = datetime.strptime(text, "%Y%m%dT%H%M%SZ").replace(tzinfo=UTC)
            return utc.astimezone(zone).strftime("%Y%m%dT%H%M%S")
        if "T" in text:
            return datetime.strptime(text, "%Y%m%dT%H%M%S").strftime("%Y%m%dT%H%M%S")
        return datetime.strptime(text, "%Y%m%d").strftime("%Y%m%dT235959")
    except ValueError:
        raise RuleError(field, f"UNTIL={text} is not a date.", "Write it as 20271224.") from None
