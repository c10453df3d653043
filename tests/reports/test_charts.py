"""Charts and photos on paper: figures with words in their place, drawn to scale, in memory that does not grow."""

from __future__ import annotations

import hashlib
import io
import random
import re
from datetime import date, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from tests.conftest import Shop
from tests.reports.conftest import Told, at, read, round_of, structure, words
from tests.reports.test_binder import MARCH, bound
from webapp.history.span import Span as Judged
from webapp.reports import punctuality
from webapp.reports.entries import Span
from webapp.reports.pictures import HIGH, WIDE, placed, small
from webapp.reports.scales import along, upright
from webapp.reports.traces import COLUMNS, Trace

ZONE = "America/Chicago"


@given(st.lists(st.floats(-1e6, 1e6).map(lambda one: round(one, 3)), min_size=1, max_size=30), st.booleans())
@settings(max_examples=200, deadline=None)
def test_the_side_axis_holds_every_value_between_few_round_ticks(values: list[float], from_zero: bool) -> None:
    scale = upright(values, from_zero=from_zero)
    slack = 1e-9 * max(1.0, *(abs(value) for value in values))
    assert scale.low - slack <= min(values) and max(values) <= scale.high + slack
    assert 2 <= len(scale.ticks) <= 9
    if from_zero:
        assert scale.low <= slack and scale.high >= -slack
    words_ = [told for _, told in scale.ticks]
    assert len(set(words_)) == len(words_), "no two ticks are called the same"


@pytest.mark.parametrize(("low", "high", "ticks"), [
    (0, 10, ["0", "2", "4", "6", "8", "10"]), (6.3, 9.2, ["6", "7", "8", "9", "10"]), (1000, 1000, ["900", "950", "1,000", "1,050", "1,100"]),
    (0.002, 0.0147, ["0.000", "0.005", "0.010", "0.015"]),
])  # fmt: skip
def test_ticks_stand_at_round_figures(low: float, high: float, ticks: list[str]) -> None:
    assert [told.rstrip() for _, told in upright([low, high]).ticks] == ticks


@given(st.dates(date(2001, 1, 1), date(2199, 1, 1)), st.integers(0, 4000))
@settings(max_examples=100, deadline=None)
def test_the_foot_axis_has_at_most_nine_days_each_a_midnight_of_the_shop(first: date, days: int) -> None:
    scale = along(first, min(first + timedelta(days=days), date(2199, 12, 31)), ZONE)
    assert len(scale.ticks) <= 9
    for ms, told in scale.ticks:
        assert scale.low <= ms < scale.high and told
        from datetime import datetime

        wall = datetime.fromtimestamp(ms / 1000, ZoneInfo(ZONE))
        assert (wall.hour, wall.minute) == (0, 0)


def test_a_trace_keeps_its_ends_and_peaks_in_bounded_memory() -> None:
    """A hundred thousand readings leave no more than four a column, the highest and the lowest of all among them."""
    span, chance = Span(date(2016, 1, 1), date(2025, 12, 31), ZONE), random.Random(7)
    trace, all_ = Trace(span, "%"), []
    step = (span.end_ms - span.start_ms) // 100_000
    for number in range(100_000):
        row = (span.start_ms + number * step, chance.gauss(8, 1))
        all_.append(row)
        trace.add(*row, outside=row[1] < 6)
    kept = list(trace.points())
    assert len(kept) <= 4 * COLUMNS and kept == sorted(kept)
    drawn = {(ms, value) for ms, value, _ in kept}
    assert {all_[0], all_[-1], min(all_, key=lambda one: one[1]), max(all_, key=lambda one: one[1])} <= drawn
    assert trace.whole.count == 100_000 == sum(one.count for one in trace.periods.values())
    assert trace.whole.outside == sum(value < 6 for _, value in all_)
    assert [year for year, month in trace.periods if month == 0] == list(range(2016, 2026)), (
        "ten years are told by year"
    )


def figures(reader: Any) -> list[str]:
    return [str(element["/Alt"]) for role, element in structure(reader) if role == "Figure"]


