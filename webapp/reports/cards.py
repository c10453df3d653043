"""Cards for the wall: what a metal or a blasting medium is, what work on it asks for, and the limits in print."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import IO, Any

from sqlalchemy.orm import Session

from webapp.core.alloys import Alloy, mattering
from webapp.core.hazards import Demands, describe, judge
from webapp.core.limits import Limit
from webapp.core.numbers import say
from webapp.library import DEFERENCE
from webapp.library.advice import Measured, to_measure
from webapp.library.alloys import alloys, elements
from webapp.library.hazards import processes, rules
from webapp.library.limits import authorities, substances
from webapp.library.media import Medium, media
from webapp.library.own import own_alloy
from webapp.records.faults import Fault, Refused
from webapp.reports.entries import air_unit, figure
from webapp.reports.exposures import LIMIT_KINDS
from webapp.reports.flow import Column, Paper, wrap
from webapp.reports.pdf import Pdf
from webapp.setup import definitions

TIERS = {
    "eliminate": "Do without it", "substitute": "Take something else", "enclose": "Enclose and exhaust",
    "administer": "Order the work", "protect": "Wear",
}  # fmt: skip


@dataclass(frozen=True)
class Card:
    """One card: an alloy, or a medium by its key, and the work it is for."""

    process: str
    alloy: Alloy | None = None
    medium: str | None = None


def own_alloys(session: Session) -> dict[str, Alloy]:
    """The shop's own alloys in use: by id, and by name in lower case."""
    found = [own_alloy(row) for row in definitions.list_all(session, "alloy") if not row["retired"]]
    return {one.name.lower(): one for one in found} | {one.key: one for one in found}


def cards_for(
    alloy_keys: Sequence[str], medium_keys: Sequence[str], process: str, own: Mapping[str, Alloy]
) -> list[Card]:
    """The cards asked for; `own`: of `own_alloys`. Raises Refused naming `alloys`, `media` or `process`."""
    faults = []
    metals = [alloys().get(key) or own.get(key) or own.get(key.lower()) for key in alloy_keys]
    for key in (key for key, metal in zip(alloy_keys, metals, strict=True) if metal is None):
        mend = f"use: {', '.join((*alloys(), *dict.fromkeys(one.name for one in own.values())))}"
        faults.append(Fault("alloys", f"names {key}, neither in the library nor the shop's own", mend))
    for key in (key for key in medium_keys if key not in media()):
        faults.append(Fault("media", f"names {key}, not in the library", f"use: {', '.join(media())}"))
    if process not in processes():
        faults.append(Fault("process", f"is «{process}», not in the library", f"use: {', '.join(processes())}"))
    if not alloy_keys and not medium_keys:
        faults.append(Fault("alloys", "name nothing, and so do the media", "name an alloy or a medium by its key"))
    if faults:
        raise Refused(*faults)
    return [Card(process, alloy=one) for one in metals] + [Card("blast", medium=key) for key in medium_keys]


def write_cards(
    out: IO[bytes], cards: Sequence[Card], chosen: Sequence[str], shop: str, size: str, on: date, now_ms: int
) -> int:
    """Write the cards with the limits of the `chosen` authorities in force on a day; how many pages."""
    told = hashlib.sha256(repr((cards, chosen, shop, size, on)).encode()).digest()[:16]
    pdf = Pdf(out, title=f"Hazard cards, {shop}", made=datetime.fromtimestamp(now_ms / 1000, UTC), identity=told)
    paper = Paper(pdf, size, f"{shop} · limits in force on {on.isoformat()}")
    for card in cards:
        pdf.push("Sect")
        paper.new_page()
        if card.alloy is not None:
            _alloy(paper, card.alloy, card.process, chosen, on)
        elif card.medium is not None:
            _medium(paper, media()[card.medium])
        paper.y += 2
        paper.text(DEFERENCE, 10.5, bold=True)
        pdf.pop()
    pages = pdf.page_count
    pdf.finish()
    return pages


def _alloy(paper: Paper, alloy: Alloy, process: str, chosen: Sequence[str], on: date) -> None:
    work = processes()[process]
    title = alloy.name if not alloy.uns or alloy.uns in alloy.name else f"{alloy.name} ({alloy.uns})"
    paper.heading(1, f"{title}: {work.name.lower()}")
    _cautions(paper, judge(rules(), describe(process, alloy, elements().values())))
    matter = mattering(alloy, elements().values())
    paper.heading(2, "What is in it that matters", listed=False)
    if not matter:
        paper.text("None of the elements that the library watches, above its threshold.", 10)
    for element, share in matter:
        range_ = say(share.high) if share.low == share.high else f"{say(share.low)} to {say(share.high)}"
        paper.text(f"{element.name}, {range_} %: {element.why}", 9.8, after=0.6)
    paper.heading(2, "Chips, dust and scrap", listed=False)
    for word, behaviour in (("Chips", alloy.chips), ("Dust", alloy.dust), ("Scrap", alloy.scrap)):
        paper.text(f"{word}: {behaviour.text}", 9.8, after=0.6)
    _like(paper, alloy)
    paper.text(DEFERENCE, 10.5, bold=True)
    # The back of the card: figures and where they come from.
    paper.new_page()
    cited = [one.source.said() for one in (alloy.composition[0], alloy.chips, alloy.dust, alloy.scrap)]
    measured = to_measure(alloy, process, chosen, on)
    paper.heading(2, f"{title}: limits in print for what this work puts in the air", listed=False)
    if measured:
        cited += _limits(paper, measured)
    else:
        paper.text("The library names nothing to measure at this work.", 10)
    _sources(paper, cited + [element.source.said() for element, _ in matter])


