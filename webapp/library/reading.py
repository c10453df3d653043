"""Reads a TOML table into a frozen dataclass, strictly: a bad file is refused with its place and its mend."""

from __future__ import annotations

import tomllib
import types
from collections.abc import Callable, Mapping
from dataclasses import MISSING, fields, is_dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Any, Literal, TypeVar, Union, get_args, get_origin, get_type_hints

T = TypeVar("T")
# What a word stands for where a shape wants a thing that is described once elsewhere, such as a source: (word, place).
Named = Mapping[type, Callable[[str, str], Any]]
NONE: Named = MappingProxyType({})


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


def read(shape: type[T], table: Any, where: str, named: Named = NONE) -> T:
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
    return shape(**{name: _value(hints[name], value, f"{where}.{name}", named) for name, value in table.items()})


def _value(hint: Any, value: Any, where: str, named: Named) -> Any:
    origin = get_origin(hint)
    if origin in (Union, types.UnionType):
        inner = [choice for choice in get_args(hint) if choice is not type(None)]
        return _value(inner[0], value, where, named)
    if origin is tuple:
        return _list(get_args(hint)[0], value, where, named)
    if origin is Literal:
        return _one_of(get_args(hint), value, where)
    if origin in (dict, Mapping):
        return _table(get_args(hint), value, where, named)
    if is_dataclass(hint):
        return _thing(hint, value, where, named)
    return value if hint is Any else _plain(hint, value, where)


def _thing(shape: Any, value: Any, where: str, named: Named) -> Any:
    """What was read already stays as it is; a word is looked up; else it is written out in place."""
    if isinstance(value, shape):
        return value
    if isinstance(value, str) and shape in named:
        return named[shape](value, where)
    return read(shape, value, where, named)


def _table(hints: tuple[Any, Any], value: Any, where: str, named: Named) -> Mapping[Any, Any]:
    if not isinstance(value, dict):
        raise LibraryError(f"{where}: is {value!r}; write a table")
    key, inner = hints
    return {
        _value(key, name, where, named): _value(inner, one, f"{where}.{name}", named) for name, one in value.items()
    }


def _list(hint: Any, value: Any, where: str, named: Named) -> tuple[Any, ...]:
    if not isinstance(value, list | tuple):
        raise LibraryError(f"{where}: is {value!r}; write a list")
    return tuple(_value(hint, one, f"{where}[{index}]", named) for index, one in enumerate(value))


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
