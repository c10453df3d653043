"""Polling a machine's agent into the record: what is counted, once, whatever the agent and the clocks do."""

from __future__ import annotations

from typing import Any

import pytest

from tests.conftest import Shop
from tests.feeds.agent import START, Agent
from tests.feeds.conftest import Fed, set_feed
from webapp.core.instants import instant_text
from webapp.database import db
from webapp.feeds.fetching import fetch
from webapp.feeds.polling import feeds, poll, poll_all

HOUR = 3600


def test_a_first_look_counts_nothing_and_tells_where_the_meter_stands(fed: Fed) -> None:
    fed.log("meter.added", amount=12.5)
    fed.agent.put("total", 812_345.5)
    standing = fed.poll()
    assert (standing.tally.counted, standing.problem, standing.kind) == (0, None, "timer")
    assert fed.meter()["total"] == 12.5 == fed.meter()["face"]


def test_what_the_timer_rose_by_is_in_the_record_an_hour_later(either_fed: Fed) -> None:
    fed = either_fed
    fed.agent.put("total", 100)
    fed.poll()
    for minute in range(1, 61):
        fed.agent.put("total", 100 + minute * 30)
        fed.poll(60)
    assert fed.meter()["total"] == pytest.approx(0.5)
    assert fed.readings() == [0, pytest.approx(0.5)]
    assert fed.standing().tally.pending == 0


def test_the_record_gets_an_entry_an_hour_at_most(fed: Fed) -> None:
    fed.agent.put("total", 0)
    fed.poll()
    for step in range(1, 241):
        fed.agent.put("total", step * 30)
        fed.poll(30)
    assert len(fed.readings()) == 3
    assert fed.meter()["total"] == pytest.approx(2)


def test_a_day_without_our_server_is_counted_from_the_agents_buffer(fed: Fed) -> None:
    fed.agent.put("total", 0)
    fed.poll()
    for hour in range(1, 9):
        fed.agent.put("total", hour * 1800, START + hour * HOUR * 1000)
    fed.poll(24 * HOUR)
    assert fed.meter()["total"] == pytest.approx(4)


def test_entries_are_made_by_a_device_of_their_own_that_nobody_can_close_out(fed: Fed) -> None:
    fed.agent.put("total", 0)
    fed.poll()
    devices = fed.shop.get("/devices")
    assert "own counters" not in devices.get_data(as_text=True)
    with fed.shop.app.app_context():
        from webapp.security.models import Device

        device = db.session.query(Device).filter(Device.kind == "feed").one()
        assert (device.token_hash, device.seq_max) == (None, 1)
        db.session.remove()


def test_the_same_samples_twice_count_once(fed: Fed) -> None:
    fed.agent.put("total", 0)
    fed.poll()
    fed.agent.put("total", 25)
    first = fed.poll(30)
    second = fed.again()
    assert first.tally.counted == second.tally.counted == 25


def test_a_poll_that_lost_the_race_saves_nothing(either_fed: Fed) -> None:
    """Two servers held the lease for a moment; the second one to save must not count again what the first did."""
    fed = either_fed
    fed.agent.put("total", 0)
    fed.poll()
    fed.agent.put("total", 3000)
    fed.now += HOUR * 1000

    def slow(address: str) -> bytes:
        body = fetch(address)
        if "sample" in address and not raced:
            raced.append(True)
            fed.again()
        return body

    raced: list[bool] = []
    with fed.shop.app.app_context():
        (feed,) = feeds(db.session())
        db.session.remove()
        poll(feed, slow, fed.now)
    assert fed.standing().tally.counted == 3000
    assert fed.readings() == [0, pytest.approx(3000 / 3600, abs=1e-6)]


