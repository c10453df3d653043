"""The publications that the library's figures come from, each named once in sources.toml and cited by its key."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType

from webapp.core.sources import Source
from webapp.library.reading import LibraryError, load, read

PATH = Path(__file__).with_name("sources.toml")


@cache
def sources() -> Mapping[str, Source]:
    """Every source by its key; `LibraryError` names the place of a bad one."""
    found = {
        key: read(Source, {"key": key, **table} if isinstance(table, dict) else table, f"{PATH.name}: {key}")
        for key, table in load(PATH).items()
    }
    return MappingProxyType(found)


def source(key: str, where: str) -> Source:
    """The source of that key; `LibraryError` names the place that cites an unknown one."""
    try:
        return sources()[key]
    except KeyError:
        raise LibraryError(f"{where}: source {key!r} is not in {PATH.name}; add it or mend the word") from None
