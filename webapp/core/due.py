"""When a task falls due: one rule and the facts of today in, one verdict out.

The JavaScript twin is static/src/core/due.js; tests/vectors/due.json holds both to the same answers, to the
last digit and word. The shape of rule, facts and result stands in DEVELOPERS.md under "Due rules".

The thresholds here (near within a tenth of a meter interval or a fifth of a calendar one, late beyond a
tenth over) are this program's choice; no source gives them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, replace
from datetime import date
from typing import Any

from webapp.core.dates import add_interval, say_date, say_days
from webapp.core.numbers import say, tidy
from webapp.core.problems import RuleError
from webapp.core.recurrence import dates_for, expand, validate
from webapp.core.rules import METERS, After, Calendar, Each, FirstOf, Meter, Recurrence, Rule, When, parse

__all__ = ["Due", "RuleError", "dates_for", "expand", "judge", "parse", "validate"]

Facts = Mapping[str, Any]

URGENCY = {"resting": 0, "near": 1, "due": 2, "late": 3}
NEAR_SHARE = 0.1
LATE_SHARE = 1.1


@dataclass(frozen=True)
class Due:
    """A verdict: `used`, `every`, `left` in `unit`; `fraction` is used / every (1: the interval is full)."""

    state: str
    due_on: date | None
    used: float | None
    every: float | None
    left: float | None
    unit: str | None
    fraction: float
    why: str

    def to_dict(self) -> dict[str, object]:
        """The verdict as the wire carries it."""
        return {**asdict(self), "due_on": self.due_on and self.due_on.isoformat()}


@dataclass(frozen=True)
class _Part:
    """A verdict on one rule; whether it waits for anything at all (what does not cannot be deferred); and
    whether it rests because the machine is out of service."""

    due: Due
    waits: bool = True
    rests: bool = False


def judge(rule: object, facts: Facts) -> Due:
    """Judge one due rule (JSON, or parsed) by the facts of today; RuleError when it cannot be read."""
    parsed = rule if isinstance(rule, Rule) else parse(rule)
    part = _first_of(parsed, facts) if isinstance(parsed, FirstOf) else _JUDGES[type(parsed)](parsed, facts)
    deferred = _date(facts.get("deferred_to"))
    return _deferred(part, deferred, facts) if deferred and part.waits else part.due


def _first_of(rule: FirstOf, facts: Facts) -> _Part:
    """The part that comes first, with its numbers: the highest state, then one that does not rest out of
    service; of those that have a date only the earliest; then the fullest interval, then the earlier in the
    list. The date is the earliest of all: by then one of them has come, whatever the meters do."""
    parts = [_JUDGES[type(part)](part, facts) for part in rule.parts]
    top = max(_rank(part) for part in parts)
    leading = [part for part in parts if _rank(part) == top]
    first = min((part.due.due_on for part in leading if part.due.due_on), default=None)
    best = max((part for part in leading if part.due.due_on in (None, first)), key=lambda part: part.due.fraction)
    due_on = min((part.due.due_on for part in parts if part.due.due_on), default=None)
    return _Part(replace(best.due, due_on=due_on), any(part.waits for part in parts), best.rests)


def _rank(part: _Part) -> tuple[int, bool]:
    return URGENCY[part.due.state], not part.rests


def _deferred(part: _Part, to: date, facts: Facts) -> Due:
    """The date given in place of the rule's; the numbers stay what was measured."""
    due = part.due
    if part.rests:
        return replace(due, due_on=to)
    left = (to - _today(facts)).days
    moved = replace(
        due, due_on=to, state=_day_state(left, 1), why=f"Deferred to {say_date(to)}: {_say_left(to, left)}."
    )
    if due.unit != "days" or due.used is None:
        return moved
    every = due.used + left
    return replace(moved, every=max(every, 0), left=left, fraction=_fraction(due.used, every))


def _calendar(rule: Calendar, facts: Facts) -> _Part:
    done = _done(facts)
    base = done if done else _date(facts["start"])
    assert base is not None
    every = f"1 {rule.unit[:-1]}" if rule.count == 1 else f"{rule.count} {rule.unit}"
    since = f"last done {say_date(base)}" if done else f"counted from {say_date(base)}"
    return _by_date(base, add_interval(base, rule.unit, rule.count), f"Every {every}, {since}", facts)


