"""What a kind of entry is: its schema, its fold and its one-line summary, together in one place."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, ClassVar

from webapp.records.fields import Body, Ref
from webapp.records.state import Doc, Effective

Name = Callable[[str], str]
"""Gives the name of anything defined, by its id."""


class Kind:
    """One kind of entry. Subclasses are registered by `@kind`."""

    name: ClassVar[str]
    machine_needed: ClassVar[bool] = True
    touches_shop: ClassVar[bool] = False
    """Whether the shop's document is folded too (the drawer is the shop's, not a machine's)."""
    mends: ClassVar[bool] = False
    """Whether it amends or voids another entry."""

    def __init__(self) -> None:
        self.schema: Body = self.body()()
        self.refs = [(name, field.to) for name, field in self.schema.fields.items() if isinstance(field, Ref)]

    @classmethod
    def body(cls) -> type[Body]:
        """The schema of the body."""
        raise NotImplementedError

    def subjects(self, machine: str | None) -> tuple[str, ...]:
        """The documents that an entry of this kind folds into."""
        own = "shop" if machine is None else f"machine:{machine}"
        return (own, "shop") if self.touches_shop and own != "shop" else (own,)

    def fold(self, doc: Doc, entry: Effective) -> None:
        """Change the document of the entry's machine (or the shop's, when it has none)."""

    def fold_shop(self, doc: Doc, entry: Effective) -> None:
        """Change the shop's document for an entry made at a machine."""

    def summary(self, body: dict[str, Any], name: Name) -> str:
        """One line for lists: what happened, in the shop's words."""
        raise NotImplementedError


KINDS: dict[str, Kind] = {}


def kind(cls: type[Kind]) -> type[Kind]:
    """Register a kind under its name."""
    KINDS[cls.name] = cls()
    return cls
