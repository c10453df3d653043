"""The shop's working time: shifts, nights, holidays and both changes of the clocks, against a minute-by-minute wall."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.conftest import Shop
from tests.problem import assert_problem
from webapp.reminders.hours import WEEKDAYS, hours_of, instant

CHICAGO = "America/Chicago"
NIGHT = {"time_zone": CHICAGO, "shifts": [{"days": ["fri"], "begins": "22:00", "ends": "06:00"}]}


def at(text: str) -> int:
    return int(datetime.fromisoformat(text).replace(tzinfo=ZoneInfo(CHICAGO)).timestamp() * 1000)


@pytest.mark.parametrize(("moment", "yes"), [
    ("2026-03-06 21:59", False), ("2026-03-06 22:00", True), ("2026-03-07 05:59", True), ("2026-03-07 06:00", False),
    ("2026-03-06 03:00", False), ("2026-03-07 22:30", False),
])  # fmt: skip
def test_a_night_shift_belongs_to_the_day_it_begins_on(moment: str, yes: bool) -> None:
    assert hours_of(NIGHT).may_tell(at(moment), None) is yes
    assert not hours_of(NIGHT | {"holidays": ["2026-03-06"]}).may_tell(at(moment), None)


def test_without_shifts_it_is_monday_to_friday_six_to_six() -> None:
    hours = hours_of({"time_zone": CHICAGO})
    open_ = [day for day in range(7) for _ in range(1) if hours.may_tell(at(f"2026-03-{2 + day:02d} 12:00"), None)]
    assert open_ == [0, 1, 2, 3, 4] and hours.first_begins() == time(6)
    assert hours.next_working_day(date(2026, 3, 6)) == date(2026, 3, 9)


def test_times_that_do_not_exist_or_come_twice() -> None:
    """RFC 5545, section 3.3.5: with the offset before the gap; the first of two. Chicago 2026: 8 March, 1 November."""
    assert instant(date(2026, 3, 8), time(2, 30), CHICAGO) == int(
        datetime(2026, 3, 8, 8, 30, tzinfo=UTC).timestamp() * 1000
    )
    assert instant(date(2026, 11, 1), time(1, 30), CHICAGO) == int(
        datetime(2026, 11, 1, 6, 30, tzinfo=UTC).timestamp() * 1000
    )


clocks = st.builds(lambda hour, minute: f"{hour:02d}:{minute:02d}", st.integers(0, 23), st.integers(0, 59))
shifts = st.builds(
    lambda days, begins, ends: {"days": days, "begins": begins, "ends": ends},
    st.lists(st.sampled_from(WEEKDAYS), min_size=1, unique=True), clocks, clocks,
)  # fmt: skip


def minutes_of(shift: dict[str, Any], first: date, closed: set[date]) -> set[datetime]:
    """Every minute of the wall that a shift covers over three weeks, counted one by one."""
    covered = set()
    for ahead in range(21):
        day = first + timedelta(days=ahead)
        if WEEKDAYS[day.weekday()] not in shift["days"] or day in closed:
            continue
        begin = datetime.fromisoformat(f"{day} {shift['begins']}")
        end = datetime.fromisoformat(f"{day} {shift['ends']}")
        end += timedelta(days=1) if end <= begin else timedelta()
        while begin < end:
            covered.add(begin)
            begin += timedelta(minutes=1)
    return covered


@given(st.lists(shifts, min_size=1, max_size=3), st.lists(st.integers(0, 20), max_size=3), st.data())
def test_shifts_cover_what_a_count_of_minutes_covers(
    rows: list[dict[str, Any]], off: list[int], data: st.DataObject
) -> None:
    first = date(2026, 10, 19)  # the clocks go back in the second week
    closed = {first + timedelta(days=day) for day in off}
    shop = {"time_zone": CHICAGO, "shifts": rows, "holidays": [day.isoformat() for day in closed]}
    covered = set().union(*(minutes_of(row, first, closed) for row in rows))
    hours = hours_of(shop)
    for _ in range(20):
        minute = data.draw(st.integers(1440, 19 * 1440))
        wall = datetime.combine(first, time()) + timedelta(minutes=minute)
        now = int(wall.replace(tzinfo=ZoneInfo(CHICAGO)).timestamp() * 1000)
        assert hours.may_tell(now, None) is (wall in covered), wall


@given(clocks, clocks, st.integers(0, 1439))
def test_quiet_hours_leave_the_rest_of_a_working_day(begins: str, ends: str, minute: int) -> None:
    quiet = (begins <= f"{minute // 60:02d}:{minute % 60:02d}" < ends) if begins <= ends else (
        f"{minute // 60:02d}:{minute % 60:02d}" >= begins or f"{minute // 60:02d}:{minute % 60:02d}" < ends
    )  # fmt: skip
    now = at(f"2026-03-03 {minute // 60:02d}:{minute % 60:02d}")
    assert hours_of({"time_zone": CHICAGO}).may_tell(now, {"begins": begins, "ends": ends}) is not quiet


@pytest.mark.parametrize(("change", "field"), [
    ({"shifts": []}, "shifts"), ({"shifts": [{"days": [], "begins": "06:00", "ends": "14:00"}]}, "shifts.0.days"),
    ({"shifts": [{"days": ["monday"], "begins": "06:00", "ends": "14:00"}]}, "shifts.0.days.0"),
    ({"shifts": [{"days": ["mon"], "begins": "6:00", "ends": "14:00"}]}, "shifts.0.begins"),
    ({"shifts": [{"days": ["mon"], "begins": "06:00", "ends": "24:00"}]}, "shifts.0.ends"),
    ({"reminders": {"round_by": "nine"}}, "reminders.round_by"), ({"reminders": {"tag_days": 0}}, "reminders.tag_days"),
    ({"reminders": {"nightly": True}}, "reminders.nightly"),
])  # fmt: skip
def test_a_calendar_that_is_none_is_refused_by_field(shop: Shop, change: dict[str, Any], field: str) -> None:
    from webapp.database import writing
    from webapp.security.devices import let_owner_in

    with shop.app.app_context(), writing() as session:
        let_owner_in(session, shop.device, shop.owner)
    (row,) = shop.get("/definitions/shop").get_json()
    body = {key: value for key, value in row.items() if key not in ("id", "revision", "retired")} | change
    headers = shop.headers() | {"If-Match": f'"{row["revision"]}"'}
    answer = shop.app.test_client().put(f"/api/v1/definitions/shop/{row['id']}", json=body, headers=headers)
    assert field in {fault["field"] for fault in assert_problem(answer, 422)["errors"]}
