"""A measurement beside the limits: those that the shop chose, and the strictest of all.

Only what was measured counts. A mean of part of a shift can be over a limit and is never below it: that takes all but
an hour of the shift. Another sampled fraction is not compared; what lay below detection is a bound and no figure.
Twin: static/src/core/measured.js, tests/vectors/measured.json.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any, Literal

from webapp.core import exposure as core
from webapp.core import noise, noise_daily, respirators
from webapp.core.dates import say_days
from webapp.core.limits import SAMPLED, Answer, Limit, look_up
from webapp.core.numbers import say, tidy
from webapp.core.problems import Problem
from webapp.core.sources import Source

Doc = dict[str, Any]
NOISE = "noise"
FULL_SHIFT_SLACK = 1.0
"""Hours of a shift that may go unmeasured: OSHA's hygienists sample at least seven of eight hours (its letter of
23 January 1997 on extended shifts)."""
WORDS = (core.OVER, core.ACTION, core.UNMEASURED, core.BELOW)
"""The worst first."""
_SHOWN = (
    "entry", "machine", "person", "place", "process", "alloy", "fraction", "shift_hours", "method", "laboratory",
)  # fmt: skip
_NOT_ALIKE = "Another fraction is sampled for it: no comparison."
_MILLIGRAMS = {"mg/m3": 1.0, "ug/m3": 0.001}
_EDGE = 1e-9


@dataclass(frozen=True, slots=True)
class NoiseValue:
    """What an authority says of noise: an eight-hour `level` in dBA made `by` the dose of 5 dB or of 3 dB, of levels
    from `counted_from` on, or by energy. `worn`: protectors may be counted. `peak` in dB(C) or dB."""

    authority: str
    kind: Literal["limit", "action"]
    name: str
    by: Literal["5 dB", "3 dB", "energy"]
    level: float
    source: Source
    counted_from: float | None = None
    peak: float | None = None
    worn: bool = False
    note: str | None = None


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

    @property
    def missing(self) -> float:
        """Hours of the shift that were not measured."""
        return self.shift - sum(hours for _, hours in self.periods)


def beside(
    key: str,
    row: Mapping[str, Any],
    limits: Sequence[Limit],
    noises: Sequence[NoiseValue],
    names: Mapping[str, str],
    chosen: Sequence[str],
    on: str,
    today: str,
) -> Doc:
    """One measurement of the state (`key`: "agent/form" or "noise") beside limits, as the upkeep document has it.

    `names`: of substances; `chosen`: authorities; `on`: the day of sampling; `today`: both ISO dates. What the library
    has no limit for is "not measured" and says so.
    """
    agent, _, form = key.partition("/")
    days = (date.fromisoformat(today) - date.fromisoformat(on)).days
    head: Doc = {"agent": agent, "form": form or None, "on": on, "days": days} | {name: row[name] for name in _SHOWN}
    try:
        made = _noise(row, noises, chosen) if agent == NOISE else _dust(agent, form, row, limits, names, chosen, today)
    except Problem as problem:  # a substance or a form of which there is no limit
        made = _nothing(agent, names, str(problem))
    old = f" Measured {say_days(days)} ago." if days > 0 else ""
    return head | made | {"say": f"{made['say']}{old}"}


def worst_first(row: Mapping[str, Any]) -> tuple[int, float, str, str]:
    """What measurements are sorted by."""
    return WORDS.index(row["word"]), -(row["share"] or 0), row["agent"], row["entry"]


def _nothing(agent: str, names: Mapping[str, str], said: str) -> Doc:
    return {
        "name": names.get(agent, agent.replace("_", " ").capitalize()), "average": None, "at_most": False, "limits": [],
        "silent": [], "word": core.UNMEASURED, "share": None, "respirator": None, "say": said,
    }  # fmt: skip


def _taken(row: Mapping[str, Any]) -> Taken:
    pairs = [(one["value"] * _MILLIGRAMS.get(one["unit"], 1.0), one["minutes"] / 60) for one in row["samples"]]
    below = [one["below_detection"] for one in row["samples"]]
    least = [(0.0 if under else value, hours) for (value, hours), under in zip(pairs, below, strict=True)]
    # A sampler that ran to the end of the shift may show half a minute more than the clock.
    shift = max(row["shift_hours"], sum(hours for _, hours in pairs))
    return Taken(pairs, least, shift, SAMPLED.get(row["fraction"], "whole"))


def _dust(
    agent: str,
    form: str,
    row: Mapping[str, Any],
    limits: Sequence[Limit],
    names: Mapping[str, str],
    chosen: Sequence[str],
    today: str,
) -> Doc:
    taken = _taken(row)
    average = core.average(taken.periods, taken.shift)
    answer = look_up(limits, agent, form, chosen, today)
    rows = [_bar(limit, limit in answer.chosen, limit in answer.strictest, taken) for limit in _each(answer)]
    own = [one for one in rows if one["chosen"] and one["word"]]
    worst = min(own, key=_badness, default=None)
    return {
        "name": names[agent],
        "average": {name: value for name, value in asdict(average).items() if name != "source"},
        "at_most": taken.bounded,
        "limits": rows,
        "silent": list(answer.silent),
        "word": worst["word"] if worst else core.UNMEASURED,
        "share": worst["share"] if worst else None,
        "respirator": _respirator(rows),
        "say": worst["why"] if worst else "None of the limits that the shop goes by can be compared with this.",
    }


def _each(answer: Answer) -> list[Limit]:
    """The chosen limits, then the strictest that are not among them."""
    return [*answer.chosen, *(limit for limit in answer.strictest if limit not in answer.chosen)]


def _badness(bar: Mapping[str, Any]) -> tuple[int, float]:
    return WORDS.index(bar["word"]), -(bar["share"] or 0)


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
    whole = average.unmeasured <= FULL_SHIFT_SLACK + _EDGE
    over_shift = average.eight_hours * core.BASE_HOURS / taken.shift
    if (limit.substance, limit.authority, limit.kind) == ("lead", "us_osha", "twa") and taken.shift > core.BASE_HOURS:
        return over_shift, whole, core.lead_shift(limit.milligrams, taken.shift).limit
    return (over_shift if limit.minutes > 480 else average.eight_hours), whole, limit.milligrams


def _lacking(limit: Limit, taken: Taken) -> str:
    if limit.kind == "ceiling" and limit.minutes == 0:
        return "a ceiling asks for a reading at the worst moment, not for a mean."
    if limit.kind in ("stel", "ceiling"):
        return f"a sample of {limit.minutes} min at the worst of the work says more."
    return f"{say(taken.missing)} h of the shift were not measured."


def _respirator(rows: Sequence[Doc]) -> Doc | None:
    """The classes that cover the exposure, by the strictest of the shop's own averages that it reaches."""
    averages = [one for one in rows if one["chosen"] and one["kind"] == "twa" and one["word"] == core.OVER]
    if not averages:
        return None
    worst = max(averages, key=lambda one: one["share"])
    return asdict(respirators.choose(worst["value"], worst["limit"]))


