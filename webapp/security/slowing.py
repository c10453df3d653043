"""Slows down whoever guesses passwords or codes.

Every try is counted in a committed transaction before the secret is looked at, so a try that cannot be
counted is not made at all (it fails closed) and tries at the same time cannot slip through together.
A device that belongs to the shop is counted by itself: strangers cannot lock it out.
"""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass

from sqlalchemy import delete, insert
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from webapp.core.instants import instant_text, parse_instant
from webapp.database import writing
from webapp.security.models import Guess
from webapp.security.moments import DAY, MINUTE, SECOND
from webapp.security.refusals import MustWait
from webapp.setup.ids import now_ms

LONGEST_WAIT = 15 * MINUTE
FORGOTTEN_AFTER = DAY


@dataclass(frozen=True)
class Side:
    """Where tries come from, and how many wrong ones cost nothing."""

    key: str
    free: int


def sides(what: str, device: str | None, address: str) -> tuple[Side, ...]:
    """A known device alone; a stranger by address and by the number of all strangers' tries together."""
    if device:
        return (Side(f"{what} device {device}", 5),)
    return (Side(f"{what} address {address}", 5), Side(f"{what} strangers", 30))


def count_try(tries: Iterable[Side]) -> None:
    """Count one try from every side, or raise MustWait. To be called before the secret is compared."""
    with writing() as session:
        now = now_ms()  # after the wait for the lock, or a try in front of this one would lie in its future
        session.execute(delete(Guess).where(Guess.last_at < instant_text(now - FORGOTTEN_AFTER)))
        rows = [(_row(session, side.key), side) for side in tries]
        wait = max(_left(row, now) for row, _ in rows)
        if wait <= 0:
            for row, side in rows:
                row.failed += 1
                row.last_at = instant_text(now)
                pause = _pause(row.failed - side.free)
                row.locked_until = instant_text(now + pause) if pause else None
    if wait > 0:
        raise MustWait(-(-wait // SECOND))


def forget_tries(session: Session, tries: Iterable[Side]) -> None:
    """The secret was right: the count starts again."""
    session.execute(delete(Guess).where(Guess.key.in_([side.key for side in tries])))


def _row(session: Session, key: str) -> Guess:
    """The side's row, locked; PostgreSQL would otherwise let two tries count as one."""
    while (row := session.get(Guess, key, with_for_update=True)) is None:
        with suppress(IntegrityError), session.begin_nested():
            session.execute(insert(Guess).values(key=key, failed=0, last_at=instant_text(now_ms())))
    return row


def _left(row: Guess, now: int) -> int:
    return parse_instant(row.locked_until) - now if row.locked_until else 0


def _pause(over: int) -> int:
    """Ms to wait after so many tries beyond the free ones: 1 s, 2 s, 4 s … to 15 minutes."""
    return 0 if over < 0 else min(SECOND << min(over, 20), LONGEST_WAIT)
