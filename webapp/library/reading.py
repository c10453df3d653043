"""Reads a TOML table into a frozen dataclass, strictly: a bad file is refused with its place and its mend."""

from __future__ import annotations

import tomllib
import types
from collections.abc import Mapping
from dataclasses import MISSING, fields, is_dataclass
from pathlib import Path
from typing import Any, Literal, TypeVar, Union, get_args, get_origin, get_type_hints

T = TypeVar("T")


class LibraryError(ValueError):
    """A library file is missing, is no TOML, or says something the library does not know."""


def load(path: Path) -> dict[str, Any]:
    """The tables of a TOML file; `LibraryError` names the file when it cannot be read."""
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise LibraryError(f"{path.name}: cannot be read ({error.strerror}); install it again") from error
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise LibraryError(f"{path.name}: is no valid TOML ({error}); mend that line") from error


def read(shape: type[T], table: Any, where: str) -> T:
    """`table` as a `shape`; `LibraryError` names the place of what is unknown, missing or wrong."""
    if not isinstance(table, Mapping):
        raise LibraryError(f"{where}: is {table!r}; write a table")
    known = {field.name: field for field in fields(shape)}  # type: ignore[arg-type]
    strange = sorted(set(table) - set(known))
    if strange:
        raise LibraryError(f"{where}.{strange[0]}: is not known; use one of {', '.join(known)}")
    for name, field in known.items():
        if name not in table and field.default is MISSING and field.default_factory is MISSING:
            raise LibraryError(f"{where}.{name}: is missing; write it")
    hints = get_type_hints(shape)
    return shape(**{name: _value(hints[name], value, f"{where}.{name}") for name, value in table.items()})


def _value(hint: Any, value: Any, where: str) -> Any:
    origin = get_origin(hint)
    if origin in (Union, types.UnionType):
        inner = [choice for choice in get_args(hint) if choice is not type(None)]
        return _value(inner[0], value, where)
    if origin is tuple:
        return _list(get_args(hint)[0], value, where)
    if origin is Literal:
        return _one_of(get_args(hint), value, where)
    if origin is dict:
        if not isinstance(value, dict):
            raise LibraryError(f"{where}: is {value!r}; write a table")
        return value
    if is_dataclass(hint):
        return read(hint, value, where)  # type: ignore[arg-type]
    return _plain(hint, value, where)


def _list(hint: Any, value: Any, where: str) -> tuple[Any, ...]:
    if not isinstance(value, list):
        raise LibraryError(f"{where}: is {value!r}; write a list")
    return tuple(_value(hint, one, f"{where}[{index}]") for index, one in enumerate(value))


def _one_of(choices: tuple[Any, ...], value: Any, where: str) -> Any:
    if value not in choices:
        raise LibraryError(f"{where}: is {value!r}; use one of {', '.join(choices)}")
    return value


def _plain(hint: Any, value: Any, where: str) -> Any:
    wanted, word = {
        str: ((str,), "text"),
        bool: ((bool,), "true or false"),
        float: ((int, float), "a number"),
        int: ((int,), "a whole number"),
    }[hint]
    if not isinstance(value, wanted) or (isinstance(value, bool) and hint is not bool):
        raise LibraryError(f"{where}: is {value!r}; write {word}")
    if isinstance(value, str) and not value.strip():
        raise LibraryError(f"{where}: is empty; write at least a word")
    return value
