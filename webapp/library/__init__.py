"""The starter library: machines with their checks and tasks, and the cautions, as TOML beside this file."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any, Literal

from webapp.library.reading import LibraryError, load, read
from webapp.library.references import check_references
from webapp.library.shapes import Caution, Family, Starter
from webapp.library.standing import Definition, stand

__all__ = [
    "DEFERENCE",
    "Caution",
    "LibraryError",
    "Starter",
    "Summary",
    "cautions",
    "instantiate",
    "machine",
    "read_machine",
    "starters",
]

FOLDER = Path(__file__).parent
DEFERENCE = "The machine's manual, the safety data sheet, local codes and a licensed or competent person come first."
Units = Literal["us", "metric"]


@dataclass(frozen=True, slots=True)
class Summary:
    """A starter for the set-up screen; `minutes` of its start-up round, or of its shortest task."""

    key: str
    name: str
    family: Family
    checks: int
    tasks: int
    items: int
    minutes: float


@cache
def cautions() -> Mapping[str, Caution]:
    """Every caution by its key, each text ending with the deference line."""
    path = FOLDER / "cautions.toml"
    found = {}
    for key, table in load(path).items():
        if not isinstance(table, dict):
            raise LibraryError(f"{path.name}: {key}: is {table!r}; write a table")
        said = read(Caution, {"key": key, **table}, f"{path.name}: {key}")
        found[key] = replace(said, text=f"{said.text} {DEFERENCE}")
    return MappingProxyType(found)


def starters() -> list[Summary]:
    """All starter machines, by name."""
    keys = (path.stem for path in (FOLDER / "machines").glob("*.toml"))
    return sorted((_summary(machine(key)) for key in keys), key=lambda one: one.name)


@cache
def machine(key: str, units: Units = "us") -> Starter:
    """The starter machine of that key; `LibraryError` when there is none or its file is bad."""
    path = FOLDER / "machines" / f"{key}.toml"
    if not key.isidentifier() or not path.is_file():
        raise LibraryError(f"machine: {key!r} is not in the library; choose a key that starters() lists")
    return read_machine(path, units)


def instantiate(
    key: str,
    name: str,
    bay: str | None,
    new_id: Callable[[], str],
    *,
    start: date,
    units: Units = "us",
) -> list[Definition]:
    """Stand a starter in the shop as `name`: its definitions, (type, body with `id`), the machine first."""
    return stand(machine(key, units), name, bay, new_id, start)


def read_machine(path: Path, units: Units = "us") -> Starter:
    """One machine file; `LibraryError` names the file, the field and the mend."""
    starter = read(Starter, _in_units(load(path), units), path.name)
    if starter.key != path.stem:
        raise LibraryError(f"{path.name}: key is {starter.key!r}; call it {path.stem!r}, like the file")
    check_references(starter, cautions(), path.name)
    return starter


def _in_units(value: Any, units: Units) -> Any:
    if isinstance(value, list):
        return [_in_units(inner, units) for inner in value]
    if not isinstance(value, dict):
        return value
    own = {name: _in_units(inner, units) for name, inner in value.items() if name != "metric"}
    return own | value.get("metric", {}) if units == "metric" else own


def _summary(starter: Starter) -> Summary:
    round_minutes = [task.minutes for task in starter.tasks if task.rule == {"each": "start-up"}]
    return Summary(
        starter.key,
        starter.name,
        starter.family,
        sum(len(checklist.checks) for checklist in starter.checklists),
        len(starter.tasks),
        len(starter.items),
        min(round_minutes or [task.minutes for task in starter.tasks]),
    )
