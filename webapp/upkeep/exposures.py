"""What was measured in the air and in the ear, beside the limits that the shop chose and the strictest of all.

Only measurements count: what was not measured has no bar, and a shift that was measured in part shows what it was at
least. One row for each agent, place or person and work: its newest measurement.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any

from webapp.core import exposure as core
from webapp.core import noise, respirators
from webapp.core.dates import say_days
from webapp.core.limits import SAMPLED, Limit
from webapp.core.numbers import say, tidy
from webapp.core.problems import Problem
from webapp.library.limits import limits_for, substances
from webapp.records.kinds.hazards import NOISE

Doc = dict[str, Any]

FULL_SHIFT_SLACK = 1.0
"""Hours of a shift that may go unmeasured: OSHA's hygienists sample at least seven of eight hours (its letter of
23 January 1997 on extended shifts)."""
WORDS = (core.OVER, core.ACTION, core.UNMEASURED, core.BELOW)
"""The worst first."""
HOUSE_LIMITS: dict[str, tuple[str, ...]] = {
    "US": ("us_osha",),
    "US-CA": ("us_calosha",),
    "GB": ("uk_hse",),
    "UK": ("uk_hse",),
    "DE": ("de_trgs900",),
    "NL": ("nl",),
    "AU": ("au_wes",),
    "EU": ("eu",),
}
"""What binds where a shop chose nothing, by its jurisdiction; other states of the US fall back on US."""
_SHOWN = (
    "entry", "machine", "person", "place", "process", "alloy", "fraction", "shift_hours", "method", "laboratory",
)  # fmt: skip
_NOT_ALIKE = "Another fraction is sampled for it: no comparison."
_MILLIGRAMS = {"mg/m3": 1.0, "ug/m3": 0.001}


@dataclass(frozen=True)
class Taken:
    """A measurement in mg/m3, or dBA: [value, hours] of each sample; `least` the same with what lay below detection as
    nought; `shift` hours; `sampled` which fraction."""

    periods: list[tuple[float, float]]
    least: list[tuple[float, float]]
    shift: float
    sampled: str

    @property
    def bounded(self) -> bool:
        """Whether something lay below detection: the figures are then the most that it can have been."""
        return self.periods != self.least


def chosen(shop: Mapping[str, Any]) -> list[str]:
    """The authorities whose limits a shop (a definition) goes by."""
    if own := shop.get("authorities"):
        return list(own)
    place = str(shop.get("jurisdiction", "US")).strip().upper()
    return list(HOUSE_LIMITS.get(place) or HOUSE_LIMITS.get(place.split("-")[0]) or ())


def measured(kept: Mapping[str, list[Doc]], authorities: Sequence[str], today: date, zone_day: Any) -> list[Doc]:
    """Rows for the newest measurement of each agent at each place or person and work, the worst first.

    `kept`: the shop's state; `zone_day`: the shop's date of an instant as text.
    """
    rows = []
    for key, agent in kept.items():
        seen: set[tuple[Any, ...]] = set()
        for row in agent:
            of = (row["person"], row["place"], row["process"], row["alloy"], row["fraction"])
            if of not in seen:
                seen.add(of)
                rows.append(_row(key, row, authorities, today, row["on"] or zone_day(row["at"])))
    return sorted(rows, key=lambda one: (WORDS.index(one["word"]), -(one["share"] or 0), one["agent"], one["entry"]))


def _row(key: str, row: Doc, authorities: Sequence[str], today: date, on: str) -> Doc:
    agent, _, form = key.partition("/")
    days = (today - date.fromisoformat(on)).days
    names = (
        "entry",
        "machine",
        "person",
        "place",
        "process",
        "alloy",
        "fraction",
        "shift_hours",
        "method",
        "laboratory",
    )
    head: Doc = {"agent": agent, "form": form or None, "on": on, "days": days} | {name: row[name] for name in names}
    try:
        made = _noise(row, authorities) if agent == NOISE else _dust(agent, form, row, authorities, today)
    except Problem as problem:  # a substance or a form of which the library has no limit
        made = {"average": None, "limits": [], "word": core.UNMEASURED, "share": None, "say": str(problem)}
    old = f" Measured {say_days(days)} ago." if days > 0 else ""
    return head | made | {"say": f"{made['say']}{old}"}


def _taken(row: Doc) -> Taken:
    pairs = [(one["value"] * _MILLIGRAMS.get(one["unit"], 1.0), one["minutes"] / 60) for one in row["samples"]]
    below = [one["below_detection"] for one in row["samples"]]
    least = [(0.0 if under else value, hours) for (value, hours), under in zip(pairs, below, strict=True)]
    # A sampler that ran to the end of the shift may show half a minute more than the clock.
    shift = max(row["shift_hours"], sum(hours for _, hours in pairs))
    return Taken(pairs, least, shift, SAMPLED.get(row["fraction"], "whole"))


def _dust(agent: str, form: str, row: Doc, authorities: Sequence[str], today: date) -> Doc:
    taken = _taken(row)
    average = core.average(taken.periods, taken.shift)
    answer = limits_for(agent, form, authorities, today)
    rows = [_bar(limit, limit in answer.chosen, limit in answer.strictest, taken) for limit in _each(answer)]
    own = [one for one in rows if one["chosen"] and one["word"]]
    worst = min(own, key=lambda one: (WORDS.index(one["word"]), -(one["share"] or 0)), default=None)
    return {
        "name": substances()[agent].name,
        "average": {name: value for name, value in asdict(average).items() if name != "source"},
        "at_most": taken.bounded,
        "limits": rows,
        "silent": list(answer.silent),
        "word": worst["word"] if worst else core.UNMEASURED,
        "share": worst["share"] if worst else None,
        "respirator": _respirator(answer.chosen, rows),
        "say": worst["why"] if worst else "None of the limits that the shop goes by can be compared with this.",
    }


def _each(answer: Any) -> Iterator[Limit]:
    """The chosen limits, then the strictest that are not among them."""
    yield from answer.chosen
    yield from (limit for limit in answer.strictest if limit not in answer.chosen)


def _bar(limit: Limit, own: bool, strictest: bool, taken: Taken) -> Doc:
    """One limit and how the measurement stands to it; `word` is None where the two are not alike."""
    made: Doc = {
        "authority": limit.authority, "kind": limit.kind, "limit": limit.milligrams, "minutes": limit.minutes,
        "fraction": limit.fraction, "source": limit.source.key, "note": limit.note, "chosen": own,
        "strictest": strictest,
    }  # fmt: skip
    if limit.sampled != taken.sampled:
        return made | {"value": None, "word": None, "share": None, "why": _NOT_ALIKE}
    value, whole, bound = _against(limit, taken.periods, taken)
    found = core.compare(value, bound, "mg/m3")
    word, why = found.word, found.why
    if word == core.OVER and taken.bounded:
        least, _, _ = _against(limit, taken.least, taken)
        if not core.reaches(least, bound):
            word, why = core.UNMEASURED, f"{why} But that is only the laboratory's reporting limit: sample longer."
    elif word == core.BELOW and not whole:
        word, why = core.UNMEASURED, f"{why} It was at least this: {_lacking(limit, taken)}"
    if word == core.OVER and limit.kind == "action":
        word = core.ACTION
    return made | {"limit": tidy(bound, 9), "value": tidy(value, 9), "word": word, "share": found.share, "why": why}


def _against(limit: Limit, periods: list[tuple[float, float]], taken: Taken) -> tuple[float, bool, float]:
    """(what is compared, whether it is all of it, the limit it is compared with), in mg/m3."""
    if limit.kind == "ceiling" and limit.minutes == 0:
        return max(value for value, _ in periods), False, limit.milligrams
    if limit.kind in ("stel", "ceiling"):
        window = core.short_term([(value, hours * 60) for value, hours in periods], limit.minutes)
        return window.highest, window.whole, limit.milligrams
    average = core.average(periods, taken.shift)
    whole = average.unmeasured <= FULL_SHIFT_SLACK + 1e-9
    over_shift = average.eight_hours * core.BASE_HOURS / taken.shift
    if (limit.substance, limit.authority, limit.kind) == ("lead", "us_osha", "twa") and taken.shift > core.BASE_HOURS:
        return over_shift, whole, core.lead_shift(limit.milligrams, taken.shift).limit
    return (over_shift if limit.minutes > 480 else average.eight_hours), whole, limit.milligrams


def _lacking(limit: Limit, taken: Taken) -> str:
    if limit.kind == "ceiling" and limit.minutes == 0:
        return "a ceiling asks for a reading at the worst moment, not for a mean."
    if limit.kind in ("stel", "ceiling"):
        return f"a sample of {limit.minutes} min at the worst of the work says more."
    missing = taken.shift - sum(hours for _, hours in taken.periods)
    return f"{say(missing)} h of the shift were not measured."


def _respirator(own: Sequence[Limit], rows: list[Doc]) -> Doc | None:
    """The classes that cover the exposure, by the strictest of the shop's own averages that it reaches."""
    averages = [one for one in rows if one["chosen"] and one["kind"] == "twa" and one["word"] == core.OVER]
    if not averages:
        return None
    worst = max(averages, key=lambda one: one["share"])
    return asdict(respirators.choose(worst["value"], worst["limit"]))


