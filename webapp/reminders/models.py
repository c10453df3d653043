"""What the scheduler and the reminders keep. Times are ms since 1970."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Index, Integer, String, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from webapp.database import Base
from webapp.records.models import Big


class Lease(Base):
    """One row, made by the first migration: which process runs the scheduler, and until when it may be sure of it."""

    __tablename__ = "scheduler_lease"
    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    holder: Mapped[str] = mapped_column(String(80))
    until_ms: Mapped[int] = mapped_column(Big)


class ScheduledJob(Base):
    """A job of the scheduler: when it runs next, and how its last run ended."""

    __tablename__ = "scheduled_job"
    name: Mapped[str] = mapped_column(String(40), primary_key=True)
    next_ms: Mapped[int | None] = mapped_column(Big)
    trigger: Mapped[str] = mapped_column(String(120))
    """The trigger in words: another one than the program has now means that `next_ms` is worked out anew."""
    ended_ms: Mapped[int | None] = mapped_column(Big)
    failed_ms: Mapped[int | None] = mapped_column(Big)
    """Since when every run has failed; None when the last one did not."""
    said: Mapped[str] = mapped_column(Text)


class DayRoll(Base):
    """What stood due when a day of the shop began."""

    __tablename__ = "day_roll"
    day: Mapped[str] = mapped_column(String(10), primary_key=True)
    rolled_ms: Mapped[int] = mapped_column(Big)
    became_due: Mapped[str] = mapped_column(Text)
    """JSON: the ids of tasks that are due or late on this day and were not on the day rolled before."""
    standing: Mapped[str] = mapped_column(Text)
    """JSON: task id -> due state."""


class Reminder(Base):
    """One need of one person. It is told once; while `closed_ms` is empty the need stands."""

    __tablename__ = "reminder"
    id: Mapped[str] = mapped_column(String(36), primary_key=True)
    need: Mapped[str] = mapped_column(String(240))
    person: Mapped[str] = mapped_column(String(36))
    kind: Mapped[str] = mapped_column(String(12))
    weight: Mapped[str] = mapped_column(String(8))
    body: Mapped[str] = mapped_column(Text)
    """JSON: what, where, minutes, why, link, machine, task; see `needs.Need`."""
    opened_ms: Mapped[int] = mapped_column(Big)
    told_ms: Mapped[int | None] = mapped_column(Big)
    snoozed_ms: Mapped[int | None] = mapped_column(Big)
    """Until when it rests."""
    closed_ms: Mapped[int | None] = mapped_column(Big)

    __table_args__: Any = (UniqueConstraint("need", "person"), Index("reminder_by_person", "person", "closed_ms"))


class Foretold(Base):
    """The range of a task's date that people last heard of: what has moved is judged against it."""

    __tablename__ = "reminder_foretold"
    task: Mapped[str] = mapped_column(String(36), primary_key=True)
    cycle: Mapped[str] = mapped_column(String(80))
    """Which round of the task it was for: when it was last done, and until when it was deferred."""
    earliest: Mapped[str] = mapped_column(String(10))
    likely: Mapped[str] = mapped_column(String(10))
    latest: Mapped[str] = mapped_column(String(10))
    moved: Mapped[str] = mapped_column(Text)
    """JSON: what is being told of a move (since, until, say), or null."""


class Delivery(Base):
    """One message by one channel to one target, and what became of it: the outbox of messages and their log."""

    __tablename__ = "reminder_delivery"
    id: Mapped[str] = mapped_column(String(36), primary_key=True)
    person: Mapped[str] = mapped_column(String(36))
    channel: Mapped[str] = mapped_column(String(10))
    target: Mapped[str] = mapped_column(String(254))
    """The id of a push subscription, a mail address, or what fetched a calendar."""
    reminders: Mapped[str] = mapped_column(Text)
    """JSON: ids of the reminders it tells of; empty for a test."""
    payload: Mapped[str] = mapped_column(Text)
    """JSON: title and lines, as they were when it was made."""
    made_ms: Mapped[int] = mapped_column(Big)
    outcome: Mapped[str] = mapped_column(String(10))
    """waiting, sent, failed, gone (no such target any more), dropped (the need was over before it could go)."""
    tries: Mapped[int] = mapped_column(Integer)
    next_ms: Mapped[int] = mapped_column(Big)
    """Not before; while a process sends it, until when it may be sure of it."""
    ended_ms: Mapped[int | None] = mapped_column(Big)
    said: Mapped[str] = mapped_column(Text)

    __table_args__: Any = (
        Index("reminder_delivery_waiting", "outcome", "next_ms"),
        Index("reminder_delivery_log", "person", "made_ms"),
    )


class Subscription(Base):
    """A browser that takes web push for a person."""

    __tablename__ = "push_subscription"
    id: Mapped[str] = mapped_column(String(36), primary_key=True)
    device: Mapped[str] = mapped_column(String(36), index=True)
    person: Mapped[str] = mapped_column(String(36), index=True)
    endpoint: Mapped[str] = mapped_column(String(1000), unique=True)
    p256dh: Mapped[str] = mapped_column(String(100))
    auth: Mapped[str] = mapped_column(String(40))
    made_ms: Mapped[int] = mapped_column(Big)


class CalendarAddress(Base):
    """A person's secret calendar address; only its hash is kept."""

    __tablename__ = "calendar_address"
    person: Mapped[str] = mapped_column(String(36), primary_key=True)
    token_hash: Mapped[str] = mapped_column(String(64), unique=True)
    made_ms: Mapped[int] = mapped_column(Big)
    fetched_ms: Mapped[int | None] = mapped_column(Big)