def _recurrence(_rule: Recurrence, facts: Facts) -> _Part:
    done, start = _done(facts), _date(facts["start"])
    dates = sorted(date.fromisoformat(day) for day in facts.get("dates") or ())
    for index, day in enumerate(dates):
        before, gap = _before(dates, index)
        if done is None:
            covered = start is not None and day < start
        else:
            covered = done >= day or _early(done, day, before, gap)
        if not covered:
            base = before or done or start or day
            since = f"last done {say_date(done)}" if done else "not done yet"
            return _by_date(min(base, day), day, f"Fixed date, {since}", facts)
    return _Part(_nothing("Its fixed dates have run out."), waits=False)


def _before(dates: list[date], index: int) -> tuple[date | None, int | None]:
    """The date before this one and the days between; judged by the date after it when it is the first."""
    if index:
        return dates[index - 1], (dates[index] - dates[index - 1]).days
    if len(dates) > 1:
        gap = dates[1] - dates[0]
        return dates[0] - gap, gap.days
    return None, None


def _early(done: date, day: date, before: date | None, gap: int | None) -> bool:
    """Done shortly before a fixed date counts for it, if the date before had passed by then."""
    return before is not None and gap is not None and done > before and (day - done).days <= _lead(gap)


def _meter(rule: Meter, facts: Facts) -> _Part:
    now = facts["meters"].get(rule.meter)
    if now is None:
        return _Part(_nothing(f"This machine has no meter for {METERS[rule.meter][0]}."), waits=False)
    done = facts.get("done")
    base = done["meters"].get(rule.meter, 0) if done else (facts.get("meter_start") or {}).get(rule.meter, 0)
    since = f"since {say_date(date.fromisoformat(done['date']))}" if done else "since the count began"
    return _by_meter(rule.meter, now - base, rule.every, since, facts)


def _each(_rule: Each, facts: Facts) -> _Part:
    if facts.get("done_today"):
        return _Part(_nothing("Done today."), waits=False)
    if not facts["in_service"]:
        return _rest(_nothing(""))
    late = bool(facts.get("used_today"))
    why = "Used today before it was done." if late else "Not done yet today: before the first use."
    return _Part(Due("late" if late else "due", _today(facts), None, None, None, None, 1, why))


def _after(rule: After, facts: Facts) -> _Part:
    happened = _EVENT_WORDS[rule.event].format(rule.subject and _words(rule.subject))
    event = (facts.get("events") or {}).get(rule.key)
    if event is None:
        return _Part(_nothing(f"Waits until {happened}."), waits=False)
    on = date.fromisoformat(event["date"])
    since = f"since {happened} on {say_date(on)}"
    done = facts.get("done")
    done = done if done and not _earlier(done, event, rule.meter) else None
    if rule.meter is None:
        return _after_days(rule.days or 0, on, done, since, facts)
    return _after_meter(rule, event, done, since, facts)


def _after_days(days: int, on: date, done: Facts | None, since: str, facts: Facts) -> _Part:
    due_on = add_interval(on, "days", days)
    if done and (due_on - date.fromisoformat(done["date"])).days <= _lead(days):
        return _Part(_nothing(f"Done {since}."), waits=False)
    wait = f"Once, {say_days(days)}" if days else "At once"
    part = _by_date(on, due_on, f"{wait} {since.replace('since', 'after', 1)}", facts)
    return part if facts["in_service"] else _rest(part.due)


def _after_meter(rule: After, event: Facts, done: Facts | None, since: str, facts: Facts) -> _Part:
    meter = rule.meter or ""
    base = event["meters"].get(meter, 0)
    reached = done["meters"].get(meter, 0) - base if done else 0
    # A threshold counts as met from where it shows as near; a check at 5 does not stand for one at 50.
    open_at = [at for at in rule.at if done is None or tidy(reached) < tidy(at * (1 - NEAR_SHARE))]
    if not open_at:
        return _Part(_nothing(f"Done {since}."), waits=False)
    now = facts["meters"].get(meter)
    if now is None:
        return _Part(_nothing(f"This machine has no meter for {METERS[meter][0]}."), waits=False)
    return _by_meter(meter, now - base, open_at[0], since, facts)


def _earlier(done: Facts, event: Facts, meter: str | None) -> bool:
    """True when the task was last done before the event: by their instants (`at`, UTC text) when both have
    one, else by their dates, and on one and the same day by the meters."""
    if done.get("at") and event.get("at"):
        return bool(done["at"] < event["at"])
    if done["date"] != event["date"]:
        return bool(done["date"] < event["date"])
    names = [meter] if meter else [name for name in event["meters"] if name in done["meters"]]
    return any(done["meters"].get(name, 0) < event["meters"].get(name, 0) for name in names)


