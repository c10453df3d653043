"""The tables of set-up: each definition's newest revision, and all of them."""

from __future__ import annotations

from sqlalchemy import Boolean, Integer, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from webapp.database import Base
from webapp.records.models import Big


class Definition(Base):
    """A machine, task, checklist, person, … as it is now."""

    __tablename__ = "definition"
    id: Mapped[str] = mapped_column(String(36), primary_key=True)
    type: Mapped[str] = mapped_column(String(20), index=True)
    revision: Mapped[int] = mapped_column(Integer)
    retired: Mapped[bool] = mapped_column(Boolean, default=False)
    body: Mapped[str] = mapped_column(Text)
    position: Mapped[int] = mapped_column(Big, index=True)
    """Position in the record of the entry that tells of its last change."""


class DefinitionRevision(Base):
    """A definition as it was at one revision."""

    __tablename__ = "definition_revision"
    id: Mapped[str] = mapped_column(String(36), primary_key=True)
    revision: Mapped[int] = mapped_column(Integer, primary_key=True, autoincrement=False)
    body: Mapped[str] = mapped_column(Text)
    retired: Mapped[bool] = mapped_column(Boolean)
    position: Mapped[int] = mapped_column(Big)
    person: Mapped[str] = mapped_column(String(36))
    ms: Mapped[int] = mapped_column(Big)