def _noise(row: Mapping[str, Any], noises: Sequence[NoiseValue], chosen: Sequence[str]) -> Doc:
    taken = _taken(row)
    whole = taken.missing <= FULL_SHIFT_SLACK + _EDGE
    bars = [_noise_bar(value, value.authority in chosen, taken, whole) for value in noises]
    own = [bar for bar in bars if bar["chosen"]]
    strictest = [bar for kind in ("limit", "action") for bar in _strictest(bars, own, kind)]
    judged = own or strictest
    if not judged:
        return _nothing(NOISE, {NOISE: "Noise"}, "No authority's values of noise are known here.")
    worst = min(judged, key=_loudness)
    highest = max(level for level, _ in taken.periods)
    loud = highest > noise.CONTINUOUS_CEILING and any(bar["by"] == "5 dB" for bar in judged)
    said = f"{worst['why']} {_noise_todo(worst, taken, loud)}".strip()
    if not own:
        said += " By the strictest values here: your own law's may be lower."
    return {
        "name": "Noise", "average": None, "at_most": False, "limits": [*own, *strictest],
        "silent": [key for key in chosen if key not in {bar["authority"] for bar in own}],
        "word": core.OVER if loud else worst["word"], "share": worst["share"], "respirator": None, "say": said,
    }  # fmt: skip


