"""The history document over the wire: a small shop whose days are known, its ETag, and the span that is asked for."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from tests.conftest import Shop
from webapp.database import db, writing
from webapp.setup import definitions
from webapp.setup.ids import new_id, now_ms

ZONE = ZoneInfo("America/Chicago")
TODAY = datetime.fromtimestamp(now_ms() / 1000, ZONE).date()
MONDAY = TODAY - timedelta(days=TODAY.weekday(), weeks=2)
"""Every entry below lies in the two whole weeks before this one."""


def at(day: int, clock: str = "12:00") -> str:
    """A time on the shop's wall, so many days after the Monday."""
    return datetime.fromisoformat(f"{MONDAY + timedelta(days=day)}T{clock}:00").replace(tzinfo=ZONE).isoformat()


def walked(shop: Shop, when: str, **over: Any) -> dict[str, Any]:
    check = {"check": new_id(), "answer": "ok", "stop": True}
    body = {"checklist": shop.checklist, "revision": 1, "form": "start-up", "started_at": when, "seconds": 90,
            "outcome": "fit", "checks": [check | over]}  # fmt: skip
    return shop.entry("round.done", body, at=when)


def define(shop: Shop, type_: str, body: dict[str, Any], born: int = -30) -> str:
    """Something set up long before the weeks that are told of."""
    id_ = new_id()
    born_ms = int(datetime.fromisoformat(at(born)).timestamp() * 1000)
    with shop.app.app_context(), writing() as session:
        definitions.create(session, type_, body, shop.owner, id_=id_, at_ms=born_ms)
    return id_


def task(shop: Shop, rule: dict[str, Any], **over: Any) -> str:
    body = {"machine": shop.mill, "name": "Grease", "rule": rule, "start": at(0)[:10], "why": "dry ways wear"}
    return define(shop, "task", body | {"source": "a test"} | over)


@pytest.fixture
def asked(shop: Shop) -> Callable[[], dict[str, Any]]:
    """The document of the two weeks."""

    def ask() -> dict[str, Any]:
        answer = shop.get("/history", **{"from": MONDAY.isoformat(), "to": (MONDAY + timedelta(days=13)).isoformat()})
        assert answer.status_code == 200, answer.get_json()
        return dict(answer.get_json())

    return ask


def sent(shop: Shop, *entries: dict[str, Any]) -> None:
    results = shop.push(*entries).get_json()["results"]
    assert {row["outcome"] for row in results} == {"stored"}, results


def test_rounds_in_time_late_and_missed(shop: Shop, asked: Callable[[], dict[str, Any]]) -> None:
    task(shop, {"each": "start-up"}, checklist=shop.checklist)
    sent(
        shop,
        walked(shop, at(0, "06:55")), shop.added(2, at=at(0, "10:00")),
        shop.added(2, at=at(1, "10:00")), walked(shop, at(1, "10:30")),
        shop.added(2, at=at(2, "10:00")),
        walked(shop, at(3, "23:59")),
        shop.added(2, at=at(5, "10:00")),
    )  # fmt: skip
    mill = asked()["machines"][shop.mill]
    assert mill["rounds"][:7] == "dlmd.mc", "Monday to Sunday; used on the Saturday although the shop was closed"
    assert asked()["machines"][shop.saw]["rounds"] is None, "no round is asked for there"
    assert sum(month["rounds_min"] for month in mill["months"].values()) == 4.5
    assert [event[1:] for event in mill["events"]] == [], "rounds in which all was well are told by their days"


