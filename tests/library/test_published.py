"""Figures that stand in a check must be those of the text that the check names. Sources stand beside each."""

from __future__ import annotations

import re

import pytest

from tests.library.every import check, task
from webapp import library


def test_grinder_gaps() -> None:
    """29 CFR 1910.215(a)(4): rest at most 1/8 in (OSHA STD 01-12-008); (b)(9): tongue within 1/4 in."""
    rest, tongue = check("bench_grinder", "rest"), check("bench_grinder", "tongue")
    assert "1/8 in" in rest.text and rest.stop
    assert "1/4 in" in tongue.text and tongue.stop
    assert "1/8 in" in library.cautions()["grinder_gaps"].text
    assert "1/4 in" in library.cautions()["grinder_gaps"].text


def test_metric_grinder_gaps_lie_inside_the_inch_ones() -> None:
    """1/8 in is 3.175 mm and 1/4 in is 6.35 mm: a rounded millimetre figure must not allow more."""
    rest, tongue = (re.search(r"\((\d+) mm\)", check("bench_grinder", key).text) for key in ("rest", "tongue"))
    assert rest and float(rest[1]) <= 25.4 / 8
    assert tongue and float(tongue[1]) <= 25.4 / 4


def test_new_wheel() -> None:
    """29 CFR 1910.215(d)(1): ring test and speed before mounting; WAC 296-307-19009: one minute guarded;
    WAC 296-307-19012: flanges at least one third of the wheel."""
    assert check("bench_grinder", "ring").stop and check("bench_grinder", "speed").stop
    assert "one minute" in check("bench_grinder", "run").text
    assert "1/3" in check("bench_grinder", "flanges").text


@pytest.mark.parametrize(("units", "limit"), [("us", 30.0), ("metric", 30 * 0.0689476)])
def test_cleaning_air_is_below_30_psi(units: library.Units, limit: float) -> None:
    """29 CFR 1910.242(b): less than 30 psi, and then only with chip guarding. A value on a limit passes."""
    band = check("air_gun", "dead_end", units).band
    assert band and band.stop_high is not None and band.stop_high < limit
    assert "30 psi" in library.cautions()["compressed_air"].text
    assert "chip guarding" in library.cautions()["compressed_air"].text


def test_bar_printed_beside_30_psi_does_not_allow_more() -> None:
    printed = re.search(r"30 psi \(([\d.]+) bar\)", library.cautions()["compressed_air"].text)
    assert printed and float(printed[1]) <= 30 * 0.0689476


def test_extinguisher_intervals() -> None:
    """29 CFR 1910.157(e)(2) monthly look, (e)(3) annual maintenance; 6 and 12 years are second-hand."""
    assert task("extinguisher", "monthly").rule["rrule"].startswith("FREQ=MONTHLY")
    assert task("extinguisher", "annual").rule == {"every": {"months": 12}}
    assert task("extinguisher", "six_year").rule == {"every": {"years": 6}}
    assert task("extinguisher", "hydro").rule == {"every": {"years": 12}}


def test_eyewash() -> None:
    """ANSI/ISEA Z358.1 as in a published checklist (doczz.net): weekly, yearly, 10 s, 60-100 F, 0.4 gal/min or
    1.5 L/min, 15 min."""
    assert task("eyewash", "weekly").rule["rrule"].startswith("FREQ=WEEKLY")
    assert "INTERVAL" not in task("eyewash", "weekly").rule["rrule"]
    assert task("eyewash", "yearly").rule == {"every": {"months": 12}}
    assert "10 seconds" in check("eyewash", "path").text and "55 ft" in check("eyewash", "path").how
    warm = check("eyewash", "temperature").band
    assert warm and (warm.act_low, warm.act_high) == (60, 100)
    for units, least in (("us", 0.4), ("metric", 1.5)):
        flow = check("eyewash", "flow", units).band
        assert flow and flow.stop_low == least
    assert "15 minutes" in check("eyewash", "fifteen").text
    assert "15 minutes" in library.cautions()["concentrate"].text


def test_lock_out_is_reviewed_each_year_and_power_transmission_each_60_days() -> None:
    """29 CFR 1910.147(c)(6): at least annually (OSHA eTool); 1910.219(p)(1): every 60 days or less (NIOSH 2004-101)."""
    assert task("guards_stops", "lock_out").rule == {"every": {"months": 12}}
    assert task("guards_stops", "transmission").rule["every"]["days"] <= 60
    assert task("compressor_receiver", "belt").rule["every"]["days"] <= 60


def test_exhaust_is_examined_inside_14_months() -> None:
    """COSHH: at least every 14 months; dry grinding or polishing of metal over 12 h a week every 6 (aviva.co.uk LEV
    page)."""
    for machine in ("dust_collector", "blast_cabinet"):
        assert task(machine, "thorough").rule["every"]["months"] <= 14
        assert "commonly cited, confirm" in task(machine, "thorough").source
    assert "over 12 hours a week: set this to 6 months" in task("dust_collector", "thorough").steps[-1]


