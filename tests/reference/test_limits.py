"""Every exposure limit of the library, read a second time from its source. A wrong limit is the worst fault here.

Each row: substance, form, authority, kind, value in mg/m3, averaging minutes, fraction, where it was read. The rows
and the library must be the same set: a limit that is changed, added or left out on one side only fails.
"""

from __future__ import annotations

from datetime import date

import pytest

from webapp.library.limits import limits, limits_for

Z1 = "OSHA annotated Table Z-1, copy of 2019 (osha.gov/annotated-pels)"
IDLH = "cdc.gov/niosh/idlh, May 1994"
CSI = "OSHA Chemical Sampling Information"
CARD = "chemical safety card 0504"
WHOLE = "not stated"
OSHA, CAL, NIOSH, ACGIH = "us_osha", "us_calosha", "us_niosh", "us_acgih"
UK, EU, DE, AU, NL = "uk_hse", "eu", "de_trgs900", "au_wes", "nl"

Row = tuple[str, str, str, str, float, int, str, str]
ROWS: list[Row] = [
    # Copper: the fume's limit is a tenth of the dust's.
    ("copper", "fume", OSHA, "twa", 0.1, 480, WHOLE, Z1),
    ("copper", "fume", CAL, "twa", 0.1, 480, WHOLE, Z1),
    ("copper", "fume", NIOSH, "twa", 0.1, 600, WHOLE, f"{IDLH}, 1317380: REL 0.1 mg/m3 TWA"),
    ("copper", "fume", ACGIH, "twa", 0.2, 480, WHOLE, Z1),
    ("copper", "dust", OSHA, "twa", 1, 480, WHOLE, Z1),
    ("copper", "dust", CAL, "twa", 1, 480, WHOLE, Z1),
    ("copper", "dust", NIOSH, "twa", 1, 600, WHOLE, f"{IDLH}, 7440508: REL 1 mg/m3 TWA"),
    ("copper", "dust", ACGIH, "twa", 1, 480, WHOLE, Z1),
    ("copper", "dust", UK, "twa", 1, 480, WHOLE, "ser.nl, Koper: UK 1 mg/m3 TGG 8u"),
    ("copper", "dust", UK, "stel", 2, 15, WHOLE, "ser.nl, Koper: UK 2 mg/m3 TGG 15min"),
    ("copper", "dust", NL, "twa", 0.1, 480, "inhalable", "ser.nl, Koper: 0,1 mg/m3 inhaleerbare fractie TGG 8u"),
    ("tellurium", "any", OSHA, "twa", 0.1, 480, WHOLE, Z1),
    ("tellurium", "any", CAL, "twa", 0.1, 480, WHOLE, Z1),
    ("tellurium", "any", NIOSH, "twa", 0.1, 600, WHOLE, f"{IDLH}, 13494809"),
    ("tellurium", "any", ACGIH, "twa", 0.1, 480, WHOLE, Z1),
    ("lead", "any", OSHA, "twa", 0.05, 480, WHOLE, "1910.1025 Appendix B: fifty micrograms, 8-hour day"),
    ("lead", "any", OSHA, "action", 0.03, 480, WHOLE, "1910.1025: action level 30 ug/m3 (dol.gov elaws)"),
    ("lead", "any", CAL, "twa", 0.05, 480, WHOLE, Z1),
    (
        "lead",
        "any",
        CAL,
        "twa",
        0.01,
        480,
        WHOLE,
        "cdph.ca.gov, Regulations: PEL reduced to 10 ug/m3 on January 1, 2025",
    ),
    ("lead", "any", CAL, "action", 0.002, 480, WHOLE, "cdph.ca.gov, Regulations: action level 2 ug/m3"),
    ("lead", "any", NIOSH, "twa", 0.05, 480, WHOLE, "cdc.gov/niosh/topics/lead/limits.html: 50 ug/m3, 8 h"),
    ("lead", "any", UK, "twa", 0.15, 480, WHOLE, "hse.gov.uk/lead/health-effects.htm: 0.15 mg/m3"),
    ("lead", "any", EU, "twa", 0.03, 480, WHOLE, "Directive (EU) 2024/869: 0.03 mg/m3 by 9 April 2026 (traceone.com)"),
    ("lead", "any", AU, "twa", 0.05, 480, WHOLE, "Safe Work Australia, 27 April 2018 (cticonsultants.com.au)"),
    ("beryllium", "any", OSHA, "twa", 0.0002, 480, WHOLE, "1910.1024: TWA 0.2 ug/m3 (ishn.com)"),
    ("beryllium", "any", OSHA, "stel", 0.002, 15, WHOLE, "1910.1024: STEL 2.0 ug/m3, 15 min (ishn.com)"),
    (
        "beryllium",
        "any",
        OSHA,
        "action",
        0.0001,
        480,
        WHOLE,
        "1910.1024(b): action level 0.1 ug/m3, text of the section",
    ),
    ("beryllium", "any", UK, "twa", 0.002, 480, "inhalable", "S.I. 1996/3138, Schedule 1: 0.002, 8 h, total inhalable"),
    ("beryllium", "any", NIOSH, "ceiling", 0.0005, 0, WHOLE, f"{IDLH}, 7440417: not to exceed 0.0005 mg/m3"),
    ("beryllium", "any", EU, "twa", 0.0006, 480, "inhalable", "COM(2018)171 annex: 0,0006 until 11 July 2026"),
    ("beryllium", "any", EU, "twa", 0.0002, 480, "inhalable", "COM(2018)171 annex: 0,0002 inhalable"),
    ("beryllium", "any", DE, "twa", 0.00014, 480, "inhalable", "dguv.de/ifa Beryllium: 0,14 ug/m3 (E)"),
    ("beryllium", "any", DE, "twa", 0.00006, 480, "respirable", "dguv.de/ifa Beryllium: 0,06 ug/m3 (A)"),
    # Nickel: the recommended limit is a sixty-seventh of the legal one.
    ("nickel", "any", OSHA, "twa", 1, 480, WHOLE, Z1),
    ("nickel", "any", CAL, "twa", 0.5, 480, WHOLE, Z1),
    ("nickel", "any", NIOSH, "twa", 0.015, 600, WHOLE, f"{IDLH}, 7440020: REL 0.015"),
    ("nickel", "any", ACGIH, "twa", 1.5, 480, "inhalable", Z1),
    ("nickel", "any", UK, "twa", 0.5, 480, WHOLE, "nipera.org, UK: 0.5 mg Ni/m3 metal and insoluble"),
    ("nickel", "any", EU, "twa", 0.05, 480, "inhalable", "parltrack.eu 2020/0262(COD): 0.05 from 18 January 2025"),
    ("nickel", "any", EU, "twa", 0.01, 480, "respirable", "parltrack.eu 2020/0262(COD): 0.01 from 18 January 2025"),
    ("nickel", "any", DE, "twa", 0.03, 480, "inhalable", "dguv.de/ifa Nickel: 30,0 ug/m3 (E)"),
    ("nickel", "any", DE, "twa", 0.006, 480, "respirable", "dguv.de/ifa Nickel: 6,0 ug/m3 (A)"),
    ("chromium", "any", OSHA, "twa", 1, 480, WHOLE, Z1),
    ("chromium", "any", CAL, "twa", 0.5, 480, WHOLE, Z1),
    ("chromium", "any", NIOSH, "twa", 0.5, 600, WHOLE, Z1),
    ("chromium", "any", ACGIH, "twa", 0.5, 480, WHOLE, Z1),
    ("chromium", "trivalent", OSHA, "twa", 0.5, 480, WHOLE, Z1),
    ("chromium", "trivalent", CAL, "twa", 0.5, 480, WHOLE, Z1),
    ("chromium", "trivalent", NIOSH, "twa", 0.5, 600, WHOLE, f"{IDLH}, cr2m3: REL 0.5 mg/m3 TWA"),
    ("chromium_vi", "any", OSHA, "twa", 0.005, 480, WHOLE, "WAC 296-62-08007: 5 ug/m3, 8-hour TWA"),
    ("chromium_vi", "any", OSHA, "action", 0.0025, 480, WHOLE, "29 CFR 1910.1026(b): 2.5 ug/m3"),
    ("chromium_vi", "any", CAL, "twa", 0.005, 480, WHOLE, Z1),
    ("chromium_vi", "any", NIOSH, "twa", 0.0002, 480, WHOLE, Z1),
    ("chromium_vi", "any", EU, "twa", 0.005, 480, WHOLE, "reachlex.eu Annex III: 0,005 (0,010 until 17 January 2025)"),
    ("chromium_vi", "any", UK, "twa", 0.01, 480, WHOLE, "sysco-env.co.uk: 0.01 mg/m3, 8 hours"),
    ("chromium_vi", "any", NL, "twa", 0.001, 480, WHOLE, "ser.nl, Chroomtrioxide: 1 ug/m3 TGG 8u"),
    ("cadmium", "any", OSHA, "twa", 0.005, 480, WHOLE, f"{CSI}, cadmium: 5 ug/m3 TWA"),
    ("cadmium", "any", OSHA, "action", 0.0025, 480, WHOLE, f"{CSI}, cadmium: 2.5 ug/m3 action level"),
    ("cadmium", "any", CAL, "twa", 0.005, 480, WHOLE, Z1),
    ("cadmium", "any", ACGIH, "twa", 0.01, 480, "total", f"{CSI}, cadmium dust: 0.01 mg/m3"),
    ("cadmium", "any", ACGIH, "twa", 0.002, 480, "respirable", f"{CSI}, cadmium dust: 0.002 mg/m3"),
    ("cadmium", "any", EU, "twa", 0.004, 480, "inhalable", "COM(2018)171 annex: 0,004 until 11 July 2027"),
    ("cadmium", "any", EU, "twa", 0.001, 480, "inhalable", "COM(2018)171 annex: 0,001 inhalable"),
    ("cadmium", "any", UK, "twa", 0.025, 480, WHOLE, "ser.nl, Cadmium: UK 0,025 mg/m3 TGG 8u"),
    ("cadmium", "any", NL, "twa", 0.004, 480, WHOLE, "ser.nl, Cadmium: 0,004 mg/m3 TGG 8u"),
    ("arsenic", "any", OSHA, "twa", 0.01, 480, WHOLE, f"{CSI}, arsenic: 0.01 mg/m3 TWA"),
    ("arsenic", "any", OSHA, "action", 0.005, 480, WHOLE, f"{CSI}, arsenic: 0.005 mg/m3 action level"),
    ("arsenic", "any", NIOSH, "ceiling", 0.002, 15, WHOLE, f"{IDLH}, 7440382: 0.002, 15-minute ceiling"),
    ("arsenic", "any", ACGIH, "twa", 0.01, 480, WHOLE, f"{CSI}, arsenic: TLV 0.01 mg/m3"),
    ("arsenic", "any", UK, "twa", 0.1, 480, WHOLE, "croneri.co.uk, Arsenic and COSHH: 0.1 mg/m3, 8 hours"),
    ("arsenic", "any", CAL, "twa", 0.01, 480, WHOLE, "Title 8, arsenic, Appendix A: 0.01 mg/m3"),
    ("arsenic", "any", CAL, "action", 0.005, 480, WHOLE, "Title 8, arsenic, Appendix A: 0.005 mg/m3"),
    ("cobalt", "any", OSHA, "twa", 0.1, 480, WHOLE, f"{IDLH}, 7440484: PEL 0.1"),
    ("cobalt", "any", NIOSH, "twa", 0.05, 600, WHOLE, f"{IDLH}, 7440484: REL 0.05"),
    ("cobalt", "any", UK, "twa", 0.1, 480, WHOLE, "hse.gov.uk/pubns/msa17.htm: 0.1 mg/m3 over 8 hours"),
    ("cobalt", "any", ACGIH, "twa", 0.02, 480, WHOLE, f"{CSI}, cobalt: TLV 0.02 mg/m3 (1993)"),
    ("manganese", "any", OSHA, "ceiling", 5, 0, WHOLE, f"{IDLH}, 7439965: 5 mg/m3 ceiling"),
    ("manganese", "any", NIOSH, "twa", 1, 600, WHOLE, f"{IDLH}, 7439965: 1 mg/m3 TWA"),
    ("manganese", "any", NIOSH, "stel", 3, 15, WHOLE, f"{IDLH}, 7439965: 3 mg/m3 STEL"),
    ("manganese", "any", ACGIH, "twa", 0.1, 480, "inhalable", f"{CSI}, manganese fume: TLV (2013) 0.1 inhalable"),
    ("manganese", "any", ACGIH, "twa", 0.02, 480, "respirable", f"{CSI}, manganese fume: TLV (2013) 0.02 respirable"),
    ("manganese", "any", UK, "twa", 0.05, 480, "respirable", "safety-management.co.uk: respirable 0.05, 8 hours"),
    ("tin", "any", OSHA, "twa", 2, 480, WHOLE, f"{IDLH}, 7440315: PEL 2"),
    ("tin", "any", NIOSH, "twa", 2, 600, WHOLE, f"{IDLH}, 7440315: REL 2"),
    ("antimony", "any", OSHA, "twa", 0.5, 480, WHOLE, f"{CSI}, antimony: 0.5 mg/m3 TWA"),
    ("antimony", "any", UK, "twa", 0.5, 480, "inhalable", "S.I. 1996/3138, Schedule 1: 0.5, 8 h, total inhalable"),
    ("antimony", "any", NIOSH, "twa", 0.5, 600, WHOLE, f"{IDLH}, 7440360: REL 0.5 mg Sb/m3 TWA"),
    ("antimony", "any", CAL, "twa", 0.5, 480, WHOLE, f"{CSI}, CH_219100: CAL/OSHA PEL 0.5 mg/m3 TWA"),
    ("antimony", "any", ACGIH, "twa", 0.5, 480, WHOLE, f"{CSI}, antimony: TLV 0.5 mg/m3"),
    ("molybdenum", "any", OSHA, "twa", 15, 480, "total", f"{CSI}, molybdenum insoluble (total dust): 15 mg/m3"),
    ("molybdenum", "any", CAL, "twa", 10, 480, "total", f"{CSI}, molybdenum insoluble: Cal/OSHA 10 total"),
    ("molybdenum", "any", CAL, "twa", 3, 480, "respirable", f"{CSI}, molybdenum insoluble: Cal/OSHA 3 respirable"),
    ("molybdenum", "any", ACGIH, "twa", 10, 480, "inhalable", f"{CSI}, molybdenum insoluble: TLV 10 inhalable"),
    ("molybdenum", "any", ACGIH, "twa", 3, 480, "respirable", f"{CSI}, molybdenum insoluble: TLV 3 respirable"),
    ("magnesium_oxide", "fume", OSHA, "twa", 15, 480, WHOLE, f"{CARD}: OSHA PEL 15 mg/m3"),
    ("magnesium_oxide", "fume", ACGIH, "twa", 10, 480, "inhalable", f"{CARD}: TLV 10 mg/m3 inhalable"),
    ("zinc_oxide", "fume", OSHA, "twa", 5, 480, WHOLE, f"{CSI}, zinc oxide fume: 5 mg/m3 TWA"),
    ("zinc_oxide", "fume", CAL, "twa", 5, 480, WHOLE, Z1),
    ("zinc_oxide", "fume", CAL, "stel", 10, 15, WHOLE, Z1),
    ("zinc_oxide", "fume", NIOSH, "twa", 5, 600, WHOLE, f"{IDLH}, 1314132: fume 5 mg/m3 TWA"),
    ("zinc_oxide", "fume", NIOSH, "stel", 10, 15, WHOLE, f"{IDLH}, 1314132: fume 10 mg/m3 STEL"),
    ("zinc_oxide", "fume", ACGIH, "twa", 2, 480, "respirable", Z1),
    ("zinc_oxide", "fume", ACGIH, "stel", 10, 15, "respirable", f"{CSI}, zinc oxide fume: 10 mg/m3 STEL, respirable"),
    ("zinc_oxide", "dust", OSHA, "twa", 15, 480, "total", Z1),
    ("zinc_oxide", "dust", OSHA, "twa", 5, 480, "respirable", Z1),
    ("zinc_oxide", "dust", CAL, "twa", 10, 480, "total", Z1),
    ("zinc_oxide", "dust", CAL, "twa", 5, 480, "respirable", Z1),
    ("zinc_oxide", "dust", NIOSH, "twa", 5, 600, WHOLE, f"{IDLH}, 1314132: dust 5 mg/m3 TWA"),
    (
        "zinc_oxide",
        "dust",
        NIOSH,
        "ceiling",
        15,
        15,
        WHOLE,
        f"{IDLH}, 1314132: dust 15 ceiling; pel88/1314-13D: 15 minutes",
    ),
    ("zinc_oxide", "dust", ACGIH, "twa", 2, 480, "respirable", Z1),
    ("aluminium", "dust", OSHA, "twa", 15, 480, "total", Z1),
    ("aluminium", "dust", OSHA, "twa", 5, 480, "respirable", Z1),
    ("aluminium", "dust", CAL, "twa", 10, 480, "total", Z1),
    ("aluminium", "dust", CAL, "twa", 5, 480, "respirable", Z1),
    ("aluminium", "dust", NIOSH, "twa", 10, 600, "total", "NIOSH Pocket Guide npgd0022: TWA 10 (total)"),
    ("aluminium", "dust", NIOSH, "twa", 5, 600, "respirable", "NIOSH Pocket Guide npgd0022: TWA 5 (resp)"),
    ("aluminium", "dust", ACGIH, "twa", 1, 480, "respirable", Z1),
    ("particulates", "dust", OSHA, "twa", 15, 480, "total", Z1),
    ("particulates", "dust", OSHA, "twa", 5, 480, "respirable", Z1),
    ("particulates", "dust", CAL, "twa", 10, 480, "total", Z1),
    ("particulates", "dust", CAL, "twa", 5, 480, "respirable", Z1),
    ("particulates", "dust", DE, "twa", 10, 480, "inhalable", "dguv.de/staub-info: E-Staub 10 mg/m3"),
    ("particulates", "dust", DE, "twa", 1.25, 480, "respirable", "dguv.de/staub-info: A-Staub 1,25 mg/m3"),
    ("particulates", "dust", UK, "twa", 10, 480, "inhalable", "euroenvironmental.co.uk, COSHH: 10 mg/m3 inhalable"),
    ("particulates", "dust", UK, "twa", 4, 480, "respirable", "euroenvironmental.co.uk, COSHH: 4 mg/m3 respirable"),
    ("silica", "dust", OSHA, "twa", 0.05, 480, "respirable", "1910.1053: 50 ug/m3 (cpwrconstructionsolutions.org)"),
    (
        "silica",
        "dust",
        OSHA,
        "action",
        0.025,
        480,
        "respirable",
        "1910.1053(b): action level 25 ug/m3, text of the section",
    ),
    ("silica", "dust", NIOSH, "twa", 0.05, 600, "respirable", f"{IDLH}, 14808607: REL 0.05 mg/m3 TWA"),
    ("silica", "dust", UK, "twa", 0.1, 480, "respirable", "EH40/2005 addendum of July 2006: 0.3 to 0.1"),
    ("silica", "dust", EU, "twa", 0.1, 480, "respirable", "reachlex.eu Annex III: 0,1"),
    ("silica", "dust", AU, "twa", 0.05, 480, "respirable", "silicasafety.com.au 2020-07-13: 0.1 to 0.05"),
    ("silicon_carbide", "dust", OSHA, "twa", 15, 480, "total", Z1),
    ("silicon_carbide", "dust", OSHA, "twa", 5, 480, "respirable", Z1),
    ("iron_oxide", "fume", OSHA, "twa", 10, 480, WHOLE, Z1),
    ("iron_oxide", "fume", CAL, "twa", 5, 480, WHOLE, Z1),
    ("iron_oxide", "fume", NIOSH, "twa", 5, 600, WHOLE, Z1),
    ("titanium_dioxide", "dust", OSHA, "twa", 15, 480, "total", Z1),
    ("titanium_dioxide", "dust", NIOSH, "twa", 2.4, 600, WHOLE, Z1),
    ("vanadium_pentoxide", "dust", OSHA, "ceiling", 0.5, 0, "respirable", Z1),
    ("vanadium_pentoxide", "fume", OSHA, "ceiling", 0.1, 0, WHOLE, Z1),
    ("oil_mist", "mist", OSHA, "twa", 5, 480, WHOLE, Z1),
    ("oil_mist", "mist", CAL, "twa", 5, 480, WHOLE, Z1),
    ("oil_mist", "mist", NIOSH, "twa", 5, 600, WHOLE, f"{IDLH}, 8012951: 5 mg/m3 TWA"),
    ("oil_mist", "mist", NIOSH, "stel", 10, 15, WHOLE, f"{IDLH}, 8012951: 10 mg/m3 STEL"),
    ("metalworking_fluid", "mist", NIOSH, "twa", 0.4, 600, "thoracic", "NIOSH 98-102: 0.4 mg/m3 thoracic, up to 10 h"),
    ("metalworking_fluid", "mist", NIOSH, "twa", 0.5, 600, "total", "NIOSH 98-102: about 0.5 mg/m3 total"),
]


