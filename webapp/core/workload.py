"""The work of the weeks ahead: which task falls on which day, in minutes, and whose it usually is."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from webapp.core.numbers import is_number, tidy
from webapp.core.problems import UsageError

WEEKS = 8
MOST_OFTEN = 0.5
"""A task is said to be somebody's who did it at least this share of the times."""
LEAST_TIMES = 2
_MOST_TIMES = 400


@dataclass(frozen=True)
class Job:
    """A task on the days on which it is expected; `days` hold how often (0 to 1 for a round done on days of use).

    `person`: who usually does it, None when nobody does.
    """

    task: str
    machine: str | None
    minutes: float
    days: Mapping[date, float]
    person: str | None


@dataclass(frozen=True)
class Share:
    """What one task takes in one week: `times` it is expected, on which days, and the minutes in all."""

    task: str
    machine: str | None
    person: str | None
    days: tuple[date, ...]
    times: float
    minutes: float


@dataclass(frozen=True)
class Week:
    """A week from its Monday on; the first begins today. `people`: minutes by person, None for nobody's."""

    monday: date
    minutes: float
    people: dict[str | None, float]
    shares: tuple[Share, ...]


def occurrences(first: date | None, again: Callable[[date], date | None], today: date, end: date) -> list[date]:
    """The days on which a task falls before `end`, from its first on (today when that is past), each next one
    counted from the doing of the one before. A task that falls on the same day again falls on the next day."""
    days: list[date] = []
    day = max(first, today) if first else None
    while day is not None and day < end and len(days) < _MOST_TIMES:
        days.append(day)
        after = again(day)
        day = None if after is None else max(after, day + timedelta(days=1))
    return days


def by_week(jobs: Iterable[Job], today: date, weeks: int = WEEKS) -> list[Week]:
    """Each of the weeks ahead with its jobs. UsageError for minutes that are negative or no number."""
    jobs = list(jobs)
    for index, job in enumerate(jobs):
        if not is_number(job.minutes) or job.minutes < 0:
            raise UsageError(f"jobs[{index}].minutes", f"It is {job.minutes}.", "Give the minutes the task takes.")
    monday = today - timedelta(days=today.weekday())
    return [_week(jobs, monday + timedelta(weeks=number), today) for number in range(weeks)]


def _week(jobs: Sequence[Job], monday: date, today: date) -> Week:
    start, end = max(monday, today), monday + timedelta(weeks=1)
    shares = []
    people: dict[str | None, float] = {}
    for job in jobs:
        days = {day: times for day, times in job.days.items() if start <= day < end}
        times = sum(days.values())
        if times > 0:
            minutes, dated = job.minutes * times, tuple(sorted(days))
            shares.append(Share(job.task, job.machine, job.person, dated, tidy(times, 2), tidy(minutes, 1)))
            people[job.person] = people.get(job.person, 0.0) + minutes
    told = {person: tidy(minutes, 1) for person, minutes in people.items()}
    return Week(monday, tidy(sum(people.values()), 1), told, tuple(shares))


def usual(doers: Iterable[str]) -> str | None:
    """Who did something at least half of the times, and twice at least; None when nobody did."""
    counted = Counter(doers)
    if not counted:
        return None
    # By name among equals, so that the same record gives the same person.
    person, times = max(counted.items(), key=lambda pair: (pair[1], pair[0]))
    return person if times >= LEAST_TIMES and times >= MOST_OFTEN * counted.total() else None
