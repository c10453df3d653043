"""From a machine's observations to seconds counted, none of them twice. Pure: no network, no database, no clock.

Two ways of counting. A timer (ACCUMULATED_TIME, EQUIPMENT_TIMER) is a counter of the machine's own: what it rose by
counts. EXECUTION and ROTARY_VELOCITY tell when the machine ran: from an observation of running to the next one counts.

Clocks lie, agents restart, recordings are played again. So: what lies before the newest time seen was counted
already or is older than the feed; a counter that goes back starts afresh and counts nothing for the step itself;
and nothing can run longer than our own clock went on since we last looked.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass, field, replace
from typing import Any

SLACK_SECONDS = 120.0
"""Timers tick coarsely, and two clocks never quite agree."""
FASTEST = 1.05
GIVE_UP_MS = 3_600_000
"""So long by our clock a machine's clock may lag behind what it said before; then its new time is believed."""


@dataclass(frozen=True)
class Observation:
    """What was observed, in the order of the agent's sequence. `value` None: unavailable. `reset`: it began anew."""

    sequence: int
    at_ms: int
    value: float | str | None
    reset: bool = False


@dataclass(frozen=True)
class Tally:
    """What a feed has counted, and what it needs to count on; kept as JSON between polls.

    `pending` seconds are not in the record yet. `seen_ms` is our clock at the poll before the last value came, or
    before the running began. `behind_ms` is our clock when the machine's fell behind.
    """

    counted: float = 0.0
    pending: float = 0.0
    high: float | None = None
    newest_ms: int | None = None
    running_ms: int | None = None
    seen_ms: int = 0
    behind_ms: int | None = None
    notes: dict[str, int] = field(default_factory=dict)

    def to_dict(self) -> dict[str, Any]:
        """The tally as JSON keeps it."""
        return asdict(self)

    def noted(self, what: str) -> Tally:
        """The same with one more of something worth telling."""
        return replace(self, notes={**self.notes, what: self.notes.get(what, 0) + 1})


def timer(tally: Tally, seen: Observation, now_ms: int, since_ms: int) -> Tally:
    """Count what a timer (in seconds) rose by since its last value. `since_ms`: our clock at the poll before."""
    if not isinstance(seen.value, float) or seen.value < 0:
        return tally
    value, newest = seen.value, tally.newest_ms
    if tally.high is None or newest is None:
        return replace(tally, high=value, newest_ms=seen.at_ms, seen_ms=since_ms)
    if seen.at_ms <= newest and (seen.reset or value < tally.high):
        return _behind(tally, seen, now_ms, value)
    kept = replace(tally, high=value, newest_ms=max(newest, seen.at_ms), seen_ms=since_ms, behind_ms=None)
    if seen.reset:
        return _counted(kept.noted("resets"), value, now_ms - tally.seen_ms)
    if value < tally.high:
        return kept.noted("went back")
    return _counted(kept, value - tally.high, now_ms - tally.seen_ms)


def _behind(tally: Tally, seen: Observation, now_ms: int, value: float) -> Tally:
    """A lower value at an older time: played again, unless it goes on so for long."""
    if tally.behind_ms is None:
        return replace(tally, behind_ms=now_ms).noted("older than seen")
    if now_ms - tally.behind_ms < GIVE_UP_MS:
        return tally
    return replace(tally, high=value, newest_ms=seen.at_ms, seen_ms=now_ms, behind_ms=None).noted("clock believed")


def running(tally: Tally, seen: Observation, now_ms: int, since_ms: int) -> Tally:
    """Count the time that ended with this observation, if the machine ran. `since_ms`: our clock at the poll before."""
    newest = tally.newest_ms
    if seen.value is None and tally.running_ms is None:
        # Agents stamp what is unavailable by their own clock, not by the machine's.
        return tally
    runs = seen.value == "ACTIVE" or (isinstance(seen.value, float) and seen.value != 0)
    kept = replace(
        tally,
        newest_ms=seen.at_ms if newest is None else max(newest, seen.at_ms),
        running_ms=seen.at_ms if runs else None,
        seen_ms=since_ms if runs else tally.seen_ms,
    )
    if newest is not None and seen.at_ms < newest:
        return _lagging(tally, kept, seen, now_ms)
    if kept.behind_ms is not None:
        kept = replace(kept, behind_ms=None)
    if tally.running_ms is None or newest is None:
        return kept
    # What lies before the newest time seen was counted, or was never ours to count.
    begun = max(tally.running_ms, newest)
    return _counted(kept, (seen.at_ms - begun) / 1000, now_ms - tally.seen_ms)


def _lagging(tally: Tally, kept: Tally, seen: Observation, now_ms: int) -> Tally:
    """An older time: nothing to count, unless the clock lags for so long that it must be believed."""
    if tally.behind_ms is None:
        return replace(kept, behind_ms=now_ms).noted("older than seen")
    if now_ms - tally.behind_ms < GIVE_UP_MS:
        return kept
    return replace(kept, newest_ms=seen.at_ms, behind_ms=None).noted("clock believed")


def begun(tally: Tally, seen: Observation | None, created_ms: int | None, now_ms: int, *, timed: bool) -> Tally:
    """The tally at the first look, or after a break: where the item stands, and nothing counted for the time before.

    After a restart of the agent the same running goes on if it began when it had begun before.
    """
    if timed:
        return timer(tally, seen, now_ms, now_ms) if seen is not None else tally
    if seen is None:
        return replace(tally, running_ms=None)
    if tally.running_ms is not None and seen.at_ms == tally.running_ms:
        return tally
    stopped = running(replace(tally, running_ms=None), seen, now_ms, now_ms)
    if stopped.running_ms is None or created_ms is None:
        return stopped
    # It ran before we looked: counted from now on, by the agent's clock.
    return replace(stopped, running_ms=max(stopped.running_ms, created_ms))


def _counted(tally: Tally, seconds: float, gone_ms: int) -> Tally:
    """So many seconds more, unless our own clock says that they cannot have passed."""
    if seconds <= 0:
        return tally
    if seconds > gone_ms / 1000 * FASTEST + SLACK_SECONDS:
        return tally.noted("leapt")
    return replace(tally, counted=tally.counted + seconds, pending=tally.pending + seconds)
