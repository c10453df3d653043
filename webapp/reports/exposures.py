"""An exposure result on paper: its samples, the average, and the limits in print beside it."""

from __future__ import annotations

from datetime import date
from typing import Any

from webapp.core.exposure import average, compare
from webapp.core.instants import shop_date
from webapp.core.limits import Limit
from webapp.core.measured import NOISE, beside
from webapp.core.problems import HygieneError, LimitError
from webapp.library.limits import authorities, limits_for, substances
from webapp.library.noise import noise_values
from webapp.library.sources import sources
from webapp.records.kinds.base import alloy_said
from webapp.reports.book import Book
from webapp.reports.entries import Told, air_unit, figure
from webapp.upkeep.exposures import chosen

_IN_MILLIGRAMS = {"mg/m3": 1.0, "ug/m3": 0.001}
_SAMPLED = {"total": "whole", "inhalable": "whole", "not stated": "whole"}
_FACTS = (
    ("Sampled on", "on"), ("Fraction", "fraction"), ("Method", "method"), ("Laboratory", "laboratory"),
    ("Work", "process"), ("Alloy", "alloy"), ("Note", "note"),
)  # fmt: skip
LIMIT_KINDS = {"twa": "average of 8 h", "stel": "short term", "ceiling": "ceiling", "action": "action level"}


def measured(book: Book, told: Told) -> None:
    """One result. Nothing is compared that was not measured the same way for the whole shift."""
    body, paper = told.body, book.paper
    agent = body["agent"]
    known = substances().get(agent)
    name = known.name if known else agent.replace("_", " ").capitalize()
    where = book.names(body["person"]) if body.get("person") else body["place"]
    form = f", {body['form']}" if body.get("form") else ""
    paper.heading(3, f"{name}{form}: {where}")
    rows = [("Logged", f"{book.when(told.ms)}, {book.names(told.by)}, at {book.where(told.machine)}")]
    said = body | ({"alloy": alloy_said(body["alloy"], book.names)} if body.get("alloy") else {})
    rows += [(label, str(said[key])) for label, key in _FACTS if said.get(key)]
    rows.append(("Shift", f"{figure(body['shift_hours'])} h"))
    for word, mending in (("VOIDED", told.voided), ("Amended", told.amended)):
        if mending:
            rows.append((word, str(mending["body"]["why"])))
    paper.facts(rows)
    with book.table(("Sample", 1, True), ("Minutes", 1, True), ("Result", 3, True)) as table:
        for number, one in enumerate(body["samples"], 1):
            less = "below " if one.get("below_detection") else ""
            table.row(str(number), figure(one["minutes"]), f"{less}{figure(one['value'])} {air_unit(one['unit'])}")
    if agent == NOISE:
        _beside_noise(book, told)
    else:
        _beside_limits(book, told)


def _beside_noise(book: Book, told: Told) -> None:
    """The day's noise beside the values of the shop's authorities and the strictest, as the app shows it."""
    body = told.body
    samples = [{"below_detection": False, **one} for one in body["samples"]]
    row = dict.fromkeys(("machine", "person", "place", "process", "alloy", "fraction", "method", "laboratory"))
    day = body.get("on") or shop_date(told.ms, book.span.zone).isoformat()
    found = beside(
        NOISE,
        {**row, **body, "entry": told.id, "samples": samples},
        (),
        noise_values(),
        {},
        chosen(book.names.rows["shop"][0]),
        day,
        day,
    )
    book.paper.text(found["say"], bold=True)
    with book.table(("Value of", 3, False), ("What", 3, False), ("Over 8 h", 1, True), ("Result stands", 3, False),
                    ("Source", 5, False)) as table:  # fmt: skip
        for bar in found["limits"]:
            level = "nothing counts" if bar["twa"] is None else f"{figure(round(bar['twa'], 1))} dBA"
            what = f"{bar['name']}, {figure(bar['level'])} dBA"
            said = sources()[bar["source"]].said()
            table.row(authorities()[bar["authority"]].name, what, level, bar["word"], said)


def _beside_limits(book: Book, told: Told) -> None:
    body = told.body
    periods = [(one["value"] * _IN_MILLIGRAMS[one["unit"]], one["minutes"] / 60) for one in body["samples"]]
    try:
        mean = average(periods, body["shift_hours"])
    except HygieneError as error:
        book.paper.text(f"The average cannot be formed: {error}")
        return
    missing = f"; {figure(round(mean.unmeasured, 2))} h of the shift were not measured" if mean.unmeasured else ""
    if any(one.get("below_detection") for one in body["samples"]):
        missing += "; samples below detection are counted at their reporting limit"
    result = f"{figure(round(mean.eight_hours, 6))} mg/m³{missing}"
    book.paper.text(f"Average over 8 h by {mean.source}: {result}.", bold=True)
    day = body.get("on") or shop_date(told.ms, book.span.zone).isoformat()
    try:
        answer = limits_for(body["agent"], body["form"], chosen(book.names.rows["shop"][0]), date.fromisoformat(day))
    except LimitError as error:
        book.paper.text(f"No limit beside it: {error}")
        return
    whole = None if mean.unmeasured else mean.eight_hours
    with book.table(("Limit of", 3, False), ("Kind", 2, False), ("Figure", 2, True), ("Result stands", 3, False),
                    ("Source", 5, False)) as table:  # fmt: skip
        for limit in dict.fromkeys((*answer.chosen, *answer.strictest)):
            of, kind = authorities()[limit.authority].name, f"{LIMIT_KINDS[limit.kind]}, {limit.fraction}"
            value = f"{figure(limit.value)} {air_unit(limit.unit)}"
            table.row(of, kind, value, _stands(body, limit, whole), limit.source.said())


def _stands(body: dict[str, Any], limit: Limit, mean: float | None) -> str:
    """How the result stands to one limit, or why that cannot be said."""
    if limit.kind not in ("twa", "action"):
        return "not compared: needs samples of its own averaging time"
    fraction = body.get("fraction") or "not stated"
    if _SAMPLED.get(fraction, fraction) != limit.sampled:
        return "not compared: another fraction was sampled"
    return compare(mean, limit.milligrams, "mg/m3").word