def test_an_agent_that_restarts_begins_its_numbers_anew_and_the_timer_goes_on(fed: Fed) -> None:
    fed.agent.put("total", 1000)
    fed.poll()
    fed.agent.put("total", 1040)
    fed.poll(60)
    fed.agent.restart()
    fed.agent.put("total", 1100)
    standing = fed.poll(60)
    assert (standing.tally.counted, standing.tally.notes) == (100, {"restarts": 1})
    assert standing.instance == str(fed.agent.instance)


def test_a_restart_with_nothing_available_yet_loses_nothing(fed: Fed) -> None:
    fed.agent.put("total", 1000)
    fed.poll()
    fed.agent.restart(keep=False)
    fed.poll(60)
    fed.agent.put("total", 1050)
    assert fed.poll(60).tally.counted == 50


def test_a_gap_in_the_buffer_is_noted_and_the_timer_still_counts_all(fed: Fed) -> None:
    fed.agent.size = 20
    fed.agent.put("total", 0)
    fed.poll()
    for step in range(1, 101):
        fed.agent.put("total", step * 10)
    standing = fed.poll(1200)
    assert standing.tally.notes == {"gaps": 1}
    assert standing.tally.counted == 1000


def test_many_samples_are_taken_in_several_rounds(fed: Fed) -> None:
    fed.agent.size = 5000
    fed.agent.put("total", 0)
    fed.poll()
    for step in range(1, 1201):
        fed.agent.put("total", step)
    assert fed.poll(1300).tally.counted == 1200
    assert sum("sample" in path for path in fed.agent.asked) == 3


def test_a_counter_reset_that_is_told_counts_from_there(fed: Fed) -> None:
    fed.agent.put("total", 5000)
    fed.poll()
    fed.agent.put("total", 5040)
    fed.poll(60)
    fed.agent.clock_ms += 60_000
    fed.agent.put("total", 12, more='resetTriggered="MAINTENANCE"')
    standing = fed.poll(60)
    assert (standing.tally.counted, standing.tally.notes) == (52, {"resets": 1})


def test_a_reset_told_again_after_a_restart_counts_once(fed: Fed) -> None:
    fed.agent.put("total", 5000)
    fed.poll()
    fed.agent.clock_ms += 60_000
    fed.agent.put("total", 12, more='resetTriggered="DAY"')
    fed.poll(60)
    fed.agent.restart()
    fed.agent.buffer[-1] = fed.agent.buffer[-1]
    sequence, item, at, value, _ = fed.agent.newest["total"]
    row = (sequence, item, at, value, 'resetTriggered="DAY"')
    fed.agent.newest["total"] = row
    assert fed.poll(60).tally.counted == 12


def test_a_counter_that_goes_back_untold_counts_nothing_for_the_step(fed: Fed) -> None:
    fed.agent.put("total", 5000)
    fed.poll()
    fed.agent.clock_ms += 1000
    fed.agent.put("total", 3000)
    assert fed.poll(60).tally.notes == {"went back": 1}
    fed.agent.put("total", 3030)
    assert fed.poll(60).tally.counted == 30


def test_a_counter_that_leaps_further_than_time_went_counts_nothing(fed: Fed) -> None:
    fed.agent.put("total", 100)
    fed.poll()
    fed.agent.put("total", 900_000)
    standing = fed.poll(60)
    assert (standing.tally.counted, standing.tally.notes) == (0, {"leapt": 1})


def test_a_machine_that_is_off_is_asked_less_often_and_said(fed: Fed) -> None:
    fed.agent.put("total", 0)
    fed.poll()
    fed.agent.answers["sample"] = (503, b"gone")
    standing = fed.poll()
    assert "answered 503" in str(standing.problem) and standing.failed == 1
    asked = len(fed.agent.asked)
    fed.poll(10)
    assert len(fed.agent.asked) == asked
    for _ in range(12):
        standing = fed.poll(600)
    assert standing.try_ms - fed.now == 600_000
    fed.agent.answers.clear()
    fed.agent.put("total", 50)
    standing = fed.poll(601)
    assert (standing.problem, standing.failed, standing.tally.counted) == (None, 0, 50)


