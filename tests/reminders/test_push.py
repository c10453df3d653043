"""Web push end to end: a push service of our own reads what arrives, and answers as real ones do."""

from __future__ import annotations

import json
import threading
from collections.abc import Iterator
from typing import Any

import pytest

from tests.problem import assert_problem
from tests.reminders.conftest import Office
from tests.reminders.push_service import Service, serving
from webapp.database import db, writing
from webapp.reminders import delivery
from webapp.reminders.channels import web_push
from webapp.reminders.faults import Trouble
from webapp.reminders.models import Subscription
from webapp.security import devices
from webapp.setup import definitions
from webapp.setup.ids import now_ms


@pytest.fixture
def service(monkeypatch: pytest.MonkeyPatch) -> Iterator[Service]:
    """A push service on this machine, to which http is allowed."""
    monkeypatch.setattr(web_push, "SCHEMES", ("https", "http"))
    with serving() as made:
        yield made


def post(office: Office, path: str, body: Any, token: str | None = None) -> Any:
    return office.app.test_client().post(f"/api/v1{path}", json=body, headers=office.shop.headers(token))


def sign_up(office: Office, service: Service, name: str = "phone") -> str:
    """The owner's browser signs up."""
    answer = post(office, "/reminders/subscriptions", service.browser(name).subscription(office.shop.owner))
    assert answer.status_code == 201, answer.get_json()
    return str(answer.get_json()["id"])


def deliver(office: Office) -> str:
    with office.app.app_context():
        try:
            return delivery.deliver()
        finally:
            db.session.remove()


def test_a_reminder_arrives_with_what_its_actions_need(office: Office, service: Service) -> None:
    task = office.task("Grease the vise", {"every": {"weeks": 4}})
    sign_up(office, service)
    office.remind()
    assert deliver(office) == "1 sent."
    (told,) = service.read
    (row,) = office.rows(kind="due")
    assert told["title"] == "Grease the vise is due" and told["link"] == f"#/task/{office.shop.mill}/{task}"
    assert "Mill 1" in told["body"] and "About 5 min" in told["body"] and "due today" in told["body"]
    assert told["device"] == office.shop.device and told["person"] == office.shop.owner and told["v"] == 1
    item = {
        "reminder": row["id"],
        "machine": office.shop.mill,
        "task": task,
        "link": told["link"],
    }
    assert told["items"] == [item]
    headers = service.headers[0]
    assert headers["Content-Encoding"] == "aes128gcm" and headers["Ttl"] == "86400"
    assert len(headers["Topic"]) <= 32 and headers["Urgency"] == "normal"
    assert deliver(office) == "" and len(service.read) == 1


@pytest.mark.parametrize("status", [404, 410])
def test_a_subscription_that_has_ended_is_removed(office: Office, service: Service, status: int) -> None:
    office.task("Grease the vise", {"every": {"weeks": 4}})
    sign_up(office, service)
    service.answers = [(status, {})]
    office.remind()
    deliver(office)
    assert office.sent()[0]["outcome"] == "gone"
    assert office.shop.get("/reminders/channels").get_json()["push"]["subscriptions"] == []


def test_busy_services_are_tried_again_no_sooner_than_they_ask(office: Office, service: Service) -> None:
    office.task("Grease the vise", {"every": {"weeks": 4}})
    sign_up(office, service)
    service.answers = [
        (429, {"Retry-After": "900"}),
        (503, {"Retry-After": "Mon, 02 Mar 2026 14:00:00 GMT"}),
        (500, {}),
    ]
    office.remind()
    seen = []
    for minute in range(120):
        try:
            deliver(office)
        except Trouble as trouble:
            assert "cannot be sent" in str(trouble)
        if len(service.headers) > len(seen):
            seen.append(minute)
        office.clock.on(minutes=1)
    # 07:00 is 13:00 GMT: after 900 s; at 14:00 GMT; then by our own back-off, 4 minutes at the third try.
    assert seen == [0, 15, 60, 64] and office.sent()[0]["outcome"] == "sent" and len(service.read) == 1
    assert len({headers["Topic"] for headers in service.headers}) == 1


def test_a_service_that_stays_shut_is_seen_and_given_up_after_two_days(office: Office, service: Service) -> None:
    office.task("Grease the vise", {"every": {"years": 1}}, start="2025-03-02")
    office.edit("person", office.shop.owner, reminders={"quiet": {"begins": "00:00", "ends": "00:00"}})
    sign_up(office, service)
    service.answers = [(500, {})] * 200
    office.remind()
    troubled = 0
    for _ in range(60):
        try:
            deliver(office)
        except Trouble:
            troubled += 1
        office.clock.on(hours=1)
    assert troubled > 20 and office.sent()[0]["outcome"] == "failed"
    assert 20 < len(service.headers) < 60


