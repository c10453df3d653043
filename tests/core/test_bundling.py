"""While a machine is stopped: what is worth doing early beside what is due, and that nothing is ever put off."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.core.bundling import LOCK_OUT_MINUTES, MOST_DAYS, MOST_SHARE, Candidate, bundle

TODAY = date(2027, 3, 3)


def task(name: str, state: str, *, used: float = 0.9, days: int | None = 6, locked: bool = True) -> Candidate:
    likely = None if days is None else TODAY + timedelta(days=days)
    return Candidate(name, f"the {name}", state, 10, used, likely, ("lock_out",) if locked else ("hot_chips",))


def joined(*tasks: Candidate, stopped: bool = False) -> list[str]:
    found = bundle("the mill", tasks, TODAY, stopped=stopped)
    return [] if found is None else [row.task for row in found.early]


def test_a_near_task_shares_the_lock_out_of_one_that_is_due() -> None:
    found = bundle("Mill 1", [task("filter", "due", used=1.0, days=0), task("mat", "near")], TODAY)
    assert found is not None
    assert found.because == ("filter",) and found.minutes == 20 and found.saved == LOCK_OUT_MINUTES and found.lock_out
    (early,) = found.early
    assert (early.task, early.days_early, early.share, early.lock_out) == ("mat", 6, 0.1, True)
    assert found.why == (
        "While Mill 1 is locked out for “the filter”: also “the mat” (10 min, 6 days early)."
        " One lock-out serves them all: about 5 min less."
    )


@pytest.mark.parametrize(
    ("other", "joins"),
    [
        (task("x", "near"), True),
        (task("x", "resting", used=0.85), True),
        (task("x", "resting", used=1 - MOST_SHARE - 0.01), False),  # gives up too much of its interval
        (task("x", "near", days=MOST_DAYS), True),
        (task("x", "near", days=MOST_DAYS + 1), False),  # or too many days
        (task("x", "near", days=None), False),  # of which nobody knows when it is due
        (task("x", "near", locked=False), False),  # shares nothing
        (replace(task("x", "near"), cautions=("belt_change",)), True),
    ],
)
def test_which_tasks_join(other: Candidate, joins: bool) -> None:
    assert joined(task("due", "late", used=1.3, days=0), other) == (["x"] if joins else [])


def test_what_is_due_without_a_lock_out_stops_nothing_for_others() -> None:
    assert joined(task("due", "due", used=1, days=0, locked=False), task("x", "near")) == []


def test_with_nothing_due_there_is_no_reason_to_stop() -> None:
    assert joined(task("x", "near"), task("y", "near")) == []


def test_what_is_due_needs_no_company() -> None:
    assert bundle("the mill", [task("a", "due", used=1, days=0), task("b", "late", used=1.2, days=0)], TODAY) is None


def test_a_machine_out_of_service_is_stopped_anyway() -> None:
    tasks = [task("x", "near"), task("y", "near", locked=False), task("z", "resting", used=0.3)]
    assert joined(*tasks, stopped=True) == ["x", "y"]
    found = bundle("the mill", tasks, TODAY, stopped=True)
    assert found is not None and found.why.startswith("While the mill is out of service: also “the x”")


states = st.sampled_from(["resting", "near", "due", "late"])
tasks_ = st.lists(
    st.builds(
        lambda state, used, days, locked: task("t", state, used=used, days=days, locked=locked),
        states, st.floats(0, 1.5), st.one_of(st.none(), st.integers(-5, 60)), st.booleans(),
    ),
    max_size=8,
)  # fmt: skip


@given(tasks_, st.booleans())
def test_only_tasks_that_are_not_due_are_drawn_in_and_never_far(tasks: list[Candidate], stopped: bool) -> None:
    rows = [replace(row, task=str(number)) for number, row in enumerate(tasks)]
    found = bundle("the mill", rows, TODAY, stopped=stopped)
    if found is None:
        return
    by_id = {row.task: row for row in rows}
    assert all(by_id[key].state in ("due", "late") for key in found.because)
    for early in found.early:
        row = by_id[early.task]
        assert (
            row.state not in ("due", "late") and 0 <= early.days_early <= MOST_DAYS and early.share <= MOST_SHARE + 1e-3
        )
        assert stopped or row.lock_out
    assert found.saved == LOCK_OUT_MINUTES * max(
        0, sum(by_id[k].lock_out for k in [*found.because, *(e.task for e in found.early)]) - 1
    )
