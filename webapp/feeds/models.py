"""Where each feed stands: one row a meter that a machine counts itself."""

from __future__ import annotations

from sqlalchemy import Integer, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from webapp.database import Base
from webapp.records.models import Big


class FeedState(Base):
    """What a feed has read and counted; written together with the entries that come of it."""

    __tablename__ = "feed_state"
    meter: Mapped[str] = mapped_column(String(36), primary_key=True)
    machine: Mapped[str] = mapped_column(String(36))
    revision: Mapped[int] = mapped_column(Integer)
    """Counts up with each write, so that of two processes one passes."""
    polled_ms: Mapped[int] = mapped_column(Big)
    body: Mapped[str] = mapped_column(Text)
    """JSON: agent's instance and sequence, the tally, the face last told, and what is wrong."""