def _like(paper: Paper, alloy: Alloy) -> None:
    """Of an own alloy: whose words on chips and dust these are, and what they do not cover."""
    like = alloys().get(alloy.like or "")
    if like is None:
        return
    paper.text(f"These are the words for {like.key} {like.name}, which it is handled like.", 9.8, after=0.6)
    beyond, assumed = (", ".join(elements()[one].name for one in of) for of in (alloy.beyond, alloy.assumed))
    if beyond:
        paper.text(f"They do not cover what {like.key} does not have: {beyond}.", 9.8, bold=True, after=0.6)
    if assumed:
        said = f"The certificate does not name: {assumed}. Taken as {like.key} permits."
        paper.text(said, 9.8, bold=True, after=0.6)


def _cautions(paper: Paper, asked: Demands) -> None:
    """Cautions under their signal words, then what to do in the order of the hierarchy of controls."""
    for stop in asked.stops:
        _banner(paper, "STOP", stop.text, "")
    for caution in asked.cautions:
        _banner(paper, caution.signal.upper(), caution.what, f"{caution.do} {caution.why} {caution.closing}")
    if asked.controls:
        paper.heading(2, "What to do, in this order", listed=False)
        for tier, texts in asked.controls.items():
            paper.text(f"{TIERS[tier]}: {'; '.join(text.rstrip('.') for text in texts)}.", 9.8, after=0.6)


def _banner(paper: Paper, word: str, headline: str, text: str) -> None:
    """A signal word white on black (told apart without colour by the word alone), its headline and its text."""
    pdf, width = paper.pdf, paper.inner - 34
    strong = wrap(paper.face(True), headline, width, 11)
    lines = wrap(paper.face(False), text, width, 9) if text else []
    deep = len(strong) * 4.9 + len(lines) * 3.9 + 2.6
    paper.need(deep + 1)
    pdf.push("P")
    pdf.begin_content()
    pdf.box(paper.left, paper.y, 30, 8, fill=0)
    pdf.white(paper.left + 2, paper.y + 5.9, word, 13)
    y = paper.y + 0.6
    for line in strong:
        y += 4.9
        pdf.text(paper.left + 34, y - 1, line, 11, True)
    for line in lines:
        y += 3.9
        pdf.text(paper.left + 34, y - 0.9, line, 9)
    pdf.end_content()
    pdf.pop()
    paper.y += max(deep, 9) + 1.5


def _limits(paper: Paper, measured: Sequence[Measured]) -> list[str]:
    """A row for each limit of the authorities chosen and for the strictest of all; the sources to cite."""
    cited = []
    columns = [Column("Substance", 3), Column("Limit of", 4), Column("Kind", 3), Column("Figure", 2, True)]
    with paper.table(columns, 7.8) as table:
        for one in measured:
            name = f"{substances()[one.substance].name}, {one.form}"
            found = dict.fromkeys((*one.answer.chosen, *one.answer.strictest)) if one.answer else {}
            for limit in found:
                strict = " (strictest)" if one.answer and limit in one.answer.strictest else ""
                table.row(name, authorities()[limit.authority].name + strict, _kind(limit), _figure(limit))
                cited.append(limit.source.said())
            if not found:
                table.row(name, "none in the library: ask a hygienist", "", "")
    return cited


def _kind(limit: Limit) -> str:
    return f"{LIMIT_KINDS[limit.kind]}, {limit.fraction}"


def _figure(limit: Limit) -> str:
    return f"{figure(limit.value)} {air_unit(limit.unit)}"


def _medium(paper: Paper, medium: Medium) -> None:
    paper.heading(1, f"Blasting medium: {medium.name}")
    work: Any = describe("blast", None, elements().values(), medium=medium.key)
    known = judge((rule for rule in rules() if rule.when.mediums), work)
    if medium.refused and not known.stops:
        _banner(paper, "STOP", "Never used here.", medium.refused.text)
    _cautions(paper, known)
    facts = [
        ("What it is made of", medium.contents),
        ("Silica", medium.silica),
        ("How it breaks down", medium.breakdown),
    ]
    for word, fact in facts:
        paper.heading(2, word, listed=False)
        paper.text(fact.text, 11)
    _sources(
        paper, [fact.source.said() for _, fact in facts] + ([medium.refused.source.said()] if medium.refused else [])
    )


def _sources(paper: Paper, cited: Sequence[str]) -> None:
    paper.heading(3, "Sources", listed=False)
    for text in dict.fromkeys(cited):
        paper.text(text, 7, after=0.4)
