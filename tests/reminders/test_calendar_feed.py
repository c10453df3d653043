"""The calendar feed: the due engine's own days for a year, read by the writer's own parser and two independent ones; a
secret address."""

from __future__ import annotations

import re
from datetime import date, timedelta
from typing import Any

import icalendar
import ics
import vobject

from tests.problem import assert_problem
from tests.reminders.conftest import Office
from webapp.core.due import judge
from webapp.core.instants import shop_date
from webapp.database import db
from webapp.reminders.channels.calendar import DAYS
from webapp.setup.ids import now_ms
from webapp.upkeep.shop import load


def address(office: Office, person: str | None = None) -> str:
    """A new secret address, as a path."""
    answer = office.app.test_client().post(
        "/api/v1/reminders/calendar", json={"person": person or office.shop.owner}, headers=office.shop.headers()
    )
    assert answer.status_code == 201
    url = answer.get_json()["url"]
    assert answer.get_json()["webcal"].startswith("webcal://")
    return str(url[url.index("/api/") :])


def fetch(office: Office, path: str, **headers: str) -> Any:
    return office.app.test_client().get(path, headers=headers)


def by_icalendar(body: bytes) -> set[tuple[str, date]]:
    """Summary and day of each event, by icalendar."""
    found = icalendar.Calendar.from_ical(body)
    return {(str(event["SUMMARY"]), event["DTSTART"].dt) for event in found.walk("VEVENT")}


def by_vobject(body: bytes) -> set[tuple[str, date]]:
    """The same by vobject, which shares no code with it."""
    found = vobject.readOne(body.decode())
    return {(event.summary.value, event.dtstart.value) for event in found.contents.get("vevent", [])}


def by_ics(body: bytes) -> set[tuple[str, date]]:
    """The same by ics, which has a grammar of its own."""
    found = ics.Calendar(body.decode())
    assert all(event.all_day for event in found.events)
    return {(event.name, event.begin.date()) for event in found.events}


RULES: dict[str, dict[str, Any]] = {
    "Grease the vise": {"every": {"weeks": 4}},
    "Guards": {"every": {"months": 6}},
    "Every day": {"every": {"days": 1}},
    "First Monday": {"rrule": "FREQ=MONTHLY;BYDAY=1MO", "anchor": "2026-01-05"},
    "Last day": {"rrule": "FREQ=MONTHLY;BYMONTHDAY=-1", "anchor": "2026-01-31"},
    "Whichever first": {"first_of": [{"every": {"months": 3}}, {"rrule": "FREQ=YEARLY", "anchor": "2026-05-01"}]},
    "A century": {"every": {"years": 100}},
}


def expected(office: Office) -> set[tuple[str, date]]:
    """Day by day for a year, asking the due engine whether each task is due, and doing it when it is."""
    found = set()
    with office.app.app_context():
        shop = load(db.session(), now_ms())
        db.session.remove()
    for task in shop.tasks:
        if task["name"] not in RULES:
            continue
        facts = dict(shop.facts(task))
        for ahead in range(DAYS + 1):
            day = shop.today + timedelta(days=ahead)
            if judge(task["rule"], facts | {"today": day.isoformat()}).state in ("due", "late"):
                found.add((f"{task['name']} (Mill 1)", day))
                done = {"date": day.isoformat(), "at": f"{day.isoformat()}T18:00:00.000Z", "meters": {}}
                facts |= {"done": done, "deferred_to": None}
    return found


def test_the_feed_is_the_due_engines_year_in_three_parsers(office: Office) -> None:
    tasks = {name: office.task(name, rule, start="2026-01-05") for name, rule in RULES.items()}
    office.log("task.done", {"task": tasks["Guards"]})
    office.log("task.deferred", {"task": tasks["Whichever first"], "to": "2026-04-20", "why": "on order"})
    body = fetch(office, address(office)).data
    wanted = expected(office)
    assert len(wanted) > 390
    for parsed in (by_icalendar(body), by_vobject(body), by_ics(body)):
        # The meter's task has no day of the engine's own: it is tested below.
        assert {one for one in parsed if not one[0].endswith(", likely")} == wanted


def test_a_meters_task_stands_on_its_likely_day(office: Office) -> None:
    for day in range(1, 20):
        office.clock.at(f"2026-03-{day:02d} 12:00")
        office.log("meter.added", {"meter": office.shop.spindle, "amount": 8})
    with office.app.app_context():
        ahead = office.shop.get("/upkeep").get_json()["machines"][office.shop.mill]["tasks"][office.shop.task]
    path = address(office)
    found = by_icalendar(fetch(office, path).data)
    assert found == {("Way-oil filter (Mill 1), likely", date.fromisoformat(ahead["likely"]))}
    before = icalendar.Calendar.from_ical(fetch(office, path).data).walk("VEVENT")[0]
    office.clock.at("2026-03-20 12:00")
    office.log("meter.added", {"meter": office.shop.spindle, "amount": 70})
    after = icalendar.Calendar.from_ical(fetch(office, path).data).walk("VEVENT")[0]
    assert str(before["UID"]) == str(after["UID"]) and before["DTSTART"].dt > after["DTSTART"].dt
    assert int(before["SEQUENCE"]) + 1 == int(after["SEQUENCE"])  # the next day's


