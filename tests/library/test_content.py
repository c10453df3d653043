"""What every machine file of the library must hold: short checks, stop checks first, a reason and a source each."""

from __future__ import annotations

import re
from datetime import date
from math import isclose
from typing import Any

import pytest

from tests.library.every import (
    KEYS,
    STARTERS,
    checks,
    each_check,
    each_list,
    each_machine,
    each_said,
    rules,
)
from webapp import library
from webapp.core.due import validate
from webapp.library.shapes import Check, Checklist, Starter

WANTED = {
    *("cnc_mill", "manual_mill", "lathe", "band_saw", "cold_saw", "belt_sander", "bench_grinder", "blast_cabinet"),
    *("dust_collector", "compressor_receiver", "air_gun", "ultrasonic_cleaner", "tumbler", "fixtures_clamps", "vices"),
    *("touch_probe", "numbered_cutters", "gauges_pins", "guards_stops", "extinguisher", "eyewash", "first_aid_kit"),
    "protective_equipment",
}
RUN_BY_HAND = {"extinguisher", "eyewash", "first_aid_kit", "guards_stops"}
"""Not started in the morning: they have weekly or periodic rounds only."""

SOURCES = re.compile(
    r"29 CFR 1910\.\d+|WAC 296-|Mich\. R 325\.|ANSI(/ISEA)? Z\d+|HSE metalworking fluid guidance|hse\.gov\.uk"
    r"|NIOSH (98-102|2004-101)|OSHA (memo|STD)|COSHH Schedule 4|NFPA 484|Aluminum Association|fws\.gov"
    r"|[a-z]+\.(com|aero)\b|ISO \d+|common practice|no figure of ours|local pressure-vessel code"
)
UNCONFIRMED = re.compile(
    r"Z358\.1|COSHH|NFPA|more than 20 %|from memory|second-hand|1910\.94\(a\)\(7\)|1910\.37|1910\.212\(b\)"
    r"|1910\.157\((e\)\(4|f|g)\)"
)
"""What was not seen at its primary text; 29 CFR 1910.212(b) and 1910.37 are from memory."""


def test_the_shop_s_machines_are_all_there() -> None:
    assert set(KEYS) == WANTED


@each_said
def test_says_from_where(said: Any) -> None:
    assert SOURCES.search(said.source), f"{said.source!r} names no source and does not say that there is none"


@each_machine
def test_every_check_and_task_says_why(starter: Starter) -> None:
    for said in (*checks(starter), *starter.tasks):
        assert len(said.why.split()) >= 2, said.key


@each_said
def test_what_was_not_seen_at_its_source_says_so(said: Any) -> None:
    if UNCONFIRMED.search(said.source):
        assert "commonly cited, confirm" in said.source


@each_said
def test_gives_no_verdict(said: Any) -> None:
    words = " ".join(str(getattr(said, name, "")) for name in ("name", "text", "how", "why", "source", "steps"))
    assert not re.search(r"\b(safe|safely|compliant|compliance|guaranteed)\b", words, re.IGNORECASE)


@each_check
def test_a_check_is_short_and_plain(line: Check) -> None:
    assert len(line.text) <= 60
    assert len(line.how) <= 170 and "\n" not in line.how
    assert len(line.why) <= 140
    assert not line.text.endswith(".")


@each_check
def test_a_check_asks_for_what_it_can_take(line: Check) -> None:
    assert (line.answer == "reading") == (line.unit is not None)
    assert (line.answer == "choice") == (line.choices is not None)
    assert line.quantity or line.answer != "reading"
    if line.band:
        assert line.answer == "reading"
        assert line.stop == (line.band.stop_low is not None or line.band.stop_high is not None)
    if line.choices:
        assert {choice.ok for choice in line.choices} == {True, False}


@each_list
def test_a_list_holds_few_checks_the_stops_first(checklist: Checklist) -> None:
    """5 to 9 items to a pause point, the critical ones first: Gawande, NASA CR-177549."""
    assert len(checklist.checks) in range(5 if checklist.form == "start-up" else 4, 10)
    stops = [line.stop for line in checklist.checks]
    assert stops == sorted(stops, reverse=True)
    assert stops[0] or checklist.form != "start-up"


