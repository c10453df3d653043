"""Times on the wire: RFC 3339 with an offset, and nothing else."""

from __future__ import annotations

from contextlib import suppress
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from webapp.core.instants import InstantError, instant_text, parse_instant, shop_date


# RFC 3339, section 5.8.
@pytest.mark.parametrize(
    ("text", "utc"),
    [
        ("1985-04-12T23:20:50.52Z", "1985-04-12T23:20:50.520Z"),
        ("1996-12-19T16:39:57-08:00", "1996-12-20T00:39:57.000Z"),
        ("1990-12-31T23:59:60Z", "1991-01-01T00:00:00.000Z"),
        ("1990-12-31T15:59:60-08:00", "1991-01-01T00:00:00.000Z"),
        ("1937-01-01T12:00:27.87+00:20", "1937-01-01T11:40:27.870Z"),
    ],
)
def test_the_examples_of_rfc_3339(text: str, utc: str) -> None:
    assert instant_text(parse_instant(text)) == utc


def test_a_millisecond_stamp_of_rfc_9562() -> None:
    """Appendix A.6: 2022-02-22 14:22:22 -05:00 is 1645557742000 ms."""
    assert parse_instant("2022-02-22T14:22:22-05:00") == 1_645_557_742_000
    assert instant_text(1_645_557_742_000) == "2022-02-22T19:22:22.000Z"


def test_finer_than_a_millisecond_is_cut_off() -> None:
    assert parse_instant("2027-03-02T06:58:11.1209999Z") == parse_instant("2027-03-02T06:58:11.120Z")


def test_lower_case_and_an_unknown_offset_are_read() -> None:
    assert parse_instant("2027-03-02t06:58:11z") == parse_instant("2027-03-02T06:58:11-00:00")


@pytest.mark.parametrize(
    "text",
    [
        "",
        "yesterday",
        "2027-03-02",
        "2027-03-02T06:58:11",
        "2027-03-02T06:58Z",
        "2027-03-02 06:58:11Z",
        "2027-W09-2T06:58:11Z",
        "20270302T065811Z",
        "2027-02-29T06:58:11Z",
        "2027-03-02T24:00:00Z",
        "2027-03-02T06:58:61Z",
        "2027-03-02T06:58:11+24:00",
        "2027-03-02T06:58:11+05:60",
        "2027-03-02T06:58:11+0500",
        "2027-03-02T06:58:11.Z",
        "0001-01-01T00:00:00+14:00",
        "9999-12-31T23:59:59-14:00",
        "２０２７-03-02T06:58:11Z",
        "2027-03-02T06:58:11Z\n",
    ],
)
def test_anything_else_is_refused_with_a_mend(text: str) -> None:
    with pytest.raises(InstantError) as refused:
        parse_instant(text, "sent_at")
    assert refused.value.field == "sent_at"
    assert refused.value.mend.endswith(".")


@given(st.text(max_size=30))
def test_any_text_is_read_or_refused_and_nothing_else(text: str) -> None:
    with suppress(InstantError):
        parse_instant(text)


@given(st.integers(-2_208_988_800_000, 253_300_000_000_000))
def test_there_and_back(ms: int) -> None:
    assert parse_instant(instant_text(ms)) == ms


@given(st.datetimes(datetime(1901, 1, 1), datetime(9998, 1, 1)), st.integers(-23 * 60, 23 * 60).map(lambda m: m * 60))
def test_it_agrees_with_the_standard_library(moment: datetime, offset: int) -> None:
    sign, size = ("-" if offset < 0 else "+"), abs(offset) // 60
    text = f"{moment.isoformat(timespec='microseconds')}{sign}{size // 60:02d}:{size % 60:02d}"
    expected = datetime.fromisoformat(text).astimezone(UTC).isoformat(timespec="milliseconds")
    assert instant_text(parse_instant(text)) == expected.replace("+00:00", "Z")


def test_the_shops_date_is_by_its_own_wall() -> None:
    late_evening = parse_instant("2027-03-02T23:30:00-05:00")
    assert shop_date(late_evening, "America/New_York").isoformat() == "2027-03-02"
    assert shop_date(late_evening, "Europe/Berlin").isoformat() == "2027-03-03"
