"""The year's work, planned before anything is written: which batch runs on which machine on which day."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import date
from random import Random

from seed_demo.calendar import WorkDay
from seed_demo.goods import BATCHES, GOODS, Good

COUNTS = ("loads", "cuts")
"""What is counted of a batch, in whole numbers."""


@dataclass(frozen=True)
class Run:
    """One line of the batch log. `amounts` by meter kind, in h, sq in, cuts and min."""

    minute: float
    role: str
    good: Good
    what: str
    amounts: dict[str, float]
    details: dict[str, float] = field(default_factory=dict)

    def cut(self, share: float) -> tuple[Run | None, Run]:
        """Its first part, up to that share by whole pieces, and the rest; None and all of it where nothing would be
        left."""
        count = max((self.details[key] for key in COUNTS if key in self.details), default=0)
        share = math.ceil(count * share) / count if count else share
        return (None, self) if share >= 1 else (self._part(share), self._part(1 - share))

    def _part(self, share: float) -> Run:
        amounts = {kind: amount * share for kind, amount in self.amounts.items()}
        details = {key: round(value * share) if key in COUNTS else value for key, value in self.details.items()}
        return replace(self, amounts=amounts, details=details)


@dataclass
class _Job:
    good: Good
    pieces: int
    loads: list[float]
    """Spindle minutes of the loads still to run, first operation before second."""
    first_op_loads: int
    sawn: bool = False


@dataclass(frozen=True)
class DayPlan:
    """A working day and what is run on it, in order of time."""

    day: WorkDay
    runs: list[Run]

    def hours(self, role: str, kind: str) -> float:
        return sum(run.amounts.get(kind, 0) for run in self.runs if run.role == role)


def plan_year(days: list[WorkDay], rng: Random, slack: set[date]) -> list[DayPlan]:
    """Fill every day with work; on the days in `slack` the mill stands still."""
    jobs = _orders(rng)
    current, plans = next(jobs), []
    for day in days:
        capacity = 0.0 if day.date in slack else day.minutes * rng.triangular(0.45, 0.8, 0.64)
        runs: list[Run] = []
        minute = day.first + rng.uniform(25, 45)
        while capacity > 10:
            if not current.sawn:
                runs += _saw_and_dress(current, minute, rng)
                current.sawn = True
            done, spent = _take(current, capacity)
            minute = min(minute + spent * rng.uniform(1.1, 1.3), day.last - 5.0)
            runs += _milled(current, done, minute)
            capacity -= spent
            if not current.loads:
                runs += _finished(current, minute, day, rng)
                current = next(jobs)
            elif not spent:
                break
        plans.append(DayPlan(day, sorted(runs, key=lambda run: run.minute)))
    return plans


def _orders(rng: Random) -> Iterator[_Job]:
    """Endless orders; the alloy stays for a few batches, as chips are kept apart."""
    last: Good | None = None
    while True:
        same = [good for good in GOODS if last and good.alloy == last.alloy and good is not last]
        pool = same if same and rng.random() < 0.45 else list(GOODS)
        last = rng.choices(pool, [good.share for good in pool])[0]
        pieces = rng.choice(BATCHES)
        loads = -(-pieces // last.pieces_a_load)
        second = [last.second_op] * loads if last.second_op else []
        yield _Job(last, pieces, [last.first_op] * loads + second, loads)


def _take(job: _Job, capacity: float) -> tuple[list[tuple[int, float]], float]:
    """Run whole loads while the day lasts: [(operation, minutes)], and the minutes spent."""
    done: list[tuple[int, float]] = []
    spent = 0.0
    while job.loads and spent + job.loads[0] <= capacity:
        minutes = job.loads.pop(0)
        done.append((1 if job.first_op_loads > 0 else 2, minutes))
        job.first_op_loads -= 1
        spent += minutes
    return done, spent


def _milled(job: _Job, done: list[tuple[int, float]], minute: float) -> Iterator[Run]:
    for operation in (1, 2):
        loads = [minutes for op, minutes in done if op == operation]
        if loads:
            later = sum(minutes for op, minutes in done if op > operation)
            details = {"loads": len(loads), "minutes_per_load": loads[0]}
            yield Run(
                max(minute - later, 0),
                "mill",
                job.good,
                f"{job.good.name}, operation {operation}",
                {"spindle_hours": sum(loads) / 60},
                details,
            )


def _saw_and_dress(job: _Job, minute: float, rng: Random) -> Iterator[Run]:
    good, cuts = job.good, job.pieces + rng.choice((1, 1, 2, 2, 3))
    what = f"{good.name}, blanks from {good.stock}"
    amounts = {"cut_area": cuts * good.area, "cuts": cuts}
    yield Run(minute + rng.uniform(6, 14), "saw", good, what, amounts, {"cuts": cuts, "area_per_cut": good.area})
    dressed = round(cuts * good.belt * rng.uniform(0.85, 1.2), 1)
    yield Run(
        minute + rng.uniform(18, 45),
        "sander",
        good,
        f"{good.name}, blanks dressed",
        {"belt_minutes": dressed},
    )


def _finished(job: _Job, minute: float, day: WorkDay, rng: Random) -> Iterator[Run]:
    good = job.good
    after = min(minute + rng.uniform(10, 40), day.last - 4.0)
    if good.turned:
        hours = round(job.pieces * good.turned * rng.uniform(0.5, 0.8) / 60, 2)
        yield Run(
            after - 2,
            "lathe",
            good,
            f"{good.name}, faced and chamfered",
            {"spindle_hours": hours},
        )
    if good.blast:
        hours = round(job.pieces * good.blast * rng.uniform(0.85, 1.25) / 60, 2)
        yield Run(after, "cabinet", good, f"{good.name}, bead blasted", {"blast_hours": hours})
    hours = round(rng.choice((0.15, 0.2, 0.2, 0.3)) * (2 if job.pieces > 48 else 1), 2)
    yield Run(min(after + 12, day.last - 2.0), "cleaner", good, f"{good.name}, cleaned", {"run_hours": hours})
