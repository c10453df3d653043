"""Spares in the drawer: how fast they go, when to order, how long they last.

Pieces used while a delivery is on its way are taken as Poisson; where the record scatters more than that, as negative
binomial with the scatter seen (variance over mean), the usual pair for slow spares (Axsäter, Inventory Control, from
memory). Quantiles are exact sums, not the normal curve that is wrong for a handful of pieces. The interval of the use
rate is Garwood's (Biometrika 28, 1936, from memory), from chi-square. Times are in days.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from webapp.core.gammas import chi_square_quantile, gamma_quantile
from webapp.core.numbers import is_number
from webapp.core.problems import WearError

# Scatter is judged on at least so many spans of time; fewer tell nothing.
FEWEST_SPANS = 6
_MOST_PIECES = 1_000_000


@dataclass(frozen=True)
class Use:
    """What was used in so many days; `scatter` is variance over mean, 1 unless the record shows more."""

    pieces: float
    days: float
    scatter: float = 1.0

    @property
    def a_day(self) -> float:
        """Pieces a day."""
        return self.pieces / self.days

    def a_day_range(self, level: float = 0.9) -> tuple[float, float]:
        """The interval of the pieces a day: chi-square quantiles of twice the count, widened by the scatter."""
        _between("level", level)
        count, beyond = self.pieces / self.scatter, (1 - level) / 2
        low = chi_square_quantile(beyond, 2 * count) / 2
        high = chi_square_quantile(1 - beyond, 2 * count + 2) / 2
        return low * self.scatter / self.days, high * self.scatter / self.days


def observe(uses: Sequence[tuple[float, float]], days: float, span: float) -> Use:
    """The use from (day, pieces) rows over `days` days; scatter judged over spans of `span` days.

    A day is counted from the start, 0 <= day < days. More scatter than Poisson is taken only when it is significant:
    dispersion test at 5 %, (spans - 1) variance / mean against chi-square (Fisher, from memory).
    """
    _above("days", days, "Look back over at least a day.")
    _above("span", span, "Give the lead time, or a week.")
    for day, pieces in uses:
        if not is_number(day) or not 0 <= day < days:
            raise WearError("uses", f"Day {day} lies outside the {days:g} days looked at.", "Give days from the start.")
        if not is_number(pieces) or pieces < 0:
            raise WearError("uses", f"{pieces} pieces were used.", "Give a number of 0 or more.")
    return Use(math.fsum(pieces for _, pieces in uses), days, _scatter(uses, days, span))


def _scatter(uses: Sequence[tuple[float, float]], days: float, span: float) -> float:
    spans = int(days // span)
    if spans < FEWEST_SPANS:
        return 1.0
    # Counted back from today, so that the rest left over is the oldest.
    counts = [0.0] * spans
    for day, pieces in uses:
        place = int((days - day) / span)
        if place < spans:
            counts[place] += pieces
    mean = sum(counts) / spans
    if mean == 0:
        return 1.0
    over = sum((count - mean) ** 2 for count in counts) / mean
    return over / (spans - 1) if over > chi_square_quantile(0.95, spans - 1) else 1.0


def reorder_point(use: Use, lead_days: float, service: float) -> int:
    """Order when so many are left: the least that a lead time uses up with a probability of at most 1 - `service`."""
    _above("lead_days", lead_days, "Give the days from order to delivery.")
    return demand_quantile(use.a_day * lead_days, use.scatter, service)


def position(on_hand: float, on_order: float) -> float:
    """What the reorder point is held against: pieces in the drawer and on the way to it.

    Held against the drawer alone, each day of waiting would say to order once more (inventory position; Axsäter,
    Inventory Control, from memory).
    """
    if not is_number(on_order) or on_order < 0:
        raise WearError("on_order", "It is below nought.", "Give the pieces that are still to come, 0 for none.")
    return on_hand + on_order


def demand_quantile(mean: float, scatter: float, service: float) -> int:
    """The least count that is not exceeded with probability `service`: Poisson, or negative binomial of that scatter.

    WearError for a service level outside 0 to 1, a negative mean, a scatter below 1 or a demand beyond a million.
    """
    _between("service", service)
    if not is_number(mean) or not 0 <= mean <= _MOST_PIECES:
        raise WearError("mean", f"{mean} is no demand of 0 to {_MOST_PIECES}.", "Check use and lead time.")
    if not is_number(scatter) or scatter < 1:
        raise WearError("scatter", "It is below 1.", "Give variance over mean, 1 for a plain Poisson.")
    if mean == 0:
        return 0
    count, total = 0, 0.0
    log_chance = _log_none(mean, scatter)
    while True:
        total += math.exp(log_chance)
        # The terms' own rounding must not ask for one piece more.
        if total >= service - 1e-9 or count > mean + 60 * math.sqrt(mean * scatter) + 60 * scatter:
            return count
        log_chance += _log_next(count, mean, scatter)
        count += 1


def _log_none(mean: float, scatter: float) -> float:
    """Log of the chance that none is used."""
    return -mean if scatter == 1 else -mean / (scatter - 1) * math.log(scatter)


def _log_next(count: int, mean: float, scatter: float) -> float:
    """Log of the chance of one more over that of `count`."""
    return math.log((mean + count * (scatter - 1)) / scatter / (count + 1))


def days_left(use: Use, stock: float, shares: Sequence[float] = (0.1, 0.5, 0.9)) -> list[float] | None:
    """The days after which the drawer is empty, with each probability; None when nothing was used.

    The time until the last of so many is used is gamma distributed, widened by the scatter.
    """
    if not is_number(stock) or stock < 0:
        raise WearError("stock", "It is below nought.", "Count the drawer.")
    for share in shares:
        _between("shares", share)
    if use.pieces == 0:
        return None
    one = use.scatter / use.a_day
    return [gamma_quantile(stock / use.scatter, share) * one for share in shares]


def _above(name: str, value: float, mend: str) -> None:
    if not is_number(value) or value <= 0:
        raise WearError(name, "It is not a number above zero.", mend)


def _between(name: str, value: float) -> None:
    if not is_number(value) or not 0 < value < 1:
        raise WearError(name, "It is not a number between 0 and 1.", "Give a share such as 0.95.")
