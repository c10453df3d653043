"""On which day a meter reaches a figure: 10, 50 and 90 % dates for any number of rules at once.

Use over the days ahead is taken as gamma distributed: it never runs backwards and leans to the right. Over h days
its mean is m = sum of the weekday means, its variance v = kappa * sum of the weekday variances +
(psi + drift * w) m^2, with w the weeks of use in m (`pace.py`); closed days add nothing. The figure x is reached by
the end of day h when the use S is at least x: P(T <= h) = P(S >= x) = Q(m^2/v, x m/v), Q the upper regularised
incomplete gamma function (DLMF 8.2.4). That is first passage of a process that only rises, so no simulation is
needed and the same facts give the same days.

Dates are whole days, a range of them 80 %: a day belongs to it when the middle of the day does (mid-P, as in
Lancaster, Significance tests in discrete distributions, 1961), else its ends would promise more than 80 %.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from webapp.core.problems import UsageError

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from webapp.core.pace import Pace
    from webapp.core.usage import Flags, Floats, Whole

HORIZON_DAYS = 3 * 366
"""How far ahead a date is given; what is further off has none."""
LOW, HIGH = 0.1, 0.9
DRIFT_WEEKS = 13.0
"""Weeks after which the level drifts no further: a quarter of a year."""
BEYOND = -1
"""In place of a day that lies past the horizon."""


@dataclass(frozen=True)
class Calendar:
    """Days from `first` on: `open_days` [d], and `counts` [d + 1, 7], how many open days of each weekday lie
    before the place."""

    first: date
    open_days: Flags
    counts: Floats

    @property
    def days(self) -> int:
        return len(self.open_days)

    def date_of(self, place: int) -> date:
        """The date of a column."""
        return self.first + timedelta(days=int(place))


def calendar(first: date, count: int, closed: Collection[date]) -> Calendar:
    """`count` days from `first`; `closed` are the shop's holidays."""
    import numpy as np

    if count < 1:
        raise UsageError("count", f"It is {count}.", "Give at least one day.")
    open_days = np.ones(count, dtype=bool)
    for day in closed:
        if 0 <= (day - first).days < count:
            open_days[(day - first).days] = False
    weekday = (first.weekday() + np.arange(count)) % 7
    counts = np.zeros((count + 1, 7))
    np.cumsum(np.eye(7)[weekday] * open_days[:, None], axis=0, out=counts[1:])
    return Calendar(first, open_days, counts)


@dataclass(frozen=True)
class Asked:
    """m questions, as arrays [m]: on which meter (`row` of the pace), `need`: how much is left to run on it,
    `start`: the column of the first day whose use counts toward it, `share`: how much of that day is left."""

    row: Whole
    need: Floats
    start: Whole
    share: Floats


@dataclass(frozen=True)
class Crossings:
    """Columns of the calendar [m]: the day by which it is 10, 50 and 90 % likely; BEYOND past its end."""

    early: Whole
    likely: Whole
    late: Whole


def crossings(pace: Pace, days: Calendar, asked: Asked) -> Crossings:
    """The range of days on which each figure is reached. A need of nought or less is reached on its first day.

    Raises UsageError for a need that is no number, a start outside the calendar, or a share outside 0 to 1.
    """
    import numpy as np

    _check(asked, days, len(pace.mean))
    ahead = _Ahead(pace, days, asked)
    likely = ahead.first_day(0.5, np.ones_like(ahead.last), ahead.last + 1, whole=True)
    # The first day whose middle lies beyond 10 %, and the last whose middle does not lie beyond 90 %.
    early = np.minimum(ahead.opened(ahead.first_day(LOW, np.ones_like(likely), likely, whole=False), 1), likely)
    past = ahead.first_day(HIGH, likely, ahead.last + 1, whole=False)
    late = np.maximum(ahead.opened(past - 1, -1), likely)
    late = np.where(past > ahead.last, past, late)
    reached = asked.need <= 0

    def told(places: Whole) -> Whole:
        out = np.where(places > ahead.last, BEYOND, asked.start + places - 1)
        return np.where(reached, asked.start, out).astype(np.int64)

    return Crossings(told(early), told(likely), told(late))


