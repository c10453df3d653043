"""Way oil: what a machine uses an hour, whether that has changed, and how long the tank lasts.

A fill up to the mark tells how much was used since the tank last stood at a known level; so does a level
reading. Use is a line through nought over such stretches (least squares; checked against the NIST StRD sets
NoInt1 and NoInt2), and what the next stretch should use has bounds by Student's t. Too little oil is the costly
fault: a tank that does not drop means ways that run dry. Oil is in the tank's unit (L or gal), use per meter hour.

`expected` and `left_in_tank` have twins in static/src/core/lubrication.js, held to tests/vectors/lubrication.json.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Literal

from webapp.core.drift import through_nought
from webapp.core.numbers import is_number, say, tidy
from webapp.core.problems import Problem

FEWEST = 3
"""Stretches below which use is not known well enough to call anything wrong."""
WINDOW = 20
"""Stretches that make up the usual use: the newest so many that were not out of the ordinary."""
CHANCE = 0.01
LITTLE, MUCH = 0.75, 1.35
"""One stretch is out of the ordinary when chance gives it less than once in a hundred and it is a quarter less, or
a third more, than usual (common practice, no source)."""
SLACK, LIMIT, ONCE_IN = 0.5, 5.0, 465
"""A small change shows only over several stretches: their scores are summed (CUSUM, NIST 6.3.2.3). With these
settings chance passes the limit once in 465 stretches (D. C. Montgomery, Statistical Quality Control, chapter 9)."""
WORTH = 0.07
"""What a run of stretches must differ by to be worth a look, as a share (common practice, no source)."""
_MOST_SCORE, _MOST_SUM = 3.0, 6.0
"""One odd stretch does not pass the limit alone, and ordinary ones bring an old sum below it soon."""
SETTLED = 8
"""After so many in a row the use has settled anew, and they become the usual: somebody changed the dose."""
OVER_MOST = 1.15
"""Nobody is asked to look before this much more than was ever poured in at once should be gone."""
SCATTER_FLOOR = 0.02
"""Share of the tank to which a level line is read at best; scatter is never taken to be smaller."""
ISO_VG = (2, 3, 5, 7, 10, 15, 22, 32, 46, 68, 100, 150, 220, 320, 460, 680, 1000, 1500, 2200, 3200)
"""Grades of ISO 3448 (2 to 1500 seen in a table of lubesolut.com, 2200 and 3200 from memory)."""
_MIDPOINTS = {2: 2.2, 3: 3.2, 5: 4.6, 7: 6.8}
"""The thinnest grades are named by a rounded midpoint, in mm2/s (the same table)."""


LONGEST = 1e6
"""Hours beyond which a tank is said to have no end in sight."""


class OilError(Problem):
    """Figures about oil that cannot be."""


@dataclass(frozen=True)
class Event:
    """Something that says where the tank stands. `hours` is the meter's total then.

    "fill": `amount` was poured in, up to the mark. "part": `amount` was poured in, not up to the mark. "level":
    `amount` was read in the tank. "renewed": the tank was emptied and filled, or may have been (a filter change):
    it stands at `amount`, or at the mark when that is 0; what was used is unknown.
    """

    at: int
    hours: float
    kind: Literal["fill", "part", "level", "renewed"]
    amount: float = 0.0


@dataclass(frozen=True)
class Stretch:
    """Hours run between two known levels, and the oil used in them."""

    from_at: int
    to_at: int
    hours: float
    used: float


@dataclass(frozen=True)
class Tank:
    """Where the tank stood last for certain: when, at how many hours, how much in it."""

    at: int
    hours: float
    level: float


@dataclass(frozen=True)
class Use:
    """Usual use per hour with its 95 % bounds, and what the bounds of a coming stretch need.

    `residual` is the scatter of a stretch, `squares` the sum of squared hours, `t` Student's 97.5 % point,
    `most` the most that was ever used between fills.
    """

    rate: float
    low: float
    high: float
    residual: float
    squares: float
    t: float
    count: int
    most: float

    def to_dict(self) -> dict[str, float]:
        """As JSON carries it, unrounded where the phone goes on reckoning."""
        return asdict(self)


@dataclass(frozen=True)
class Verdict:
    """How a stretch compares with the usual.

    `state`: "few" (not enough known), "usual", "little", "much", or "look" (nothing filled or read for so long
    that the tank must be looked at). `sure`: how unlikely such a stretch is by chance, 0 to 1 (0.99: one in a
    hundred); None for "few". `expected`, `low`, `high`: use at the usual rate with its 95 % bounds. `stretches`:
    how many in a row it rests on.
    """

    state: Literal["few", "usual", "little", "much", "look"]
    hours: float
    used: float | None
    expected: float | None
    low: float | None
    high: float | None
    sure: float | None
    stretches: int = 1

    @property
    def ratio(self) -> float | None:
        """Use as a multiple of the usual."""
        return None if self.used is None or not self.expected else tidy(self.used / self.expected)


def _stands_at(event: Event, mark: float) -> float:
    """Where the tank stands after an event; a charge noted as more than the tank holds fills it."""
    if event.kind == "level":
        return event.amount
    return min(event.amount, mark) if event.kind == "renewed" and event.amount else mark


def stretches(events: Sequence[Event], mark: float) -> tuple[list[Stretch], Tank | None, list[str]]:
    """The stretches between known levels, where the tank stood last, and what does not add up.

    `mark` is what the tank holds at the full mark. OilError for events out of order or amounts below nought.
    """
    found: list[Stretch] = []
    faults: list[str] = []
    last: Tank | None = None
    for event in events:
        _check(event, last)
        if event.kind == "part":
            last = last and replace(last, level=last.level + event.amount)
            continue
        now = Tank(event.at, event.hours, _stands_at(event, mark))
        if last is not None and event.kind != "renewed" and event.hours > last.hours:
            used = last.level + (event.amount if event.kind == "fill" else 0) - now.level
            if used < -SCATTER_FLOOR * mark:
                faults.append(f"The level rose by {say(-used)} without a fill that was logged.")
            else:
                found.append(Stretch(last.at, event.at, event.hours - last.hours, max(used, 0.0)))
        last = now
    return found, last, faults


def usual_use(known: Sequence[Stretch], mark: float) -> Use | None:
    """Usual use from stretches: rate = sum(h a) / sum(h^2) with 95 % bounds; None below three stretches."""
    if len(known) < FEWEST:
        return None
    from scipy.special import stdtrit

    line = through_nought([one.hours for one in known], [one.used for one in known])
    residual = max(line.scatter, SCATTER_FLOOR * mark)
    t = float(stdtrit(line.count - 1, 0.975))
    rate, room = line.slope, t * residual / math.sqrt(line.squares)
    most = max(one.used for one in known)
    return Use(rate, max(rate - room, 0.0), rate + room, residual, line.squares, t, line.count, most)


def judge(known: Sequence[Stretch], mark: float) -> tuple[list[Verdict], Use | None]:
    """Every stretch against the ordinary ones before it, and the usual use after the last.

    A stretch that chance does not explain stays out of the usual use: a starved week must not become the yardstick.
    """
    ordinary: list[Stretch] = []
    aside: list[Stretch] = []
    sums = _Sums()
    verdicts = []
    for one in known:
        use = usual_use(ordinary, mark)
        verdict = sums.add(use, compare(use, one.hours, one.used))
        verdicts.append(verdict)
        if verdict.sure is not None and (verdict.state != "usual" or verdict.sure > 1 - CHANCE):
            aside = [*aside, one]
            if len(aside) == SETTLED:
                ordinary, aside, sums = aside, [], _Sums()
        else:
            ordinary, aside = [*ordinary, one][-WINDOW:], []
    return verdicts, usual_use(ordinary, mark)


@dataclass
class _Sum:
    """What stretches add up to on one side (`sign` -1: too little), and those since the sum left nought."""

    sign: int
    total: float = 0.0
    run: tuple[Verdict, ...] = ()

    def add(self, score: float, verdict: Verdict) -> None:
        self.total = min(max(0.0, self.total + self.sign * score - SLACK), _MOST_SUM)
        self.run = (*self.run, verdict) if self.total else ()

    @property
    def passed(self) -> bool:
        """The sum is past its limit, and what it sums is worth a look."""
        ratio = sum(one.used or 0 for one in self.run) / max(sum(one.expected or 0 for one in self.run), 1e-12)
        return self.total > LIMIT and (ratio - 1) * self.sign > WORTH


class _Sums:
    """Both sides."""

    def __init__(self) -> None:
        self.little, self.much = _Sum(-1), _Sum(1)

    def add(self, use: Use | None, verdict: Verdict) -> Verdict:
        """Count a stretch in; its verdict, changed where a sum has passed the limit."""
        if use is None or verdict.used is None:
            return verdict
        if verdict.state != "usual":
            # It speaks for itself: the sums begin again after it.
            self.little, self.much = _Sum(-1), _Sum(1)
            return verdict
        score = min(max(_score(use, verdict.hours, verdict.used), -_MOST_SCORE), _MOST_SCORE)
        self.little.add(score, verdict)
        self.much.add(score, verdict)
        sure = tidy(1 - 1 / ONCE_IN)
        if self.little.passed:
            return replace(verdict, state="little", sure=sure, stretches=len(self.little.run))
        if self.much.passed:
            return replace(verdict, state="much", sure=sure, stretches=len(self.much.run))
        return verdict


def compare(use: Use | None, hours: float, used: float) -> Verdict:
    """One stretch of so many hours against the usual use."""
    if use is None or hours <= 0:
        return Verdict("few", hours, used, None, None, None, None)
    mean, low, high = expected(use.to_dict(), hours)
    chance = _chance(use, hours, used)
    state: Literal["usual", "little", "much"] = "usual"
    if chance < CHANCE and used < LITTLE * mean:
        state = "little"
    elif chance < CHANCE and used > MUCH * mean:
        state = "much"
    return Verdict(state, hours, used, mean, low, high, tidy(1 - chance))


def since_last(use: Use | None, tank: Tank, hours: float) -> Verdict:
    """The hours since the tank was last known, with nothing filled or read since.

    "look" when at the usual use more than was ever poured in at once would be gone by now, by a margin that
    chance does not give: either nobody filled it, or it does not drop, and then the ways run dry.
    """
    run = hours - tank.hours
    if use is None or run <= 0:
        return Verdict("few" if use is None else "usual", max(run, 0), None, None, None, None, None)
    mean, low, high = expected(use.to_dict(), run)
    limit = min(use.most * OVER_MOST, tank.level)
    sure = 1 - _chance(use, run, limit) if mean > limit else 0.0
    state: Literal["look", "usual"] = "look" if sure > 1 - CHANCE else "usual"
    return Verdict(state, run, None, mean, low, high, tidy(sure))


def expected(use: Mapping[str, float], hours: float) -> tuple[float, float, float]:
    """What so many hours use at the usual rate: (mean, low, high), the bounds holding 95 stretches of 100."""
    if not is_number(hours) or hours < 0:
        raise OilError("hours", "It is not a number of 0 or more.", "Read the meter again.")
    mean = use["rate"] * hours
    room = use["t"] * use["residual"] * math.sqrt(1 + hours * hours / use["squares"])
    return tidy(mean), tidy(max(mean - room, 0)), tidy(mean + room)


def left_in_tank(use: Mapping[str, float], level: float, hours: float) -> dict[str, float | None]:
    """What is left of `level` after so many hours, and the hours it lasts: mean, low and high; None: no end seen."""
    if not is_number(level) or level < 0:
        raise OilError("level", "It is not a number of 0 or more.", "Read the glass again.")
    mean, low, high = expected(use, hours)
    left, least, most = max(level - mean, 0), max(level - high, 0), max(level - low, 0)
    return {
        "left": tidy(left),
        "least": tidy(least),
        "most": tidy(most),
        "hours": _lasts(left, use["rate"]),
        "hours_least": _lasts(least, use["high"]),
        "hours_most": _lasts(most, use["low"]),
    }


def _lasts(amount: float, rate: float) -> float | None:
    return tidy(amount / rate) if rate * LONGEST > amount else None


def viscosity(grade: int) -> tuple[float, float]:
    """The limits of an ISO viscosity grade in mm2/s (cSt) at 40 degrees C: the midpoint -/+ 10 % (ISO 3448)."""
    if grade not in ISO_VG:
        raise OilError("grade", f"VG {grade} is no grade.", f"Give one of: {', '.join(map(str, ISO_VG))}.")
    middle = _MIDPOINTS.get(grade, grade)
    return tidy(middle * 0.9), tidy(middle * 1.1)


def _deviation(use: Use, hours: float, used: float) -> float:
    """How far a stretch lies from the usual, in standard deviations of a single coming stretch."""
    return (used - use.rate * hours) / (use.residual * math.sqrt(1 + hours * hours / use.squares))


def _chance(use: Use, hours: float, used: float) -> float:
    """How often chance puts a stretch so far from the usual, on that side."""
    from scipy.special import stdtr

    return float(stdtr(use.count - 1, -abs(_deviation(use, hours, used))))


def _score(use: Use, hours: float, used: float) -> float:
    """The deviation as a normal score, so that few known stretches count for less."""
    from scipy.special import ndtri

    return float(math.copysign(-ndtri(max(_chance(use, hours, used), 1e-12)), _deviation(use, hours, used)))


def _check(event: Event, last: Tank | None) -> None:
    if not is_number(event.amount) or event.amount < 0:
        raise OilError("amount", "It is not a number of 0 or more.", "Measure it again.")
    if last is not None and (event.at < last.at or event.hours < last.hours):
        raise OilError("events", "They are not in order.", "Sort them by time; a meter only goes up.")
