"""The alloys of the library, with the elements that matter and how chips, dust and scrap behave.

A composition is written as it stands in print: "60.0-63.0", "<=0.35", ">=99.90", "~0.55" (nominal) or "rest"; a
figure from another publication than the rest of its table carries "@" and the key of that source.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any, TypeVar

from webapp.core.alloys import Alloy, Behaviour, Constituent, Element
from webapp.core.sources import Source
from webapp.library.reading import LibraryError, load, read
from webapp.library.sources import source

T = TypeVar("T")
FOLDER = Path(__file__).parent
# What is said of an alloy besides its figures.
KINDS = ("chips", "dust", "scrap")
_NUMBER = r"\d+(?:\.\d+)?"
_FIGURE = re.compile(
    rf"(?:(?P<low>{_NUMBER})-(?P<high>{_NUMBER})|<=(?P<most>{_NUMBER})|>=(?P<least>{_NUMBER})|~(?P<nominal>{_NUMBER})"
    r"|(?P<rest>rest))(?: @(?P<source>[a-z0-9_]+))?"
)


@cache
def elements() -> Mapping[str, Element]:
    """The elements that matter for health, by symbol."""
    return MappingProxyType(_named_once(Element, "elements", "symbol"))


@cache
def behaviours(kind: str) -> Mapping[str, Behaviour]:
    """What is said of "chips", "dust" or "scrap", by key."""
    return MappingProxyType(_named_once(Behaviour, kind, "key"))


@cache
def densities() -> tuple[Mapping[str, float], Source]:
    """What the elements weigh, in g/cm3 by symbol, and where it is printed."""
    table = load(FOLDER / "metals.toml").get("densities")
    if not isinstance(table, dict) or "source" not in table:
        raise LibraryError(f"metals.toml: densities: is {table!r}; write a table with its source")
    figures = {symbol: figure for symbol, figure in table.items() if symbol != "source"}
    return MappingProxyType(figures), source(table["source"], "metals.toml: densities")


@cache
def alloys() -> Mapping[str, Alloy]:
    """Every alloy by its key; `LibraryError` names the place of a bad one."""
    return MappingProxyType({key: _alloy(key, table) for key, table in load(FOLDER / "alloys.toml").items()})


def composition(table: Mapping[str, Any], where: str) -> tuple[Constituent, ...]:
    """A composition table: element: figure, and `source` for all figures that name no other."""
    if "source" not in table:
        raise LibraryError(f"{where}.source: is missing; write it")
    found = tuple(
        _constituent(element, figure, table["source"], f"{where}.{element}")
        for element, figure in table.items()
        if element != "source"
    )
    if sum(one.rest for one in found) > 1:
        raise LibraryError(f"{where}: has two remainders; leave one")
    return found


def _constituent(element: str, figure: Any, cited: str, where: str) -> Constituent:
    match = _FIGURE.fullmatch(figure) if isinstance(figure, str) else None
    if match is None:
        raise LibraryError(f"{where}: is {figure!r}; write 60.0-63.0, <=0.35, >=99.90, ~0.55 or rest")
    low, high, nominal = (
        float(text) if (text := match[first] or (match[second] if second else None)) else None
        for first, second in (("low", "least"), ("high", "most"), ("nominal", None))
    )
    if low is not None and high is not None and low > high:
        raise LibraryError(f"{where}: is {figure!r}; write the lower figure first")
    return Constituent(element, source(match["source"] or cited, where), low, high, nominal, bool(match["rest"]))


def _alloy(key: str, table: Any) -> Alloy:
    where = f"alloys.toml: {key}"
    if not isinstance(table, dict):
        raise LibraryError(f"{where}: is {table!r}; write a table")
    words = {kind: _known(kind, table[kind], where) for kind in KINDS if kind in table}
    parts = {"composition": composition(table["composition"], f"{where}.composition")} if "composition" in table else {}
    return read(Alloy, {"key": key, **table, **words, **parts}, where, {Source: source})


def _named_once(shape: type[T], kind: str, name: str) -> dict[str, T]:
    """The tables of one kind in metals.toml; `name` is the field that takes a table's own key."""
    tables = load(FOLDER / "metals.toml").get(kind)
    if not isinstance(tables, dict):
        raise LibraryError(f"metals.toml: {kind}: is {tables!r}; write a table")
    return {
        key: read(shape, {name: key, **table}, f"metals.toml: {kind}.{key}", {Source: source})
        for key, table in tables.items()
    }


def _known(kind: str, name: str, where: str) -> Behaviour:
    if name not in behaviours(kind):
        raise LibraryError(f"{where}.{kind}: is {name!r}; use one of {', '.join(behaviours(kind))}")
    return behaviours(kind)[name]
