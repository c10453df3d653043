"""The blasting media of the library: what is in them, how they break down, and the one that is refused."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType

from webapp.core.sources import Source
from webapp.library.reading import LibraryError, load, read
from webapp.library.sources import source

PATH = Path(__file__).with_name("media.toml")


@dataclass(frozen=True, slots=True)
class Fact:
    """One thing said of a medium, with its source."""

    text: str
    source: Source


@dataclass(frozen=True, slots=True)
class Medium:
    """A blasting medium. `tags` are what rules ask for; `refused`, when there is one, why it is never used."""

    key: str
    name: str
    contents: Fact
    silica: Fact
    breakdown: Fact
    tags: tuple[str, ...] = ()
    refused: Fact | None = None


@dataclass(frozen=True, slots=True)
class _Medium:
    """A medium as it is written."""

    name: str
    contents: str
    contents_source: str
    silica: str
    silica_source: str
    breakdown: str
    breakdown_source: str
    tags: tuple[str, ...] = ()
    refused: str | None = None
    refused_source: str | None = None


@cache
def media() -> Mapping[str, Medium]:
    """Every medium by its key; `LibraryError` names the place of a bad one."""
    return MappingProxyType(
        {key: _medium(key, read(_Medium, table, f"{PATH.name}: {key}")) for key, table in load(PATH).items()}
    )


def _medium(key: str, said: _Medium) -> Medium:
    where = f"{PATH.name}: {key}"
    if (said.refused is None) != (said.refused_source is None):
        raise LibraryError(f"{where}.refused: a refusal and its source go together; write both or neither")
    return Medium(
        key,
        said.name,
        Fact(said.contents, source(said.contents_source, where)),
        Fact(said.silica, source(said.silica_source, where)),
        Fact(said.breakdown, source(said.breakdown_source, where)),
        said.tags,
        Fact(said.refused, source(said.refused_source, where)) if said.refused and said.refused_source else None,
    )
