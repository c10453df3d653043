"""How fast meters run: the level, the week's shape, its scatter, and how far past forecasts of the meter missed.

For every meter, from its daily use (`usage.daily`):

* the level: use a week. Three are tried, in which a past week weighs half after 2, 6 or 26 weeks; they are mixed
  by how well each foretold this meter's own past (a Gaussian likelihood of its misses 4 weeks ahead). While weeks
  are few it is drawn toward what the shop declared (normal-normal shrinkage: the declared week weighs as many
  weeks as its doubt is worth);
* `mean` [7]: use on each weekday, drawn toward five equal days in the same way;
* `var` [7]: scatter of a single day about that, days without use among them;
* `kappa`: how much more weeks scatter than single days would make them (days that follow each other are alike);
* `psi`: variance relative to the mean squared that no averaging mends: the doubt in the level;
* `drift`: what is added to psi for each week ahead: the level moves.

kappa and drift are the method of moments on walk-forward forecasts: at the end of every past week the level is
taken from the weeks before it alone, and the misses of the next 1, 4 and 8 weeks are what they were. With few
weeks both are drawn to starting figures. Those figures and the declared shares are this program's choice, set by
backtest (`wayround backtest`); no source gives them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from webapp.core.problems import UsageError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from webapp.core.usage import Days, Floats, Whole

HALF_LIVES = (2.0, 6.0, 26.0)
"""Weeks after which a past week weighs half, for each of the levels that are tried."""
AHEAD = (1, 4, 8)
"""Weeks ahead that are tried."""
PROFILE_WEEKS = 3.0
"""Weeks that the declared working week is worth in the weekday profile."""
SCATTER_DAYS = 3.0
"""Days that the meter's common scatter is worth in the scatter of one weekday."""
DAY_CV = 0.6
"""Starting figure for the scatter of a single working day, relative to its mean."""
DAY_CV_DAYS = 5.0
"""Days that it is worth."""
DECLARED_CV = 0.8
"""How doubtful a level declared by the hours a week is."""
NEWNESS = 0.35
"""Variance, relative to the mean squared, that weeks to come have beyond what no week has shown yet; it falls with
the square of the weeks known."""
DRIFT = 0.002
"""Starting figure for the drift, a week: the level moves by an eighth in 8 weeks."""
LEAST_DRIFT = 0.0003
DRIFT_DOUBT = 2.2
"""What the drift found is widened by: a season pushes one way for months, which a variance from so few disjoint
stretches understates."""
LEAST_KNOWN = 0.9
"""Weeks that must be known before a past forecast is tried: one, whatever the rounding of its parts."""
WEEKS_TO_TRUST = 4.0
"""Disjoint weeks that kappa's starting figure, 1, is worth."""
STRETCHES_TO_TRUST = 2.0
"""Disjoint stretches of 4 or 8 weeks that DRIFT is worth."""
LEAST_SHARE = 0.05
"""A weekday with less of the week's use is none of the meter's working days."""
MEASURED_DAYS = 20
"""From so many observed working days on, four weeks, a rate is called measured."""

# Use an hour that the shop is open, by kind of meter and unit; kinds without a figure here have no declared rate.
_HOURS = {"spindle_hours": 0.4, "power_hours": 0.9, "run_hours": 0.3, "blast_hours": 0.1, "belt_minutes": 0.1}
_HOUR_UNITS = {"h": 1.0, "hr": 1.0, "hours": 1.0, "min": 60.0, "minutes": 60.0}


def declared_rate(kind: str, unit: str, hours_a_week: float) -> float | None:
    """The weekly use to start from while nothing is measured, in `unit`; None where nothing can be said."""
    share, scale = _HOURS.get(kind), _HOUR_UNITS.get(unit)
    if share is None or scale is None or hours_a_week <= 0:
        return None
    return hours_a_week * share * scale


@dataclass(frozen=True)
class Pace:
    """n meters: `mean`, `var` [n, 7] a weekday, Monday first; `kappa`, `psi`, `drift`, `weeks` (that weigh), `days`
    (observed working days) [n].

    `idle` [n, 7]: share of observed days of that weekday without use, nan where none was observed.
    A meter of which nothing is known or declared has mean nought.
    """

    mean: Floats
    var: Floats
    kappa: Floats
    psi: Floats
    drift: Floats
    weeks: Floats
    days: Floats
    idle: Floats

    @property
    def a_week(self) -> Floats:
        """Use in a week without holidays, [n]."""
        total: Floats = self.mean.sum(axis=1)
        return total


def basis_of(days: float) -> str:
    """In a word, what a rate rests on: declared, mixed, or measured."""
    return "declared" if days <= 0 else "mixed" if days < MEASURED_DAYS else "measured"


def working_week(n: int) -> Floats:
    """The declared week: five equal days, [n, 7]; sums to 1."""
    import numpy as np

    return np.tile(np.array([0.2] * 5 + [0.0, 0.0]), (n, 1))


