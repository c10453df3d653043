"""How fast meters run: the week's profile, its scatter, and how far past forecasts of the same meter were off.

For every meter, from its daily use (`usage.daily`), newest weeks weighing most (weight halves every HALF_LIFE
weeks):

* the level: use a week, drawn toward what the shop declared while weeks are few (normal-normal shrinkage; the
  declared week weighs as many weeks as its own doubt is worth);
* `mean` [7]: use on each weekday, drawn toward the working week in the same proportions;
* `var` [7]: scatter of a single day about that, days without use among them;
* `kappa`: how much more weeks scatter than single days would make them (days that follow each other are alike);
* `psi`: variance, relative to the mean squared, that does not average out: the level is doubtful, and it drifts.

kappa and psi are the method of moments on walk-forward forecasts: at the end of every past week the level is
taken from the days before it alone, and the errors of the next week and the next four weeks are what they were.
With few weeks both are drawn to starting figures. Those figures, HALF_LIFE and the declared shares are this
program's choice, set by backtest (`wayround backtest`); no source gives them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from webapp.core.problems import UsageError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from webapp.core.usage import Days, Floats, Whole

HALF_LIFE = 8.0
"""Weeks after which a day weighs half."""
PROFILE_WEEKS = 3.0
"""Weeks that the declared working week is worth in the weekday profile."""
SCATTER_DAYS = 3.0
"""Days that the meter's common scatter is worth in the scatter of one weekday."""
DAY_CV = 0.6
"""Starting figure for the scatter of a single working day, relative to its mean."""
DECLARED_CV = 0.8
"""How doubtful a level declared by the hours a week is."""
DRIFT = 0.01
"""Starting figure for psi beyond the doubt in the level: the level moves by a tenth."""
WEEKS_TO_TRUST = 4.0
"""Disjoint stretches that the starting figures of kappa and psi are worth."""
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
    """n meters: `mean`, `var` [n, 7] a weekday, Monday first; `kappa`, `psi`, `weeks` (that weigh), `days`
    (observed working days) [n].

    `idle` [n, 7]: share of observed days of that weekday without use, nan where none was observed.
    A meter of which nothing is known or declared has mean nought.
    """

    mean: Floats
    var: Floats
    kappa: Floats
    psi: Floats
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


def fit(days: Days, declared: Sequence[float | None]) -> Pace:
    """The pace of every meter. `declared`: weekly use to start from, None where there is none."""
    import numpy as np

    n, count = days.use.shape
    if len(declared) != n:
        raise UsageError("declared", f"It has {len(declared)} rates for {n} meters.", "Give one a meter, or None.")
    prior = np.array([np.nan if rate is None else rate for rate in declared], dtype=float)
    weekday = (days.first.weekday() + np.arange(count)) % 7
    weight = 0.5 ** (np.arange(count)[::-1] / (7 * HALF_LIFE))
    seen = days.seen.astype(float)
    use = np.where(days.seen, days.use, 0.0)
    onehot = np.eye(7)[weekday]
    exposure, used = (seen * weight) @ onehot, (use * weight) @ onehot
    shape0 = working_week(n)
    weeks = (exposure * shape0).sum(axis=1)
    week_cv2 = np.full(n, DAY_CV**2 / 5)
    level = _level(used.sum(axis=1), weeks, prior, week_cv2)
    mean = (used + PROFILE_WEEKS * level[:, None] * shape0) / (exposure + PROFILE_WEEKS)
    var = _scatter(use, seen, days.span, weekday, mean, onehot)
    kappa, psi = _errors(use, seen, weekday, mean, var, prior)
    worked = mean >= LEAST_SHARE * mean.sum(axis=1, keepdims=True)
    counted = (seen * (worked[:, weekday] | (use > 0))).sum(axis=1)
    idle_days = (seen * (use <= 0)) @ onehot
    each = seen @ onehot
    idle = np.divide(idle_days, each, out=np.full((n, 7), np.nan), where=each > 0)
    return Pace(mean, var, kappa, psi, weeks, counted, idle)


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
    squares_by_day = squares @ onehot
    # One relative scatter a meter, its variance growing with the weekday's mean.
    size = np.divide((mean**2).sum(axis=1), mean.sum(axis=1), out=np.zeros(len(mean)), where=mean.sum(axis=1) > 0)
    start = mean * size[:, None]
    expected = (each * start).sum(axis=1)
    found, known = squares.sum(axis=1), np.minimum(each.sum(axis=1), 1e9)
    scale = np.divide(found, expected, out=np.full(len(mean), DAY_CV**2), where=expected > 0)
    common = (known * scale + 5 * DAY_CV**2) / (known + 5)
    var: Floats = (squares_by_day + SCATTER_DAYS * common[:, None] * start) / (each + SCATTER_DAYS)
    return var


