"""How each meter is used, by day of the week, as measured from the record: the `meters` section."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from functools import partial
from typing import TYPE_CHECKING, Any

from sqlalchemy.orm import Session

from webapp.core import pace as paces
from webapp.core.forecast import HORIZON_DAYS, Calendar, calendar
from webapp.core.numbers import tidy
from webapp.core.pace import Pace
from webapp.core.usage import Days, Told, daily, say_rate, tell
from webapp.upkeep.history import WINDOW_DAYS, Past, past, set_up_on
from webapp.upkeep.shop import Shop

if TYPE_CHECKING:
    from webapp.core.usage import Flags, Floats

SPARE_DAYS = 14
"""By how many days a record may fall short of a year and still be called one."""
WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


@dataclass(frozen=True)
class Line:
    """One meter of one machine."""

    id: str
    machine: str
    kind: str
    unit: str
    name: str


@dataclass(frozen=True)
class Uses:
    """Every meter of the shop with its pace: `lines`, `tolds` and the rows of `pace` go together.

    `ahead` counts days from the first that any forecast starts on; `starts`: each meter's first day whose use is
    still to come, as a column of it; `shares`: how much of that day is left.
    """

    lines: list[Line]
    tolds: list[Told]
    pace: Pace
    declared: list[float | None]
    ahead: Calendar
    starts: list[int]
    shares: list[float]
    row: dict[str, int]

    def start(self, meter: str) -> date:
        """The first day whose use is still to come."""
        return self.ahead.date_of(self.starts[self.row[meter]])


def measure(session: Session, shop: Shop) -> Uses:
    """The pace of every meter in use, from the newest 52 weeks."""
    first = shop.today - timedelta(days=WINDOW_DAYS)
    return from_past(shop, past(session, first, shop.today, shop.zone, shop.docs), first)


def lines_of(shop: Shop) -> list[Line]:
    """Every meter of the machines in use."""
    return [
        Line(meter["id"], machine["id"], meter["kind"], meter["unit"], meter["name"])
        for machine in shop.machines.values()
        for meter in machine["meters"]
    ]


def from_past(shop: Shop, found: Past, first: date) -> Uses:
    """The same from a past that was read before."""
    lines = lines_of(shop)
    tolds = [tell(found.movements.get(line.id, ())) for line in lines]
    declared = [paces.declared_rate(line.kind, line.unit, shop.hours_a_week) for line in lines]
    days, pace = paces.spread_and_fit(
        partial(days_of, shop, found, lines, tolds, first), declared, [told.counted for told in tolds]
    )
    begins = [begin(told, shop.today) for told in tolds]
    origin = min([shop.today, *begins])
    ahead = calendar(origin, HORIZON_DAYS + (shop.today - origin).days, shop.holidays)
    shares = [_share(days, row, begin, shop.today, pace) for row, begin in enumerate(begins)]
    starts = [(begin - origin).days for begin in begins]
    return Uses(lines, tolds, pace, declared, ahead, starts, shares, {line.id: n for n, line in enumerate(lines)})


def days_of(shop: Shop, found: Past, lines: list[Line], tolds: list[Told], first: date, profiles: Floats) -> Days:
    """Daily use of every meter from `first` to today; `profiles` [n, 7] say how weekdays compare, for spreading."""
    count = (shop.today - first).days + 1
    # A day on which it ran was no day out of service, whatever hung on it at noon.
    out = [found.out.get(line.machine, set()) - told.exact.keys() for line, told in zip(lines, tolds, strict=True)]
    since = [known_since(told, line, first, shop.zone) for told, line in zip(tolds, lines, strict=True)]
    open_days = _open(shop.holidays, first, count)
    return daily(tolds, first, count, open_days=open_days, profiles=profiles, since=since, out=out)


def _open(closed: Iterable[date], first: date, count: int) -> Flags:
    return calendar(first, count, frozenset(closed)).open_days


def known_since(told: Told, line: Line, first: date, zone: str) -> date:
    """A machine set up before the window is known over all of it, a new one from its first movement on."""
    return first if told.first is None or set_up_on(line.machine, zone) < first else max(told.first, first)


def begin(told: Told, today: date) -> date:
    """The first day whose use is not in the total yet: today, tomorrow after a reading at the day's end, or the
    day after the last reading where nothing is known by the day."""
    if told.read_to is not None and told.read_to >= today:
        return today + timedelta(days=1)
    if told.counted or told.read_to is None:
        return today
    return told.read_to + timedelta(days=1)


def _share(days: Days, row: int, begin: date, today: date, pace: Pace) -> float:
    """How much of the first day is left, by what ran on it already."""
    usual = float(pace.mean[row][begin.weekday()])
    ran = float(days.use[row, -1]) if begin == today else 0.0
    return max(0.0, 1.0 - ran / usual) if usual > 0 else 1.0


def document(uses: Uses, shop: Shop, machine: str) -> dict[str, Any]:
    """The meters of a machine: id -> use a week and by weekday, how sure, and from what."""
    return {line.id: _meter(uses, row, shop) for row, line in enumerate(uses.lines) if line.machine == machine}


def _meter(uses: Uses, row: int, shop: Shop) -> dict[str, Any]:
    line, told, pace = uses.lines[row], uses.tolds[row], uses.pace
    days = int(pace.days[row])
    running = shop.doc(line.machine)["meters"].get(line.id)
    known = bool(pace.a_week[row] > 0)
    return {
        "kind": line.kind,
        "name": line.name,
        "unit": line.unit,
        "total": running["total"] if running else None,
        "a_week": tidy(float(pace.a_week[row]), 3) if known else None,
        "weekdays": [_weekday(pace, row, day) for day in range(7)],
        "basis": paces.basis_of(days) if known or days else None,
        "days": days,
        "pattern": "counted" if told.counted else "read",
        "known_to": told.read_to.isoformat() if told.read_to and not told.counted else None,
        "declared_a_week": tidy(uses.declared[row] or 0, 3) or None,
        "hours_a_week": shop.hours_a_week,
        "window_days": WINDOW_DAYS,
        "backwards": told.backwards,
        "replaced": told.replaced,
        "say": _say(uses, row, days),
        "notes": _notes(told, line, shop),
    }


def _notes(told: Told, line: Line, shop: Shop) -> list[str]:
    """What should be known about the figures."""
    notes = []
    if told.backwards:
        count = "1 reading was" if told.backwards == 1 else f"{told.backwards} readings were"
        notes.append(f"{count} below the one before, which counts for nothing: read the counter again.")
    if told.blind:
        notes.append("A counter was replaced: the days between its last reading and the new one's first are not known.")
    first = shop.today - timedelta(days=WINDOW_DAYS)
    if told.first and (known_since(told, line, first, shop.zone) - first).days > SPARE_DAYS:
        notes.append("Less than a year of data: a season that comes round is not in the range yet.")
    return notes


def _weekday(pace: Pace, row: int, day: int) -> dict[str, Any]:
    idle = float(pace.idle[row, day])
    return {
        "day": WEEKDAYS[day],
        "mean": tidy(float(pace.mean[row, day]), 3),
        "sd": tidy(float(pace.var[row, day]) ** 0.5, 3),
        "idle": None if idle != idle else tidy(idle, 3),
    }


def _say(uses: Uses, row: int, days: int) -> str:
    """The rate in a sentence, with what it rests on."""
    line, a_week = uses.lines[row], float(uses.pace.a_week[row])
    rate = say_rate(a_week, line.unit)
    if days == 0:
        return f"About {rate}, by the shop's hours alone: nothing measured yet." if a_week else "No use recorded yet."
    told = f"from {days} working day{'s' if days > 1 else ''} of the last {WINDOW_DAYS // 7} weeks"
    if paces.basis_of(days) == "mixed" and uses.declared[row] is not None:
        return f"About {rate}, {told} and the shop's hours: few data yet."
    few = ": few data yet" if paces.basis_of(days) == "mixed" else ""
    return f"About {rate}, {told}{few}."
