"""A person's calendar feed (RFC 5545): the days ahead on which their work falls due, by the due engine itself.

Each task stands on the days on which it would be due if it is done on its day every time. A task that a meter brings
stands once, on its likely date, with the range beside it. Rounds before each use are of every day and stand on none.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

from sqlalchemy import delete, insert, select, update
from sqlalchemy.orm import Session

from webapp.core.dates import say_date
from webapp.core.due import judge
from webapp.core.rules import After, Each, FirstOf, Meter, When, parse
from webapp.reminders.models import CalendarAddress, Delivery
from webapp.reminders.needs import Look, cycle, task_link
from webapp.reminders.needs_people import papers_of
from webapp.reminders.people import Person, concerned
from webapp.security.tokens import digest
from webapp.setup.ids import new_id
from webapp.upkeep.shop import Definition, Shop

DAYS = 365
MOST_OF_ONE = 400
LOGGED_EVERY_MS = 6 * 3_600_000
_FIRST_DAY = date(2026, 1, 1)
PRODUCT = "-//Wayround//Wayround//EN"


@dataclass(frozen=True)
class Event:
    """A day in the calendar. `uid` stays the same while it is the same thing on another day."""

    uid: str
    day: date
    title: str
    where: str
    text: str
    link: str
    forecast: bool = False


def dates(shop: Shop, task: Definition, days: int = DAYS) -> list[date]:
    """The days of a task from today on, at most `days` ahead, if it is done on its day each time."""
    facts, rule = dict(shop.facts(task)), parse(task["rule"])
    day, last = shop.today, shop.today + timedelta(days=days)
    found: list[date] = []
    while len(found) < MOST_OF_ONE:
        due = judge(rule, facts | {"today": day.isoformat()}).due_on
        if due is None or max(due, day) > last or (found and due <= day):
            return found
        day = max(due, day)
        found.append(day)
        noon = datetime.combine(day, time(12), UTC).strftime("%Y-%m-%dT%H:%M:%S.000Z")
        facts |= {"done": {"date": day.isoformat(), "at": noon, "meters": facts["meters"]}, "deferred_to": None}
    return found


def events(look: Look, people: dict[str, Person], person: Person) -> list[Event]:
    """What a person's calendar shows, by day."""
    found: list[Event] = []
    for task in look.shop.tasks:
        if person in concerned(people, "work", task["machine"], None) or person.shop:
            found += _task(look, task)
    found += _papers(look, people, person)
    return sorted(found, key=lambda event: (event.day, event.uid))


def _task(look: Look, task: Definition) -> Iterator[Event]:
    rule = parse(task["rule"])
    parts = rule.parts if isinstance(rule, FirstOf) else (rule,)
    if any(isinstance(part, Each) for part in parts):
        return
    where, link = look.where(task["machine"]), task_link(task)
    metered = any(isinstance(part, Meter) or (isinstance(part, After) and part.meter) for part in parts)
    if metered:
        yield from _forecast(look, task, where, link)
        return
    once = all(isinstance(part, When) for part in parts)
    for day in dates(look.shop, task)[: 1 if once else None]:
        uid = f"{task['id']}-{day.isoformat()}@wayround"
        yield Event(uid, day, task["name"], where, _about(task), link)


def _forecast(look: Look, task: Definition, where: str, link: str) -> Iterator[Event]:
    """The likely day of a task that a meter brings; today when it is due."""
    ahead = look.ahead["machines"].get(task["machine"] or "", look.ahead["shop"])
    row = ahead["tasks"].get(task["id"]) or {}
    likely = row.get("likely")
    if not likely or row["resting"]:
        return
    day = max(date.fromisoformat(likely), look.shop.today)
    if day > look.shop.today + timedelta(days=DAYS):
        return
    turn = hashlib.sha256(cycle(look.shop.facts(task)).encode()).hexdigest()[:16]
    by_meter = row["by"] == "meter"
    text = f"{row['why']}\n{_about(task)}"
    yield Event(f"{task['id']}-{turn}@wayround", day, task["name"], where, text, link, by_meter)