def test_the_file_is_as_rfc_5545_wants_it(office: Office) -> None:
    """3.1: CRLF, lines of at most 75 octets; 3.4 and 3.6: what a calendar and an event must carry; 3.3.11: escapes."""
    office.task("Grease, wipe; look — at the «vise»", {"every": {"weeks": 4}}, why="line\nbreak, and a \\ too " * 9)
    answer = fetch(office, address(office))
    assert answer.content_type == "text/calendar; charset=utf-8"
    body = answer.data
    assert body.endswith(b"END:VCALENDAR\r\n") and not re.search(rb"(?<!\r)\n", body)
    assert max(len(line) for line in body.split(b"\r\n")) <= 75
    calendar = icalendar.Calendar.from_ical(body)
    assert calendar["VERSION"] == "2.0" and calendar["PRODID"] and not calendar.errors
    # Whole days have no zone (3.3.4), so no VTIMEZONE is due; how often to ask stands in both forms (RFC 7986, 5.7).
    assert b"TZID" not in body and re.search(rb"\r\nDTSTART;VALUE=DATE:\d{8}\r\n", body)
    assert b"\r\nREFRESH-INTERVAL;VALUE=DURATION:PT1H\r\n" in body and b"\r\nX-PUBLISHED-TTL:PT1H\r\n" in body
    uids = []
    for event in calendar.walk("VEVENT"):
        assert {"UID", "DTSTAMP", "DTSTART", "DTEND", "SUMMARY"} <= set(event)
        assert event["DTEND"].dt - event["DTSTART"].dt == timedelta(days=1) and not event.errors
        uids.append(str(event["UID"]))
    assert len(uids) == len(set(uids)) >= 13
    assert "Grease, wipe; look — at the «vise» (Mill 1)" in {title for title, _ in by_vobject(body)}


def test_what_has_not_changed_is_not_sent_again(office: Office) -> None:
    task = office.task("Grease the vise", {"every": {"weeks": 4}})
    path = address(office)
    first = fetch(office, path)
    tag = first.headers["ETag"]
    assert fetch(office, path, **{"If-None-Match": tag}).status_code == 304
    assert fetch(office, path).data == first.data
    office.log("task.done", {"task": task})
    again = fetch(office, path, **{"If-None-Match": tag})
    assert again.status_code == 200 and again.headers["ETag"] != tag


def test_the_address_is_secret_and_ends_when_it_is_renewed_or_taken_away(office: Office) -> None:
    first = address(office)
    token = first.rsplit("/", 1)[1].removesuffix(".ics")
    assert len(token) >= 43
    data = office.app.config["WAYROUND"].data
    assert all(token.encode() not in path.read_bytes() for path in data.glob("wayround.sqlite3*"))
    second = address(office)
    assert_problem(fetch(office, first), 404)
    assert fetch(office, second).status_code == 200
    end = f"/api/v1/reminders/calendar/{office.shop.owner}"
    assert office.app.test_client().delete(end, headers=office.shop.headers()).status_code == 204
    assert_problem(fetch(office, second), 404)
    assert_problem(office.app.test_client().delete(end, headers=office.shop.headers()), 404)


def test_who_has_left_has_no_calendar_any_more(office: Office) -> None:
    member = office.person("Ben Roe")
    path = address(office, member)
    assert fetch(office, path).status_code == 200
    from webapp.database import writing
    from webapp.setup import definitions

    with office.app.app_context(), writing() as session:
        row = definitions.get(session, "person", member)
        assert row
        body = {key: value for key, value in row.items() if key not in ("id", "revision", "retired")}
        definitions.update(session, "person", member, body, row["revision"], office.shop.owner, retired=True)
    assert_problem(fetch(office, path), 404)


def test_fetching_is_in_the_log_a_few_times_a_day(office: Office) -> None:
    path = address(office)
    for _ in range(3):
        fetch(office, path, **{"User-Agent": "Agenda/3"})
    office.clock.on(hours=7)
    fetch(office, path, **{"User-Agent": "Agenda/3"})
    rows = office.sent(channel="calendar")
    assert [row["target"] for row in rows] == ["Agenda/3"] * 2 and {row["outcome"] for row in rows} == {"sent"}


def test_papers_stand_on_the_day_they_run_out(office: Office) -> None:
    member = office.person("Ben Roe", reminders={"about": ["none"]})
    body = {"person": member, "topic": "first aid", "outside": "a course", "expires": "2026-08-20"}
    office.log("training.signed", body, machine=None)
    wanted = ("Ben Roe: training, first aid runs out (The shop)", date(2026, 8, 20))
    assert wanted in by_icalendar(fetch(office, address(office, member)).data)
    assert wanted in by_vobject(fetch(office, address(office)).data)
    assert shop_date(now_ms(), "America/Chicago") == date(2026, 3, 2)
