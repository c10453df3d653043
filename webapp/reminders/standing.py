"""How the jobs of the scheduler do: noted after each run, seen by the doctor and on Today."""

from __future__ import annotations

from typing import Any

from sqlalchemy import select, update
from sqlalchemy.orm import Session

from webapp.core.instants import instant_text
from webapp.database import writing
from webapp.reminders.models import ScheduledJob

NOTED_EVERY_MS = 5 * 60_000
"""A job that runs every half minute and goes well is noted no oftener than this."""
LONGEST_SAID = 500


def triggers(session: Session) -> dict[str, str]:
    """Job -> the trigger, in words, that its next time was worked out by."""
    return {row.name: row.trigger for row in session.execute(select(ScheduledJob.name, ScheduledJob.trigger))}


def note(name: str, at_ms: int, good: bool, said: str) -> None:
    """Note how a run ended."""
    with writing() as session:
        row = session.get(ScheduledJob, name)
        if row is None:
            return
        again = good and row.failed_ms is None and row.said == said[:LONGEST_SAID] and row.ended_ms is not None
        if again and 0 <= at_ms - (row.ended_ms or 0) < NOTED_EVERY_MS:
            return
        failed = None if good else row.failed_ms or at_ms
        values = {"ended_ms": at_ms, "failed_ms": failed, "said": said[:LONGEST_SAID]}
        session.execute(update(ScheduledJob).where(ScheduledJob.name == name).values(**values))


def standings(session: Session) -> list[dict[str, Any]]:
    """Every job: `job, next_at, ended_at, failed_since` (RFC 3339 or None) and `said`."""
    rows = session.execute(select(ScheduledJob).order_by(ScheduledJob.name)).scalars()
    return [
        {
            "job": row.name,
            "next_at": _text(row.next_ms),
            "ended_at": _text(row.ended_ms),
            "failed_since": _text(row.failed_ms),
            "said": row.said,
        }
        for row in rows
    ]


def troubles(session: Session) -> list[dict[str, Any]]:
    """The jobs that fail: `job, since, said`."""
    return [
        {"job": row["job"], "since": row["failed_since"], "said": row["said"]}
        for row in standings(session)
        if row["failed_since"]
    ]


def _text(ms: int | None) -> str | None:
    return None if ms is None else instant_text(ms)
