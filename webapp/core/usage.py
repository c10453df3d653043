"""What a meter ran on which day: readings, additions and batches turned into daily use.

A counter's reading says only how much was used since the reading before, so it is spread back over the days
between, in the proportions of the working week. What was counted on (by hand, or by a batch) belongs to its own
day. A reading rules over what was counted since the last one, as in the record's fold (`records/state.py`): a
reading that shows a little more or less than was counted stretches those days to fit; one that shows much more
keeps them and spreads the rest.

All amounts are in the meter's own unit; days are the shop's dates.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import TYPE_CHECKING

from webapp.core.numbers import is_number, tidy
from webapp.core.problems import UsageError

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    Floats = npt.NDArray[np.float64]
    Flags = npt.NDArray[np.bool_]
    Whole = npt.NDArray[np.int64]

__all__ = ["Days", "Movement", "Stretch", "Told", "UsageError", "check_hours_a_week", "daily", "tell"]

ONE_DAY = timedelta(days=1)
MOST_OF_IT = 0.5
"""Additions that make up this share of what a reading shows are taken to tell how the days compare."""


@dataclass(frozen=True, slots=True)
class Movement:
    """One movement of a meter on one day of the shop: an amount counted on, or the face of its counter read.

    `early`: read before the day's work, so that it tells of the days before its own alone. `ran`: read by a machine
    that counts itself and ran just now, so that the rise is of this day.
    """

    day: date
    amount: float | None = None
    face: float | None = None
    replaced: bool = False
    early: bool = False
    ran: bool = False


@dataclass(frozen=True, slots=True)
class Stretch:
    """An amount known only as a sum over the days `first` to `last`, both included; `read_on`: when it was read, the
    day of the use when it cannot have been one of those."""

    first: date
    last: date
    amount: float
    read_on: date


@dataclass(frozen=True)
class Told:
    """What a meter's movements tell.

    `counted`: most of the use is known by the day, so a day without any was a day without use, up to yesterday;
    otherwise only the days `read_from` to `read_to` are known, between the first reading and the last. `blind`: days
    of which a counter that was replaced told nothing. `since`: what was counted on after the last reading.
    `backwards`: readings below the one before, not counted.
    """

    exact: Mapping[date, float] = field(default_factory=dict)
    stretches: tuple[Stretch, ...] = ()
    blind: tuple[tuple[date, date], ...] = ()
    first: date | None = None
    last: date | None = None
    read_from: date | None = None
    read_to: date | None = None
    counted: bool = True
    since: float = 0.0
    backwards: int = 0
    replaced: int = 0

    @property
    def total(self) -> float:
        """All the use that is told of."""
        return sum(self.exact.values()) + sum(stretch.amount for stretch in self.stretches)


def check_hours_a_week(hours: object) -> float:
    """The shop's declared hours a week; UsageError outside 0 to 168, the hours that a week has."""
    if not is_number(hours) or not 0 <= hours <= 168:
        problem = f"It is {hours}, and a week has 168 hours." if is_number(hours) else "It is not a number."
        raise UsageError("hours_a_week", problem, "Give the hours the shop works in a week, such as 40.")
    return float(hours)


def tell(movements: Iterable[Movement]) -> Told:
    """Read a meter's movements, oldest first.

    Raises UsageError for movements out of order, for amounts or readings that are negative or no numbers, and
    for a movement that is neither or both.
    """
    teller = _Teller()
    for index, movement in enumerate(movements):
        teller.take(movement, f"movements[{index}]")
    return teller.told()


class _Teller:
    """Goes through the movements once, holding the last reading and what was counted since."""

    def __init__(self) -> None:
        self.exact: dict[date, float] = {}
        self.stretches: list[Stretch] = []
        self.blind: list[tuple[date, date]] = []
        self.since: dict[date, float] = {}
        self.face: float | None = None
        self.face_day: date | None = None
        self.read_from: date | None = None
        self.read_to: date | None = None
        self.first: date | None = None
        self.last: date | None = None
        self.counted_sum = 0.0
        self.backwards = self.replaced = 0

    def take(self, movement: Movement, field_: str) -> None:
        self._check(movement, field_)
        self.first = self.first or movement.day
        self.last = movement.day
        if movement.amount is not None:
            self.since[movement.day] = self.since.get(movement.day, 0.0) + movement.amount
            self.counted_sum += movement.amount
        elif movement.face is not None:
            self._read(movement, movement.face)

    def _check(self, movement: Movement, field_: str) -> None:
        if self.last is not None and movement.day < self.last:
            problem = f"It is of {movement.day}, and the one before of {self.last}."
            raise UsageError(f"{field_}.day", problem, "Give the movements oldest first.")
        if (movement.amount is None) == (movement.face is None):
            raise UsageError(field_, "It is not one of amount and face.", "Give the one or the other.")
        name, value = ("amount", movement.amount) if movement.face is None else ("face", movement.face)
        if not is_number(value) or value < 0:
            problem = "It is negative: a meter only goes up." if is_number(value) else "It is not a number."
            raise UsageError(f"{field_}.{name}", problem, "Read it again; mark a new counter as replaced.")

    def _read(self, movement: Movement, face: float) -> None:
        upto = movement.day - ONE_DAY if movement.early or movement.ran else movement.day
        if self.face is None or movement.replaced:
            self._new_face(movement, upto)
        elif face < self.face:
            self.backwards += 1
            return
        else:
            self._rise(face - self.face, upto, movement)
        self.face, self.face_day = face, movement.day
        self.read_from = self.read_from or upto + ONE_DAY
        self.read_to = upto if self.read_to is None else max(upto, self.read_to)

    def _new_face(self, movement: Movement, upto: date) -> None:
        """What was counted stands; of the rest since the old face's last reading nothing is known."""
        self.replaced += movement.replaced
        if self.read_to is not None and upto > self.read_to and not self.since:
            self.blind.append((self.read_to + ONE_DAY, upto))
        self._keep(1.0)

    def _rise(self, rise: float, upto: date, movement: Movement) -> None:
        """Put what the counter rose by on days: those of the additions since, this one, or those in between."""
        logged, day = sum(self.since.values()), movement.day
        if logged > 0 and logged >= MOST_OF_IT * rise:
            self._keep(rise / logged)
            return
        self._keep(1.0)
        assert self.read_to is not None
        if movement.ran:
            self.exact[day] = self.exact.get(day, 0.0) + rise - logged
            self.counted_sum += rise - logged
        elif self.face_day == day:  # read before on this day: the rise is of today, however early
            self.stretches.append(Stretch(day, day, rise - logged, day))
        else:
            self.stretches.append(Stretch(min(self.read_to + ONE_DAY, upto), upto, rise - logged, day))

    def _keep(self, scale: float) -> None:
        for day, amount in self.since.items():
            self.exact[day] = self.exact.get(day, 0.0) + amount * scale
        self.since.clear()

    def told(self) -> Told:
        since = sum(self.since.values())
        self._keep(1.0)
        spread = sum(stretch.amount for stretch in self.stretches)
        return Told(
            self.exact, tuple(self.stretches), tuple(self.blind), self.first, self.last, self.read_from, self.read_to,
            counted=self.read_to is None or (self.counted_sum > 0 and self.counted_sum >= spread),
            since=since, backwards=self.backwards, replaced=self.replaced,
        )  # fmt: skip


