"""The card shapes that the phone works on, as the Python core's own, for vectors that both sides are held to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from webapp.core import alloys, hazards, limits
from webapp.core.problems import Problem
from webapp.core.sources import Source

_SOURCE = Source("memory", "A print", "a publisher", "2026", "from memory")


def run(fn: str, args: Mapping[str, Any]) -> Any:
    """What the core answers to a case, as JSON; a refusal as {"error": …}."""
    try:
        return _FUNCTIONS[fn](**args)
    except Problem as problem:
        return {"error": problem.to_dict()}


def _parts(composition: list[dict[str, Any]]) -> list[alloys.Constituent]:
    return [alloys.Constituent(**{"source": _SOURCE, **one}) for one in composition]


def _elements(table: Mapping[str, Any]) -> list[alloys.Element]:
    return [
        alloys.Element(symbol, one["name"], one["why"], _SOURCE, one["from_percent"], _SOURCE)
        for symbol, one in table.items()
    ]


def _alloy(card: Mapping[str, Any]) -> alloys.Alloy:
    word = alloys.Behaviour("word", "Words.", _SOURCE)
    return alloys.Alloy("key", "Name", card["base"], "family", tuple(_parts(card["composition"])), word, word, word)


def _share(composition: list[dict[str, Any]], element: str) -> Any:
    found = alloys.share(_parts(composition), element)
    return asdict(found) if found else None


def _mattering(composition: list[dict[str, Any]], elements: Mapping[str, Any]) -> Any:
    alloy = _alloy({"base": composition[0]["element"], "composition": composition})
    return [{"symbol": one.symbol, **asdict(part)} for one, part in alloys.mattering(alloy, _elements(elements))]


def _differences(composition: list[dict[str, Any]], found: Mapping[str, float]) -> Any:
    alloy = _alloy({"base": composition[0]["element"], "composition": composition})
    return [{**asdict(one), "said": one.said()} for one in alloys.differences(alloy, found)]


def _describe(process: str, alloy: Any, elements: Mapping[str, Any], **more: Any) -> Any:
    more["last"] = [_alloy(one) for one in more.get("last", [])]
    work = hazards.describe(process, _alloy(alloy) if alloy else None, _elements(elements), **more)
    sets = {name: sorted(getattr(work, name)) for name in ("last", "traces", "surface", "flags")}
    return {
        "process": work.process,
        "base": work.base,
        "percents": dict(work.percents),
        "medium": work.medium,
        **sets,
        "measures": dict(work.measures),
    }


def _judge(cards: Mapping[str, Any], work: Mapping[str, Any]) -> Any:
    ppe = {key: hazards.Protection(key, **one) for key, one in cards["ppe"].items()}
    rules = [
        hazards.Rule(
            one["key"],
            hazards.When(**{name: tuple(v) if isinstance(v, list) else v for name, v in one["when"].items()}),
            hazards.Caution(key=one["key"], closing=cards["closing"], **{**one["caution"], "source": _SOURCE}),
            {tier: tuple(texts) for tier, texts in one.get("controls", {}).items()},
            tuple(ppe[key] for key in one.get("ppe", [])),
            one.get("stop"),
        )
        for one in cards["rules"]
    ]
    sets = {name: frozenset(work[name]) for name in ("last", "traces", "surface", "flags")}
    asked = hazards.judge(rules, hazards.Situation(**{**work, **sets}))
    said = ("key", "signal", "hazard", "what", "do", "why", "text")
    return {
        "rules": list(asked.rules),
        "stops": [asdict(stop) for stop in asked.stops],
        "cautions": [
            {**{name: getattr(one, name) for name in said}, "source": one.source.key} for one in asked.cautions
        ],
        "controls": {tier: list(texts) for tier, texts in asked.controls.items()},
        "ppe": [one.key for one in asked.ppe],
    }


def _look_up(limits: list[dict[str, Any]], **asked: Any) -> Any:
    return _answer([_limit(one) for one in limits], **asked)


def _limit(one: Mapping[str, Any]) -> limits.Limit:
    return limits.Limit(**{**one, "source": _SOURCE})


def _answer(held: list[limits.Limit], substance: str, form: str, authorities: list[str], on: str) -> Any:
    found = limits.look_up(held, substance, form, authorities, on)
    plain = {name: [_plain(one) for one in getattr(found, name)] for name in ("chosen", "strictest", "coming")}
    return {**plain, "silent": list(found.silent)}


def _plain(limit: limits.Limit) -> dict[str, Any]:
    body = {name: value for name, value in asdict(limit).items() if value is not None}
    return {**body, "source": limit.source.key}


_FUNCTIONS: dict[str, Any] = {
    "share": _share,
    "percents": lambda composition: alloys.percents(_parts(composition)),
    "mattering": _mattering,
    "in_dust": lambda composition, element, dust: asdict(alloys.in_dust(_parts(composition), element, dust)),
    "differences": _differences,
    "describe": _describe,
    "judge": _judge,
    "look_up": _look_up,
}
