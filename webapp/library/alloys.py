"""The alloys of the library, with the elements that matter and how chips, dust and scrap behave.

A composition is written as it stands in print: "60.0-63.0", "<=0.35", ">=99.90", "~0.55" (nominal) or "rest"; a
figure from another publication than the rest of its table carries "@" and the key of that source.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from webapp.core.alloys import Alloy, Behaviour, Constituent, Density, Element, Machinability
from webapp.library.reading import LibraryError, load, read
from webapp.library.sources import source

FOLDER = Path(__file__).parent
_NUMBER = r"\d+(?:\.\d+)?"
_FIGURE = re.compile(
    rf"(?:(?P<low>{_NUMBER})-(?P<high>{_NUMBER})|<=(?P<most>{_NUMBER})|>=(?P<least>{_NUMBER})|~(?P<nominal>{_NUMBER})"
    r"|(?P<rest>rest))(?: @(?P<source>[a-z0-9_]+))?"
)


@dataclass(frozen=True, slots=True)
class _Words:
    """A table of [chips], [dust] or [scrap] as it is written."""

    text: str
    source: str


@dataclass(frozen=True, slots=True)
class _Element:
    """A table of [elements] as it is written."""

    name: str
    why: str
    source: str
    from_percent: float
    threshold_source: str
    substance: str | None = None
    hot_substance: str | None = None


@dataclass(frozen=True, slots=True)
class _Figure:
    """A density or machinability as it is written."""

    value: float
    source: str
    unit: str | None = None
    base: str | None = None
    high: float | None = None


@dataclass(frozen=True, slots=True)
class _Alloy:
    """An alloy as it is written."""

    name: str
    base: str
    family: str
    composition: dict[str, Any]
    chips: str
    dust: str
    scrap: str
    uns: str | None = None
    form: str | None = None
    also: tuple[str, ...] = ()
    density: _Figure | None = None
    machinability: _Figure | None = None
    notes: str | None = None


@cache
def elements() -> Mapping[str, Element]:
    """The elements that matter for health, by symbol."""
    found = {}
    for symbol, table in _tables("metals.toml", "elements").items():
        where = f"metals.toml: elements.{symbol}"
        said = read(_Element, table, where)
        found[symbol] = Element(
            symbol,
            said.name,
            said.why,
            source(said.source, where),
            said.from_percent,
            source(said.threshold_source, where),
            said.substance,
            said.hot_substance,
        )
    return MappingProxyType(found)


@cache
def alloys() -> Mapping[str, Alloy]:
    """Every alloy by its key; `LibraryError` names the place of a bad one."""
    words = {kind: _behaviours(kind) for kind in ("chips", "dust", "scrap")}
    tables = load(FOLDER / "alloys.toml")
    return MappingProxyType({key: _alloy(key, table, words) for key, table in tables.items()})


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


def _alloy(key: str, table: Any, words: Mapping[str, Mapping[str, Behaviour]]) -> Alloy:
    where = f"alloys.toml: {key}"
    said = read(_Alloy, table, where)
    chips, dust, scrap = (
        _known(words[kind], name, f"{where}.{kind}")
        for kind, name in (("chips", said.chips), ("dust", said.dust), ("scrap", said.scrap))
    )
    return Alloy(
        key=key,
        name=said.name,
        base=said.base,
        family=said.family,
        composition=composition(said.composition, f"{where}.composition"),
        chips=chips,
        dust=dust,
        scrap=scrap,
        uns=said.uns,
        form=said.form,
        also=said.also,
        density=_density(said.density, f"{where}.density"),
        machinability=_machinability(said.machinability, f"{where}.machinability"),
        notes=said.notes,
    )


def _density(figure: _Figure | None, where: str) -> Density | None:
    if figure is None:
        return None
    if figure.unit is None:
        raise LibraryError(f"{where}.unit: is missing; write g/cm3 or lb/in3")
    return Density(figure.value, figure.unit, source(figure.source, where), figure.high)


def _machinability(figure: _Figure | None, where: str) -> Machinability | None:
    if figure is None:
        return None
    if figure.base is None:
        raise LibraryError(f"{where}.base: is missing; write the alloy that counts as 100")
    return Machinability(figure.value, figure.base, source(figure.source, where))


def _behaviours(kind: str) -> dict[str, Behaviour]:
    found = {}
    for key, table in _tables("metals.toml", kind).items():
        where = f"metals.toml: {kind}.{key}"
        said = read(_Words, table, where)
        found[key] = Behaviour(key, said.text, source(said.source, where))
    return found


def _tables(name: str, kind: str) -> dict[str, Any]:
    tables = load(FOLDER / name).get(kind)
    if not isinstance(tables, dict):
        raise LibraryError(f"{name}: {kind}: is {tables!r}; write a table")
    return tables


def _known(words: Mapping[str, Behaviour], name: str, where: str) -> Behaviour:
    if name not in words:
        raise LibraryError(f"{where}: is {name!r}; use one of {', '.join(words)}")
    return words[name]
