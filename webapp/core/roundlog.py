"""A day of start-up rounds at one machine: walked in time, late, missed, or not asked for. Pure.

Every use asks for a round before it, on the same day and since the machine last came back into service; the first use
is the first entry that counts the machine on. These words are this program's own; no source gives them.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence

DONE, LATE, MISSED, IDLE, CLOSED, OUT, UNASKED = "dlm.co-"
"""A letter a day: a round before use (or a round and no use), after the first use, none though it was used; and where
it was not used: an open day, a day on which the shop was closed, out of service; not asked for (no such list yet)."""


def day_of_rounds(
    uses: Sequence[int], rounds: Sequence[int], backs: Sequence[int] = (), *, open_: bool = True, out: bool = False
) -> str:
    """The letter of one day. `uses`, `rounds` and `backs` (returns to service): instants of that day in ms, ascending.

    A round at the very instant of a use came before it. The worst of the day's uses counts.
    """
    if uses:
        return max((_one_use(use, rounds, backs) for use in uses), key=(DONE + LATE + MISSED).index)
    if rounds:
        return DONE
    return OUT if out else IDLE if open_ else CLOSED


def _one_use(use: int, rounds: Sequence[int], backs: Sequence[int]) -> str:
    """The use between two returns to service: is there a round of its own, and does it come first?"""
    place = bisect_right(backs, use)
    since = backs[place - 1] if place else None
    until = backs[place] if place < len(backs) else None
    own = [at for at in rounds if (since is None or at > since) and (until is None or at < until)]
    if not own:
        return MISSED
    return DONE if own[0] <= use else LATE