def chance(pace: Pace, days: Calendar, asked: Asked, place: int) -> Floats:
    """How likely each figure was reached by the end of the day in column `place`, [m]."""
    import numpy as np

    _check(asked, days, len(pace.mean))
    ahead = _Ahead(pace, days, asked)
    passed = np.clip(place - asked.start + 1, 0, ahead.last)
    return np.where(asked.need <= 0, 1.0, np.where(passed > 0, ahead.reached(passed, whole=True), 0.0))


def _check(asked: Asked, days: Calendar, meters: int) -> None:
    import numpy as np

    if not np.isfinite(asked.need).all():
        raise UsageError("need", "One of them is not a number.", "Give what is left to run, in the meter's unit.")
    if len(asked.row) and not (asked.row.min() >= 0 and asked.row.max() < meters):
        raise UsageError("row", "One names no meter.", f"Give 0 to {meters - 1}.")
    if len(asked.start) and not (asked.start.min() >= 0 and asked.start.max() < days.days):
        raise UsageError("start", "One lies outside the calendar.", "Begin the calendar no later than the readings.")
    if len(asked.share) and not (asked.share.min() >= 0 and asked.share.max() <= 1):
        raise UsageError("share", "One lies outside 0 to 1.", "Give the share of the first day that is left.")


class _Ahead:
    """The days ahead of each question, counted 1, 2, 3 … from its start."""

    def __init__(self, pace: Pace, days: Calendar, asked: Asked) -> None:
        import numpy as np

        row = asked.row
        self.mean, self.var = pace.mean[row], pace.var[row]
        self.kappa, self.psi, self.drift = pace.kappa[row], pace.psi[row], pace.drift[row]
        self.a_week, self.need = pace.a_week[row], asked.need
        self.days, self.start = days, asked.start
        # What of the first day is gone already counts for nothing.
        today = days.counts[asked.start + 1] - days.counts[asked.start]
        self.before = days.counts[asked.start] + today * (1 - asked.share)[:, None]
        self.works = self.mean > 0
        self.last = days.days - asked.start
        self._np = np

    def first_day(self, probability: float, low: Whole, high: Whole, *, whole: bool) -> Whole:
        """The first day, of those between two, at whose end (or middle) the chance is at least `probability`; the
        upper one when none before it is. Halves the days between until one is left."""
        np = self._np
        while (low < high).any():
            middle = (low + high) // 2
            enough = self.reached(np.minimum(middle, self.last), whole=whole) >= probability
            enough |= middle > self.last
            low, high = np.where(enough, low, np.minimum(middle + 1, high)), np.where(enough, middle, high)
        return high

    def reached(self, day: Whole, *, whole: bool) -> Floats:
        """P(S >= need) at the end of a day, or at its middle."""
        np = self._np
        from scipy.special import gammaincc

        counts = self.days.counts[self.start + day]
        if not whole:
            counts = (counts + self.days.counts[self.start + day - 1]) / 2
        counts = np.maximum(counts - self.before, 0.0)
        mean = np.einsum("md,md->m", counts, self.mean)
        weeks = np.divide(mean, self.a_week, out=np.zeros_like(mean), where=self.a_week > 0)
        level = self.psi + self.drift * np.minimum(weeks, DRIFT_WEEKS)
        var = self.kappa * np.einsum("md,md->m", counts, self.var) + level * mean**2
        runs = (mean > 0) & (var > 0)
        mean, var = np.where(runs, mean, 1.0), np.where(runs, var, 1.0)
        chances: Floats = gammaincc(mean**2 / var, np.maximum(self.need, 0.0) * mean / var)
        chances[~runs] = 0.0
        return chances

    def opened(self, day: Whole, step: int) -> Whole:
        """Each day moved on (or back) to one on which the meter can run."""
        np = self._np
        day = np.clip(day, 1, self.last + 1)
        for _ in range(366):
            place = np.minimum(self.start + day, self.days.days)
            today = self.days.counts[place] - self.days.counts[place - 1]
            rests = ((today > 0) & self.works).sum(axis=1) == 0
            rests &= (day > 1) & (day <= self.last)
            if not rests.any():
                break
            day = np.where(rests, day + step, day)
        return day


def ordinals(places: npt.NDArray[np.int64], days: Calendar) -> list[date | None]:
    """Columns as dates; None for what lies beyond."""
    return [None if place == BEYOND else days.date_of(place) for place in places.tolist()]