def _loudness(bar: Mapping[str, Any]) -> tuple[int, float]:
    """The worst first; of values that were reached the highest, of others the nearest."""
    reached = bar["word"] in (core.OVER, core.ACTION)
    return WORDS.index(bar["word"]), -(bar["level"] if reached else bar["share"])


def _strictest(bars: Sequence[Doc], own: Sequence[Doc], kind: str) -> list[Doc]:
    """The value of a kind that the noise goes furthest beyond, where it is none of the shop's."""
    alike = [bar for bar in bars if bar["kind"] == kind]
    most = max((bar["share"] for bar in alike), default=None)
    if any(bar["kind"] == kind and bar["share"] == most for bar in own):
        return []
    return [bar | {"strictest": True} for bar in alike if bar["share"] == most][:1]


def _noise_bar(value: NoiseValue, own: bool, taken: Taken, whole: bool) -> Doc:
    """One value and how the day stands to it: `share` is % of the exposure that makes it, `dose` that of its dose."""
    dose, twa, share = _noise_share(value, taken.periods)
    reached = core.ACTION if value.kind == "action" else core.OVER
    word = reached if core.reaches(share, 100) else core.BELOW if whole else core.UNMEASURED
    level = "nothing counts" if twa is None else f"{say(tidy(twa, 1))} dBA over 8 h"
    why = f"{level[0].upper()}{level[1:]}, beside the {value.name} of {say(value.level)} dBA."
    if word == core.UNMEASURED:
        why += f" It was at least this: {say(taken.missing)} h of the shift were not measured."
    if word == core.OVER and value.worn:
        why += " What protectors take off may be counted here: reckon the level under them."
    return {
        "authority": value.authority, "kind": value.kind, "name": value.name, "by": value.by, "level": value.level,
        "peak": value.peak, "worn": value.worn, "dose": dose, "twa": twa, "share": share, "word": word, "why": why,
        "chosen": own, "strictest": False, "source": value.source.key, "note": value.note,
    }  # fmt: skip


def _noise_share(value: NoiseValue, periods: list[tuple[float, float]]) -> tuple[float | None, float | None, float]:
    """(dose in %, eight-hour level, % of the exposure that makes the value)."""
    if value.by == "energy":
        level = noise_daily.daily(periods).level
        return None, level, tidy(100 * 10 ** ((level - value.level) / 10), 1)
    rule = "osha" if value.by == "5 dB" else "niosh"
    found = noise.dose(periods, rule, value.counted_from or noise.QUIETEST)
    one = noise.RULES[rule]
    whole = 2 ** ((value.level - one.criterion) / one.exchange)
    return found.dose, found.twa, tidy(found.dose / whole, 1)


def _noise_todo(worst: Mapping[str, Any], taken: Taken, loud: bool) -> str:
    if worst["by"] == "3 dB" and worst["word"] == core.OVER and not loud:
        return "Wear protectors and quieten it; hearing tests yearly."
    if worst["by"] != "energy" or loud:
        return noise.day(taken.periods).todo if worst["word"] != core.UNMEASURED or loud else ""
    level = min(max(noise_daily.daily(taken.periods).level, noise.QUIETEST), noise.LOUDEST)
    return noise_daily.stands(level).todo if worst["word"] != core.UNMEASURED else ""
