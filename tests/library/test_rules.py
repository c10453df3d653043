"""Every hazard rule fires on its case and stays quiet on the nearest case that it must not."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Any

import pytest

from webapp import library
from webapp.core.alloys import Alloy, percents
from webapp.core.hazards import SIGNALS, TIERS, Demands, When, describe, fires, judge
from webapp.core.mixed_dust import dust
from webapp.core.problems import HazardError
from webapp.library.alloys import alloys, elements
from webapp.library.hazards import _rule, flags, measures, processes, protections, rules
from webapp.library.media import media
from webapp.library.reading import LibraryError


@dataclass(frozen=True)
class Work:
    """A case by the names that the library uses; an alloy of "" is an unknown metal."""

    process: str
    alloy: str = "C11000"
    medium: str | None = None
    last: tuple[str, ...] = ()
    surface: tuple[str, ...] = ()
    flags: tuple[str, ...] = ()
    measures: dict[str, float] = field(default_factory=dict)

    def judged(self) -> Demands:
        found = alloys()
        return judge(
            rules(),
            describe(
                self.process,
                found[self.alloy] if self.alloy else None,
                elements().values(),
                medium=self.medium,
                last=[found[one] for one in self.last],
                surface=self.surface,
                flags=self.flags,
                measures=self.measures,
            ),
        )


W = Work
# Rule: (its case, the nearest case on which it must be quiet).
CASES: dict[str, tuple[Work, Work]] = {
    "beryllium_abrasive": (W("dry_sand", "C17200"), W("dry_sand", "C17200", flags=("assessed",))),
    "beryllium_abrasive_assessed": (
        W("blast", "C17510", flags=("assessed",)),
        W("blast", "C11000", flags=("assessed",)),
    ),
    "beryllium_cutting": (W("mill", "C17510"), W("mill", "C18200")),
    "beryllium_cleaning": (W("sweep", "C17200"), W("vacuum", "C17200", flags=("hepa_vacuum",))),
    "beryllium_hot": (W("weld", "C17200"), W("weld", "C17200", flags=("assessed",))),
    "lead_abrasive": (W("dry_sand", "C36000"), W("dry_sand", "C26000")),
    "lead_cutting": (W("mill", "C36000"), W("mill", "C51000")),
    "lead_cleaning": (W("air_clean", "C93200"), W("vacuum", "C93200", flags=("hepa_vacuum",))),
    "lead_hot": (W("weld", "G12144"), W("weld", "G12150")),
    "vacuum_without_hepa": (W("vacuum", "C36000"), W("vacuum", "C36000", flags=("hepa_vacuum",))),
    "cadmium_alloy_hot": (W("weld", "C14300"), W("saw", "C14300")),
    "tellurium": (W("polish", "C14500"), W("polish", "C10100")),
    "nickel_abrasive": (W("grind", "S30400"), W("grind", "C65500")),
    "nickel_skin": (W("mill", "C97600"), W("mill", "C36000")),
    "chromium_six": (W("weld", "S30400"), W("weld", "G10180")),
    "chromium_grinding": (W("grind", "S31600"), W("grind", "T11302")),
    "cobalt_dust": (W("grind", "T11342"), W("grind", "T11302")),
    "arsenic_dust": (W("grind", "C64200"), W("saw", "C64200")),
    "manganese_fume": (W("weld", "C86300"), W("weld", "C67500")),
    "zinc_fume": (W("weld", "C26000"), W("weld", "C65500")),
    "galvanised": (W("weld", "G10180", surface=("zinc",)), W("saw", "G10180", surface=("zinc",))),
    "copper_dust": (W("dry_sand", "C11000"), W("wet_sand", "C11000")),
    "copper_fume": (W("weld", "C11000"), W("grind", "C11000")),
    "light_metal_dry": (W("dry_sand", "A96061"), W("wet_sand", "A96061")),
    "light_metal_after_iron": (W("dry_sand", "A96061", last=("G10180",)), W("dry_sand", "A96061", last=("A97075",))),
    "iron_after_light_metal": (W("grind", "S30400", last=("A96061",)), W("grind", "S30400", last=("C61400",))),
    "titanium_dust_then_sparks": (W("grind", "G10180", last=("R56400",)), W("grind", "R56400", last=("R56400",))),
    "one_collector_light": (
        W("polish", "A96061", flags=("shared_collector",)),
        W("polish", "C11000", flags=("shared_collector",)),
    ),
    "wet_light_metal_hydrogen": (
        W("wet_sand", "A96061", flags=("wet_collector",)),
        W("wet_sand", "S30400", flags=("wet_collector",)),
    ),
    "water_on_dry_light_metal": (W("wet_sand", "M11311", flags=("dry_dust_inside",)), W("wet_sand", "M11311")),
    "magnesium_cutting": (W("drill", "M11311"), W("drill", "A96061")),
    "magnesium_water": (W("mill", "M11916", flags=("water_near",)), W("mill", "A96061", flags=("water_near",))),
    "titanium_cutting": (W("turn", "R56400"), W("turn", "S32100")),
    "vacuum_light_metal": (W("vacuum", "A96061"), W("vacuum", "A96061", flags=("sealed_vacuum",))),
    "air_on_light_metal": (W("air_clean", "A96061"), W("air_clean", "C11000")),
    "gloves_rotating": (W("drill", flags=("gloves",)), W("deburr", flags=("gloves",))),
    "air_too_high": (W("air_clean", measures={"air_psi": 30}), W("air_clean", measures={"air_psi": 29.9})),
    "air_unguarded": (W("air_clean", flags=("no_chip_guard",)), W("air_clean")),
    "air_on_person": (W("air_clean", flags=("on_person",)), W("vacuum", flags=("on_person",))),
    "air_cleaning": (W("air_clean"), W("vacuum")),
    "sweeping": (W("sweep"), W("vacuum")),
    "sanding": (W("dry_sand"), W("wet_sand")),
    "wet_residue": (W("wet_sand"), W("dry_sand")),
    "coolant_mist": (W("mill"), W("mill", flags=("dry_cutting",))),
    "blasting": (W("blast", medium="glass_bead"), W("polish")),
    "silica_sand": (W("blast", medium="silica_sand"), W("blast", medium="glass_bead")),
    "medium_with_silica": (W("blast", medium="garnet"), W("blast", medium="aluminium_oxide")),
    "garnet_traces": (W("blast", medium="garnet"), W("blast", medium="silicon_carbide")),
    "slag_medium": (W("blast", medium="copper_slag"), W("blast", medium="steel_grit")),
    "combustible_medium": (W("blast", medium="walnut_shell"), W("blast", medium="sodium_bicarbonate")),
    "iron_medium_on_light_metal": (
        W("blast", "A96061", medium="steel_shot"),
        W("blast", "A96061", medium="stainless_shot"),
    ),
    "iron_medium_on_clean_metal": (
        W("blast", "S30400", medium="steel_grit"),
        W("blast", "G10180", medium="steel_grit"),
    ),
    "used_medium_toxic": (W("blast", last=("C36000",)), W("blast", last=("C26000",))),
    "lead_coating": (W("blast", "G10180", surface=("lead",)), W("saw", "G10180", surface=("lead",))),
    "cadmium_plating": (W("grind", "G10180", surface=("cadmium",)), W("grind", "G10180", surface=("zinc",))),
    "chromate_coating": (
        W("dry_sand", "A96061", surface=("chromate",)),
        W("wet_sand", "A96061", surface=("chromate",)),
    ),
    "beryllium_surface": (W("deburr", "C17200", surface=("beryllium_scale",)), W("deburr", "C17200")),
    "unknown_metal": (W("grind", ""), W("saw", "")),
    "cadmium_filler": (W("weld", flags=("cadmium_filler",)), W("weld")),
    "chlorinated_solvent_hot": (
        W("weld", flags=("chlorinated_solvent",)),
        W("deburr", flags=("chlorinated_solvent",)),
    ),
    "ultrasonic_solvent": (W("ultrasonic", flags=("solvent",)), W("ultrasonic")),
    "ultrasonic_light_metal": (W("ultrasonic", "A96061"), W("ultrasonic", "S30400")),
    "ultrasonic_lead": (W("ultrasonic", "C36000"), W("ultrasonic", "C26000")),
    "long_chips": (W("drill", "C11000"), W("drill", "C36000")),
}
each_rule = pytest.mark.parametrize("rule", rules(), ids=[rule.key for rule in rules()])


@each_rule
def test_it_fires_on_its_case_and_is_quiet_on_the_nearest(rule: Any) -> None:
    case, quiet = CASES[rule.key]
    assert rule.key in case.judged().rules
    assert rule.key not in quiet.judged().rules


def test_every_case_is_of_a_rule() -> None:
    assert CASES.keys() == {rule.key for rule in rules()}


@each_rule
def test_its_caution_says_what_to_do_and_ends_with_the_deference_line(rule: Any) -> None:
    caution = rule.caution
    assert caution.text.endswith(f" {library.DEFERENCE}")
    assert caution.text.count("come first") == 1
    for words in (caution.what, caution.do, caution.why):
        assert words and words == words.strip()
    assert caution.do.endswith(".") and caution.why.endswith(".")
    assert caution.signal in SIGNALS
    assert caution.source.text and caution.source.where and caution.source.dated


@each_rule
def test_a_stop_is_a_danger_and_says_what_lifts_it(rule: Any) -> None:
    if rule.stop is not None:
        assert rule.caution.signal == "danger"
        assert rule.stop.endswith(".")


@each_rule
def test_no_verdict_is_given(rule: Any) -> None:
    said = " ".join([rule.caution.text, rule.stop or "", *(text for texts in rule.controls.values() for text in texts)])
    assert not re.search(r"\b(safe|safely|compliant|compliance)\b", said.replace("safety data sheet", ""), re.I)


def test_beryllium_dry_sanding_stops_until_it_is_assessed() -> None:
    """The case of the day: choose a beryllium alloy, start dry sanding, and the stop stands before the work."""
    asked = W("dry_sand", "C17200").judged()
    assert asked.stops[0].rule == "beryllium_abrasive"
    assert asked.cautions[0].signal == "danger"
    assert next(iter(asked.controls)) == "eliminate"
    lifted = W("dry_sand", "C17200", flags=("assessed",)).judged()
    assert not lifted.stops and "beryllium_abrasive_assessed" in lifted.rules


def test_controls_come_in_the_order_of_the_hierarchy_and_equipment_last() -> None:
    asked = W("grind", "C93200", flags=("gloves",)).judged()
    assert list(asked.controls) == [tier for tier in TIERS if tier in asked.controls]
    assert asked.controls["protect"] == tuple(one.text for one in asked.ppe)
    assert len({one.key for one in asked.ppe}) == len(asked.ppe)
    signals = [SIGNALS.index(one.signal) for one in asked.cautions]
    assert signals == sorted(signals)


def test_plain_work_on_a_plain_metal_has_no_stop() -> None:
    for process in processes():
        assert not W(process, "C11000").judged().stops, process


@pytest.mark.parametrize("process", ["dry_sand", "grind", "polish", "blast"])
@pytest.mark.parametrize("key", sorted(alloys()))
def test_no_alloy_with_beryllium_is_sanded_without_a_stop(key: str, process: str) -> None:
    asked = W(process, key).judged()
    stopped = any(stop.rule == "beryllium_abrasive" for stop in asked.stops)
    assert stopped == (percents(alloys()[key].composition).get("Be", 0) >= 0.1)


METALS = [alloy for alloy in alloys().values() if alloy.base in ("Fe", "Al", "Mg", "Ti")]


@pytest.mark.parametrize("now", METALS, ids=[alloy.key for alloy in METALS])
def test_metals_that_must_not_meet_by_name_are_stopped_by_rule(now: Alloy) -> None:
    """The sander's check by name and the rules by alloy must agree wherever the name raises a caution."""
    for before in METALS:
        named = dust([before.uns or before.name], now.uns or now.name)
        stops = {stop.rule for stop in W("dry_sand", now.key, last=(before.key,)).judged().stops}
        assert named.unknown == ()
        assert named.caution is None or stops, (before.key, now.key)
        assert stops or now.base == before.base or {now.base, before.base} <= {"Al", "Mg", "Ti"}
    assert not W("dry_sand", now.key, last=(now.key,)).judged().stops
    assert not W("dry_sand", now.key, last=("C61400",)).judged().stops


