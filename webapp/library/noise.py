"""What authorities say of noise at work: limits and action values, each with its source."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from webapp.core.measured import NoiseValue
from webapp.core.sources import Source
from webapp.library.limits import authorities
from webapp.library.reading import LibraryError, load, read
from webapp.library.sources import source

PATH = Path(__file__).with_name("noise.toml")


@cache
def noise_values() -> tuple[NoiseValue, ...]:
    """Every value, in the order of the file; LibraryError names the place of a bad one."""
    written = load(PATH).get("values")
    if not isinstance(written, list):
        raise LibraryError(f"{PATH.name}: values: is {written!r}; write a list of tables")
    return tuple(_value(one, f"{PATH.name}: values[{place}]") for place, one in enumerate(written))


def _value(table: object, where: str) -> NoiseValue:
    one = read(NoiseValue, table, where, {Source: source})
    if one.authority not in authorities():
        raise LibraryError(f"{where}: authority {one.authority!r} is not described; describe it or mend the word")
    if not 70 <= one.level <= 100:
        raise LibraryError(f"{where}.level: is {one.level!r}; write dBA of eight hours")
    if (one.by == "energy") != (one.counted_from is None):
        raise LibraryError(f"{where}.counted_from: a dose counts from a level, energy counts all; write one of them")
    return one
