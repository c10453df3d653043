"""What a piece of work asks for: declarative rules over process, metal, medium and what was worked before.

Nothing here knows a metal or a number: the rules are data with their sources. A rule fires when each thing it names
is met; the answer gathers cautions, controls in the order of the hierarchy (eliminate, substitute, enclose and
exhaust, administer, protect), protective equipment and stops. A stop holds until what it asks for is there.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal, TypeVar

from webapp.core.alloys import Alloy, Element, percents, traces
from webapp.core.numbers import is_number
from webapp.core.problems import HazardError
from webapp.core.sources import Source

T = TypeVar("T")
Signal = Literal["danger", "warning", "caution", "notice"]
# What a caution's drawing shows.
Hazard = Literal["eye", "hand", "lung", "ear", "drop", "blade"]
Tier = Literal["eliminate", "substitute", "enclose", "administer", "protect"]
SIGNALS: tuple[Signal, ...] = ("danger", "warning", "caution", "notice")
# The order of the hierarchy of controls; protective equipment comes last because it fails with its wearer.
TIERS: tuple[Tier, ...] = ("eliminate", "substitute", "enclose", "administer", "protect")


@dataclass(frozen=True, slots=True)
class Situation:
    """The work as the phone knows it.

    `percents`: the most weight % of each element that the metal permits; `base`: its main metal; `last`: the main
    metals that were worked on this machine, medium or collector since it was cleaned out, `traces`: the elements that
    mattered in them; `surface`: coatings on the work; `flags`: what holds (for example "gloves"); `measures`: numbers
    by name (for example "air_psi").
    """

    process: str
    base: str | None = None
    percents: Mapping[str, float] = field(default_factory=dict)
    medium: str | None = None
    last: frozenset[str] = frozenset()
    traces: frozenset[str] = frozenset()
    surface: frozenset[str] = frozenset()
    flags: frozenset[str] = frozenset()
    measures: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class When:
    """What a rule asks. Empty fields ask nothing. Of `processes`, `bases`, `mediums`, `last`, `traces`, `surfaces`
    and `elements` (element: weight % from which on) one must be met; of `flags` and `measures` (name: number from
    which on) all; none of `unless` may hold."""

    processes: tuple[str, ...] = ()
    elements: Mapping[str, float] = field(default_factory=dict)
    bases: tuple[str, ...] = ()
    mediums: tuple[str, ...] = ()
    last: tuple[str, ...] = ()
    traces: tuple[str, ...] = ()
    surfaces: tuple[str, ...] = ()
    flags: tuple[str, ...] = ()
    unless: tuple[str, ...] = ()
    measures: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Caution:
    """What stands where the work is started; `closing` is the line that every caution ends with."""

    key: str
    signal: Signal
    hazard: Hazard
    what: str
    do: str
    why: str
    closing: str
    source: Source

    @property
    def text(self) -> str:
        """The caution's words under its headline."""
        return f"{self.do} {self.why} {self.closing}"


@dataclass(frozen=True, slots=True)
class Protection:
    """A piece of protective equipment, and the part of a person that it protects."""

    key: str
    part: str
    text: str


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule; `stop`, when there is one, says what must be settled before the work may start."""

    key: str
    when: When
    caution: Caution
    controls: Mapping[Tier, tuple[str, ...]] = field(default_factory=dict)
    ppe: tuple[Protection, ...] = ()
    stop: str | None = None


@dataclass(frozen=True, slots=True)
class Stop:
    """Why the work does not start, and the rule that says so."""

    rule: str
    text: str


@dataclass(frozen=True, slots=True)
class Demands:
    """What the work asks: stops first, cautions by signal word, controls by tier, equipment once each."""

    rules: tuple[str, ...]
    stops: tuple[Stop, ...]
    cautions: tuple[Caution, ...]
    controls: Mapping[Tier, tuple[str, ...]]
    ppe: tuple[Protection, ...]


def describe(
    process: str,
    alloy: Alloy | None,
    elements: Iterable[Element],
    *,
    medium: str | None = None,
    last: Iterable[Alloy] = (),
    surface: Iterable[str] = (),
    flags: Iterable[str] = (),
    measures: Mapping[str, float] | None = None,
) -> Situation:
    """The work as the rules judge it. An alloy of None is an unknown metal, which is a hazard of its own.
    HazardError when a measure is no number of 0 or more."""
    for name, value in (measures or {}).items():
        if not is_number(value) or value < 0:
            raise HazardError(f"measures.{name}", "It is not a number of 0 or more.", "Measure it, or leave it out.")
    known = tuple(elements)
    before = tuple(last)
    return Situation(
        process,
        base=alloy.base if alloy else None,
        percents=percents(alloy.composition) if alloy else {},
        medium=medium,
        last=frozenset(one.base for one in before),
        traces=frozenset().union(*(traces(one, known) for one in before)),
        surface=frozenset(surface),
        flags=frozenset(flags) | (frozenset() if alloy else {"unknown_metal"}),
        measures=dict(measures or {}),
    )


def judge(rules: Iterable[Rule], work: Situation) -> Demands:
    """What all rules together ask of a piece of work, in the rules' order within each signal word and tier."""
    fired = [rule for rule in rules if fires(rule.when, work)]
    ordered = sorted(fired, key=lambda rule: SIGNALS.index(rule.caution.signal))
    controls = {tier: _once(text for rule in ordered for text in rule.controls.get(tier, ())) for tier in TIERS}
    ppe = _once(one for rule in ordered for one in rule.ppe)
    controls["protect"] = (*controls["protect"], *(one.text for one in ppe))
    return Demands(
        rules=tuple(rule.key for rule in fired),
        stops=tuple(Stop(rule.key, rule.stop) for rule in ordered if rule.stop is not None),
        cautions=tuple(rule.caution for rule in ordered),
        controls={tier: texts for tier, texts in controls.items() if texts},
        ppe=ppe,
    )


def fires(when: When, work: Situation) -> bool:
    """Whether each thing that a rule asks is met."""
    return (
        _one_of(when.processes, {work.process})
        and _one_of(when.bases, {work.base})
        and _one_of(when.mediums, {work.medium})
        and _one_of(when.last, work.last)
        and _one_of(when.traces, work.traces)
        and _one_of(when.surfaces, work.surface)
        and _reached(when.elements, work.percents)
        and work.flags.issuperset(when.flags)
        and work.flags.isdisjoint(when.unless)
        and all(name in work.measures and work.measures[name] >= low for name, low in when.measures.items())
    )


def _one_of(asked: Sequence[str], there: Iterable[str | None]) -> bool:
    return not asked or any(one in asked for one in there)


def _reached(asked: Mapping[str, float], there: Mapping[str, float]) -> bool:
    return not asked or any(there.get(element, 0.0) >= low for element, low in asked.items())


def _once(things: Iterable[T]) -> tuple[T, ...]:
    return tuple(dict.fromkeys(things))
