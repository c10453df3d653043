"""The recurrence examples printed in RFC 5545, section 3.8.5.3, in America/New_York at 09:00."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from webapp.core.recurrence import expand, occurrences

NEW_YORK = "America/New_York"

# name, rule, DTSTART (day), how far to look, the days as the RFC prints them: (year, month, days…)
EXAMPLES: list[tuple[str, str, str, str, list[tuple[int, ...]]]] = [
    (
        "every 10 days, 5 times",
        "FREQ=DAILY;INTERVAL=10;COUNT=5",
        "1997-09-02",
        "1999-12-31",
        [(1997, 9, 2, 12, 22), (1997, 10, 2, 12)],
    ),
    (
        "weekly, 10 times",
        "FREQ=WEEKLY;COUNT=10",
        "1997-09-02",
        "1999-12-31",
        [(1997, 9, 2, 9, 16, 23, 30), (1997, 10, 7, 14, 21, 28), (1997, 11, 4)],
    ),
    (
        "every other week on Monday, Wednesday and Friday until 24 December",
        "FREQ=WEEKLY;INTERVAL=2;UNTIL=19971224T000000Z;WKST=SU;BYDAY=MO,WE,FR",
        "1997-09-01",
        "1999-12-31",
        [
            (1997, 9, 1, 3, 5, 15, 17, 19, 29),
            (1997, 10, 1, 3, 13, 15, 17, 27, 29, 31),
            (1997, 11, 10, 12, 14, 24, 26, 28),
            (1997, 12, 8, 10, 12, 22),
        ],
    ),
    (
        "every other week on Tuesday and Thursday, 8 times",
        "FREQ=WEEKLY;INTERVAL=2;COUNT=8;WKST=SU;BYDAY=TU,TH",
        "1997-09-02",
        "1999-12-31",
        [(1997, 9, 2, 4, 16, 18, 30), (1997, 10, 2, 14, 16)],
    ),
    (
        "monthly on the first Friday, 10 times",
        "FREQ=MONTHLY;COUNT=10;BYDAY=1FR",
        "1997-09-05",
        "1999-12-31",
        [
            (1997, 9, 5),
            (1997, 10, 3),
            (1997, 11, 7),
            (1997, 12, 5),
            (1998, 1, 2),
            (1998, 2, 6),
            (1998, 3, 6),
            (1998, 4, 3),
            (1998, 5, 1),
            (1998, 6, 5),
        ],
    ),
    (
        "monthly on the first Friday until 24 December",
        "FREQ=MONTHLY;UNTIL=19971224T000000Z;BYDAY=1FR",
        "1997-09-05",
        "1999-12-31",
        [(1997, 9, 5), (1997, 10, 3), (1997, 11, 7), (1997, 12, 5)],
    ),
    (
        "every other month on the first and last Sunday, 10 times",
        "FREQ=MONTHLY;INTERVAL=2;COUNT=10;BYDAY=1SU,-1SU",
        "1997-09-07",
        "1999-12-31",
        [(1997, 9, 7, 28), (1997, 11, 2, 30), (1998, 1, 4, 25), (1998, 3, 1, 29), (1998, 5, 3, 31)],
    ),
    (
        "monthly on the second-to-last Monday, 6 times",
        "FREQ=MONTHLY;COUNT=6;BYDAY=-2MO",
        "1997-09-22",
        "1999-12-31",
        [(1997, 9, 22), (1997, 10, 20), (1997, 11, 17), (1997, 12, 22), (1998, 1, 19), (1998, 2, 16)],
    ),
    (
        "monthly on the third-to-last day",
        "FREQ=MONTHLY;BYMONTHDAY=-3",
        "1997-09-28",
        "1998-02-28",
        [(1997, 9, 28), (1997, 10, 29), (1997, 11, 28), (1997, 12, 29), (1998, 1, 29), (1998, 2, 26)],
    ),
    (
        "every third year on the 1st, 100th and 200th day, 10 times",
        "FREQ=YEARLY;INTERVAL=3;COUNT=10;BYYEARDAY=1,100,200",
        "1997-01-01",
        "2010-12-31",
        [
            (1997, 1, 1),
            (1997, 4, 10),
            (1997, 7, 19),
            (2000, 1, 1),
            (2000, 4, 9),
            (2000, 7, 18),
            (2003, 1, 1),
            (2003, 4, 10),
            (2003, 7, 19),
            (2006, 1, 1),
        ],
    ),
    (
        "every 20th Monday of the year",
        "FREQ=YEARLY;BYDAY=20MO",
        "1997-05-19",
        "1999-12-31",
        [(1997, 5, 19), (1998, 5, 18), (1999, 5, 17)],
    ),
    (
        "Monday of week 20",
        "FREQ=YEARLY;BYWEEKNO=20;BYDAY=MO",
        "1997-05-12",
        "1999-12-31",
        [(1997, 5, 12), (1998, 5, 11), (1999, 5, 17)],
    ),
    (
        "every Thursday in March",
        "FREQ=YEARLY;BYMONTH=3;BYDAY=TH",
        "1997-03-13",
        "1999-12-31",
        [(1997, 3, 13, 20, 27), (1998, 3, 5, 12, 19, 26), (1999, 3, 4, 11, 18, 25)],
    ),
    (
        "the third instance of Tuesday, Wednesday or Thursday, 3 times",
        "FREQ=MONTHLY;COUNT=3;BYDAY=TU,WE,TH;BYSETPOS=3",
        "1997-09-04",
        "1999-12-31",
        [(1997, 9, 4), (1997, 10, 7), (1997, 11, 6)],
    ),
    (
        "the second-to-last weekday of the month",
        "FREQ=MONTHLY;BYDAY=MO,TU,WE,TH,FR;BYSETPOS=-2",
        "1997-09-29",
        "1998-03-31",
        [(1997, 9, 29), (1997, 10, 30), (1997, 11, 27), (1997, 12, 30), (1998, 1, 29), (1998, 2, 26), (1998, 3, 30)],
    ),
    (
        "every Friday the 13th (the RFC leaves DTSTART out by EXDATE; here it does not match the rule)",
        "FREQ=MONTHLY;BYDAY=FR;BYMONTHDAY=13",
        "1997-09-02",
        "2000-12-31",
        [(1998, 2, 13), (1998, 3, 13), (1998, 11, 13), (1999, 8, 13), (2000, 10, 13)],
    ),
]


@pytest.mark.parametrize(("name", "rule", "start", "end", "days"), EXAMPLES, ids=[row[0] for row in EXAMPLES])
def test_the_printed_dates(name: str, rule: str, start: str, end: str, days: list[tuple[int, ...]]) -> None:
    expected = [date(year, month, day) for year, month, *each in days for day in each]
    body = {"rrule": rule, "anchor": f"{start}T09:00"}
    assert expand(body, NEW_YORK, date.fromisoformat(start), date.fromisoformat(end)) == expected


def test_nine_in_the_morning_stays_nine_when_the_clocks_change() -> None:
    """The RFC prints EDT up to 21 October 1997 and EST from 28 October."""
    body = {"rrule": "FREQ=WEEKLY;COUNT=10", "anchor": "1997-09-02T09:00"}
    shown = occurrences(body, NEW_YORK, date(1997, 9, 1), date(1997, 12, 1))
    assert {moment.hour for moment in shown} == {9}
    assert [moment.utcoffset() for moment in shown] == [timedelta(hours=-4)] * 8 + [timedelta(hours=-5)] * 2


@pytest.mark.parametrize(
    ("zone", "first", "change", "before", "after"),
    [
        # United States 2024: clocks back on 3 November, forward on 10 March.
        (NEW_YORK, "2024-11-01", "2024-11-03", -4, -5),
        (NEW_YORK, "2024-03-08", "2024-03-10", -5, -4),
        # European Union 2027: clocks forward on 28 March, back on 31 October.
        ("Europe/Berlin", "2027-03-26", "2027-03-28", 1, 2),
        ("Europe/Berlin", "2027-10-29", "2027-10-31", 2, 1),
    ],
)
def test_daily_over_a_change_of_the_clocks(zone: str, first: str, change: str, before: int, after: int) -> None:
    start = date.fromisoformat(first)
    body = {"rrule": "FREQ=DAILY;COUNT=5", "anchor": f"{first}T09:00"}
    shown = occurrences(body, zone, start, start + timedelta(days=9))
    assert [moment.date() for moment in shown] == [start + timedelta(days=count) for count in range(5)]
    for moment in shown:
        hours = before if moment.date().isoformat() < change else after
        assert (moment.hour, moment.utcoffset()) == (9, timedelta(hours=hours))


def test_a_time_that_the_clocks_leave_out_is_read_with_the_offset_before() -> None:
    """RFC 5545, 3.3.5: 02:30 on 10 March 2024 does not exist in New York and means 03:30 EDT."""
    body = {"rrule": "FREQ=DAILY;COUNT=3", "anchor": "2024-03-09T02:30"}
    shown = occurrences(body, NEW_YORK, date(2024, 3, 9), date(2024, 3, 12))
    assert [moment.isoformat() for moment in shown] == [
        "2024-03-09T02:30:00-05:00",
        "2024-03-10T03:30:00-04:00",
        "2024-03-11T02:30:00-04:00",
    ]


def test_a_day_whose_midnight_is_left_out_keeps_its_date() -> None:
    """IANA: in Santiago the clocks go from 24:00 on 4 September 2027 to 01:00; a date must not slip by that."""
    body = {"rrule": "FREQ=DAILY;COUNT=3", "anchor": "2027-09-04"}
    shown = expand(body, "America/Santiago", date(2027, 9, 1), date(2027, 9, 9))
    assert shown == [date(2027, 9, 4), date(2027, 9, 5), date(2027, 9, 6)]


def test_a_day_that_a_month_lacks_is_skipped() -> None:
    """RFC 5545, 3.3.10: invalid dates are ignored, not moved."""
    body = {"rrule": "FREQ=MONTHLY;BYMONTHDAY=31", "anchor": "2027-01-31"}
    shown = expand(body, NEW_YORK, date(2027, 1, 1), date(2027, 6, 30))
    assert shown == [date(2027, 1, 31), date(2027, 3, 31), date(2027, 5, 31)]


def test_a_leap_day_comes_every_four_years_and_not_in_2100() -> None:
    body = {"rrule": "FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=29", "anchor": "2088-02-29"}
    shown = expand(body, NEW_YORK, date(2088, 1, 1), date(2110, 1, 1))
    assert [day.year for day in shown] == [2088, 2092, 2096, 2104, 2108]
