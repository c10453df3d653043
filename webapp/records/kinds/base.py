"""What a kind of entry is: its schema, its fold and its one-line summary, together in one place."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, ClassVar, Protocol

from marshmallow import Schema
from marshmallow.fields import List, Nested

from webapp.records.fields import Body, Ref, is_uuid
from webapp.records.state import Doc, Effective


class Name(Protocol):
    """Gives the name of anything defined, by its id."""

    def __call__(self, id_: str, /) -> str: ...

    def unit(self, id_: str, /) -> str:
        """The unit that a meter counts in; "" of anything else."""
        ...


def alloy_said(alloy: str, name: Name) -> str:
    """An alloy of the shop's own by its name, for an entry has its id; one of the library as the entry has it."""
    return name(alloy) if is_uuid(alloy) else alloy


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
        self.refs = list(_refs(self.schema, ()))

    def named(self, body: dict[str, Any]) -> Iterator[tuple[str, str, str]]:
        """(dotted path, type, id) of everything defined in set-up that a body names."""
        for path, to in self.refs:
            yield from _named(body, path, to)

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


def _refs(schema: Schema, path: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], str]]:
    """Where a schema names things of set-up, in lists and objects within it too."""
    for name, field in schema.fields.items():
        inner = field.inner if isinstance(field, List) else field
        if isinstance(inner, Ref):
            yield (*path, name), inner.to
        elif isinstance(inner, Nested):
            yield from _refs(inner.schema, (*path, name))


def _named(value: Any, path: tuple[str, ...], to: str, at: str = "") -> Iterator[tuple[str, str, str]]:
    if isinstance(value, list):
        for number, one in enumerate(value):
            yield from _named(one, path, to, f"{at}.{number}")
    elif path and isinstance(value, dict):
        yield from _named(value.get(path[0]), path[1:], to, f"{at}.{path[0]}")
    elif value is not None:
        yield at.removeprefix("."), to, value


KINDS: dict[str, Kind] = {}


def kind(cls: type[Kind]) -> type[Kind]:
    """Register a kind under its name."""
    KINDS[cls.name] = cls()
    return cls
