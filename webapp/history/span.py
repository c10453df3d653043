"""The days that a history tells of, and the shop's working hours in them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import cached_property
from zoneinfo import ZoneInfo

from webapp.core.downtime import Stretch, union
from webapp.records.faults import Fault, Refused
from webapp.reminders.hours import Hours, instant
from webapp.upkeep.history import day_start_ms

DAYS = 53 * 7
MOST_DAYS = 54 * 7
_DAY = timedelta(days=1)


@dataclass(frozen=True)
class Span:
    """Days of the shop, both included; `now_ms` is where what is known ends."""

    first: date
    last: date
    zone: str
    now_ms: int

    @property
    def days(self) -> int:
        return (self.last - self.first).days + 1

    @cached_property
    def start_ms(self) -> int:
        return day_start_ms(self.first, self.zone)

    @cached_property
    def end_ms(self) -> int:
        """The end of the last day, or now."""
        return max(self.start_ms, min(day_start_ms(self.last + _DAY, self.zone), self.now_ms))

    @cached_property
    def _wall(self) -> ZoneInfo:
        return ZoneInfo(self.zone)

    def day_of(self, ms: int) -> date:
        """The shop's date of an instant."""
        return datetime.fromtimestamp(ms / 1000, UTC).astimezone(self._wall).date()

    def number(self, ms: int) -> int:
        """How many days after the first an instant lies."""
        return (self.day_of(ms) - self.first).days

    def months(self) -> list[str]:
        """Its months as YYYY-MM."""
        return sorted({f"{self.first + timedelta(days=n):%Y-%m}" for n in range(self.days)})

    def month_edges(self) -> list[int]:
        """The instants at which its months begin and end, cut to the span."""
        firsts = [date.fromisoformat(f"{month}-01") for month in self.months()[1:]]
        inner = [min(day_start_ms(day, self.zone), self.end_ms) for day in firsts]
        return [self.start_ms, *inner, self.end_ms]


def asked_for(first: date | None, last: date | None, today: date, zone: str, now_ms: int) -> Span:
    """The span asked for: without days, whole weeks back from today. Raises Refused naming `from` or `to`."""
    end = min(last or (first + (DAYS - 1) * _DAY if first else today), today)
    monday = end - timedelta(days=end.weekday(), weeks=DAYS // 7 - 1)
    start = first or monday
    if first and first > today:
        raise Refused(Fault("from", f"is {first}, after today ({today})", "send a day that has been"))
    if end < start:
        raise Refused(
            Fault("to", f"is {last}, before the first day ({start})", "send a last day on or after the first")
        )
    if (end - start).days >= MOST_DAYS:
        mend = f"send {end - (MOST_DAYS - 1) * _DAY} or a later day, or ask year by year"
        raise Refused(Fault("from", f"lies more than {MOST_DAYS // 7} weeks before the last day ({end})", mend))
    return Span(start, end, zone, now_ms)


def working(hours: Hours, span: Span) -> list[Stretch]:
    """The shop's shifts in a span; one that goes past midnight belongs to the day on which it begins."""
    found = []
    for number in range(-1, span.days):
        day = span.first + timedelta(days=number)
        if day in hours.holidays:
            continue
        for shift in hours.shifts:
            if day.weekday() in shift.days:
                ends_on = day if shift.begins < shift.ends else day + _DAY
                begin, end = instant(day, shift.begins, hours.zone), instant(ends_on, shift.ends, hours.zone)
                # Where the clocks leap over the whole of it, it ends before it begins.
                found.append((max(begin, span.start_ms), min(end, span.end_ms)))
    return union((begin, end) for begin, end in found if begin < end)