@dataclass(frozen=True)
class Days:
    """n meters over d days from `first` on: arrays [n, d].

    `use`: the amount; `seen`: whether the day counts as observed (open, in service, covered by what was told);
    `span`: over how many days the amount was spread, 1 for one that is known by the day.
    """

    first: date
    use: Floats
    seen: Flags
    span: Whole


def daily(
    tolds: Sequence[Told],
    first: date,
    count: int,
    *,
    open_days: Flags,
    profiles: Floats,
    since: Sequence[date],
    out: Sequence[Collection[date]],
) -> Days:
    """Daily use over `count` days from `first`; the last of them is today.

    `open_days` [d]: the shop was open (no holiday). `profiles` [n, 7]: how the weekdays compare, Monday first,
    for spreading. `since`: from which day on each meter is known at all. `out`: the days on which its machine
    was out of service. A day that is closed or out of service is not observed; neither is today, until a reading
    after the day's work tells of it.
    """
    import numpy as np

    if count < 1:
        raise UsageError("count", f"It is {count}.", "Give at least one day.")
    shape = (len(tolds), count)
    days = Days(first, np.zeros(shape), np.zeros(shape, dtype=bool), np.ones(shape, dtype=np.int64))
    weekdays = (first.weekday() + np.arange(count)) % 7
    for row, told in enumerate(tolds):
        works = open_days.copy()
        for day in out[row]:
            if 0 <= (day - first).days < count:
                works[(day - first).days] = False
        _fill(days, row, told, works, profiles[row][weekdays])
        days.seen[row] = _covered(told, first, count, since[row]) & works
    return days


def _fill(days: Days, row: int, told: Told, works: Flags, weights: Floats) -> None:
    """Put one meter's amounts on their days."""
    usual = weights * works
    for start, end, read_on, amount in _inside(told, days.first, len(works)):
        if not usual[start:end].any() and end <= read_on < len(works) and usual[read_on]:
            start, end = read_on, read_on + 1
        share = usual[start:end]
        if not share.sum() > 0:
            share = works[start:end].astype(float) if works[start:end].any() else share + 1.0
        on = share > 0
        days.use[row, start:end] += amount * share / share.sum()
        days.span[row, start:end][on] = int(on.sum())
    for day, amount in told.exact.items():
        if 0 <= (day - days.first).days < len(works):
            days.use[row, (day - days.first).days] += amount


def _inside(told: Told, first: date, count: int) -> list[tuple[int, int, int, float]]:
    """The stretches that lie wholly within the days; of the others it is not known how much of them does."""
    places = [((s.first - first).days, (s.last - first).days + 1, (s.read_on - first).days, s.amount)
              for s in told.stretches]  # fmt: skip
    return [place for place in places if place[0] >= 0 and place[1] <= count]


def _covered(told: Told, first: date, count: int, since: date) -> Flags:
    """The days of which the movements tell something, be it that nothing ran."""
    import numpy as np

    covered = np.zeros(count, dtype=bool)
    if told.first is None:
        return covered
    yesterday = first + timedelta(days=count - 2)
    known, last = since, max(told.read_to or yesterday, yesterday)
    if not told.counted:
        assert told.read_from is not None and told.read_to is not None
        known, last = told.read_from, told.read_to
    covered[_columns(known, last, first)] = True
    for start, end in (*told.blind, *((s.first, s.last) for s in told.stretches if s.first < first)):
        covered[_columns(start, end, first)] = False
    return covered


def _columns(start: date, end: date, first: date) -> slice:
    """The columns of the days `start` to `end`, both included; none that lie before the first."""
    return slice(max((start - first).days, 0), max((end - first).days + 1, 0))


def say_rate(a_week: float, unit: str) -> str:
    """A weekly rate in words: 14.2 h a week."""
    return f"{tidy(a_week, 1 if a_week < 100 else 0)} {unit} a week"