def test_air_below_30_psi_at_the_edge() -> None:
    """29 CFR 1910.242(b): less than 30 psi. 30 itself is not less."""
    for psi, high in ((29, False), (29.99, False), (30, True), (90, True)):
        assert (
            any(stop.rule == "air_too_high" for stop in W("air_clean", measures={"air_psi": psi}).judged().stops)
            == high
        )


def test_a_measure_that_was_not_taken_does_not_fire_or_pass() -> None:
    assert "air_too_high" not in W("air_clean").judged().rules
    with pytest.raises(HazardError, match="air_psi"):
        W("air_clean", measures={"air_psi": -1}).judged()


def test_every_word_that_rules_ask_for_is_used() -> None:
    asked = {word for rule in rules() for word in (*rule.when.flags, *rule.when.unless)}
    # "unknown_metal" is also set where no alloy is named.
    assert asked == set(flags())
    assert {word for rule in rules() for word in rule.when.measures} == set(measures())
    assert {one.key for rule in rules() for one in rule.ppe} == set(protections())


def test_an_empty_condition_is_met_by_anything() -> None:
    work = describe("saw", None, elements().values())
    assert fires(When(), work)
    assert "unknown_metal" in work.flags


def test_refused_media_are_those_that_a_rule_stops() -> None:
    refused = {key for key, medium in media().items() if medium.refused}
    assert refused == {
        key for key in media() if any(s.rule == "silica_sand" for s in W("blast", medium=key).judged().stops)
    }