@each_machine
def test_the_daily_round_is_linked_to_its_start_up_list(starter: Starter) -> None:
    lists = {one.key for one in starter.checklists if one.form == "start-up"}
    daily = {one.checklist for one in starter.tasks if one.rule == {"each": "start-up"}}
    assert daily == lists
    assert bool(lists) == (starter.key not in RUN_BY_HAND)


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize("key", KEYS)
def test_every_due_rule_can_be_read(key: str, units: library.Units) -> None:
    made = library.instantiate(key, "X", None, iter(map(str, range(999))).__next__, start=date(2027, 1, 4), units=units)
    for type_, body in made:
        if type_ == "task":
            validate(body["rule"], "America/New_York")


def test_every_form_of_rule_is_used() -> None:
    used = {key for starter in STARTERS for rule in rules(starter) for key in rule}
    assert {"every", "rrule", "meter", "each", "after", "when", "part", "at", "days"} <= used
    assert any("first_of" in task.rule for starter in STARTERS for task in starter.tasks)


def test_every_caution_is_used() -> None:
    used = {key for starter in STARTERS for key in starter.cautions}
    used |= {key for starter in STARTERS for task in starter.tasks for key in task.cautions}
    used |= {line.caution for starter in STARTERS for line in checks(starter) if line.caution}
    assert set(library.cautions()) == used


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize("key", KEYS)
def test_a_condition_rule_acts_where_its_band_acts(key: str, units: library.Units) -> None:
    """Otherwise the round says "within" while the task says "due", or the other way round."""
    starter = library.machine(key, units)
    for when in [rule["when"] for rule in rules(starter) if "when" in rule]:
        bands = [line.band for line in checks(starter) if line.quantity == when["reading"] and line.band]
        assert bands
        for band in bands:
            assert when.get("below", band.act_low) == band.act_low
            assert when.get("above", band.act_high) == band.act_high


@each_machine
def test_a_fluid_and_the_check_of_it_agree(starter: Starter) -> None:
    for fluid in starter.fluids:
        for line in checks(starter):
            if fluid.quantity and line.quantity == fluid.quantity:
                assert (line.band, line.factor) == (fluid.band, fluid.factor)


# Inch, pound and gallon by definition (25.4 mm, 0.45359237 kg, 3.785411784 L); inch of water 249.089 Pa: NIST SP 811,
# from memory.
METRIC = {
    ("in", "mm"): 25.4,
    ("psi", "bar"): 0.0689476,
    ("kpsi", "MPa"): 6.89476,
    ("in H2O", "Pa"): 249.089,
    ("lbf ft", "N m"): 1.355818,
    ("gal/min", "L/min"): 3.785412,
    ("sq in", "sq cm"): 6.4516,
    ("gal", "L"): 3.785412,
}


@pytest.mark.parametrize("key", KEYS)
def test_metric_limits_are_those_of_the_inch_shop(key: str) -> None:
    """To the tenth that a rounded limit may differ."""
    for line in checks(library.machine(key)):
        other = next(one for one in checks(library.machine(key, "metric")) if one.key == line.key)
        if line.band is None or other.band is None or line.unit == other.unit:
            assert line.unit != other.unit or line.band == other.band
            continue
        for name in ("stop_low", "act_low", "target", "act_high", "stop_high"):
            ours, theirs = getattr(line.band, name), getattr(other.band, name)
            assert (ours is None) == (theirs is None)
            if ours is not None:
                assert isclose(_metric(ours, line.unit, other.unit), theirs, rel_tol=0.1, abs_tol=1e-9)


def _metric(value: float, unit: str | None, other: str | None) -> float:
    return (value - 32) / 1.8 if unit == "°F" else value * METRIC[unit or "", other or ""]


@pytest.mark.parametrize("key", KEYS)
def test_metric_amounts_are_those_of_the_inch_shop(key: str) -> None:
    us, metric = library.machine(key), library.machine(key, "metric")
    for ours, theirs in zip(us.fluids, metric.fluids, strict=True):
        assert isclose(ours.capacity * METRIC[ours.unit, theirs.unit], theirs.capacity, rel_tol=0.1)
    changed = {one.kind for one, other in zip(us.meters, metric.meters, strict=True) if one.unit != other.unit}
    for ours, theirs in zip(rules(us), rules(metric), strict=True):
        if ours.get("meter") in changed:
            pair = zip(_amounts(ours), _amounts(theirs), strict=True)
            assert all(isclose(own * METRIC["sq in", "sq cm"], other, rel_tol=0.05) for own, other in pair)


def _amounts(rule: dict[str, Any]) -> list[float]:
    return rule.get("at") or [rule["every"]]
