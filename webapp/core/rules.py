"""Due rules as people write them (JSON) read into frozen dataclasses, with errors that say how to mend them.

{"every": {"months": 6}}                                           floats from the last time it was done
{"rrule": "FREQ=MONTHLY;BYDAY=1MO", "anchor": "2027-01-04"}        fixed dates (RFC 5545)
{"meter": "spindle_hours", "every": 250}                           by what a meter has counted
{"each": "start-up"}                                               before the first use of the day
{"after": "part.changed", "part": "blade", "meter": "cut_area", "at": [50]}   or "days": 7
{"when": {"reading": "coolant.strength", "below": 6}}              while a reading lies beyond a limit
{"first_of": [rule, rule, …]}                                      whichever comes first
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise

from webapp.core.numbers import is_number
from webapp.core.problems import RuleError

# Every meter kind with the words for it and the unit that is meant when the facts name none.
METERS: dict[str, tuple[str, str]] = {
    "spindle_hours": ("spindle hours", "h"),
    "power_hours": ("power-on hours", "h"),
    "cut_area": ("cut area", "sq in"),
    "cuts": ("saw cuts", "cuts"),
    "belt_minutes": ("belt minutes", "min"),
    "blast_hours": ("blast hours", "h"),
    "run_hours": ("run hours", "h"),
}

# The longest interval of each unit: a century, so that no date runs off the calendar.
LONGEST = {"days": 36_500, "weeks": 5_200, "months": 1_200, "years": 100}

# What an interval on a meter, or a reading's limit, can be: what is left and used must stay numbers that can be said.
LEAST, MOST = 1e-3, 1e9

# What can start an `after` rule, and the field that says which one of the machine's it is.
EVENTS: dict[str, str | None] = {"part.changed": "part", "fluid.changed": "fluid", "tag.off": None}

# The frequencies in use, each with its longest INTERVAL: twenty years.
_FREQUENCIES = {"DAILY": 7300, "WEEKLY": 1040, "MONTHLY": 240, "YEARLY": 20}
_RRULE_PARTS = {"FREQ", "INTERVAL", "COUNT", "UNTIL", "WKST", "BYDAY", "BYMONTHDAY", "BYMONTH", "BYSETPOS"}
_RRULE_PARTS |= {"BYYEARDAY", "BYWEEKNO"}


@dataclass(frozen=True)
class Calendar:
    """So many days, weeks, months or years after the last time."""

    unit: str
    count: int


@dataclass(frozen=True)
class Recurrence:
    """Fixed dates by an RFC 5545 rule, counted from the anchor (wall time)."""

    parts: tuple[tuple[str, str], ...]
    anchor: datetime
    field: str = "rule"


@dataclass(frozen=True)
class Meter:
    """Every so many units of a meter."""

    meter: str
    every: float


@dataclass(frozen=True)
class Each:
    """Before the first use of each day."""

    form: str


@dataclass(frozen=True)
class After:
    """So much on a meter, or so many days, after an event.

    `only` is the id of one part or fluid, where a machine has several of the kind; without it any of them counts.
    """

    event: str
    subject: str | None
    meter: str | None
    at: tuple[float, ...]
    days: int | None
    only: str | None = None

    @property
    def key(self) -> str:
        """The event's name in the facts: part.changed/blade, part.changed/ and a part's id, or tag.off."""
        named = self.only or self.subject
        return f"{self.event}/{named}" if named else self.event


@dataclass(frozen=True)
class When:
    """While the newest reading lies below or above a limit."""

    reading: str
    below: float | None
    above: float | None


@dataclass(frozen=True)
class FirstOf:
    """Whichever of its parts comes first."""

    parts: tuple[Rule, ...]


Rule = Calendar | Recurrence | Meter | Each | After | When | FirstOf


def parse(rule: object, field: str = "rule") -> Rule:
    """Read one due rule; RuleError names the field, the problem and the mend."""
    body = _mapping(rule, field, 'Write it as an object, such as {"every": {"months": 6}}.')
    for key, reader in _READERS.items():
        if key in body:
            return reader(body, field)
    raise RuleError(
        field,
        "It does not say when the task falls due.",
        "Give one of: every, rrule with anchor, meter with every, each, after, when, first_of.",
    )


def _mapping(value: object, field: str, mend: str) -> Mapping[str, object]:
    if not isinstance(value, Mapping):
        raise RuleError(field, "It is not an object.", mend)
    return value


def _only(body: Mapping[str, object], allowed: set[str], field: str) -> None:
    """A misspelt word must not pass in silence: the task would then never fall due."""
    for key in body:
        if key not in allowed:
            raise RuleError(
                f"{field}.{key}", "This word is not known here.", f"Use only: {', '.join(sorted(allowed))}."
            )


def _text(body: Mapping[str, object], key: str, field: str, mend: str) -> str:
    value = body.get(key)
    if not isinstance(value, str) or not value.strip():
        raise RuleError(f"{field}.{key}", "It is missing or not a text.", mend)
    return value


def _amount(value: object, field: str, mend: str) -> float:
    if not is_number(value) or value <= 0:
        raise RuleError(field, "It is not a number above zero.", mend)
    if not LEAST <= value <= MOST:
        raise RuleError(field, "It is beyond what a meter counts.", f"Give {LEAST:g} to {MOST:g} of the meter's unit.")
    return value


def _meter_kind(body: Mapping[str, object], field: str) -> str:
    mend = f"Give one of: {', '.join(METERS)}."
    kind = _text(body, "meter", field, mend)
    if kind not in METERS:
        raise RuleError(f"{field}.meter", f"There is no kind of meter called {kind!r}.", mend)
    return kind


def _calendar(body: Mapping[str, object], field: str) -> Rule:
    _only(body, {"every"}, field)
    field = f"{field}.every"
    mend = 'Give one unit, such as {"months": 6}; a number alone needs a meter beside it.'
    every = _mapping(body["every"], field, mend)
    _only(every, set(LONGEST), field)
    if len(every) != 1:
        raise RuleError(field, "It needs exactly one unit.", "Give one of: days, weeks, months, years.")
    ((unit, count),) = every.items()
    if not isinstance(count, int) or isinstance(count, bool) or not 1 <= count <= LONGEST[unit]:
        raise RuleError(
            f"{field}.{unit}",
            "It is not a whole number in range.",
            f"Give 1 to {LONGEST[unit]}, no decimals.",
        )
    return Calendar(unit, count)


def _recurrence(body: Mapping[str, object], field: str) -> Rule:
    _only(body, {"rrule", "anchor"}, field)
    text = _text(body, "rrule", field, "Give a rule such as FREQ=MONTHLY;BYDAY=1MO.")
    anchor = _text(body, "anchor", field, "Give the date it counts from, such as 2027-01-04.")
    parts = _rrule_parts(text.strip().removeprefix("RRULE:"), f"{field}.rrule")
    return Recurrence(parts, _anchor(anchor, f"{field}.anchor"), field)


def _rrule_parts(text: str, field: str) -> tuple[tuple[str, str], ...]:
    """Split a rule into its parts; what the shop cannot use (hours, seconds) is refused here.

    Without parts shorter than a day an expansion holds at most one occurrence a day, so none can run away.
    """
    parts: dict[str, str] = {}
    for piece in text.upper().rstrip(";").split(";"):
        name, equals, value = piece.partition("=")
        if not equals or not value:
            raise RuleError(field, f"{piece!r} is not a NAME=VALUE pair.", "Write it FREQ=WEEKLY;BYDAY=MO.")
        if name not in _RRULE_PARTS:
            raise RuleError(field, f"{name} cannot be used here.", "Dates are whole days: leave it out.")
        if name in parts:
            raise RuleError(field, f"{name} is given twice.", "Give it once, values parted by commas.")
        parts[name] = value
    if parts.get("FREQ") not in _FREQUENCIES:
        raise RuleError(
            field,
            f"FREQ={parts.get('FREQ', '')} cannot be used here.",
            f"Give FREQ as one of: {', '.join(_FREQUENCIES)}; count hours with a meter instead.",
        )
    # An INTERVAL of 0 would never come to an end.
    _whole(parts.get("INTERVAL", "1"), "INTERVAL", _FREQUENCIES[parts["FREQ"]], field)
    _whole(parts.get("COUNT", "1"), "COUNT", 100_000, field)
    if "COUNT" in parts and "UNTIL" in parts:
        raise RuleError(field, "COUNT and UNTIL stand together.", "Keep one of the two (RFC 5545).")
    return tuple(parts.items())


def _whole(text: str, name: str, most: int, field: str) -> None:
    if not (text.isascii() and text.isdigit() and 1 <= int(text[:9]) <= most):
        raise RuleError(field, f"{name}={text} is out of range.", f"Give a whole number, 1 to {most}.")


def _anchor(text: str, field: str) -> datetime:
    try:
        anchor = datetime.fromisoformat(text)
    except ValueError:
        anchor = None
    if anchor is None or anchor.tzinfo is not None or not 1970 <= anchor.year <= 2200:
        raise RuleError(field, f"{text!r} is not a date of the shop.", "Write it as 2027-01-04, without an offset.")
    return anchor


def _meter(body: Mapping[str, object], field: str) -> Rule:
    _only(body, {"meter", "every"}, field)
    mend = "Give how much of the meter lies between two times, such as 250."
    return Meter(_meter_kind(body, field), _amount(body.get("every"), f"{field}.every", mend))


def _each(body: Mapping[str, object], field: str) -> Rule:
    _only(body, {"each"}, field)
    if body["each"] != "start-up":
        raise RuleError(f"{field}.each", "It is not a time of the day that is known.", 'Write "start-up".')
    return Each("start-up")


def _after(body: Mapping[str, object], field: str) -> Rule:
    event = body["after"]
    if not isinstance(event, str) or event not in EVENTS:
        raise RuleError(f"{field}.after", "This event cannot start a rule.", f"Give one of: {', '.join(EVENTS)}.")
    name = EVENTS[event]
    _only(body, {"after", "meter", "at", "days"} | ({name, "only"} if name else set()), field)
    subject = _text(body, name, field, f"Name the {name}, such as blade or coolant.") if name else None
    only = _text(body, "only", field, f"Give the id of the {name}, or leave it out.") if "only" in body else None
    by_meter = "meter" in body or "at" in body
    if by_meter == ("days" in body):
        raise RuleError(field, "It must say how long after: on a meter or in days.", "Give meter with at, or days.")
    if not by_meter:
        return After(event, subject, None, (), _days(body["days"], f"{field}.days"), only)
    return After(event, subject, _meter_kind(body, field), _thresholds(body.get("at"), f"{field}.at"), None, only)


def _days(value: object, field: str) -> int:
    if not isinstance(value, int) or isinstance(value, bool) or not 0 <= value <= LONGEST["days"]:
        raise RuleError(field, "It is not a whole number of days.", f"Give 0 (at once) to {LONGEST['days']}.")
    return value


def _thresholds(value: object, field: str) -> tuple[float, ...]:
    mend = "Give amounts on the meter after the event, rising, such as [50, 200]."
    if not isinstance(value, (list, tuple)) or not value:
        raise RuleError(field, "It is not a list of amounts.", mend)
    amounts = tuple(_amount(each, f"{field}[{index}]", mend) for index, each in enumerate(value))
    if any(later <= earlier for earlier, later in pairwise(amounts)):
        raise RuleError(field, "The amounts do not rise.", mend)
    return amounts


def _when(body: Mapping[str, object], field: str) -> Rule:
    _only(body, {"when"}, field)
    field = f"{field}.when"
    when = _mapping(body["when"], field, 'Write it like {"reading": "coolant.strength", "below": 6}.')
    _only(when, {"reading", "below", "above"}, field)
    reading = _text(when, "reading", field, "Name the quantity, such as coolant.strength.")
    below, above = (_limit(when, key, field) for key in ("below", "above"))
    if below is None and above is None:
        raise RuleError(field, "It has no limit.", "Give below, above, or both.")
    if below is not None and above is not None and below >= above:
        raise RuleError(f"{field}.below", "It is not smaller than above.", "Every reading would be beyond.")
    return When(reading, below, above)


def _limit(when: Mapping[str, object], key: str, field: str) -> float | None:
    value = when.get(key)
    if value is None:
        return None
    if not is_number(value) or abs(value) > MOST:
        problem = f"It is not a number within {MOST:g} of zero."
        raise RuleError(f"{field}.{key}", problem, "Give the limit in the reading's unit.")
    return value


def _first_of(body: Mapping[str, object], field: str) -> Rule:
    _only(body, {"first_of"}, field)
    field = f"{field}.first_of"
    given = body["first_of"]
    if not isinstance(given, (list, tuple)) or len(given) < 2:
        raise RuleError(field, "It is not a list of two or more rules.", "Give two rules, or the one alone.")
    parts = tuple(parse(part, f"{field}[{index}]") for index, part in enumerate(given))
    if any(isinstance(part, FirstOf) for part in parts):
        raise RuleError(field, "One first_of stands inside another.", "Put all its rules into one list.")
    if sum(isinstance(part, Recurrence) for part in parts) > 1:
        raise RuleError(field, "It holds two rrules.", "Keep one; a task carries one list of fixed dates.")
    return FirstOf(parts)


# In this order: `meter` comes before `every`, which both carry.
_READERS: dict[str, Callable[[Mapping[str, object], str], Rule]] = {
    "first_of": _first_of,
    "rrule": _recurrence,
    "after": _after,
    "meter": _meter,
    "each": _each,
    "when": _when,
    "every": _calendar,
}


def fixed(rule: Rule) -> Recurrence | None:
    """The rule's fixed dates, if it has any: the rule itself or the one among the first_of."""
    parts: tuple[Rule, ...] = rule.parts if isinstance(rule, FirstOf) else (rule,)
    return next((part for part in parts if isinstance(part, Recurrence)), None)
