"""Taking in what a device made while it was away."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from webapp.database import writing
from webapp.records.append import Delivery, Result, append, head
from webapp.security.models import Device
from webapp.setup.definitions import known

Ranges = list[list[int]]

LEAP = 10_000
"""A device counts its entries one by one, years of them to so many: a number that is further on than this is a mistaken
number, not that many entries lost, and the count goes on from it."""


@dataclass(frozen=True)
class Pushed:
    """What became of a push: a result an entry in the order sent, the head, and numbers that never came."""

    results: list[Result]
    head: int
    gaps: Ranges


def push(delivery: Delivery, raws: list[Any]) -> Pushed:
    """Store a batch durably. When this returns, it is on disk."""
    with writing() as session:
        results = append(session, delivery, raws, known(session))
        device = session.execute(select(Device).where(Device.id == delivery.device)).scalar_one()
        seqs = [raw["seq"] for raw in raws if isinstance(raw, dict) and _is_seq(raw.get("seq"))]
        device.seq_max, device.seq_missing = number(device.seq_max, device.seq_missing or [], seqs)
        return Pushed(results, head(session).position, device.seq_missing)


def _is_seq(value: Any) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and 0 < value < 2**31


def number(highest: int, missing: Ranges, seqs: Iterable[int]) -> tuple[int, Ranges]:
    """Note which of a device's own numbers have come. Returns the highest and the ranges still missing.

    >>> number(3, [], [5, 6])
    (6, [[4, 4]])
    >>> number(6, [[2, 4]], [3])
    (6, [[2, 2], [4, 4]])
    >>> number(6, [], [2_000_000_000, 2_000_000_002])
    (2000000002, [[2000000001, 2000000001]])
    """
    for seq in sorted(set(seqs)):
        if seq > highest:
            if highest + 1 < seq <= highest + LEAP:
                missing = [*missing, [highest + 1, seq - 1]]
            highest = seq
        else:
            missing = [part for low, high in missing for part in _without(low, high, seq)]
    return highest, missing


def _without(low: int, high: int, seq: int) -> Ranges:
    if not low <= seq <= high:
        return [[low, high]]
    return [part for part in ([low, seq - 1], [seq + 1, high]) if part[0] <= part[1]]


def gaps(session: Session, device_id: str) -> Ranges:
    """The numbers of this device that never came: something made on it was lost, or is still under way."""
    return session.execute(select(Device.seq_missing).where(Device.id == device_id)).scalar_one_or_none() or []