def test_what_was_read_twice_is_a_chart_with_words_and_figures(told: Told) -> None:
    shop = told[0]
    shop.push(*(round_of(shop, day, strength=value) for day, value in ((22, 7), (23, 8.5), (24, 5.5))))
    reader = read(bound(shop)[0])
    alts = [alt for alt in figures(reader) if alt.startswith("Line chart of coolant strength at Mill")]
    assert len(alts) == 1
    assert "lowest 5.25 %" in alts[0] and "highest 8.5 %" in alts[0] and "2 outside their band" in alts[0]
    text = words(reader)
    trends = text.partition("Trends Readings as they were taken")[2]
    row = re.search(
        r"Lowest \(%\) Mean \(%\) Highest \(%\) Outside the band March 2026 (\d+) ([\d.]+) ([\d.]+) ([\d.]+) (\d+)",
        trends,
    )
    assert row is not None, trends[:600]
    assert (row[2], row[4], row[5]) == ("5.25", "8.5", "2")
    assert "act below 6" in trends and "target 8" in trends
    for element in (one for role, one in structure(reader) if role == "Figure"):
        left, low, right, high = (float(one) for one in element["/A"]["/BBox"])
        assert 0 < right - left <= 612 and 0 < high - low <= 792


def test_time_spent_is_told_by_month(told: Told) -> None:
    text = words(read(bound(told[0])[0]))
    found = re.search(r"Together \(h\) March 2026 (\d+) ([\d.]+) (\d+) ([\d.]+) ([\d.]+)", text)
    assert found is not None and (found[3], found[4]) == ("2", "0.2"), "12 and 3 minutes of tasks: 0.25 h"


def jpeg(width: int, height: int) -> bytes:
    out = io.BytesIO()
    Image.effect_mandelbrot((width, height), (-2, -1.5, 1, 1.5), 20).convert("RGB").save(out, "JPEG", quality=90)
    return out.getvalue()


def test_a_photo_stands_small_beside_its_entry_and_a_missing_one_is_said(shop: Shop) -> None:
    sent = jpeg(1600, 1200)
    sha = hashlib.sha256(sent).hexdigest()
    with shop.app.app_context():
        shop.app.extensions["wayround_photos"].put(sha, sent)
    lost = "ab" * 32
    shop.push(
        shop.entry("finding.opened", {"text": "Crack in the guard", "stop": False, "photo": sha}, at=at(1)),
        shop.entry("note.made", {"text": "Chips in the way cover", "photo": lost}, at=at(2)),
    )
    reader = read(bound(shop, MARCH)[0])
    pictures = [image.image for page in reader.pages for image in page.images]
    assert len(pictures) == 1 and pictures[0].size == (352, 264), "44 mm at 8 dots a mm"
    assert "Photo: Crack in the guard" in figures(reader)
    text = words(reader)
    assert f"photo {sha[:8]}" in text and f"Photo {lost[:8]}: not on the server when this was printed." in text


@pytest.mark.parametrize("size", [(4, 2000), (2000, 4), (1, 1), (2048, 1536)])
def test_pictures_of_any_shape_keep_to_their_room(size: tuple[int, int]) -> None:
    one = small(jpeg(*size))
    assert one is not None
    wide, high = placed(one)
    assert 0 < wide <= WIDE + 1e-9 and 0 < high <= HIGH + 1e-9
    assert small(b"no picture") is None


def test_the_share_on_time_is_summed_over_years_by_month_and_by_task(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What the history judges is tested with it; here its counts, a year at a time, become the binder's."""
    asked = []

    def judged(_session: Any, span: Judged) -> dict[str, Any]:
        asked.append((span.first, span.last))
        month = f"{span.first:%Y-%m}"
        return {"on_time": {
            "a": {"name": "Wipe the ways", "machine": shop.mill, "months": {month: [9, 1, 2]}, "late_since": None},
            "b": {"name": "Sweep", "machine": None, "months": {month: [0, 10, 0]}, "late_since": None},
        }}  # fmt: skip

    monkeypatch.setattr(punctuality, "document", judged)
    text = words(read(bound(shop, Span(date(2024, 2, 1), date(2026, 1, 31), ZONE))[0]))
    assert asked == [(date(2024, 2, 1), date(2025, 1, 31)), (date(2025, 2, 1), date(2026, 1, 31))]
    section = text.partition("Done on time Every task as its rule judged it")[2]
    assert "February 2024 9 11 2 45.0 February 2025 9 11 2 45.0" in section
    assert "the shop Sweep 0 20 0 0.0 Mill 1 Wipe the ways 18 2 4 90.0" in section, section[:900]