def test_a_round_before_the_tag_does_not_count_after_it(shop: Shop, asked: Callable[[], dict[str, Any]]) -> None:
    task(shop, {"each": "start-up"}, checklist=shop.checklist)
    tag = shop.entry("tag.on", {"why": "guard loose"}, at=at(0, "08:00"))
    off = shop.entry("tag.off", {"tag": tag["id"], "done": "tightened"}, at=at(1, "14:00"))
    sent(shop, walked(shop, at(1, "07:00")), tag, off, shop.added(1, at=at(1, "15:00")))
    mill = asked()["machines"][shop.mill]
    assert mill["rounds"][:2] == "om"
    # 08:00 on Monday to 14:00 on Tuesday: 30 h by the clock; of the shifts, 06:00 to 18:00, 10 h and 8 h.
    assert (mill["times_out"], mill["mean_out_h"]) == (1, 30)
    assert sum(month["out_shop_h"] for month in mill["months"].values()) == 18
    assert mill["out"][0]["why"] == "guard loose" and [event[1] for event in mill["events"]] == ["tags", "tags"]


def test_tags_that_overlap_count_once_and_a_voided_one_not_at_all(
    shop: Shop, asked: Callable[[], dict[str, Any]]
) -> None:
    tags = [shop.entry("tag.on", {"why": why}, at=at(day)) for why, day in (("one", 0), ("two", 1), ("wrong", 5))]
    offs = [
        shop.entry("tag.off", {"tag": tag["id"], "done": "done"}, at=at(day))
        for tag, day in zip(tags, (2, 3), strict=False)
    ]
    sent(shop, *tags, *offs, shop.entry("entry.voided", {"entry": tags[2]["id"], "why": "another machine"}))
    mill = asked()["machines"][shop.mill]
    assert (mill["times_out"], mill["mean_out_h"]) == (1, 72) and len(mill["out"]) == 2


def months(asked: Callable[[], dict[str, Any]], task_: str) -> list[int]:
    """On time, late, put off, over the months."""
    found = asked()["on_time"].get(task_, {"months": {}})["months"].values()
    return [sum(row[place] for row in found) for place in range(3)]


def test_a_task_by_date_is_settled_once(shop: Shop, asked: Callable[[], dict[str, Any]]) -> None:
    weekly = task(shop, {"every": {"weeks": 1}})
    assert months(asked, weekly) == [0, 1, 0], "due on the second Monday and not done"
    assert asked()["on_time"][weekly]["late_since"] == (MONDAY + timedelta(days=8)).isoformat()
    sent(shop, shop.entry("task.done", {"task": weekly, "minutes": 20}, at=at(7, "23:00")))
    assert months(asked, weekly) == [1, 0, 0], "it was done on its day after all, and told of late"
    sent(shop, shop.entry("task.done", {"task": weekly}, at=at(13)))
    assert months(asked, weekly) == [2, 0, 0]


def test_put_off_in_time_and_put_off_late(shop: Shop, asked: Callable[[], dict[str, Any]]) -> None:
    def off(id_: str, on: int, to: int) -> dict[str, Any]:
        return shop.entry("task.deferred", {"task": id_, "to": at(to)[:10], "why": "no grease"}, at=at(on))

    in_time, late = task(shop, {"every": {"days": 3}}), task(shop, {"every": {"days": 3}})
    sent(shop, off(in_time, 3, 9), off(late, 5, 9))
    sent(shop, *(shop.entry("task.done", {"task": one}, at=at(9)) for one in (in_time, late)))
    assert months(asked, in_time)[:2] == [1, 1] and months(asked, in_time)[2] == 1
    assert months(asked, late)[:2] == [0, 2]


def test_a_meter_rule_is_late_a_tenth_past_its_limit(shop: Shop, asked: Callable[[], dict[str, Any]]) -> None:
    """250 h and the engine's tenth: 275 is on time still, a little more is late, on the day on which it was run."""
    filter_ = task(shop, {"meter": "spindle_hours", "every": 250})
    sent(shop, shop.added(275, at=at(0)), shop.entry("task.done", {"task": filter_}, at=at(1)))
    assert months(asked, filter_) == [1, 0, 0]
    sent(shop, shop.added(275.1, at=at(2)), shop.entry("task.done", {"task": filter_}, at=at(5)))
    assert months(asked, filter_) == [1, 1, 0]
    late = asked()["on_time"][filter_]["months"]
    assert late[f"{MONDAY + timedelta(days=2):%Y-%m}"][1] == 1