def test_a_retry_does_not_ring_at_night(office: Office, service: Service) -> None:
    office.task("Grease the vise", {"every": {"weeks": 4}})
    sign_up(office, service)
    service.answers = [(503, {"Retry-After": "43200"})]  # until 19:00, when nobody is there
    office.remind()
    deliver(office)
    for hour in range(13):
        office.clock.at(f"2026-03-0{2 + (19 + hour) // 24} {(19 + hour) % 24:02d}:30")
        deliver(office)
        assert len(service.headers) == (1 if (19 + hour) % 24 >= 18 or (19 + hour) % 24 < 6 else 2)
    assert len(service.read) == 1


def test_what_is_done_before_it_could_be_sent_is_not_sent(office: Office, service: Service) -> None:
    task = office.task("Grease the vise", {"every": {"weeks": 4}})
    office.task("Look at the belts", {"every": {"weeks": 4}})
    sign_up(office, service)
    service.answers = [(503, {})]
    office.remind()
    deliver(office)
    office.log("task.done", {"task": task})
    office.clock.on(minutes=5)
    office.remind()
    deliver(office)
    assert [one["title"] for one in service.read] == ["Look at the belts is due"]
    service.answers = [(503, {})]
    other = office.task("Wipe the ways", {"every": {"weeks": 4}})
    office.clock.on(minutes=40)
    office.remind()
    deliver(office)
    office.log("task.done", {"task": other})
    office.clock.on(minutes=5)
    office.remind()
    deliver(office)
    assert len(service.read) == 1 and {row["outcome"] for row in office.sent()} == {"sent", "dropped"}


def test_a_snoozed_reminder_rests_and_comes_once_more(office: Office, service: Service) -> None:
    office.task("Grease the vise", {"every": {"years": 1}}, start="2025-02-01")
    sign_up(office, service)
    office.remind()
    deliver(office)
    (row,) = office.shop.get("/reminders").get_json()["reminders"]
    assert post(office, f"/reminders/{row['id']}/snooze", {"until": "2026-03-04T09:00:00-06:00"}).status_code == 204
    assert office.shop.get("/reminders").get_json()["reminders"][0]["snoozed_until"] == "2026-03-04T15:00:00.000Z"
    for moment, count in (
        ("03-02 12:00", 1),
        ("03-03 12:00", 1),
        ("03-04 08:59", 1),
        ("03-04 09:00", 2),
        ("03-05 09:00", 2),
    ):
        office.clock.at(f"2026-{moment}")
        office.remind()
        deliver(office)
        assert len(service.read) == count, moment


def test_a_crash_between_sending_and_noting_sends_under_the_same_name(office: Office, service: Service) -> None:
    office.task("Grease the vise", {"every": {"weeks": 4}})
    sign_up(office, service)
    office.remind()
    (row,) = office.sent()
    with office.app.app_context():
        claimed = delivery.claim(row["id"], now_ms())
        assert claimed is not None and delivery.attempt(claimed).kept == "sent"  # and here the process dies
        assert delivery.claim(row["id"], now_ms()) is None  # nobody else may, while the claim lasts
    office.clock.on(minutes=3)
    deliver(office)
    first, second = service.read
    assert first["id"] == second["id"] == row["id"] and service.headers[0]["Topic"] == service.headers[1]["Topic"]


def test_what_waits_for_somebody_who_has_left_is_dropped(office: Office, service: Service) -> None:
    member = office.person("Ben Roe")
    assert post(office, "/reminders/subscriptions", service.browser("x").subscription(member)).status_code == 201
    office.task("Grease the vise", {"every": {"weeks": 4}})
    office.remind()
    with office.app.app_context(), writing() as session:
        row = definitions.get(session, "person", member)
        assert row
        body = {key: value for key, value in row.items() if key not in ("id", "revision", "retired")}
        definitions.update(session, "person", member, body, row["revision"], office.shop.owner, retired=True)
    assert deliver(office) == "" and [row["outcome"] for row in office.sent()] == ["dropped"] and not service.read


def test_a_revoked_phone_hears_nothing_more(office: Office, service: Service) -> None:
    device, token = office.shop.enrol("phone")
    assert (
        post(
            office, "/reminders/subscriptions", service.browser("x").subscription(office.shop.owner), token
        ).status_code
        == 201
    )
    with office.app.app_context(), writing() as session:
        devices.revoke(session, device)
    office.task("Grease the vise", {"every": {"weeks": 4}})
    office.remind()
    assert office.sent() == []