def _about(task: Definition) -> str:
    lines = [f"About {task['minutes']:g} min."] if task["minutes"] else []
    return "\n".join([*lines, task["why"]])


def _papers(look: Look, people: dict[str, Person], person: Person) -> Iterator[Event]:
    """What runs out: one's own, and everybody's for who looks after the shop."""
    for whom, what, key, day in papers_of(look):
        if (whom == person.id or person.shop) and date.fromisoformat(day) >= look.shop.today:
            on = date.fromisoformat(day)
            text = f"Runs out on {say_date(on)}."
            yield Event(f"{key[:150]}-{day}@wayround", on, f"{what} runs out", "The shop", text, "#/air/people")


def render(name: str, found: list[Event], today: date, base: str) -> bytes:
    """The calendar as bytes: the same events on the same day give the same bytes."""
    from icalendar import Calendar
    from icalendar import Event as VEvent

    made = Calendar()
    made.add("prodid", PRODUCT)
    made.add("version", "2.0")
    made.add("calscale", "GREGORIAN")
    made.add("method", "PUBLISH")
    made.add("name", name)  # RFC 7986; the line below is what older calendars read
    made.add("x-wr-calname", name)
    # RFC 7986, 5.7, and what older calendars read in its place.
    made.add("x-published-ttl", "PT1H")
    made.add("refresh-interval", timedelta(hours=1), parameters={"VALUE": "DURATION"})
    stamp = datetime.combine(today, time(0), UTC)
    for event in found:
        one = VEvent()
        one.add("uid", event.uid)
        one.add("dtstamp", stamp)
        if event.forecast:
            # Its day may move under the same UID; a later day's feed goes before an earlier one's (3.8.7.4).
            one.add("sequence", max((today - _FIRST_DAY).days, 0))
        one.add("dtstart", event.day)
        one.add("dtend", event.day + timedelta(days=1))
        one.add("summary", f"{event.title} ({event.where})" + (", likely" if event.forecast else ""))
        one.add("location", event.where)
        one.add("description", f"{event.text}\n{base}/{event.link}")
        one.add("url", f"{base}/{event.link}")
        one.add("transp", "TRANSPARENT")  # it fills no hours
        one.add("class", "PRIVATE")
        made.add_component(one)
    return bytes(made.to_ical())


def renew(session: Session, person: str, token: str, now: int) -> None:
    """Give a person a new secret address; the one before is nobody's from now on. Call inside `writing()`."""
    drop(session, person)
    row = {"person": person, "token_hash": digest(token), "made_ms": now, "fetched_ms": None}
    session.execute(insert(CalendarAddress), [row])


def drop(session: Session, person: str) -> bool:
    """Take a person's address away; False when there was none. Call inside `writing()`."""
    done = session.execute(delete(CalendarAddress).where(CalendarAddress.person == person))
    return bool(done.rowcount)  # type: ignore[attr-defined]


def whose(session: Session, token: str) -> CalendarAddress | None:
    """Whose address it is, or None."""
    return session.execute(
        select(CalendarAddress).where(CalendarAddress.token_hash == digest(token))
    ).scalar_one_or_none()


def note_fetch(session: Session, person: str, agent: str, said: str, now: int) -> None:
    """Keep in the log that a calendar was fetched; a few times a day is enough. Call inside `writing()`."""
    session.execute(update(CalendarAddress).where(CalendarAddress.person == person).values(fetched_ms=now))
    row: dict[str, Any] = {
        "id": new_id(), "person": person, "channel": "calendar", "target": agent[:200] or "unnamed", "reminders": "[]",
        "payload": "{}", "made_ms": now, "outcome": "sent", "tries": 1, "next_ms": now, "ended_ms": now, "said": said,
    }  # fmt: skip
    session.execute(insert(Delivery), [row])
