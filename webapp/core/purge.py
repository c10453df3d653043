"""The purge timer as plain state: from when blasting stops until the door may be opened.

Times are ms since 1970 by the device's clock, which may be put back or forward. The wait is counted, not read off the
clock: each look adds what has passed since the one before, and a clock that went back adds nothing, so it neither
shortens the wait nor makes it endless. What ran while the app was closed or the screen locked counts in full; a clock
put forward meanwhile cannot be told from that. Every function returns a new state, to be stored before it is shown:
so the wait survives a reload. Twin: static/src/core/purge.js, tests/vectors/purge.json.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from webapp.core.numbers import is_number
from webapp.core.problems import HygieneError

BLASTING, NO_EXHAUST, PURGING, OVER = "blasting", "exhaust off", "purging", "over"
PHASES = (BLASTING, NO_EXHAUST, PURGING, OVER)
LONGEST = 4 * 3600
"""Seconds: a wait beyond this is a mistyped one (own choice)."""


@dataclass(frozen=True)
class Purge:
    """`seconds` are needed; `started_at` is when the exhaust began to clear it, None before; `counted` the ms that
    count so far; `seen_at` the clock at the last look; `hold_until` where the wait ends as far as is known."""

    phase: str
    seconds: int
    started_at: int | None
    counted: int
    seen_at: int
    hold_until: int | None


def blast(seconds: float, now: int) -> Purge:
    """Blasting (again): the door is held, and the wait has not begun. `seconds`: what the wait needs, rounded up."""
    if not is_number(seconds) or not 0 < seconds <= LONGEST:
        raise HygieneError("seconds", "It is not above 0 and up to 4 h.", "Work the purge time out again.")
    return Purge(BLASTING, math.ceil(seconds), None, 0, _clock(now), None)


def start(purge: Purge, now: int) -> Purge:
    """Blasting stopped with the exhaust on, or the exhaust is back: the whole wait begins. A wait that runs or is over
    goes on as it is."""
    if purge.phase in (PURGING, OVER):
        return look(purge, now)
    clock = _clock(now)
    return Purge(PURGING, purge.seconds, clock, 0, clock, clock + purge.seconds * 1000)


def exhaust_off(purge: Purge, now: int) -> Purge:
    """The exhaust stopped before the wait was over: nothing clears, and the wait begins anew with `start`."""
    seen = look(purge, now)
    if seen.phase != PURGING:
        return seen
    return replace(seen, phase=NO_EXHAUST, started_at=None, counted=0, hold_until=None)


def look(purge: Purge, now: int) -> Purge:
    """The state at this moment."""
    clock = _clock(now)
    if purge.phase != PURGING:
        return replace(purge, seen_at=clock)
    counted = purge.counted + max(clock - purge.seen_at, 0)
    needed = purge.seconds * 1000
    if counted >= needed:
        return replace(purge, phase=OVER, counted=needed, seen_at=clock, hold_until=None)
    return replace(purge, counted=counted, seen_at=clock, hold_until=clock + needed - counted)


def seconds_left(purge: Purge) -> int | None:
    """Whole seconds still to wait as of the last look, rounded up; None while the wait has not begun."""
    if purge.phase == OVER:
        return 0
    return math.ceil((purge.seconds * 1000 - purge.counted) / 1000) if purge.phase == PURGING else None


def holds(purge: Purge | None) -> bool:
    """Whether the door is to stay shut. With nothing known of a purge it is: nobody has seen the dust cleared."""
    return purge is None or purge.phase != OVER


def from_stored(stored: object) -> Purge | None:
    """A state as it was stored, or None when it cannot be one: then the door is held and the wait begins anew."""
    if not isinstance(stored, dict) or stored.get("phase") not in PHASES:
        return None
    numbers = [one for name in ("seconds", "counted", "seen_at") if is_number(one := stored.get(name))]
    begun = stored.get("started_at"), stored.get("hold_until")
    if len(numbers) < 3 or not all(one is None or is_number(one) for one in begun):
        return None
    seconds, counted, seen_at = (math.floor(one) for one in numbers)
    if not 0 < seconds <= LONGEST or counted < 0 or (stored["phase"] == OVER and counted < seconds * 1000):
        return None
    return Purge(stored["phase"], seconds, stored.get("started_at"), counted, seen_at, stored.get("hold_until"))


def _clock(now: int) -> int:
    if not is_number(now) or now < 0:
        raise HygieneError("now", "It is no time in ms.", "Read the clock again.")
    return math.floor(now)