WRITTEN = {
    "key": "dust", "signal": "warning", "hazard": "lung", "what": "Dust", "do": "Stop.", "why": "It hurts.",
    "source": "practice", "when": {"processes": ["dry_sand"]},
}  # fmt: skip


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"ppe": ["armour"]}, "'armour' is not described; use one of eyes"),
        ({"controls": {"protect": ["A mask"]}}, "dust.controls.protect: is not written here"),
        ({"controls": {"pray": ["Hope"]}}, "controls: is 'pray'; use one of eliminate"),
        ({"when": {"processes": ["conjure"]}}, "dust.when.processes: 'conjure' is not known"),
        ({"when": {"elements": {"Be": "much"}}}, "when.elements.Be: is 'much'; write a number"),
        ({"signal": "loud"}, "caution.signal: is 'loud'; use one of danger"),
        ({"why": " "}, "caution.why: is empty"),
        ({"source": "hearsay"}, "source 'hearsay' is not in sources.toml"),
        ({"wen": {}}, "wen: is not known"),
    ],
)
def test_a_bad_rule_is_refused_with_its_place(change: dict[str, Any], said: str) -> None:
    with pytest.raises(LibraryError, match=re.escape(said)):
        _rule(WRITTEN | change, "rules.toml: rules[0]")
    assert _rule(WRITTEN, "rules.toml: rules[0]").caution.text.endswith(library.DEFERENCE)