def test_a_test_arrives_at_once_whatever_the_hour(office: Office, service: Service) -> None:
    office.clock.at("2026-03-01 03:00")
    sign_up(office, service)
    ask = {"person": office.shop.owner, "channel": "push"}
    (row,) = post(office, "/reminders/test", ask).get_json()
    assert row["outcome"] == "sent" and service.read[0]["title"] == "A test from Wayround"
    assert_problem(post(office, "/reminders/test", ask), 429)
    office.clock.on(minutes=1)
    service.answers = [(410, {})]
    assert post(office, "/reminders/test", ask).get_json()[0]["outcome"] == "gone"
    office.clock.on(minutes=1)
    assert_problem(post(office, "/reminders/test", ask), 422)
    log = office.shop.get("/reminders/deliveries", person=office.shop.owner).get_json()
    assert [row["outcome"] for row in log] == ["gone", "sent"] and log[0]["title"] == "A test from Wayround"


@pytest.mark.parametrize(("change", "field"), [
    ({"endpoint": "ftp://push.example/x"}, "endpoint"), ({"endpoint": "https:///x"}, "endpoint"),
    ({"endpoint": "https://a:b@push.example/x"}, "endpoint"), ({"endpoint": "https://push.example/ x"}, "endpoint"),
    ({"endpoint": "https://push.example:99999/"}, "endpoint"), ({"endpoint": 7}, "endpoint"),
    ({"keys": {"p256dh": "AAAA", "auth": "A" * 22}}, "keys.p256dh"), ({"keys": {}}, "keys.p256dh"),
    ({"person": "00000000-0000-7000-8000-00000000000f"}, "person"), ({"person": "x"}, "person"),
])  # fmt: skip
def test_a_subscription_that_is_none_is_refused_by_field(office: Office, change: dict[str, Any], field: str) -> None:
    body = {"endpoint": "https://push.example/x", "person": office.shop.owner}
    with serving() as service:
        body |= {"keys": service.browser("a").subscription("")["keys"]}
    answer = post(office, "/reminders/subscriptions", body | change)
    assert field in {fault["field"] for fault in assert_problem(answer, 422)["errors"]}


def test_plain_http_is_no_push_service_outside_of_tests(office: Office) -> None:
    with serving() as service:
        body = service.browser("a").subscription(office.shop.owner)
    assert_problem(post(office, "/reminders/subscriptions", body), 422)


def test_signing_up_again_takes_the_place_of_what_was(office: Office, service: Service) -> None:
    member = office.person("Ben Roe")
    first = sign_up(office, service)
    answer = post(office, "/reminders/subscriptions", service.browser("phone").subscription(member))
    assert answer.get_json()["id"] == first
    anew = post(office, "/reminders/subscriptions", service.browser("phone-anew").subscription(member))
    assert anew.get_json()["id"] == first, "one browser is signed up once"
    (row,) = office.shop.get("/reminders/channels").get_json()["push"]["subscriptions"]
    assert row["person"] == member
    gone = f"/api/v1/reminders/subscriptions/{first}"
    assert office.app.test_client().delete(gone, headers=office.shop.headers()).status_code == 204
    assert_problem(office.app.test_client().delete(gone, headers=office.shop.headers()), 404)


def test_a_message_of_many_and_long_words_fits(office: Office, service: Service) -> None:
    for number in range(14):
        office.task(f"Grease vise {number} " + "ж" * 90, {"every": {"weeks": 4}}, why="ж" * 400)
    sign_up(office, service)
    office.remind()
    assert deliver(office) == "1 sent."
    told = service.read[0]
    assert len(json.dumps(told, ensure_ascii=False).encode()) <= web_push.LARGEST
    assert told["title"] == "14 things to see to at Quill Metal" and 1 <= len(told["items"]) <= 4


@pytest.mark.parametrize(("text", "wait"), [
    ("120", 120_000), (" 5 ", 5_000), ("Mon, 02 Mar 2026 13:10:00 GMT", 600_000), ("Mon, 02 Mar 2026 12:00:00 GMT", 0),
    ("", 0), ("soon", 0), ("-5", 0), ("99999999999999999999", 0), ("١٢", 0),
])  # fmt: skip
def test_retry_after_is_read_as_seconds_or_a_date(text: str, wait: int) -> None:
    """RFC 9110, section 10.2.3."""
    assert web_push.wait_ms(text, 1_772_456_400_000) == wait  # 2026-03-02T13:00:00Z


def test_of_several_processes_one_sends_a_message(either_office: Office) -> None:
    office = either_office
    office.task("Grease the vise", {"every": {"weeks": 4}})
    with office.app.app_context(), writing() as session:
        session.add(Subscription(
            id=office.shop.mill, device=office.shop.device, person=office.shop.owner, endpoint="https://push.example/1",
            p256dh="", auth="", made_ms=0,
        ))  # fmt: skip
    office.remind()
    (row,) = office.sent()
    found: list[delivery.Claimed | None] = []

    def take() -> None:
        with office.app.app_context():
            found.append(delivery.claim(row["id"], now_ms()))
            db.session.remove()

    threads = [threading.Thread(target=take) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(found) == 6 and sum(one is not None for one in found) == 1
