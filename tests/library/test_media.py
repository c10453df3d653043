"""The blasting media and the cards that a phone keeps: sources, the refusal of sand, plain JSON of a known size."""

from __future__ import annotations

import gzip
import json
import re
from typing import Any

import pytest

from webapp.library import DEFERENCE
from webapp.library.alloys import alloys
from webapp.library.cards import cards
from webapp.library.hazards import rules
from webapp.library.limits import limits
from webapp.library.media import Medium, media
from webapp.library.sources import sources

EXPECTED = {
    "glass_bead",
    "aluminium_oxide",
    "garnet",
    "steel_shot",
    "steel_grit",
    "plastic",
    "walnut_shell",
    "sodium_bicarbonate",
    "coal_slag",
    "copper_slag",
    "silica_sand",
    "silicon_carbide",
    "stainless_shot",
}
each_medium = pytest.mark.parametrize("medium", media().values(), ids=list(media()))


def test_the_media_of_a_cabinet_are_there() -> None:
    assert set(media()) == EXPECTED


@each_medium
def test_a_medium_says_contents_silica_and_breakdown_with_sources(medium: Medium) -> None:
    for fact in (medium.contents, medium.silica, medium.breakdown):
        assert fact.text and fact.source.text and re.search(r"\d{4}", fact.source.dated)


def test_sand_alone_is_refused_and_says_why() -> None:
    """cdc.gov/niosh/nioshtic-2/20043741: NIOSH has recommended since 1974 that sand be prohibited for blasting."""
    refused = [medium for medium in media().values() if medium.refused]
    assert [medium.key for medium in refused] == ["silica_sand"]
    assert refused[0].refused is not None
    assert "silicosis" in refused[0].refused.text and "1974" in refused[0].refused.source.text


def test_tags_agree_with_the_rules() -> None:
    """A medium that a rule treats as slag, combustible, iron or doubtful for silica carries that tag."""
    asked = {rule.key: set(rule.when.mediums) for rule in rules()}
    for rule, tag in (
        ("slag_medium", "slag"),
        ("combustible_medium", "combustible"),
        ("iron_medium_on_light_metal", "iron"),
        ("medium_with_silica", "silica_possible"),
        ("silica_sand", "silica"),
    ):
        assert asked[rule] == {key for key, medium in media().items() if tag in medium.tags}


def leaves(value: Any) -> list[Any]:
    if isinstance(value, dict):
        return [leaf for inner in value.values() for leaf in leaves(inner)]
    return [leaf for inner in value for leaf in leaves(inner)] if isinstance(value, list) else [value]


def test_cards_are_plain_json_and_small_enough_for_a_phone() -> None:
    """Measured at this size: about 154 kB, 31 kB compressed; the bounds leave room for a tenth more."""
    found = cards()
    text = json.dumps(found, separators=(",", ":"), ensure_ascii=False).encode()
    assert json.loads(text) == found
    assert len(text) < 180_000 and len(gzip.compress(text, 9)) < 36_000


def test_cards_hold_everything_and_point_to_what_is_there() -> None:
    found = cards()
    assert found["closing"] == DEFERENCE
    assert found["alloys"].keys() == alloys().keys() and found["media"].keys() == media().keys()
    assert len(found["limits"]) == len(limits()) and len(found["rules"]) == len(rules())
    assert found["sources"].keys() == sources().keys()
    for alloy in found["alloys"].values():
        assert {f"{kind}.{alloy[kind]}" for kind in ("chips", "dust", "scrap")} <= found["behaviours"].keys()
        assert alloy["source"] in found["sources"]
        assert all(part.get("source", alloy["source"]) in found["sources"] for part in alloy["composition"])
    for rule in found["rules"]:
        assert set(rule.get("ppe", [])) <= found["ppe"].keys()
        assert rule["caution"]["source"] in found["sources"]
    assert None not in leaves(found) and "" not in leaves(found)


def test_a_card_tells_what_its_alloy_needs() -> None:
    card = cards()["alloys"]["C69300"]
    assert card["name"] == "Lead-free silicon brass"
    assert {part["element"]: part for part in card["composition"]}["Si"]["source"] == "memory"
    assert cards()["sources"]["memory"]["mark"] == "from memory"
