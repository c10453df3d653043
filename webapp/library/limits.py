"""The exposure limits of the library: substances with their forms, authorities, and the figures in print."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from webapp.core.limits import Answer, Limit, look_up
from webapp.core.problems import LimitError
from webapp.core.sources import Source
from webapp.library.reading import LibraryError, load, read
from webapp.library.sources import source

PATH = Path(__file__).with_name("limits.toml")


@dataclass(frozen=True, slots=True)
class Authority:
    """Who publishes a limit: `word` is what it calls one, `law` whether it binds there."""

    key: str
    name: str
    place: str
    word: str
    law: bool


@dataclass(frozen=True, slots=True)
class Substance:
    """What is limited; `forms`: key of the form and what it means in print."""

    key: str
    name: str
    forms: Mapping[str, str]
    cas: str | None = None


@dataclass(frozen=True, slots=True)
class _Substance:
    """A substance as it is written."""

    name: str
    forms: dict[str, str]
    limits: tuple[dict[str, Any], ...]
    cas: str | None = None


@cache
def authorities() -> Mapping[str, Authority]:
    """Every authority by its key."""
    tables = _written("authorities")
    return MappingProxyType(
        {
            key: read(Authority, {"key": key, **table}, f"{PATH.name}: authorities.{key}")
            for key, table in tables.items()
        }
    )


@cache
def substances() -> Mapping[str, Substance]:
    """Every substance by its key."""
    return MappingProxyType(
        {key: Substance(key, said.name, MappingProxyType(said.forms), said.cas) for key, said in _read().items()}
    )


@cache
def limits() -> tuple[Limit, ...]:
    """Every limit, in the order of the file."""
    return tuple(_limit(key, said, one) for key, said in _read().items() for one in said.limits)


def limits_for(substance: str, form: str, chosen: Sequence[str], on: date) -> Answer:
    """The limits of a substance in one form by the `chosen` authorities in force on a day, and the strictest of all
    beside them; LimitError for an authority, a substance or a form that the library does not have."""
    for key in chosen:
        if key not in authorities():
            raise LimitError("authority", f"{key} is not in the library.", f"Use: {', '.join(authorities())}.")
    return look_up(limits(), substance, form, chosen, on.isoformat())


def _limit(substance: str, said: _Substance, table: dict[str, Any]) -> Limit:
    where = f"{PATH.name}: {substance}, {table.get('form')}, {table.get('authority')}"
    one = read(Limit, {"substance": substance, **table}, where, {Source: source})
    if one.form not in said.forms:
        raise LibraryError(f"{where}: form {one.form!r} is not described; use one of {', '.join(said.forms)}")
    if one.authority not in authorities():
        raise LibraryError(f"{where}: authority {one.authority!r} is not described; describe it or mend the word")
    if one.value <= 0:
        raise LibraryError(f"{where}.value: is {one.value!r}; write a number above 0")
    return one


@cache
def _read() -> dict[str, _Substance]:
    return {
        key: read(_Substance, table, f"{PATH.name}: substances.{key}") for key, table in _written("substances").items()
    }


def _written(name: str) -> dict[str, Any]:
    tables = load(PATH).get(name)
    if not isinstance(tables, dict):
        raise LibraryError(f"{PATH.name}: {name}: is {tables!r}; write a table")
    return tables
