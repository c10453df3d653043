"""Trying the forecast on the past: stand at many mornings, forecast from what was known, and see what came."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, fields
from datetime import date, timedelta
from functools import partial
from itertools import accumulate
from typing import TYPE_CHECKING

from webapp.core import pace as paces
from webapp.core.forecast import BEYOND, Asked, calendar, crossings
from webapp.core.usage import Days, Movement, Told, daily, tell
from webapp.upkeep.history import WINDOW_DAYS, Past
from webapp.upkeep.shop import Shop
from webapp.upkeep.use import begin, days_of, known_since, lines_of

if TYPE_CHECKING:
    from webapp.core.usage import Flags, Floats

HORIZON = 2 * 366


@dataclass(frozen=True)
class Story:
    """One meter's whole past: `use` by day from `first` on as it truly was, and the movements that people made."""

    kind: str
    unit: str
    first: date
    use: Sequence[float]
    movements: Sequence[Movement]
    closed: frozenset[date]
    hours_a_week: float
    out: frozenset[date] = frozenset()
    sums: list[float] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "sums", list(accumulate(self.use)))

    def total(self, day: date) -> float:
        """Use up to the end of a day."""
        place = (day - self.first).days
        return self.sums[place] if place >= 0 else 0.0

    def reached(self, total: float) -> date | None:
        """The day on which the total was reached; None when the past ends before."""
        place = bisect_left(self.sums, total - 1e-9)
        return self.first + timedelta(days=place) if place < len(self.sums) else None

    @property
    def end(self) -> date:
        """The day after the last."""
        return self.first + timedelta(days=len(self.use))

    def a_week(self) -> float:
        """Mean use a week over the whole past."""
        return self.sums[-1] * 7 / len(self.use)


@dataclass
class Score:
    """How often what came lay before, in and after the range, how many days wide each was, and how many had not
    come when the past ended, nor had their range (`open`)."""

    before: int = 0
    inside: int = 0
    after: int = 0
    open: int = 0
    widths: list[int] = field(default_factory=list)

    @property
    def tried(self) -> int:
        return self.before + self.inside + self.after

    @property
    def coverage(self) -> float:
        """Share of the dates that came that lay in the range."""
        return self.inside / self.tried if self.tried else float("nan")

    def join(self, other: Score) -> None:
        """Add another's counts."""
        for one in fields(self):
            setattr(self, one.name, getattr(self, one.name) + getattr(other, one.name))

    def add(self, came: date, early: date | None, late: date | None) -> None:
        """Score one forecast; None is later than any date."""
        if came < (early or date.max):
            self.before += 1
        elif came <= (late or date.max):
            self.inside += 1
        else:
            self.after += 1
        self.widths.append(((late - early).days if late and early else HORIZON) + 1)


def try_out(
    stories: Sequence[Story], mornings: Iterable[date], weeks: Sequence[float], *, one_shop: bool = False
) -> dict[float, Score]:
    """Forecast on each morning when each meter will have run another so many `weeks` of its mean use; the scores
    by weeks. Stories must share their closed days; those of `one_shop` share its week too."""
    scores = {horizon: Score() for horizon in weeks}
    for morning in mornings:
        _one_morning(stories, morning, scores, one_shop)
    return scores


def _known(story: Story, morning: date) -> list[Movement]:
    first = morning - timedelta(days=WINDOW_DAYS)
    return [movement for movement in story.movements if first <= movement.day < morning]


def _one_morning(stories: Sequence[Story], morning: date, scores: dict[float, Score], one_shop: bool) -> None:
    import numpy as np

    tolds = [tell(_known(story, morning)) for story in stories]
    pace = _pace(stories, tolds, morning, one_shop=one_shop)
    begins = [begin(told, morning) for told in tolds]
    origin = min([morning, *begins])
    days = calendar(origin, HORIZON + (morning - origin).days, stories[0].closed)
    for weeks, score in scores.items():
        need = np.array([story.a_week() * weeks for story in stories])
        starts = np.array([(begin - origin).days for begin in begins])
        rows = np.arange(len(stories))
        found = crossings(pace, days, Asked(rows, need, starts, np.ones(len(stories))))
        for row, story in enumerate(stories):
            came = story.reached(story.total(begins[row] - timedelta(days=1)) + need[row])
            places = (found.early[row], found.late[row])
            range_ = [None if place == BEYOND else max(days.date_of(place), morning) for place in places]
            if came is None and (range_[1] or date.max) >= story.end:
                score.open += 1
            # What was reached before the morning came, nobody would be told a date for.
            elif came is None or came >= morning:
                score.add(came or date.max, *range_)


def _pace(stories: Sequence[Story], tolds: list[Told], morning: date, *, one_shop: bool) -> paces.Pace:
    first = morning - timedelta(days=WINDOW_DAYS)
    spread = partial(
        _spread, tolds, first, calendar(first, WINDOW_DAYS + 1, stories[0].closed).open_days,
        [max(story.first, first) for story in stories], [story.out for story in stories],
    )  # fmt: skip
    declared = [paces.declared_rate(story.kind, story.unit, story.hours_a_week) for story in stories]
    if one_shop:
        return paces.spread_and_fit(spread, declared, [told.counted for told in tolds])[1]
    return paces.fit(spread(paces.working_week(len(stories))), declared)


def _spread(
    tolds: list[Told], first: date, open_days: Flags, since: list[date], out: list[frozenset[date]], profiles: Floats
) -> Days:
    return daily(tolds, first, len(open_days), open_days=open_days, profiles=profiles, since=since, out=out)


def stories_of(shop: Shop, past: Past, first: date) -> list[Story]:
    """The meters of a record that ran at all, each up to the last day that is known.

    Days of a counter that is read now and then are the reading spread back: what came is known only so well.
    """
    lines = lines_of(shop)
    tolds = [tell(past.movements.get(line.id, ())) for line in lines]
    count = (shop.today - first).days + 1
    spread = partial(days_of, shop, past, lines, tolds, first)
    days, _ = paces.spread_and_fit(spread, [None] * len(lines), [told.counted for told in tolds])
    found = []
    for row, (line, told) in enumerate(zip(lines, tolds, strict=True)):
        begun = known_since(told, line, first, shop.zone)
        end = min(shop.today, (told.read_to or shop.today) + timedelta(days=1) if not told.counted else shop.today)
        use = days.use[row][(begun - first).days : min((end - first).days, count)].tolist()
        if told.first is not None and sum(use) > 0:
            movements = [one for one in past.movements[line.id] if one.day >= begun]
            out = frozenset(past.out.get(line.machine, set()) - told.exact.keys())
            found.append(Story(line.kind, line.unit, begun, use, movements, shop.holidays, shop.hours_a_week, out))
    return found
