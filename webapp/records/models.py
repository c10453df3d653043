"""The record's tables. Entries are only ever inserted."""

from __future__ import annotations

from sqlalchemy import BigInteger, Index, Integer, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from webapp.database import Base

# SQLite only counts a plain INTEGER primary key as its row id.
Big = BigInteger().with_variant(Integer(), "sqlite")
# Entries of one ms are ordered by id, byte by byte; a locale's collation would pass over the hyphens.
Id = String(36).with_variant(String(36, collation="C"), "postgresql")


class Head(Base):
    """One row, made by the first migration: where the record stands. Locked while entries are added, so positions
    commit in order."""

    __tablename__ = "record_head"
    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    position: Mapped[int] = mapped_column(Big, default=0)
    chain: Mapped[str] = mapped_column(String(64))
    server_seq: Mapped[int] = mapped_column(Integer, default=0)
    definitions_at: Mapped[int] = mapped_column(Big, default=0)
    """Position of the last change to a definition."""
    epoch: Mapped[str] = mapped_column(String(36))
    """Another one after each restore: a device that knew the one before asks for everything again, and sends again
    what the backup did not have."""


class Entry(Base):
    """One immutable fact."""

    __tablename__ = "entry"
    position: Mapped[int] = mapped_column(Big, primary_key=True, autoincrement=False)
    id: Mapped[str] = mapped_column(Id, unique=True)
    kind: Mapped[str] = mapped_column(String(40))
    machine: Mapped[str | None] = mapped_column(Id)
    person: Mapped[str] = mapped_column(Id)
    device: Mapped[str] = mapped_column(Id)
    seq: Mapped[int] = mapped_column(Integer)
    ms: Mapped[int] = mapped_column(Big)
    """Effective time, ms since 1970 UTC."""
    document: Mapped[str] = mapped_column(Text)
    """RFC 8785 JSON of the entry with its receipt: what the chain covers."""
    chain: Mapped[str] = mapped_column(String(64))

    __table_args__ = (
        Index("entry_by_time", "ms", "id"),
        Index("entry_by_machine", "machine", "ms", "id"),
        Index("entry_by_kind", "kind", "ms", "id"),
    )


class SubjectEntry(Base):
    """Which entries fold into which document, in the order they count."""

    __tablename__ = "subject_entry"
    subject: Mapped[str] = mapped_column(String(44), primary_key=True)
    ms: Mapped[int] = mapped_column(Big, primary_key=True, autoincrement=False)
    entry: Mapped[str] = mapped_column(Id, primary_key=True)
    position: Mapped[int] = mapped_column(Big)


class Mending(Base):
    """An amendment or a voiding, found by the entry that it mends."""

    __tablename__ = "mending"
    entry: Mapped[str] = mapped_column(Id, primary_key=True)
    target: Mapped[str] = mapped_column(Id, index=True)
    ms: Mapped[int] = mapped_column(Big)
    position: Mapped[int] = mapped_column(Big)


class State(Base):
    """What a machine, or the shop, is now: the fold of its entries."""

    __tablename__ = "state"
    subject: Mapped[str] = mapped_column(String(44), primary_key=True)
    body: Mapped[str] = mapped_column(Text)
    ms: Mapped[int] = mapped_column(Big)
    entry: Mapped[str] = mapped_column(Id)
    folded: Mapped[int] = mapped_column(Integer)
    position: Mapped[int] = mapped_column(Big, index=True)
    """Position of the last entry that touched it, for readers that ask what has changed."""


class Checkpoint(Base):
    """A state on the way, so that a late entry refolds days and not years."""

    __tablename__ = "state_checkpoint"
    subject: Mapped[str] = mapped_column(String(44), primary_key=True)
    ms: Mapped[int] = mapped_column(Big, primary_key=True, autoincrement=False)
    entry: Mapped[str] = mapped_column(Id, primary_key=True)
    folded: Mapped[int] = mapped_column(Integer)
    body: Mapped[str] = mapped_column(Text)


class Quarantined(Base):
    """Something sent that could not be accepted, kept as it came."""

    __tablename__ = "quarantine"
    digest: Mapped[str] = mapped_column(String(64), primary_key=True)
    device: Mapped[str] = mapped_column(Id, primary_key=True)
    received_ms: Mapped[int] = mapped_column(Big)
    entry: Mapped[str | None] = mapped_column(Id)
    payload: Mapped[str] = mapped_column(Text)
    problem: Mapped[str] = mapped_column(Text)