def _noise(row: Doc, authorities: Sequence[str]) -> Doc:
    taken = _taken(row)
    day = noise.day(taken.periods)
    found = (("us_osha", "limit", day.limit), ("us_osha", "action", day.action), ("us_niosh", "limit", day.niosh))
    bars: list[Doc] = [
        {"authority": key, "kind": kind, "dose": one.dose, "twa": one.twa, "word": one.word, "why": one.why,
         "chosen": key in authorities}
        for key, kind, one in found
    ]  # fmt: skip
    own = [bar for bar in bars if bar["chosen"]] or bars
    worst = min(own, key=lambda bar: WORDS.index(str(bar["word"])))
    word, said = (core.OVER if day.above_ceiling else str(worst["word"])), f"{worst['why']} {day.todo}"
    missing = taken.shift - sum(hours for _, hours in taken.periods)
    if word == core.BELOW and missing > FULL_SHIFT_SLACK + 1e-9:
        word, said = core.UNMEASURED, f"{worst['why']} {say(missing)} h of the shift were not measured."
    if own is bars:
        said += " By the figures of OSHA and NIOSH: your own law's may be lower."
    return {
        "name": "Noise", "average": None, "at_most": False, "limits": bars, "silent": [], "word": word,
        "share": tidy(max(bar["dose"] for bar in own), 1), "respirator": None, "say": said,
        "action_level": noise.action_level(taken.shift), "sources": [day.limit.source, day.niosh.source],
    }  # fmt: skip
