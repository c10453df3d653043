"""The hazard rules of the library: what can be done, what may hold, and which work asks for what."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from webapp.core.hazards import Protection, Rule, When
from webapp.core.sources import Source
from webapp.library import DEFERENCE
from webapp.library.alloys import alloys, elements
from webapp.library.media import media
from webapp.library.reading import LibraryError, load, read
from webapp.library.sources import source

PATH = Path(__file__).with_name("rules.toml")
_SAID = ("signal", "hazard", "what", "do", "why", "source")
# Coatings that a person can name at the machine; rules ask for no others.
SURFACES = {
    "lead": "Lead paint, terne or solder",
    "cadmium": "Cadmium plating",
    "zinc": "Zinc plating or galvanising",
    "chromate": "Chromate primer or conversion coat",
    "beryllium_scale": "Heat-treat scale on beryllium copper",
}


@dataclass(frozen=True, slots=True)
class Process:
    """Something done to metal; `makes`: the forms in which it puts metal or fluid into the air; `hot`: with a torch,
    an arc or sparks."""

    key: str
    name: str
    makes: tuple[str, ...]
    hot: bool = False


@cache
def processes() -> Mapping[str, Process]:
    """Every process by its key, in the order of a day's work."""
    return MappingProxyType(
        {
            key: read(Process, {"key": key, **table}, f"{PATH.name}: processes.{key}")
            for key, table in _file()["processes"].items()
        }
    )


@cache
def protections() -> Mapping[str, Protection]:
    """Every piece of protective equipment by its key."""
    return MappingProxyType(
        {
            key: read(Protection, {"key": key, **table}, f"{PATH.name}: ppe.{key}")
            for key, table in _file()["ppe"].items()
        }
    )


def flags() -> Mapping[str, str]:
    """What may hold at the machine, by key, as a sentence to say yes or no to."""
    return MappingProxyType(_file()["flags"])


def measures() -> Mapping[str, str]:
    """The numbers that rules ask for, by key, with their unit in the words."""
    return MappingProxyType(_file()["measures"])


@cache
def rules() -> tuple[Rule, ...]:
    """Every rule, in the order of the file; `LibraryError` names the place of a bad one."""
    written = _file()["rules"]
    found = tuple(_rule(table, f"{PATH.name}: rules[{place}]") for place, table in enumerate(written))
    keys = [rule.key for rule in found]
    twice = [key for key in keys if keys.count(key) > 1]
    if twice:
        raise LibraryError(f"{PATH.name}: rules has {twice[0]!r} twice; give each its own key")
    return found


def _rule(table: Any, where: str) -> Rule:
    """A rule, of which the caution's words stand in the table itself; its protective equipment is named under `ppe`."""
    if not isinstance(table, dict):
        raise LibraryError(f"{where}: is {table!r}; write a table")
    said = {name: table[name] for name in _SAID if name in table}
    rest = {name: value for name, value in table.items() if name not in _SAID}
    rest |= {"key": table.get("key"), "caution": {"key": table.get("key"), "closing": DEFERENCE, **said}}
    rule = read(Rule, rest, where, {Source: source, Protection: _protection})
    where = f"{PATH.name}: {rule.key}"
    if "protect" in rule.controls:
        raise LibraryError(f"{where}.controls.protect: is not written here; name the equipment under ppe")
    _check(rule.when, where)
    return rule


def _protection(key: str, where: str) -> Protection:
    if key not in protections():
        raise LibraryError(f"{where}: {key!r} is not described; use one of {', '.join(protections())}")
    return protections()[key]


def _check(when: When, where: str) -> None:
    """A word that nothing can ever meet would make its rule silent: refuse it."""
    bases = {alloy.base for alloy in alloys().values()}
    named = {part.element for alloy in alloys().values() for part in alloy.composition}
    for field_, known, asked in (
        ("processes", processes().keys(), when.processes),
        ("elements", named, when.elements),
        ("bases", bases, when.bases),
        ("mediums", media().keys(), when.mediums),
        ("last", bases, when.last),
        ("traces", elements().keys(), when.traces),
        ("surfaces", SURFACES.keys(), when.surfaces),
        ("flags", flags().keys(), (*when.flags, *when.unless)),
        ("measures", measures().keys(), when.measures),
    ):
        for word in asked:
            if word not in known:
                raise LibraryError(f"{where}.when.{field_}: {word!r} is not known; use one of {', '.join(known)}")


@cache
def _file() -> dict[str, Any]:
    tables = load(PATH)
    for name, shape in (("processes", dict), ("flags", dict), ("measures", dict), ("ppe", dict), ("rules", list)):
        if not isinstance(tables.get(name), shape):
            raise LibraryError(f"{PATH.name}: {name}: is {tables.get(name)!r}; write a {shape.__name__}")
    return tables
