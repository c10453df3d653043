"""What people must have been told, and what not: reckoned beside the program, by plain date arithmetic.

Messages are read as people read them, by what they say; nothing here asks the program what a need is. A need is told
once, and once more after each rest that somebody gave it; never in a quiet hour, never when it is over; what stood for
hours of somebody's waking time was told; what stood a day after it was told went to the owner, and no sooner.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import NamedTuple
from zoneinfo import ZoneInfo

from dateutil.relativedelta import relativedelta

ZONE = ZoneInfo("America/Chicago")
HOLIDAYS = ((1, 1), (3, 3), (7, 4), (7, 5), (11, 3), (12, 24), (12, 25))
QUIET = ("20:00", "09:30")
RULES = {"weekly": {"weeks": 1}, "ten days": {"days": 10}, "monthly": {"months": 1}, "half a year": {"months": 6}}
INTERVALS = {name: relativedelta(**every) for name, every in RULES.items()}  # type: ignore[arg-type]
SAID = {"is coming up": "near", "is due": "due", "is late": "late"}
ORDER = "Order Saw blade"
SURE = timedelta(hours=4)
"""What has needed somebody through so much of their time, with a server running, must have been told."""
ESCALATE = timedelta(hours=24)
STALE = timedelta(minutes=10)
"""A message may cross with the work that it asks for."""
APART = timedelta(hours=16)
"""Between two orders: a shortage that comes back within half a day is the same one to the program."""


class Need(NamedTuple):
    """One reason to tell one person: which task or item, its how-manieth turn, what of it."""

    what: str
    turn: int
    state: str
    person: str


@dataclass
class Message:
    """What one browser was sent: when, whose it is, and what and why it says; `put`: when it was written to be sent."""

    at: datetime
    person: str
    delivery: str
    said: list[tuple[str, str]]
    put: datetime


@dataclass
class Task:
    """A task as the simulation knows it."""

    id: str
    name: str
    every: relativedelta
    base: date
    turn: int = 0

    def state(self, today: date) -> str:
        """Resting, near (a fifth of the interval ahead, one to seven days), due or late, by the calendar alone."""
        due = self.base + self.every
        lead = max(1, min(7, (due - self.base).days // 5))
        if today >= due:
            return "due" if today == due else "late"
        return "near" if (due - today).days <= lead else "resting"

    def done(self, today: date) -> None:
        """It counts from here anew."""
        self.base, self.turn = today, self.turn + 1


def awake(at: datetime, quiet: tuple[str, str] | None) -> bool:
    """Whether a person may be told something: Monday to Friday, no holiday, 6 to 18 or outside their own hours."""
    if at.weekday() > 4 or (at.month, at.day) in HOLIDAYS:
        return False
    clock = f"{at:%H:%M}"
    return "06:00" <= clock < "18:00" if quiet is None else QUIET[1] <= clock < QUIET[0]


@dataclass
class Book:
    """What stood, what was told, and what was wrong with it."""

    owner: str
    people: dict[str, tuple[str, str] | None]
    tasks: list[Task]
    looks: int = 0
    restarts: int = 0
    jumps: int = 0
    takeovers: int = 0
    messages: list[Message] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)
    stood: dict[tuple[Need, int], list[datetime]] = field(default_factory=lambda: defaultdict(list))
    """A need, after so many rests -> the moments of its person's at which it stood, did not rest, and a server ran."""
    tellings: dict[Need, list[datetime]] = field(default_factory=lambda: defaultdict(list))
    put: dict[Need, datetime] = field(default_factory=dict)
    """When the newest telling was written. A push service that is busy for a day must not keep the owner from hearing."""
    rests: dict[Need, list[datetime]] = field(default_factory=lambda: defaultdict(list))
    low: bool = False
    orders: int = 0
    stocked: datetime | None = None
    newest: datetime | None = None
    _deliveries: set[str] = field(default_factory=set)
    _raised: set[tuple[str, int, str]] = field(default_factory=set)

    def counted(self, low: bool) -> None:
        """The drawer was counted."""
        self.orders += low and not self.low
        self.low, self.stocked = low, None

    def may_count(self, now: datetime) -> bool:
        """Whether a new shortage would be one to everybody: the one before was seen to be over for a good while."""
        return self.low or (self.stocked is not None and now - self.stocked > APART)

    def named(self, what: str, why: str, person: str) -> Need | None:
        """Which need a line speaks of; None for one that this simulation does not know."""
        if what.startswith(ORDER):
            return Need("blades", self.orders, "low", person)
        for task in self.tasks:
            for words, state in SAID.items():
                if what == f"{task.name} {words}":
                    return Need(task.name, task.turn, state, person)
        self.wrong.append(f"nobody knows what this is: {what} ({why})")
        return None

    def told(self, need: Need) -> bool:
        """Whether it was told, and does not rest."""
        return len(self.tellings[need]) > len(self.rests[need])

    def rested(self, need: Need, until: datetime) -> None:
        """Its person lets it rest."""
        self.rests[need].append(until)

    def take(self, message: Message, truly: datetime) -> None:
        """A message was sent; `truly`: when, by a clock that is right. The same one again shows once."""
        if message.delivery in self._deliveries:
            return
        self._deliveries.add(message.delivery)
        self.messages.append(message)
        if not awake(message.at, self.people[message.person]):
            self.wrong.append(f"told in a quiet hour: {message.at} {message.person} {message.said}")
        for what, why in message.said:
            need = self.named(what, why, message.person)
            if need is not None:
                # Whose clock runs ahead cannot know that a rest is not over.
                self._take(need, why, truly, message.at)
                self.put[need] = min(message.put, truly)

    def _take(self, need: Need, why: str, at: datetime, shown: datetime) -> None:
        if not self._stands(need, at):
            self.wrong.append(f"told when it was over: {need} at {at}")
        if len(self.tellings[need]) > len(self.rests[need]):
            self.wrong.append(f"told twice: {need} at {at}")
        elif self.rests[need] and shown < self.rests[need][-1]:
            self.wrong.append(f"told while it rested: {need} at {at}")
        escalated = need.person == self.owner and need.what != "blades"
        if escalated and not (self._ripe(need, at) and "was told on" in why):
            self.wrong.append(f"the owner was told too soon: {need} at {at}, {why}")
        self.tellings[need].append(at)

    def _stands(self, need: Need, at: datetime) -> bool:
        """Whether a need is one now."""
        if need.what == "blades":
            return self.low
        task = next(task for task in self.tasks if task.name == need.what)
        return need.state in (task.state(at.date()), task.state((at - STALE).date()))

    def _ripe(self, need: Need, at: datetime) -> bool:
        """Whether somebody who does the work was told of it a day ago, and has not let it rest since; or it was so
        before."""
        if need.state not in ("due", "late"):
            return False
        for person in self.people:
            own = need._replace(person=person)
            if person != self.owner and self.told(own) and at - self.put[own] >= ESCALATE:
                self._raised.add(need[:3])
        return need[:3] in self._raised

    def note(self, now: datetime) -> None:
        """A server has looked: keep what stands now, for those who may be told."""
        if self.newest is not None and now < self.newest:
            return  # the clock was set back: it is waited for
        self.newest = now
        if not self.low and self.stocked is None:
            self.stocked = now
        for person, quiet in self.people.items():
            if awake(now, quiet):
                for need in self._wanted(person, now):
                    if not self.rests[need] or self.rests[need][-1] <= now:
                        self.stood[need, len(self.rests[need])].append(now)

    def _wanted(self, person: str, now: datetime) -> Iterator[Need]:
        if person == self.owner and self.low:
            yield Need("blades", self.orders, "low", person)
        for task in self.tasks:
            need = Need(task.name, task.turn, task.state(now.date()), person)
            if need.state != "resting" and (person != self.owner or self._ripe(need, now)):
                yield need

    def faults(self) -> list[str]:
        """Everything that is not as it must be; none is right."""
        lost = [
            f"lost: {need} after {rests} rests, {moments[0]} to {moments[-1]}"
            for (need, rests), moments in self.stood.items()
            if moments[-1] - moments[0] >= SURE and len(self.tellings[need]) <= rests
        ]
        return [*self.wrong, *lost]

    def counts(self) -> Counter[str]:
        """How many reminders were told, by what they were."""
        found: Counter[str] = Counter()
        for need, times in self.tellings.items():
            found["escalated" if need.person == self.owner and need.what != "blades" else need.state] += len(times)
            found["told again after a rest"] += max(len(times) - 1, 0)
        return found
