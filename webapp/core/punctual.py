"""Whether tasks were done on time, told from how they stood evening by evening and at each doing. Pure.

A piece of work is settled once: on time when it is done before it falls late, late on the day on which it falls late,
however long it is left after that. What "late" is, the due rule says (`core/due.py`): past its date, or more than a
tenth past its meter limit. The tenth is this program's choice.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from webapp.core.rules import After, Calendar, Each, FirstOf, Meter, Recurrence, Rule


@dataclass(frozen=True)
class Settled:
    """One piece of work: the day that decided it, which way, and whether it had been put off before that."""

    day: date
    on_time: bool
    put_off: bool


@dataclass
class Course:
    """One task on its way: `late_since` while it stands late and undone."""

    settled: list[Settled] = field(default_factory=list)
    late_since: date | None = None
    put_off: bool = False

    def fell_late(self, day: date) -> None:
        """It stood late for the first time on the evening of a day; further evenings change nothing."""
        if self.late_since is None:
            self.late_since = day
            self.settled.append(Settled(day, False, self.put_off))

    def deferred(self) -> None:
        """It was put off. What is late already stays so; its work is settled."""
        self.put_off = True

    def done(self, day: date, *, late: bool) -> None:
        """It was done on a day; `late`: it stood late just before."""
        if late:
            self.fell_late(day)
        if self.late_since is None:
            self.settled.append(Settled(day, True, self.put_off))
        self.late_since, self.put_off = None, False


def can_be_late(rule: Rule) -> bool:
    """Whether a rule has a limit to be late by. One that follows a reading has none; a start-up round is judged by its
    day (`core/roundlog.py`)."""
    parts = rule.parts if isinstance(rule, FirstOf) else (rule,)
    limits = (Calendar, Recurrence, Meter, After)
    return not any(isinstance(one, Each) for one in parts) and any(isinstance(one, limits) for one in parts)