def _when(rule: When, facts: Facts) -> _Part:
    what = _capital(_words(rule.reading))
    unit = (facts.get("units") or {}).get(rule.reading) or ""
    unit = f" {unit}" if unit else ""
    value = (facts.get("readings") or {}).get(rule.reading)
    if value is None:
        return _Part(_nothing(f"{what} has not been measured yet."), waits=False)
    low = rule.below is not None and value < rule.below
    high = rule.above is not None and value > rule.above
    below = rule.below is not None and (low or rule.above is None or value - rule.below <= rule.above - value)
    limit = rule.below if below else rule.above
    assert limit is not None
    room = value - limit if below else limit - value
    numbers = Due("resting", None, tidy(value), tidy(limit), tidy(room), None, 0, "")
    if not (low or high):
        why = f"{what} is {say(value)}{unit}, within its limit of {say(limit)}{unit}."
        return _Part(replace(numbers, why=why), waits=False)
    if not facts["in_service"]:
        return _rest(numbers)
    why = f"{what} is {say(value)}{unit}, {'below' if low else 'above'} {say(limit)}{unit}."
    return _Part(replace(numbers, state="due", due_on=_today(facts), fraction=1, why=why))


def _by_date(base: date, due_on: date, lead_in: str, facts: Facts) -> _Part:
    """A verdict by the calendar: due on the day, late after it, near within its lead."""
    every = (due_on - base).days
    left = (due_on - _today(facts)).days
    used = max(every - left, 0)
    state = _day_state(left, _lead(every))
    why = f"{lead_in}: {_say_left(due_on, left)}."
    return _Part(Due(state, due_on, used, every, left, "days", _fraction(used, every), why))


def _by_meter(meter: str, used: float, every: float, since: str, facts: Facts) -> _Part:
    """A verdict by a meter: due when the interval is used up, late a tenth beyond, near in its last tenth."""
    used, left = tidy(used), tidy(every - used)
    words, unit = METERS[meter]
    unit = (facts.get("units") or {}).get(meter, unit)
    tail = f"{say(left)} left" if left > 0 else "due now" if left == 0 else f"{say(-left)} over"
    why = f"{_capital(words)}: {say(used)} of {say(every)} {unit} {since}; {tail}."
    fraction = max(_fraction(used, every), 0)
    due = Due(_meter_state(used, every, left), None, used, tidy(every), left, unit, fraction, why)
    return _Part(due) if facts["in_service"] else _rest(due)


def _meter_state(used: float, every: float, left: float) -> str:
    if used > tidy(every * LATE_SHARE):
        return "late"
    if used >= tidy(every):
        return "due"
    return "near" if left <= tidy(every * NEAR_SHARE) else "resting"


def _day_state(left: int, lead: int) -> str:
    if left < 0:
        return "late"
    if left == 0:
        return "due"
    return "near" if left <= lead else "resting"


def _lead(every: int) -> int:
    """Days before the date within which it is near: a fifth of the interval, 1 to 7."""
    return max(1, min(7, every // 5))


def _fraction(used: float, every: float) -> float:
    return tidy(used / every) if every > 0 else 1


def _rest(due: Due) -> _Part:
    why = "Rests while the machine is out of service."
    return _Part(replace(due, state="resting", due_on=None, why=why), rests=True)


def _nothing(why: str) -> Due:
    return Due("resting", None, None, None, None, None, 0, why)


def _say_left(due_on: date, left: int) -> str:
    if left == 0:
        return "due today"
    if left < 0:
        return f"was due on {say_date(due_on)}, {say_days(-left)} ago"
    return f"due on {say_date(due_on)}, in {say_days(left)}"


def _words(name: str) -> str:
    return name.replace("_", " ").replace(".", " ").replace("-", " ")


def _capital(text: str) -> str:
    """The first letter alone: str.capitalize would make pH into ph."""
    return text[:1].upper() + text[1:]


def _date(text: str | None) -> date | None:
    return date.fromisoformat(text) if text else None


def _done(facts: Facts) -> date | None:
    done = facts.get("done")
    return date.fromisoformat(done["date"]) if done else None


def _today(facts: Facts) -> date:
    return date.fromisoformat(facts["today"])


_EVENT_WORDS = {
    "part.changed": "the {} was changed",
    "fluid.changed": "the {} was changed",
    "tag.off": "the tag was taken off",
}
_JUDGES: dict[type, Callable[[Any, Facts], _Part]] = {
    Calendar: _calendar,
    Recurrence: _recurrence,
    Meter: _meter,
    Each: _each,
    After: _after,
    When: _when,
}