def spread_and_fit(
    spread: Callable[[Floats], Days], declared: Sequence[float | None], counted: Sequence[bool]
) -> tuple[Days, Pace]:
    """Daily use and pace of a shop's meters, readings spread back by the shop's own week.

    `spread` gives the days for weekday profiles [n, 7]. It is called with five equal days first; when meters known
    by the day (`counted`) then show a week, readings are spread again by it.
    """
    import numpy as np

    days = spread(working_week(len(counted)))
    pace = fit(days, declared)
    shown = np.array(counted, dtype=bool) & (pace.days >= MEASURED_DAYS) & (pace.a_week > 0)
    if not shown.any() or all(counted):
        return days, pace
    week = (pace.mean[shown] / pace.a_week[shown, None]).mean(axis=0)
    days = spread(np.tile(week, (len(counted), 1)))
    return days, fit(days, declared)


def fit(days: Days, declared: Sequence[float | None]) -> Pace:
    """The pace of every meter. `declared`: weekly use to start from, None where there is none."""
    import numpy as np

    n, count = days.use.shape
    if len(declared) != n:
        raise UsageError("declared", f"It has {len(declared)} rates for {n} meters.", "Give one a meter, or None.")
    prior = np.array([np.nan if rate is None else rate for rate in declared], dtype=float)
    weekday = (days.first.weekday() + np.arange(count)) % 7
    seen, use = days.seen.astype(float), np.where(days.seen, days.use, 0.0)
    week = _Week(use, seen, days.span, weekday, prior)
    walk = _Walk(use, seen, weekday, week, prior)
    mean = walk.level[:, None] * week.shape
    # Scatter grows with the level as it does for counts: its ratio to the mean stays.
    rise = np.divide(walk.level, week.level, out=np.ones(n), where=week.level > 0)
    kappa, psi, drift = walk.moments()
    return Pace(mean, week.var * rise[:, None], kappa, psi, drift, walk.weeks, week.worked, week.idle)


class _Week:
    """The shape of the week over the whole window, and the scatter of its days."""

    def __init__(self, use: Floats, seen: Floats, span: Whole, weekday: Whole, prior: Floats) -> None:
        import numpy as np

        onehot, base = np.eye(7)[weekday], working_week(len(use))
        self.each, used = seen @ onehot, use @ onehot
        weeks = (self.each * base).sum(axis=1)
        self.level = _level(used.sum(axis=1), weeks, prior, np.full(len(use), DAY_CV**2 / 5))
        mean = (used + PROFILE_WEEKS * self.level[:, None] * base) / (self.each + PROFILE_WEEKS)
        whole = mean.sum(axis=1, keepdims=True)
        self.shape = np.divide(mean, whole, out=base.copy(), where=whole > 0)
        self.var = _scatter(use, seen, span, weekday, mean, onehot)
        self.cv2 = np.divide(
            self.var.sum(axis=1), whole[:, 0] ** 2, out=np.full(len(use), DAY_CV**2 / 5), where=whole[:, 0] > 0
        )
        usual = self.shape >= LEAST_SHARE
        self.worked = (seen * (usual[:, weekday] | ((use > 0) & (span == 1)))).sum(axis=1)
        idle = (seen * (use <= 0)) @ onehot
        self.idle = np.divide(idle, self.each, out=np.full((len(use), 7), np.nan), where=self.each > 0)


def _level(used: Floats, weeks: Floats, prior: Floats, week_cv2: Floats) -> Floats:
    """Use a week, (used + k prior) / (weeks + k), where k is the weeks that the declared rate is worth."""
    import numpy as np

    k = np.where(np.isnan(prior), 0.0, week_cv2 / DECLARED_CV**2)
    total = weeks + k
    level: Floats = np.divide(used + k * np.nan_to_num(prior), total, out=np.zeros_like(used), where=total > 0)
    return level


def _scatter(use: Floats, seen: Floats, span: Whole, weekday: Whole, mean: Floats, onehot: Floats) -> Floats:
    """Variance of a single day by weekday. An amount spread over s days has 1/s of a day's variance a day."""
    import numpy as np

    squares = seen * span * (use - mean[:, weekday]) ** 2
    each = seen @ onehot
    # One relative scatter a meter, its variance growing with the weekday's mean.
    size = np.divide((mean**2).sum(axis=1), mean.sum(axis=1), out=np.zeros(len(mean)), where=mean.sum(axis=1) > 0)
    start = mean * size[:, None]
    expected, known = (each * start).sum(axis=1), each.sum(axis=1)
    scale = np.divide(squares.sum(axis=1), expected, out=np.full(len(mean), DAY_CV**2), where=expected > 0)
    common = (known * scale + DAY_CV_DAYS * DAY_CV**2) / (known + DAY_CV_DAYS)
    var: Floats = (squares @ onehot + SCATTER_DAYS * common[:, None] * start) / (each + SCATTER_DAYS)
    return var