def test_an_agent_that_was_out_of_reach_for_long_gives_all_it_kept(fed: Fed) -> None:
    """What the agent kept meanwhile is hours apart: our clock since the last answer allows it, not since the last try."""
    fed.agent.put("total", 0)
    fed.poll()
    fed.agent.answers["sample"] = (503, b"off")
    start = fed.now
    for _ in range(30):
        fed.poll(600)
    for hour in range(1, 6):
        fed.agent.put("total", hour * 3000, start + hour * HOUR * 1000)
    fed.agent.answers.clear()
    assert fed.poll(600).tally.counted == 15_000


def test_how_a_feed_does_is_told(fed: Fed) -> None:
    (row,) = fed.shop.get("/feeds").get_json()
    assert (row["problem"], row["seen_at"], row["counted_seconds"]) == ("It has not been asked yet.", None, 0)
    fed.agent.put("total", 0)
    fed.poll()
    fed.agent.put("total", 25)
    fed.poll()
    (row,) = fed.shop.get("/feeds").get_json()
    assert (row["machine"], row["meter"], row["data_item"]) == (fed.shop.mill, fed.shop.spindle, "total")
    assert (row["problem"], row["counted_seconds"], row["seen_at"]) == (None, 25, instant_text(fed.now))
    fed.agent.answers["sample"] = (503, b"off")
    fed.poll()
    (row,) = fed.shop.get("/feeds").get_json()
    assert "answered 503" in row["problem"] and row["seen_at"] == instant_text(fed.now - 30_000)
    assert fed.shop.app.test_client().get("/api/v1/feeds").status_code == 401


def test_a_persons_reading_in_between_rules(fed: Fed) -> None:
    """Somebody reads 9 h off the panel: what was pending lies in it, and the feed goes on from 9."""
    fed.agent.put("total", 0)
    fed.poll()
    fed.agent.put("total", 600)
    fed.poll(1200)
    fed.log("meter.read", value=9)
    fed.agent.put("total", 1200)
    fed.poll(HOUR)
    assert fed.meter()["total"] == 9
    fed.agent.put("total", 3000)
    fed.poll(HOUR)
    assert fed.meter()["total"] == 9.5


def test_hours_that_people_log_for_the_same_time_are_not_counted_twice(fed: Fed) -> None:
    fed.agent.put("total", 0)
    fed.poll()
    fed.log("meter.added", amount=0.75)
    assert fed.meter()["total"] == 0.75
    fed.agent.put("total", 2520)
    fed.poll(HOUR)
    assert fed.meter()["total"] == 0.7


@pytest.mark.parametrize("item", ["exec", "rpm"])
def test_running_time_counts_from_start_to_stop(shop: Shop, agent: Agent, url: str, item: str) -> None:
    set_feed(shop, url, item)
    fed = Fed(shop, agent)
    idle, runs = ("READY", "ACTIVE") if item == "exec" else (0, 1200)
    agent.put(item, idle)
    fed.poll()
    agent.put(item, runs)
    fed.poll(600)
    agent.put(item, idle)
    fed.poll(600)
    agent.put(item, "UNAVAILABLE")
    standing = fed.poll(600)
    assert (standing.tally.counted, standing.kind) == (600, "execution" if item == "exec" else "speed")


def test_what_ran_before_the_first_look_is_not_counted(shop: Shop, agent: Agent, url: str) -> None:
    set_feed(shop, url, "exec")
    fed = Fed(shop, agent)
    agent.put("exec", "ACTIVE", START - 9 * HOUR * 1000)
    fed.poll(0)
    agent.clock_ms += 300_000
    agent.put("exec", "READY")
    assert fed.poll(300).tally.counted == 300


