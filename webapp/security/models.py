"""Tables of who may come in: devices, one-time codes, the owner's secret, and how often somebody guessed.

Times are RFC 3339 text in UTC with milliseconds and `Z`, so that text order is time order in every database.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import JSON, ForeignKey, Index, Integer, String
from sqlalchemy.orm import Mapped, mapped_column

from webapp.database import Base


class Device(Base):
    """One browser, script or server that makes entries; `token_hash` is SHA-256 of its token."""

    __tablename__ = "device"

    id: Mapped[str] = mapped_column(String(36), primary_key=True)
    name: Mapped[str] = mapped_column(String(80))
    token_hash: Mapped[str | None] = mapped_column(String(64), unique=True)
    kind: Mapped[str] = mapped_column(String(10))
    person: Mapped[str | None] = mapped_column(String(36))
    created_at: Mapped[str] = mapped_column(String(24))
    last_seen_at: Mapped[str | None] = mapped_column(String(24))
    revoked_at: Mapped[str | None] = mapped_column(String(24))
    owner_until: Mapped[str | None] = mapped_column(String(24))
    seq_max: Mapped[int] = mapped_column(Integer, default=0)
    seq_missing: Mapped[list[list[int]]] = mapped_column(JSON, default=list)


class JoinCode(Base):
    """A one-time code: `purpose` is "join" for a further browser or "first" for setting the shop up."""

    __tablename__ = "join_code"

    code_hash: Mapped[str] = mapped_column(String(64), primary_key=True)
    purpose: Mapped[str] = mapped_column(String(8))
    created_at: Mapped[str] = mapped_column(String(24))
    expires_at: Mapped[str] = mapped_column(String(24))
    used_at: Mapped[str | None] = mapped_column(String(24))
    used_by: Mapped[str | None] = mapped_column(ForeignKey("device.id"))


class OwnerSecret(Base):
    """The owner's password as argon2id; one row, made with the shop."""

    __tablename__ = "owner_secret"

    person: Mapped[str] = mapped_column(String(36), primary_key=True)
    password_hash: Mapped[str] = mapped_column(String(255))
    changed_at: Mapped[str] = mapped_column(String(24))


class Guess(Base):
    """How often a password or code was tried from one side (`key`), and until when it must wait."""

    __tablename__ = "guess"
    __table_args__: Any = (Index("ix_guess_last_at", "last_at"),)

    key: Mapped[str] = mapped_column(String(120), primary_key=True)
    failed: Mapped[int] = mapped_column(Integer, default=0)
    last_at: Mapped[str] = mapped_column(String(24))
    locked_until: Mapped[str | None] = mapped_column(String(24))