def test_the_cabinet_is_looked_over_before_it_blasts() -> None:
    """The openings, doors, windows and baffles of Mich. R 325.50255 and WAC 296-818-30010; the interlock is in neither."""
    (start_up,) = (one for one in library.machine("blast_cabinet").checklists if one.form == "start-up")
    keys = {one.key for one in start_up.checks}
    assert {"inward", "door", "gloves", "window", "pedal", "filter_drop", "purge"} <= keys
    interlock = check("blast_cabinet", "pedal")
    assert "Interlock" in interlock.how and "good practice, no law" in interlock.source
    # A check with that caution waits for the purge: before the first blast there is nothing to wait for.
    assert "open_cabinet" not in {one.caution for one in start_up.checks}
    assert "before the day's first blast" in interlock.how, "never with the dust of a blast behind the door"


def test_respirators_are_fitted_and_checked() -> None:
    """29 CFR 1910.134 (f)(2), a fit test at least each year; (k)(5), training each year; (h)(3), looked over before
    each use; 1910.95(g)(6), a hearing test each year: from memory, as the cards say."""
    for key in ("fit_test", "training", "hearing"):
        found = task("protective_equipment", key)
        assert found.rule == {"every": {"months": 12}} and "from memory, commonly cited, confirm" in found.source
    seal = check("protective_equipment", "respirator")
    assert seal.stop and "check the seal" in seal.text


@pytest.mark.parametrize("machine", ["blast_cabinet", "dust_collector"])
def test_static_pressure_may_change_by_20_per_cent(machine: str) -> None:
    """29 CFR 1910.94(a)(4)(i)(b), commonly cited: more than 20 % asks for cleaning or repair."""
    found = check(machine, "change")
    assert [(choice.text, choice.ok) for choice in found.choices or ()] == [
        ("20 % or less", True),
        ("More than 20 %", False),
    ]
    assert "commonly cited, confirm" in found.source


def test_blast_cabinet_pauses_on_inward_air_and_purge() -> None:
    """WAC 296-818-30010: inward flow at all openings; blast off and exhaust run before opening."""
    assert "every opening" in check("blast_cabinet", "inward").text and check("blast_cabinet", "inward").stop
    said = library.cautions()["open_cabinet"].text
    assert said.index("Blast off") < said.index("Wait") < said.index("open.")


def test_dust_layer() -> None:
    """OSHA memo of 21 April 2015: 1/32 in (0.79 mm) at 75 lb/ft3."""
    assert "1/32 in" in (check("dust_collector", "layer").choices or ())[0].text


def test_dip_slide_classes() -> None:
    """hse.gov.uk/metalworking/bacterial.htm: below 10^4 good, to below 10^6 review, from 10^6 act at once."""
    texts = [(choice.text, choice.ok) for choice in check("cnc_mill", "dip_slide").choices or ()]
    assert texts == [
        ("Below 10 000 per ml", True),
        ("10 000 to below 1 000 000: review", False),
        ("1 000 000 or more: act now", False),
    ]


def test_tramp_oil() -> None:
    """HSE: tramp oil weekly, 2 % or less advised (houghton-csc.co.uk)."""
    assert (check("cnc_mill", "tramp_oil").choices or ())[0].text == "2 % or less"


def test_saw_blade_figures() -> None:
    """forrestmfg.com: bimetal 25-30, at most 35 kpsi; fsmdirect.com: at least 3 teeth; amadamca.com: half feed and
    half speed for the first 50 to 100 sq in."""
    band = check("band_saw", "tension_read").band
    assert band and (band.act_low, band.act_high, band.stop_high) == (25, 30, 35)
    assert "3 or more" in check("band_saw", "pitch").text and "3 or more" in check("cold_saw", "pitch").text
    assert task("band_saw", "end_break_in").rule["at"] == [50]
    assert "half feed and half speed" in check("band_saw", "break_in").text


def test_first_aid_counts() -> None:
    """ANSI Z308.1-2014 Class A as printed at fws.gov/policy-library/e1243fw1, Table 1."""
    kit = " | ".join(line.text for line in library.machine("first_aid_kit").checklists[0].checks)
    for counted in (
        "2 trauma pads",
        "1 roller",
        "2 sterile pads",
        "2 eye covers",
        "1 fl oz",
        "1 burn dressing",
        "10 burn treatments",
        "16 bandages",
        "10 antiseptics",
        "2 pairs of gloves",
        "1 breathing barrier",
    ):
        assert counted in kit


def test_lead_and_beryllium_limits() -> None:
    """29 CFR 1910.1025: 50 and 30 ug/m3; 29 CFR 1910.1024: 0.2 and 0.1 ug/m3."""
    source = library.cautions()["lead_beryllium"].source
    assert "limit 50, action level 30 ug/m3" in source
    assert "limit 0.2, action level 0.1 ug/m3" in source
