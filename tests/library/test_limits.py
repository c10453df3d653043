"""The exposure limits: each with authority, averaging time, fraction, unit, source and date; looked up by form."""

from __future__ import annotations

import re
from datetime import date

import pytest

from webapp.core.limits import Limit, look_up
from webapp.core.problems import LimitError
from webapp.core.sources import Source
from webapp.library import limits as library_limits
from webapp.library.limits import authorities, limits, limits_for, substances
from webapp.library.reading import LibraryError

ON = date(2026, 11, 25)
each_limit = pytest.mark.parametrize(
    "limit", limits(), ids=[f"{one.substance}-{one.form}-{one.authority}-{one.kind}-{one.value}" for one in limits()]
)
SEEN = Source("here", "A print", "a publisher", "2026", "seen")


@each_limit
def test_a_limit_lacks_nothing(limit: Limit) -> None:
    assert limit.source.text and limit.source.where and re.search(r"\d{4}", limit.source.dated)
    assert limit.unit in ("mg/m3", "ug/m3") and limit.value > 0
    assert limit.authority in authorities() and limit.form in substances()[limit.substance].forms
    assert limit.fraction in ("total", "inhalable", "thoracic", "respirable", "not stated")
    assert {"twa": (480, 600), "stel": (15,), "ceiling": (0, 15), "action": (480,)}[limit.kind].count(
        limit.minutes
    ) == 1
    for day in (limit.since, limit.until):
        assert day is None or date.fromisoformat(day)


@each_limit
def test_a_limit_that_was_not_read_at_its_source_says_so(limit: Limit) -> None:
    said = limit.source.said()
    assert ("confirm" in said) == (limit.source.mark != "seen")


def test_no_limit_is_from_memory() -> None:
    assert [one for one in limits() if one.source.mark == "from memory"] == []


def test_action_levels_lie_below_their_limits() -> None:
    for action in (one for one in limits() if one.kind == "action"):
        average = [
            one
            for one in limits()
            if (one.substance, one.form, one.authority, one.kind)
            == (action.substance, action.form, action.authority, "twa")
        ]
        assert average and action.milligrams < average[0].milligrams


def test_an_action_level_never_counts_as_the_strictest_limit() -> None:
    for one in limits_for("beryllium", "dust", [], ON).strictest:
        assert one.kind != "twa" or one.milligrams in (0.00014, 0.00006)


def test_the_shop_sees_its_own_and_the_strictest_beside() -> None:
    answer = limits_for("nickel", "dust", ["us_osha", "us_niosh"], ON)
    assert [(one.authority, one.value) for one in answer.chosen] == [("us_osha", 1), ("us_niosh", 0.015)]
    assert [(one.sampled, one.authority) for one in answer.strictest] == [
        ("whole", "us_niosh"),
        ("respirable", "de_trgs900"),
    ]


def test_a_form_never_stands_in_for_another() -> None:
    assert {one.value for one in limits_for("copper", "fume", ["us_osha"], ON).chosen} == {0.1}
    assert {one.value for one in limits_for("copper", "dust", ["us_osha"], ON).chosen} == {1}
    with pytest.raises(LimitError, match="Choose one of: dust, fume"):
        limits_for("copper", "mist", ["us_osha"], ON)


def test_a_limit_printed_for_all_forms_goes_for_each() -> None:
    dust, fume = (limits_for("lead", form, ["us_osha"], ON).chosen for form in ("dust", "fume"))
    assert dust == fume and {one.kind for one in dust} == {"twa", "action"}


def test_an_authority_without_a_limit_is_named() -> None:
    answer = limits_for("copper", "fume", ["us_osha", "uk_hse"], ON)
    assert answer.silent == ("uk_hse",)


def test_a_limit_applies_from_its_day_and_until_its_day() -> None:
    before, on, after = (
        limits_for("beryllium", "dust", ["eu"], day) for day in (date(2026, 7, 10), date(2026, 7, 11), ON)
    )
    assert [one.value for one in before.chosen] == [0.0006] and [one.value for one in before.coming] == [0.0002]
    assert [one.value for one in on.chosen] == [one.value for one in after.chosen] == [0.0002]
    assert after.coming == ()
    assert [one.value for one in limits_for("cadmium", "dust", ["eu"], ON).coming] == [0.001]


def test_equal_limits_stand_together() -> None:
    strictest = limits_for("tellurium", "dust", [], ON).strictest
    assert {one.authority for one in strictest} == {"us_osha", "us_calosha", "us_niosh", "us_acgih"}


def test_units_are_compared_in_milligrams() -> None:
    def limit(authority: str, value: float, unit: str) -> Limit:
        return Limit("x", "dust", authority, "twa", value, unit, 480, "total", SEEN)

    found = look_up([limit("a", 0.3, "mg/m3"), limit("b", 200, "ug/m3")], "x", "dust", ["a"], "2026-11-25")
    assert [one.authority for one in found.strictest] == ["b"]


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: limits_for("unobtainium", "dust", [], ON), "substance"),
        (lambda: limits_for("copper", "vapour", [], ON), "form"),
        (lambda: limits_for("copper", "dust", ["the boss"], ON), "authority"),
    ],
)
def test_what_is_not_there_is_refused(call, field: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(LimitError) as error:
        call()
    assert error.value.field == field and error.value.mend


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('authority = "us_osha"', 'authority = "osha"', "authority 'osha' is not described"),
        ('form = "fume"', 'form = "smoke"', "form 'smoke' is not described"),
        ("value = 0.1", "value = 0", "write a number above 0"),
        ("value = 0.1", "value = -0.1", "write a number above 0"),
        (', unit = "mg/m3"', "", "unit: is missing"),
        (", minutes = 480", "", "minutes: is missing"),
        (', source = "osha_z1"', "", "source: is missing"),
        ('unit = "mg/m3"', 'unit = "ppm"', "use one of mg/m3, ug/m3"),
    ],
)
def test_a_bad_limit_is_refused_with_its_place(tmp_path, monkeypatch, old: str, new: str, said: str) -> None:  # type: ignore[no-untyped-def]
    text = library_limits.PATH.read_text("utf-8")
    assert old in text
    path = tmp_path / "limits.toml"
    path.write_text(text.replace(old, new, 1), "utf-8")
    monkeypatch.setattr(library_limits, "PATH", path)
    for cached in (library_limits._read, limits, authorities, substances):
        cached.cache_clear()
    try:
        with pytest.raises(LibraryError, match=said):
            limits()
    finally:
        monkeypatch.undo()
        for cached in (library_limits._read, limits, authorities, substances):
            cached.cache_clear()
