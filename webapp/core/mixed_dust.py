"""Metals whose dust and sparks must not meet: steel or rust with aluminium, titanium or magnesium.

A pure rule from the metals that were sanded since the dust was cleaned out to the key of a caution in
webapp/library/cautions.toml. Twin: static/src/core/mixed-dust.js, held to tests/vectors/abrasives.json.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from webapp.core.problems import FigureError

# Words in a material's name that put it in a group.
_WORDS: dict[str, tuple[str, ...]] = {
    "copper": ("bronze", "brass", "copper", "nickel silver", "gunmetal"),
    "iron": ("steel", "iron", "stainless", "rust", "mill scale", "inox"),
    "light": ("alumin", "titan", "magnes", "ti-6al", "ti6al"),
}
# Designations that stand alone in a name: AISI and trade numbers.
_MARKS: dict[str, str] = {
    "iron": " 302 303 304 304l 316 316l 410 416 420 430 440c 17-4 1018 1020 1045 1117 1137 1141 1144 12l14 1215 "
    "4130 4140 4340 8620 a36 o1 a2 d2 h13 m2 ",
    "light": " 2011 2014 2017 2024 5052 5083 6026 6061 6063 6082 7050 7075 az31 az91 ti al mg gr2 gr5 ",
}
# The first letters of UNS numbers (letter and five digits); R5 is titanium, M1 magnesium.
_UNS: tuple[tuple[str, str], ...] = (
    ("copper", r"c\d{5}"),
    ("light", r"(?:a\d|r5|m1)\d{4}"),
    ("iron", r"[sghkjtdf]\d{5}"),
)
# Groups that must not meet, and the caution that says what to do.
INCOMPATIBLE: tuple[tuple[str, str, str], ...] = (("iron", "light", "light_metal_dust"),)
SOURCE = (
    "Aluminum Association dust data: aluminium with iron oxide burns as thermite above 2500 C; a reported fire of "
    "aluminium and steel in one collector (airbench.com); NFPA 484: commonly cited, confirm"
)


@dataclass(frozen=True)
class Dust:
    """Whether a metal may follow the last ones in the same dust. `caution` is the library's key, None: none raised.

    `between` names the metals that must not meet; `unknown` those whose names say nothing.
    """

    caution: str | None
    between: tuple[str, ...]
    unknown: tuple[str, ...]
    why: str
    source: str


def groups_of(material: str) -> tuple[str, ...]:
    """The dust groups in a metal's name ("copper", "iron", "light"), in that order; empty when it says nothing.

    Aluminium bronze is a copper alloy, not a light metal; a name with steel in it counts as iron whatever else.
    """
    name = re.sub(r"alumini?um (bronze|brass)", r"\1", " ".join(str(material).split()).lower())
    found = {group for group, words in _WORDS.items() if any(word in name for word in words)}
    for mark in re.split(r"[ ,;/()]+", name):
        short = mark.split("-")[0]
        found |= {group for group, marks in _MARKS.items() if f" {mark} " in marks or f" {short} " in marks}
        found |= {group for group, pattern in _UNS if re.fullmatch(pattern, short, re.ASCII)}
    return tuple(sorted(found))


def materials(batches: Iterable[Mapping[str, Any]], since: str = "") -> tuple[str, ...]:
    """The metals of a machine's batches since its dust was cleaned out, oldest first, for `dust`.

    `batches`: `batch.run` entries {at (RFC 3339 in UTC), body}; `since`: the clean-out's time, empty for all. The
    alloy names the metal, or else what was made, where that says what it is made of; other batches are passed over.
    """
    found: dict[str, None] = {}
    for batch in sorted(batches, key=lambda one: str(one["at"])):
        alloy, what = batch["body"].get("alloy"), batch["body"].get("what")
        name = alloy or (what if what and groups_of(what) else None)
        if name and batch["at"] > since:
            # Sanded again counts as sanded last.
            found.pop(name, None)
            found[name] = None
    return tuple(found)


def dust(last: Sequence[str], now: str) -> Dust:
    """Whether `now` may be sanded into the dust of the `last` metals, those since the clean-out, oldest first.

    Either order raises the caution, and a metal in between does not clean a collector, so every one counts.
    FigureError when `now` is empty.
    """
    if not str(now).strip():
        raise FigureError("now", "It is empty.", "Name the metal that you are about to sand.")
    newest: dict[str, str] = {}
    for material in [*last, now]:
        newest |= dict.fromkeys(groups_of(material), material)
    unknown = tuple(dict.fromkeys(material for material in [*last, now] if not groups_of(material)))
    for one, other, caution in INCOMPATIBLE:
        if one in newest and other in newest:
            between = tuple(dict.fromkeys((newest[one], newest[other])))
            why = f"{' and '.join(between)} in one dust: clean out to bare metal before you go on."
            return Dust(caution, between, unknown, why, SOURCE)
    if unknown:
        why = f"Not known what metal this is: {', '.join(unknown)}. Look on its card before you go on."
        return Dust(None, (), unknown, why, SOURCE)
    return Dust(None, (), (), "No steel or rust together with light metal since the clean-out.", SOURCE)