def test_work_is_judged_by_what_was_set_up_then(shop: Shop, asked: Callable[[], dict[str, Any]]) -> None:
    often = task(shop, {"every": {"days": 3}})
    sent(shop, *(shop.entry("task.done", {"task": often}, at=at(day)) for day in (3, 6, 9, 12)))
    before = months(asked, often)
    with shop.app.app_context(), writing() as session:
        now = definitions.get(session, "task", often)
        assert now is not None
        body = {key: value for key, value in now.items() if key not in ("id", "revision", "retired")}
        definitions.update(session, "task", often, body | {"rule": {"every": {"days": 1}}}, 1, shop.owner)
    assert before[0] == 4 and months(asked, often)[0] == 4


def test_minutes_nobody_noted_are_those_set_up(shop: Shop, asked: Callable[[], dict[str, Any]]) -> None:
    weekly = task(shop, {"every": {"weeks": 1}}, minutes=25)
    raised = shop.entry("task.raised", {"title": "New seal", "minutes": 40}, at=at(1))
    dones = [{"task": weekly}, {"task": weekly, "minutes": 12.5}, {"task": raised["id"]}]
    sent(shop, raised, *(shop.entry("task.done", body, at=at(day)) for day, body in enumerate(dones, 2)))
    mill = asked()["machines"][shop.mill]["months"].values()
    assert sum(month["set_up_min"] for month in mill) == 65 and sum(month["tasks_min"] for month in mill) == 12.5


def test_readings_beyond_limits_are_told(shop: Shop, asked: Callable[[], dict[str, Any]]) -> None:
    beyond = {"value": 4.1, "unit": "in H2O", "quantity": "filter.drop", "verdict": "act high"}
    sent(shop, walked(shop, at(0), **beyond), walked(shop, at(1), **beyond | {"value": 2, "verdict": "within"}))
    events = asked()["machines"][shop.mill]["events"]
    assert [(event[0], event[1], event[3]) for event in events] == [(0, "beyond", "filter drop 4.1 in H2O: act high")]


def test_unchanged_it_is_304_and_an_entry_makes_it_anew(shop: Shop) -> None:
    first = shop.get("/history")
    tag = first.headers["ETag"]
    again = {"headers": shop.headers() | {"If-None-Match": tag}}
    call = shop.app.test_client().get
    assert tag.startswith("W/") and call("/api/v1/history", **again).status_code == 304
    assert call("/api/v1/history?from=2020-01-06&to=2020-02-02", **again).status_code == 200
    sent(shop, shop.note())
    newer = call("/api/v1/history", **again)
    assert newer.status_code == 200 and newer.headers["ETag"] != tag
    assert newer.get_json()["head"] == first.get_json()["head"] + 1


def test_the_span(shop: Shop) -> None:
    told = shop.get("/history").get_json()
    assert date.fromisoformat(told["from"]).weekday() == 0 and told["to"] >= TODAY.isoformat()
    assert 364 < (date.fromisoformat(told["to"]) - date.fromisoformat(told["from"])).days + 1 <= 371
    year = shop.get("/history", **{"from": "2020-01-06"}).get_json()
    assert (year["from"], year["to"], year["months"][0]) == ("2020-01-06", "2021-01-10", "2020-01")
    assert year["machines"][shop.mill]["months"] == {}, "it was not there yet"
    assert shop.get("/history", **{"from": "2020-01-05", "to": "2021-01-17"}).status_code == 422, "55 weeks"


def test_before_there_is_a_shop(app: Any) -> None:
    from webapp.history.document import document
    from webapp.history.span import asked_for

    with app.app_context():
        told = document(db.session(), asked_for(None, None, TODAY, "UTC", now_ms()))
    assert told["machines"] == {} and told["shop"]["events"] == [] and told["put_right"]["times"] == 0


def test_a_stranger_is_told_nothing(shop: Shop) -> None:
    assert shop.app.test_client().get("/api/v1/history").status_code == 401
