"""What the scheduler keeps: who runs it, and what became due on which day."""

from __future__ import annotations

from sqlalchemy import Integer, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from webapp.database import Base
from webapp.records.models import Big


class Lease(Base):
    """One row, made by the first migration: which process runs the scheduler, and until when it may be sure of it."""

    __tablename__ = "scheduler_lease"
    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    holder: Mapped[str] = mapped_column(String(80))
    until_ms: Mapped[int] = mapped_column(Big)


class DayRoll(Base):
    """What stood due when a day of the shop began."""

    __tablename__ = "day_roll"
    day: Mapped[str] = mapped_column(String(10), primary_key=True)
    rolled_ms: Mapped[int] = mapped_column(Big)
    became_due: Mapped[str] = mapped_column(Text)
    """JSON: the ids of tasks that are due or late on this day and were not on the day rolled before."""
    standing: Mapped[str] = mapped_column(Text)
    """JSON: task id -> due state."""
