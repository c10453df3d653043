"""While a machine is stopped: which tasks that are near due are worth doing together with one that is due.

Doing a task early gives up some days of its interval; done together with a due one it saves a second lock-out.
Nothing is ever put off for company's sake. The thresholds and the minutes that a lock-out takes are this
program's choice (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from webapp.core.dates import say_days
from webapp.core.numbers import say, tidy

LOCK_OUT = frozenset({"lock_out", "blade_change", "belt_change"})
"""Cautions whose card begins with locking the machine out (29 CFR 1910.147)."""
LOCK_OUT_MINUTES = 5.0
"""To lock out, prove it dead and take the locks off again."""
MOST_SHARE = 0.2
"""The most of its interval that a task may give up by being done early."""
MOST_DAYS = 30
_DUE = ("due", "late")


@dataclass(frozen=True)
class Candidate:
    """A task of one machine. `fraction`: how much of its interval is used up; `likely`: when it is expected due."""

    task: str
    name: str
    state: str
    minutes: float
    fraction: float
    likely: date | None
    cautions: tuple[str, ...] = ()

    @property
    def lock_out(self) -> bool:
        """It begins with locking the machine out."""
        return bool(LOCK_OUT & set(self.cautions))


@dataclass(frozen=True)
class Early:
    """A task worth doing now: `days_early` and the `share` of its interval are given up by it."""

    task: str
    minutes: float
    days_early: int
    share: float
    lock_out: bool


@dataclass(frozen=True)
class Bundle:
    """`because`: the tasks that are due; `early`: what to do with them; `minutes` for all, `saved` against doing
    each on its own day; `lock_out`: one lock-out serves them."""

    because: tuple[str, ...]
    early: tuple[Early, ...]
    minutes: float
    saved: float
    lock_out: bool
    why: str


def bundle(machine: str, tasks: Iterable[Candidate], today: date, *, stopped: bool = False) -> Bundle | None:
    """What to do together on the machine of this name; None when nothing is gained.

    A task joins when it shares its lock-out with one that is due, or when the machine is out of service
    (`stopped`) anyway, and when it gives up no more than a fifth of its interval and 30 days.
    """
    rows = sorted(tasks, key=lambda row: (row.likely or date.max, row.task))
    due = [row for row in rows if row.state in _DUE]
    shared = any(row.lock_out for row in due)
    near = [row for row in rows if row.state not in _DUE and (stopped or (shared and row.lock_out))]
    early = tuple(found for row in near if (found := _early(row, today)))
    if not early:
        return None
    locked = sum(row.lock_out for row in due) + sum(row.lock_out for row in early)
    saved = LOCK_OUT_MINUTES * max(locked - 1, 0)
    minutes = sum(row.minutes for row in due) + sum(row.minutes for row in early)
    names = {row.task: row.name for row in rows}
    why = _why(machine, due, early, names, saved, stopped)
    return Bundle(tuple(row.task for row in due), early, tidy(minutes, 1), saved, locked > 1, why)


def _early(row: Candidate, today: date) -> Early | None:
    """How early it would be, or None when that is too much or not known."""
    share = 1 - row.fraction
    if row.likely is None or not 0 < share <= MOST_SHARE:
        return None
    days = max((row.likely - today).days, 0)
    return Early(row.task, row.minutes, days, tidy(share, 3), row.lock_out) if days <= MOST_DAYS else None


def _why(
    machine: str, due: Sequence[Candidate], early: Sequence[Early], names: dict[str, str], saved: float, stopped: bool
) -> str:
    also = ", ".join(f"“{names[row.task]}” ({say(row.minutes)} min, {_ahead(row.days_early)})" for row in early)
    locked = [f"“{row.name}”" for row in due if row.lock_out]
    start = f"While {machine} is " + ("out of service" if stopped else f"locked out for {_list(locked)}")
    gain = f" One lock-out serves them all: about {say(saved)} min less." if saved else ""
    return f"{start}: also {also}.{gain}"


def _ahead(days: int) -> str:
    return f"{say_days(days)} early" if days else "due about now"


def _list(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