def written(row: Row) -> tuple[str, str, str, str, float, int, str]:
    substance, form, authority, kind, value, minutes, fraction, _ = row
    return (substance, form, authority, kind, round(value, 9), minutes, fraction)


HELD: list[tuple[str, str, str, str, float, int, str]] = [
    (one.substance, one.form, one.authority, one.kind, round(one.milligrams, 9), one.minutes, one.fraction)
    for one in limits()
]


@pytest.mark.parametrize("row", ROWS, ids=["-".join(map(str, row[:4])) + f"-{row[6]}-{row[4]}" for row in ROWS])
def test_a_limit_stands_as_it_was_read(row: Row) -> None:
    assert HELD.count(written(row)) == 1


def test_no_limit_is_held_that_was_not_read_twice() -> None:
    assert sorted(set(HELD) - {written(row) for row in ROWS}) == []
    assert len(HELD) == len(set(HELD)) == len(ROWS) == len({written(row) for row in ROWS})


def test_every_row_says_where_it_was_read() -> None:
    assert all(row[7].strip() for row in ROWS)


def test_nickel_is_not_served_by_the_legal_limit_alone() -> None:
    """OSHA 1 mg/m3 against NIOSH 0.015 mg/m3: 67 times (cdc.gov/niosh/idlh/7440020)."""
    answer = limits_for("nickel", "dust", ["us_osha"], date(2026, 11, 25))
    assert [one.milligrams for one in answer.chosen] == [1]
    strictest = {(one.kind, one.sampled): one for one in answer.strictest}
    assert strictest["twa", "whole"].authority == "us_niosh"
    assert round(1 / strictest["twa", "whole"].milligrams) == 67
    assert strictest["twa", "respirable"].milligrams == 0.006


