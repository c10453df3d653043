"""Stretches of time: out of service by the clock and within the shop's hours, and how available a machine was. Pure.

Stretches are (from, until) in ms since 1970; `until` no longer counts. Availability as the operational availability of
TM 5-698-2, table C-1: Ao = MTBM / (MTBM + MDT), all downtime included; with as many stretches up as down that is the
time up over all the time. MDT, the mean downtime, is the downtime over the number of stretches.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

from webapp.core.problems import SpanError

Stretch = tuple[int, int]
HOUR_MS = 3_600_000


def union(stretches: Iterable[Stretch]) -> list[Stretch]:
    """The same time as stretches in order that neither touch nor overlap. SpanError for one that ends before it
    begins; one of no length is left out."""
    found: list[Stretch] = []
    for begin, end in sorted(stretches):
        if end < begin:
            raise SpanError("until", f"It lies {begin - end} ms before the beginning.", "Give the later instant last.")
        if found and begin <= found[-1][1]:
            found[-1] = (found[-1][0], max(found[-1][1], end))
        elif end > begin:
            found.append((begin, end))
    return found


def overlap(some: Sequence[Stretch], others: Sequence[Stretch]) -> list[Stretch]:
    """The time that lies in both; each as `union` gives it."""
    found = []
    one, other = 0, 0
    while one < len(some) and other < len(others):
        begin = max(some[one][0], others[other][0])
        end = min(some[one][1], others[other][1])
        if begin < end:
            found.append((begin, end))
        if some[one][1] < others[other][1]:
            one += 1
        else:
            other += 1
    return found


def length(stretches: Iterable[Stretch]) -> int:
    """Their lengths together, in ms."""
    return sum(end - begin for begin, end in stretches)


def cut(stretches: Sequence[Stretch], edges: Sequence[int]) -> list[list[Stretch]]:
    """What lies between each two neighbours of `edges`, which rise: one list fewer than there are edges."""
    return [overlap(stretches, [(begin, end)]) for begin, end in pairwise(edges)]


def availability(up_ms: float, down_ms: float) -> float | None:
    """The share of the time in which it was up, 0 to 1; None when there was no time at all. SpanError below 0."""
    if up_ms < 0 or down_ms < 0:
        raise SpanError("down" if down_ms < 0 else "up", "It is below nought.", "Give the time in ms, 0 or more.")
    return up_ms / (up_ms + down_ms) if up_ms + down_ms else None


def mean_downtime(down_ms: float, times: int) -> float | None:
    """MDT in ms: the downtime over how often it went down; None when it never did."""
    return down_ms / times if times else None
