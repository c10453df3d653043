"""Counting from observations: never more than was, whatever is repeated, shuffled, reset or sent from the past."""

from __future__ import annotations

import json
import random
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.feeds.reconcile import GIVE_UP_MS, Observation, Tally, begun, running, timer

HOUR_MS = 3_600_000
steps = st.lists(st.tuples(st.integers(1, 3600), st.floats(0, 1)), min_size=1, max_size=40)


def play(values: list[tuple[int, object]], *, timed: bool = True, resets: set[int] | None = None) -> Tally:
    """Feed (second, value) rows, our clock going with the machine's; a poll for each row."""
    tally, count = Tally(), timer if timed else running
    for index, (second, value) in enumerate(values):
        before = values[index - 1][0] * 1000 if index else 0
        seen = Observation(index + 1, second * 1000, value, index in (resets or set()))
        tally = count(tally, seen, max(second * 1000, before), before)
    return tally


def test_a_timer_counts_what_it_rose_by() -> None:
    assert play([(0, 100.0), (60, 130.0), (120, 190.0)]).counted == 90


def test_an_unavailable_timer_counts_on_from_where_it_was() -> None:
    assert play([(0, 100.0), (60, None), (120, 190.0)]).counted == 90


@given(steps)
def test_a_timer_played_in_order_counts_its_rise(rows: list[tuple[int, float]]) -> None:
    at, value, played = 0, 50.0, [(0, 50.0)]
    for seconds, share in rows:
        at, value = at + seconds, value + seconds * share
        played.append((at, value))
    tally = play(list(played))
    assert tally.counted == pytest.approx(value - 50)
    assert tally.pending == tally.counted


@given(steps, st.integers(0, 2**32))
def test_pieces_played_again_count_nothing_more(rows: list[tuple[int, float]], seed: int) -> None:
    """Recordings follow one another in any order and overlap, within the hour that a lagging clock is given."""
    rng = random.Random(seed)
    at, value, whole = 0, 0.0, [(0, 0.0)]
    for seconds, share in rows:
        at, value = at + seconds, value + seconds * share
        whole.append((at, value))
    pieces = [whole, *(whole[rng.randrange(len(whole)) :] for _ in range(3))]
    tally, sequence, now = Tally(), 0, 0
    for piece in pieces:
        for second, reading in piece:
            sequence += 1
            before, now = now, max(now, second * 1000)
            tally = timer(tally, Observation(sequence, second * 1000, reading), now, before)
    assert tally.counted == pytest.approx(value)


@given(st.lists(st.tuples(st.integers(1, 3600), st.booleans()), min_size=1, max_size=40), st.integers(0, 3))
def test_running_is_counted_once_however_often_it_is_told(rows: list[tuple[int, bool]], again: int) -> None:
    at, told = 0, [(0, False)]
    for seconds, runs in rows:
        at += seconds
        told.append((at, runs))
    true = sum(end - start for (start, runs), (end, _) in pairwise(told) if runs)
    tally, now = Tally(), 0
    for repeat in range(again + 1):
        for index, (second, runs) in enumerate(told):
            before, now = now, max(now, second * 1000)
            seen = Observation(repeat * 100 + index, second * 1000, "ACTIVE" if runs else "READY")
            tally = running(tally, seen, now, before)
    assert tally.counted == pytest.approx(true)


@given(st.lists(st.tuples(st.integers(-20_000, 20_000), st.sampled_from([0.0, 5.0, 80.0, 9e9, None])), max_size=30))
def test_no_clock_or_counter_makes_more_than_our_own_clock_allows(rows: list[tuple[int, float | None]]) -> None:
    """Our clock goes a minute a poll: no step may be longer than all of it, 5 % and two minutes of slack."""
    for count in (timer, running):
        tally = Tally()
        for index, (second, value) in enumerate(rows):
            tally = count(tally, Observation(index, second * 1000, value), index * 60_000, (index - 1) * 60_000)
        assert 0 <= tally.counted <= len(rows) * (60 * 1.05 * (len(rows) + 1) + 120)


def test_a_reset_that_is_told_counts_from_nought() -> None:
    assert play([(0, 5000.0), (60, 5050.0), (120, 30.0), (180, 80.0)], resets={2}).counted == 130


def test_a_step_back_that_is_not_told_counts_nothing() -> None:
    tally = play([(0, 5000.0), (60, 5050.0), (120, 30.0), (180, 80.0)])
    assert (tally.counted, tally.notes) == (100, {"went back": 1})


def test_a_clock_set_back_for_good_is_believed_after_an_hour() -> None:
    """A controller's battery dies: it is 2000 again, and its timer begins at 0. An hour is lost, then it counts."""
    tally, now = play([(10_000, 900_000.0)]), 10_000_000
    for minute in range(1, 121):
        now += 60_000
        tally = timer(tally, Observation(minute, minute * 60_000 - 5_000_000, minute * 60.0), now, now - 60_000)
    assert tally.counted == pytest.approx(3600, abs=120)
    assert tally.notes == {"older than seen": 1, "clock believed": 1}


def test_a_clock_set_back_while_it_runs_is_believed_after_an_hour() -> None:
    tally = play([(10_000, "READY")], timed=False)
    now = 10_000_000
    for minute in range(1, 181):
        now += 60_000
        word = "ACTIVE" if minute % 2 else "READY"
        tally = running(tally, Observation(minute, minute * 60_000 - 5_000_000, word), now, now - 60_000)
    assert tally.counted == pytest.approx(3600, abs=180)
    assert GIVE_UP_MS == HOUR_MS


def test_a_clock_that_jumps_a_year_ahead_while_it_runs_counts_nothing_for_it() -> None:
    tally = play([(0, "READY"), (60, "ACTIVE")], timed=False)
    year = 365 * 24 * HOUR_MS
    tally = running(tally, Observation(9, year, "READY"), 120_000, 60_000)
    assert (tally.counted, tally.notes) == (0, {"leapt": 1})


@pytest.mark.parametrize("value", ["READY", "STOPPED", "INTERRUPTED", "FEED_HOLD", "PROGRAM_COMPLETED", 0.0, None])
def test_only_active_and_turning_run(value: object) -> None:
    assert play([(0, value), (60, value), (120, value)], timed=False).counted == 0


def test_a_spindle_turning_backwards_runs() -> None:
    assert play([(0, 0.0), (60, -800.0), (120, 0.0)], timed=False).counted == 60


def test_after_a_break_the_same_running_goes_on_and_another_does_not() -> None:
    tally = play([(0, "READY"), (60, "ACTIVE")], timed=False)
    same = begun(tally, Observation(1, 60_000, "ACTIVE"), 300_000, 300_000, timed=False)
    assert same == tally
    other = begun(tally, Observation(1, 200_000, "ACTIVE"), 300_000, 300_000, timed=False)
    assert other.running_ms == 300_000 and other.counted == 0


def test_a_tally_comes_back_from_json_as_it_was() -> None:
    tally = play([(0, 5000.0), (60, 5050.0), (120, 30.0)])
    assert Tally(**json.loads(json.dumps(tally.to_dict()))) == tally