def test_running_goes_on_over_a_restart_of_the_agent(shop: Shop, agent: Agent, url: str) -> None:
    set_feed(shop, url, "exec")
    fed = Fed(shop, agent)
    agent.put("exec", "READY")
    fed.poll()
    agent.put("exec", "ACTIVE")
    fed.poll(60)
    agent.restart()
    fed.poll(60)
    agent.put("exec", "READY")
    standing = fed.poll(60)
    assert (standing.tally.counted, standing.broken) == (120, False)


def test_a_gap_while_it_ran_counts_nothing_and_leaves_what_people_logged(shop: Shop, agent: Agent, url: str) -> None:
    set_feed(shop, url, "exec")
    agent.size = 20
    fed = Fed(shop, agent)
    agent.put("exec", "READY")
    fed.poll()
    agent.put("exec", "ACTIVE")
    fed.poll(60)
    for step in range(100):
        agent.put("load", step)
    agent.put("exec", "READY")
    fed.log("meter.added", amount=2)
    standing = fed.poll(2 * HOUR)
    assert (standing.tally.counted, standing.broken, standing.tally.notes) == (0, True, {"gaps": 1})
    agent.put("exec", "ACTIVE")
    fed.poll(60)
    agent.put("exec", "READY")
    fed.poll(HOUR)
    assert fed.meter()["total"] == 2


def test_use_of_the_machine_is_noted_for_its_start_up_round(fed: Fed) -> None:
    fed.agent.put("total", 0)
    fed.poll()
    machine = fed.shop.get("/sync/snapshot").get_json()["state"]["machines"][fed.shop.mill]
    assert machine["used_at"] is None
    fed.agent.put("total", 1800)
    fed.poll(HOUR)
    machine = fed.shop.get("/sync/snapshot").get_json()["state"]["machines"][fed.shop.mill]
    assert machine["used_at"] is not None


@pytest.mark.parametrize(
    ("item", "told"),
    [
        ("nothing", "no data item «nothing»"),
        ("load", "LOAD in PERCENT, which no meter counts"),
        ("hours", "ACCUMULATED_TIME in HOUR, which no meter counts"),
    ],
)
def test_an_item_that_cannot_be_counted_is_said(shop: Shop, agent: Agent, url: str, item: str, told: str) -> None:
    set_feed(shop, url, item)
    standing = Fed(shop, agent).poll()
    assert told in str(standing.problem) and standing.tally.counted == 0


def test_an_item_may_be_named_instead_of_its_id(shop: Shop, agent: Agent, url: str) -> None:
    set_feed(shop, url, "spindle_total")
    standing = Fed(shop, agent).poll()
    assert (standing.item, standing.problem) == ("total", None)


def test_one_feed_that_fails_does_not_rest_the_others(fed: Fed, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: Any) -> bytes:
        raise RuntimeError("a fault of ours")

    with fed.shop.app.app_context():
        poll_all(broken, START)
        fed.agent.put("total", 5)
        poll_all(fetch, START)
    assert fed.standing().problem is None


def test_a_feed_pointed_elsewhere_begins_anew_and_keeps_the_meter(fed: Fed, url: str) -> None:
    fed.agent.put("total", 0)
    fed.agent.put("working", 90_000)
    fed.poll()
    fed.agent.put("total", 1800)
    fed.poll(HOUR)
    set_feed(fed.shop, url, "working")
    standing = fed.poll(60)
    assert (standing.item, standing.tally.counted) == ("working", 1800)
    fed.agent.put("working", 90_000 + 1800)
    fed.poll(HOUR)
    assert fed.meter()["total"] == 1


def test_the_record_stands_its_checks_afterwards(fed: Fed) -> None:
    from webapp.records.verify import state_faults, verify

    fed.agent.put("total", 0)
    fed.poll()
    for hour in range(1, 4):
        fed.agent.put("total", hour * 1500)
        fed.poll(HOUR)
    with fed.shop.app.app_context():
        session = db.session()
        assert verify(session).wrong == ()
        assert state_faults(session) == []
        db.session.remove()