class _Walk:
    """The level at the end of every week from the weeks before it, and how far each would have missed what came.

    Arrays [e edges, …, n]: `levels` by candidate, `due` (weeks ahead that were observed), `told` (what ran in
    them) and `spread` (variance of their days) by length.
    """

    def __init__(self, use: Floats, seen: Floats, weekday: Whole, week: _Week, prior: Floats) -> None:
        import numpy as np

        self.week, self.prior = week, prior
        n, count = use.shape
        parts = (use, week.shape[:, weekday] * seen, week.var[:, weekday] * seen)
        sums = [np.concatenate([np.zeros((n, 1)), np.cumsum(part, axis=1)], axis=1) for part in parts]
        # Whole weeks back from today; what is left over at the beginning is a week of its own.
        edges = np.unique(np.concatenate([[0], np.arange(count, -1, -7)]))
        use_sum, due_sum, var_sum = (part[:, edges].T for part in sums)
        self._levels(np.diff(use_sum, axis=0), np.diff(due_sum, axis=0))
        blank = np.zeros((len(AHEAD), len(edges), n))
        self.told, self.due, self.spread = blank, blank.copy(), blank.copy()
        for place, weeks in enumerate(AHEAD):
            last = max(len(edges) - weeks, 0)
            for part, total in ((self.told, use_sum), (self.due, due_sum), (self.spread, var_sum)):
                part[place, :last] = total[weeks:] - total[:last]
        # Only where there was something to forecast from, and most of the stretch was observed.
        enough = self.due >= 0.5 * np.array(AHEAD)[:, None, None]
        self.good = enough & (self.known[None] >= LEAST_KNOWN)
        self._mix()

    def _levels(self, used: Floats, due: Floats) -> None:
        """Each candidate's level at each edge."""
        import numpy as np

        shape = (len(used) + 1, *used.shape[1:])
        found = []
        for half_life in HALF_LIVES:
            fade = 0.5 ** (1 / half_life)
            past_used, past_due = np.zeros(shape), np.zeros(shape)
            for edge in range(1, len(past_used)):
                past_used[edge] = past_used[edge - 1] * fade + used[edge - 1]
                past_due[edge] = past_due[edge - 1] * fade + due[edge - 1]
            found.append(_level(past_used, past_due, self.prior, self.week.cv2))
            self.known = past_due
        self.levels = np.stack(found)

    def _mix(self) -> None:
        """Weigh the candidates by how well they did."""
        import numpy as np

        months = AHEAD.index(4)
        miss = np.where(self.good[months], (self.told[months] - self.levels * self.due[months]) ** 2, 0.0).sum(axis=1)
        told = self.good[months].sum(axis=0) / 4
        least = miss.min(axis=0)
        ratio = np.divide(miss, least, out=np.ones_like(miss), where=least > 0)
        weight = ratio ** (-told / 2)
        self.mixed = ((weight / weight.sum(axis=0))[:, None] * self.levels).sum(axis=0)
        self.level, self.weeks = self.mixed[-1], self.known[-1]

    def moments(self) -> tuple[Floats, Floats, Floats]:
        """kappa, psi and drift: the method of moments on the errors of the mixed forecast."""
        import numpy as np

        week, n = self.week, len(self.level)
        mean = self.mixed * self.due
        error = np.where(self.good, (self.told - mean) ** 2, 0.0).sum(axis=1)
        rise = np.divide(self.mixed, week.level, out=np.ones_like(self.mixed), where=week.level > 0)
        spread = np.where(self.good, self.spread * rise, 0.0).sum(axis=1)
        square = np.where(self.good, mean**2, 0.0).sum(axis=1)
        stretches = np.where(self.good, self.due, 0.0).sum(axis=1) / np.array(AHEAD)[:, None] ** 2
        ratio = np.divide(error[0], spread[0], out=np.ones(n), where=spread[0] > 0)
        kappa = (stretches[0] * ratio + WEEKS_TO_TRUST) / (stretches[0] + WEEKS_TO_TRUST)
        psi = self._doubt(kappa)
        doubted = np.where(self.good, psi * mean**2, 0.0).sum(axis=1)
        found, trust = np.full(n, STRETCHES_TO_TRUST * DRIFT), np.full(n, STRETCHES_TO_TRUST)
        for place in range(1, len(AHEAD)):
            rest = error[place] - kappa * spread[place] - doubted[place]
            seen = np.divide(rest, AHEAD[place] * square[place], out=np.zeros(n), where=square[place] > 0)
            found, trust = found + stretches[place] * seen, trust + stretches[place]
        return kappa, psi[-1], np.maximum(DRIFT_DOUBT * found / trust, LEAST_DRIFT)

    def _doubt(self, kappa: Floats) -> Floats:
        """Relative variance of the level at each edge: a week's, over the weeks that it rests on; and what so few
        weeks cannot have shown yet."""
        import numpy as np

        k = np.where(np.isnan(self.prior), 0.0, self.week.cv2 / DECLARED_CV**2)
        total = self.known + k
        doubt = np.divide(kappa * self.week.cv2, total, out=np.full(total.shape, DECLARED_CV**2), where=total > 0)
        both: Floats = doubt + NEWNESS / (1 + self.known) ** 2
        return both