def _errors(
    use: Floats, seen: Floats, weekday: Whole, mean: Floats, var: Floats, prior: Floats
) -> tuple[Floats, Floats]:
    """kappa and psi from what forecasts at the end of each past week would have missed by."""
    import numpy as np

    n, count = use.shape
    week = mean.sum(axis=1)
    shape = np.divide(mean, week[:, None], out=working_week(n), where=week[:, None] > 0)
    steps = shape[:, weekday] * seen
    scatter = var[:, weekday] * seen
    week_cv2 = np.divide(var.sum(axis=1), week**2, out=np.full(n, DAY_CV**2 / 5), where=week > 0)
    sums = [np.concatenate([np.zeros((n, 1)), np.cumsum(a, axis=1)], axis=1) for a in (use, steps, scatter)]
    fade = 0.5 ** (1 / HALF_LIFE)
    edges = list(range(count % 7, count, 7))
    past_use, past_steps = np.zeros(n), np.zeros(n)
    totals = np.zeros((2, 4, n))
    for place, edge in enumerate(edges):
        before = edges[place - 1] if place else 0
        past_use = past_use * fade + sums[0][:, edge] - sums[0][:, before]
        past_steps = past_steps * fade + sums[1][:, edge] - sums[1][:, before]
        level = _level(past_use, past_steps, prior, week_cv2)
        for size, ahead in enumerate((7, 28)):
            if edge + ahead <= count:
                told, due, spread = (total[:, edge + ahead] - total[:, edge] for total in sums)
                # Only where there was something to forecast from, and most of the stretch was observed.
                good = (past_steps >= 1) & (due >= 0.5 * ahead / 7)
                rows = ((told - level * due) ** 2, spread, (level * due) ** 2, due / (ahead / 7) / (ahead / 7))
                totals[size] += np.where(good, rows, 0.0)
    return _moments(totals, week_cv2, _doubt(seen, weekday, shape, week_cv2, prior))


def _doubt(seen: Floats, weekday: Whole, shape: Floats, week_cv2: Floats, prior: Floats) -> Floats:
    """Relative variance of the level itself: a week's, over the weeks that it rests on."""
    import numpy as np

    weight = 0.5 ** (np.arange(seen.shape[1])[::-1] / (7 * HALF_LIFE))
    weeks = (shape[:, weekday] * seen * weight).sum(axis=1)
    k = np.where(np.isnan(prior), 0.0, week_cv2 / DECLARED_CV**2)
    total = weeks + k
    doubt: Floats = np.divide(week_cv2, total, out=np.full(len(total), DECLARED_CV**2), where=total > 0)
    return doubt


def _moments(totals: Floats, week_cv2: Floats, doubt: Floats) -> tuple[Floats, Floats]:
    """totals [2 lengths, (squared error, variance of days, squared mean, stretches), n] -> kappa, psi."""
    import numpy as np

    (week_error, week_var, _, weeks), (month_error, month_var, month_mean, months) = totals
    ratio = np.divide(week_error, week_var, out=np.ones_like(week_var), where=week_var > 0)
    kappa = (weeks * ratio + WEEKS_TO_TRUST) / (weeks + WEEKS_TO_TRUST)
    rest = month_error - kappa * month_var
    seen_psi = np.divide(rest, month_mean, out=np.zeros_like(rest), where=month_mean > 0)
    start = doubt * kappa + DRIFT
    psi = (months * seen_psi + WEEKS_TO_TRUST * start) / (months + WEEKS_TO_TRUST)
    return kappa, np.maximum(psi, doubt * kappa)
