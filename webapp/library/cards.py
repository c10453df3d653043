"""What a phone keeps of the library to read and judge without signal: one compact document of plain JSON.

Sources, behaviours and equipment are named once and referred to by key; what is None or empty is left out.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from typing import Any

from webapp.core.alloys import Alloy, Behaviour, Constituent
from webapp.core.hazards import Protection, Rule
from webapp.core.sources import Source
from webapp.library import DEFERENCE
from webapp.library.alloys import KINDS, alloys, behaviours, densities, elements
from webapp.library.hazards import SURFACES, flags, measures, processes, protections, rules
from webapp.library.limits import authorities, limits, substances
from webapp.library.media import media
from webapp.library.noise import noise_values
from webapp.library.sources import sources

# The shape below: raise it when a phone that knows the old one could misread the new.
SHAPE = 1


def cards() -> dict[str, Any]:
    """Every card: `{"shape", "closing", "sources", "elements", "densities", "behaviours", "alloys", "media",
    "authorities", "substances", "limits", "noise", "processes", "flags", "measures", "surfaces", "ppe",
    "rules"}`; by key."""
    weights, weighed = densities()
    return {
        "shape": SHAPE,
        "closing": DEFERENCE,
        "sources": {key: _plain(one, "key") for key, one in sources().items()},
        "elements": _table(elements()),
        "densities": dict(weights) | {"source": weighed.key},
        "behaviours": {f"{kind}.{key}": _plain(one, "key") for kind in KINDS for key, one in behaviours(kind).items()},
        "alloys": {key: alloy_card(alloy) for key, alloy in alloys().items()},
        "media": _table(media()),
        "authorities": _table(authorities()),
        "substances": _table(substances()),
        "limits": [_plain(limit) for limit in limits()],
        "noise": [_plain(value) for value in noise_values()],
        "processes": _table(processes()),
        "flags": dict(flags()),
        "measures": dict(measures()),
        "surfaces": SURFACES,
        "ppe": _table(protections()),
        "rules": [_rule(rule) for rule in rules()],
    }


def alloy_card(alloy: Alloy) -> dict[str, Any]:
    """One alloy as phones keep it."""
    body: dict[str, Any] = _plain(alloy, "key", "composition")
    cited = {part.source.key for part in alloy.composition}
    body["composition"] = [_constituent(part, len(cited) > 1) for part in alloy.composition]
    body["source"] = alloy.composition[0].source.key
    return body


def _constituent(part: Constituent, several: bool) -> dict[str, Any]:
    body: dict[str, Any] = _plain(part)
    if not several:
        del body["source"]
    if not part.rest:
        del body["rest"]
    return body


def _rule(rule: Rule) -> dict[str, Any]:
    body: dict[str, Any] = _plain(rule)
    body["caution"] = _plain(rule.caution, "key", "closing")
    return body


def _table(things: Mapping[str, Any]) -> dict[str, Any]:
    return {key: _plain(one, "key", "symbol") for key, one in things.items()}


def _plain(value: Any, *without: str) -> Any:
    """A dataclass as plain JSON: a source, a behaviour and equipment inside of it as their keys."""
    body = {}
    for field in fields(value):
        inner = _inner(getattr(value, field.name))
        if field.name not in without and inner not in (None, [], {}):
            body[field.name] = inner
    return body


def _inner(value: Any) -> Any:
    if isinstance(value, Source | Behaviour | Protection):
        return value.key
    if is_dataclass(value):
        return _plain(value)
    if isinstance(value, Mapping):
        return {key: _inner(one) for key, one in value.items()}
    if isinstance(value, tuple | list):
        return [_inner(one) for one in value]
    return value