def test_copper_fume_is_ten_times_stricter_than_its_dust() -> None:
    """29 CFR 1910.1000 Table Z-1: fume 0.1, dusts and mists 1 mg/m3."""
    fume, dust = (limits_for("copper", form, ["us_osha"], date(2026, 11, 25)).chosen[0] for form in ("fume", "dust"))
    assert dust.milligrams / fume.milligrams == 10


def test_californias_lead_limit_is_that_of_2025() -> None:
    """cdph.ca.gov: since 1 January 2025 the limit is 10 ug/m3 and the action level 2 ug/m3."""
    now = limits_for("lead", "dust", ["us_calosha"], date(2026, 11, 25)).chosen
    assert sorted((one.kind, one.value, one.unit) for one in now) == [("action", 2, "ug/m3"), ("twa", 10, "ug/m3")]
    before = limits_for("lead", "dust", ["us_calosha"], date(2024, 12, 31)).chosen
    assert [one.milligrams for one in before] == [0.05]


def test_a_ten_hour_shift_with_lead() -> None:
    """29 CFR 1910.1025 Appendix B: 400 divided by the hours, so that 10 hours make 40 ug/m3 and 8 the limit itself."""
    lead = next(one for one in limits_for("lead", "fume", ["us_osha"], date(2026, 11, 25)).chosen if one.kind == "twa")
    assert lead.note is not None and "400 divided by the hours" in lead.note
    assert (lead.value, lead.unit) == (400 / 8, "ug/m3")
