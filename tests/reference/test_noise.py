"""Noise against published tables and worked examples, one check a row, each with the tolerance of its print."""

from __future__ import annotations

import pytest

from webapp.core import noise, noise_daily
from webapp.core.exposure import ACTION, BELOW, OVER
from webapp.library.noise import noise_values

# 29 CFR 1910.95 Appendix A, Table G-16a, osha.gov: the reference duration of 80 to 130 dBA, hours. At 83 dBA the page
# prints 21.2, an older one 21.1; the formula that it gives makes 21.11.
G16A = [
    "32", "27.9", "24.3", "21.2", "18.4", "16", "13.9", "12.1", "10.6", "9.2", "8", "7.0", "6.1",
    "5.3", "4.6", "4", "3.5", "3.0", "2.6", "2.3", "2", "1.7", "1.5", "1.3", "1.1", "1",
    "0.87", "0.76", "0.66", "0.57", "0.5", "0.44", "0.38", "0.33", "0.29", "0.25", "0.22", "0.19", "0.16",
    "0.14", "0.125", "0.11", "0.095", "0.082", "0.072", "0.063", "0.054", "0.047", "0.041", "0.036", "0.031",
]  # fmt: skip


@pytest.mark.parametrize(("level", "printed"), list(enumerate(G16A, 80)))
def test_reference_durations_of_osha(level: float, printed: str) -> None:
    assert len(G16A) == 51
    within = 0.1 if level == 83 else 0.51 * 10.0 ** -len(printed.partition(".")[2])
    assert noise.allowed_hours(level, "osha") == pytest.approx(float(printed), abs=within)


# 29 CFR 1910.95 Table G-16, the same in 41 CFR 50-204.10: permissible exposures.
G16 = [(8, 90), (6, 92), (4, 95), (3, 97), (2, 100), (1.5, 102), (1, 105), (0.5, 110), (0.25, 115)]


@pytest.mark.parametrize(("hours", "level"), G16)
def test_permissible_exposures_of_osha(hours: float, level: float) -> None:
    """The table rounds the times to whole and half hours: 92 dBA makes 99 %, 97 and 102 make 99 % too."""
    assert noise.dose([[level, hours]], "osha", 90).dose == pytest.approx(100, abs=1.1)


# NIOSH publication 98-126, Table 1-1, as engineeringtoolbox.com d_717 prints it: level, then h min s at most. From 112
# dBA on only seconds, cut off rather than rounded. 99 dBA is printed as 18 min 59 s; its formula makes 18 min 54 s.
NIOSH = [
    (80, 25, 24, 0), (81, 20, 10, 0), (82, 16, 0, 0), (83, 12, 42, 0), (84, 10, 5, 0), (85, 8, 0, 0), (86, 6, 21, 0),
    (87, 5, 2, 0), (88, 4, 0, 0), (89, 3, 10, 0), (90, 2, 31, 0), (91, 2, 0, 0), (92, 1, 35, 0), (93, 1, 16, 0),
    (94, 1, 0, 0), (95, 0, 47, 37), (96, 0, 37, 48), (97, 0, 30, 0), (98, 0, 23, 49), (99, 0, 18, 59), (100, 0, 15, 0),
    (101, 0, 11, 54), (102, 0, 9, 27), (103, 0, 7, 30), (104, 0, 5, 57), (105, 0, 4, 43), (106, 0, 3, 45),
    (107, 0, 2, 59), (108, 0, 2, 22), (109, 0, 1, 53), (110, 0, 1, 29), (111, 0, 1, 11), (112, 0, 0, 56), (113, 0, 0, 45),
    (114, 0, 0, 35), (115, 0, 0, 28), (116, 0, 0, 22), (117, 0, 0, 18), (118, 0, 0, 14), (119, 0, 0, 11), (120, 0, 0, 9),
    (121, 0, 0, 7), (122, 0, 0, 6), (123, 0, 0, 4), (124, 0, 0, 3), (125, 0, 0, 3), (126, 0, 0, 2), (127, 0, 0, 1),
    (128, 0, 0, 1), (129, 0, 0, 1), (130, 0, 0, 1),
]  # fmt: skip


@pytest.mark.parametrize(("level", "hours", "minutes", "seconds"), NIOSH)
def test_durations_of_niosh(level: float, hours: int, minutes: int, seconds: int) -> None:
    printed = hours * 3600 + minutes * 60 + seconds
    within = 36 if printed >= 3600 else 6 if level == 99 else 1
    assert noise.allowed_hours(level, "niosh") * 3600 == pytest.approx(printed, abs=within)


# cdc.gov/niosh/topics/noise: time to reach 100 % of the dose; nonoise.org copy of the criteria: 82 dBA for 960 min.
NIOSH_PAGE = [(82, 960), (85, 480), (88, 240), (91, 120), (94, 60), (97, 30), (100, 15)]


@pytest.mark.parametrize(("level", "minutes"), NIOSH_PAGE)
def test_niosh_doses_are_full_after_its_times(level: float, minutes: float) -> None:
    found = noise.dose([[level, minutes / 60]], "niosh", 80)
    assert (found.dose, found.word) == (100, OVER)
    assert found.twa == pytest.approx(85, abs=0.005)


# 29 CFR 1910.95 Appendix A, Table A-1: dose in % and the eight-hour average, to one decimal (the table from memory,
# recomputed with the formula that the appendix prints).
A1 = [
    (10, 73.4), (20, 78.4), (25, 80.0), (30, 81.3), (40, 83.4), (45, 84.2), (50, 85.0), (55, 85.7), (60, 86.3),
    (70, 87.4), (75, 87.9), (80, 88.4), (85, 88.8), (90, 89.2), (95, 89.6), (100, 90.0), (105, 90.4), (110, 90.7),
    (120, 91.3), (125, 91.6), (130, 91.9), (135, 92.2), (140, 92.4), (150, 92.9), (160, 93.4), (170, 93.8), (180, 94.2),
    (190, 94.6), (200, 95.0), (220, 95.7), (250, 96.6), (300, 97.9), (400, 100.0), (500, 101.6), (700, 104.0),
    (800, 105.0), (900, 105.8), (999, 106.6),
]  # fmt: skip


@pytest.mark.parametrize(("dose", "twa"), A1)
def test_average_from_a_dose(dose: float, twa: float) -> None:
    """At 95 dBA every 0.04 h make 1 %; more than a day's dose is made at 105 dBA, where 0.01 h do."""
    level, hours = (95, dose * 0.04) if dose <= 300 else (105, dose * 0.01)
    found = noise.dose([[level, hours]], "osha", 80)
    assert found.dose == pytest.approx(dose, abs=0.01)
    assert found.twa == pytest.approx(twa, abs=0.051)


# NIOSH publication 98-126, Table 1-2 (from memory, recomputed): dose in % and average.
NIOSH_A = [(20, 78.0), (50, 82.0), (80, 84.0), (100, 85.0), (150, 86.8), (200, 88.0), (400, 91.0), (800, 94.0)]


@pytest.mark.parametrize(("dose", "twa"), NIOSH_A)
def test_average_from_a_dose_by_niosh(dose: float, twa: float) -> None:
    assert noise.dose([[94, dose / 100]], "niosh", 80).twa == pytest.approx(twa, abs=0.051)


DOSES = [
    ([[85, 5], [87, 2], [80, 0.5]], 80, 49.34, 0.05, "oshanoise.com: 5/16 + 2/12.1 + 0.5/32, with the table's 12.1 h"),
    ([[100, 1], [90, 4], [85, 3]], 80, 118.75, 0.005, "oshanoise.com: 1/2 + 4/8 + 3/16"),
    ([[100, 1], [90, 4], [85, 3]], 90, 100, 0.005, "oshanoise.com: below 90 dBA nothing counts towards the limit"),
    (
        [[100, 2], [90, 6]],
        90,
        175,
        0.005,
        "oshanoise.com: 100 dBA for 2 h and 90 dBA for 6 h ask for controls: 2/2 + 6/8",
    ),
    ([[92, 8]], 80, 131, 1, "1910.95 Appendix A: 100 x 8 / 6.1, the table's time"),
]


@pytest.mark.parametrize(("periods", "threshold", "dose", "within", "source"), DOSES)
def test_worked_doses(periods: list[list[float]], threshold: float, dose: float, within: float, source: str) -> None:
    assert source
    assert noise.dose(periods, "osha", threshold).dose == pytest.approx(dose, abs=within)


DAYS = [
    ([[85, 8]], ACTION, "1910.95(c): hearing conservation from an average of 85 dBA, a dose of 50 %"),
    ([[84.9, 8]], BELOW, "1910.95(c)"),
    ([[90, 8]], OVER, "1910.95, Table G-16: 90 dBA for 8 h"),
    ([[89.9, 8]], ACTION, "1910.95, Table G-16"),
    ([[116, 0.1], [60, 7.9]], OVER, "1910.95, Table G-16 ends at 115 dBA"),
]


@pytest.mark.parametrize(("periods", "word", "source"), DAYS)
def test_how_a_day_stands(periods: list[list[float]], word: str, source: str) -> None:
    assert source
    assert noise.day(periods).word == word


# 1910.95(d)(2)(i): 80 dBA and more count towards the action level; Table G-16 begins at 90 dBA for the limit, and
# oshanoise.com: exposure below 90 dBA does not contribute to that dose.
@pytest.mark.parametrize(("level", "limit", "action"), [(79, 0, 0), (80, 0, 25), (85, 0, 50), (90, 100, 100)])
def test_what_counts_towards_which_dose(level: float, limit: float, action: float) -> None:
    day = noise.day([[level, 8]])
    assert (day.limit.dose, day.action.dose) == (limit, action)


# workplace-hygiene.com and ohshub.com: the action level over a long shift, in whole dBA.
@pytest.mark.parametrize(("hours", "level"), [(8, 85), (10, 83), (12, 82)])
def test_action_level_of_a_long_shift(hours: float, level: float) -> None:
    assert noise.action_level(hours) == pytest.approx(level, abs=0.5)


LABELS = [
    (100, 19, "muffs", "A", False, 88, "advancedsafetytraining.com: 100 - (19 - 7)"),
    (110, 29, "formable plugs", "A", True, 83, "advancedsafetytraining.com: 110 - ((29 - 7) + 5)"),
    (95, 20, "other plugs", "A", False, 82, "WAC 296-307-63215, Table 2: plugs of 20 dB in 95 dBA"),
    (100, 20, "other plugs", "A", True, 82, "WAC 296-307-63215, Table 2: plugs of 20 and muffs of 12 dB in 100 dBA"),
    (108, 32, "other plugs", "C", False, 76, "venusohs.com: 108 dBC - 32"),
    (110, 29, "other plugs", "C", True, 76, "venusohs.com: 110 dBC - (29 + 5)"),
]


@pytest.mark.parametrize(("level", "nrr", "kind", "weighting", "second", "left", "source"), LABELS)
def test_protectors_by_their_label(
    level: float, nrr: float, kind: str, weighting: str, second: bool, left: float, source: str
) -> None:
    assert source
    assert noise.protected(level, nrr, kind, weighting, second).label.level == left


# catalogscan.com and gilmon-bernal.blogspot.com: OSHA's half, (NRR - 7) / 2.
@pytest.mark.parametrize(("nrr", "off"), [(33, 13), (25, 9), (22, 7.5)])
def test_protectors_by_oshas_half(nrr: float, off: float) -> None:
    assert noise.protected(100, nrr, "formable plugs").field.taken_off == off


# gilmon-bernal.blogspot.com, NIOSH from dBC: 75 % of the NRR of muffs is left, 50 % of foam plugs, 30 % of other plugs.
@pytest.mark.parametrize(("kind", "share"), [("muffs", 0.75), ("formable plugs", 0.5), ("other plugs", 0.3)])
def test_protectors_by_nioshs_derating(kind: str, share: float) -> None:
    assert noise.protected(100, 20, kind, "C").derated.taken_off == pytest.approx(20 * share)
    assert noise.protected(100, 20, kind).derated.taken_off == pytest.approx(max(20 * share - 7, 0))


# ishn.com 89517: NIOSH recommends plugs under muffs from an average of 100 dBA.
@pytest.mark.parametrize(("level", "advised"), [(99.9, False), (100, True)])
def test_when_two_protectors_are_advised(level: float, advised: bool) -> None:
    assert noise.protected(level, 20, "muffs").two_advised is advised


# 29 CFR 1910.95, note to Table G-16: impulses should not exceed 140 dB peak.
@pytest.mark.parametrize(("peak", "word"), [(139.9, BELOW), (140, OVER), (145, OVER)])
def test_impulses(peak: float, word: str) -> None:
    assert noise.impulse(peak).word == word


# HSE, Noise exposure ready-reckoner, weekly exposure (Crown copyright 2020, studylib.net 25762853): daily exposure in dB
# and its points, rounded by hand (26 for 25.1 at 79 dB, 65 for 63.1 at 83 dB).
POINTS = [
    (95, 1000), (94, 790), (93, 630), (92, 500), (91, 400), (90, 315), (89, 250), (88, 200), (87, 160), (86, 125),
    (85, 100), (84, 80), (83, 65), (82, 50), (81, 40), (80, 32), (79, 26), (78, 20),
]  # fmt: skip


@pytest.mark.parametrize(("level", "points"), POINTS)
def test_points_of_hse(level: float, points: float) -> None:
    found = noise_daily.daily([[level, 8]])
    assert found.level == level
    assert found.points == pytest.approx(points, rel=0.036)


# The same: total points of a week and its exposure, whole dB; "2000 points give 91 dB".
WEEKS = [
    ([95] * 5, 95), ([95] * 2, 91), ([95], 88), ([90] * 5, 90), ([92] * 2, 88), ([92], 85), ([91], 84), ([89] * 2, 85),
    ([88] * 2, 84), ([85] * 5, 85), ([85] * 4, 84), ([85] * 2, 81), ([85], 78),
]  # fmt: skip


@pytest.mark.parametrize(("days", "level"), WEEKS)
def test_weeks_of_hse(days: list[float], level: float) -> None:
    assert noise_daily.weekly(days).level == pytest.approx(level, abs=0.15)


# tonywoolf.co.uk: what makes a daily exposure of 80 dB; times halve for each 3 dB, so 0.2 dB off at the ends.
LOWER = [(80, 480), (83, 240), (86, 120), (89, 60), (92, 30), (95, 15), (98, 8), (101, 4), (104, 2)]


@pytest.mark.parametrize(("level", "minutes"), LOWER)
def test_what_makes_the_lower_action_value(level: float, minutes: float) -> None:
    assert noise_daily.daily([[level, minutes / 60]]).level == pytest.approx(80, abs=0.31)


# legislation.gov.uk, nisr/2006/1, regulation 4, and workingfit.co.uk on the British regulations of 2005.
VALUES = [
    (79.9, None, None), (80, None, "lower action value"), (84.9, None, "lower action value"),
    (85, None, "upper action value"), (86.9, None, "upper action value"), (87, None, "limit value"),
    (70, 134.9, None), (70, 135, "lower action value"), (70, 137, "upper action value"), (70, 140, "limit value"),
]  # fmt: skip


@pytest.mark.parametrize(("level", "peak", "value"), VALUES)
def test_action_and_limit_values(level: float, peak: float | None, value: str | None) -> None:
    assert noise_daily.stands(level, peak).value == value


# Regulation 4(5): protectors count for the limit, not for the action values.
@pytest.mark.parametrize(
    ("at_ear", "value"), [(86.9, "upper action value"), (87, "limit value"), (None, "limit value")]
)
def test_protectors_count_for_the_limit_alone(at_ear: float | None, value: str) -> None:
    assert noise_daily.stands(95, None, at_ear).value == value


# ec.europa.eu/health/opinions, table 3 (SCENIHR 2008): levels and times equal to the values of Directive 2003/10/EC, in minutes.
EQUAL = [
    *((80, level, minutes) for level, minutes in ((83, 240), (86, 120), (89, 60), (92, 30), (95, 15), (98, 8), (101, 4), (104, 2))),
    *((85, level, minutes) for level, minutes in ((88, 240), (91, 120), (94, 60), (97, 30), (100, 15), (105, 5), (111, 1))),
    *((87, level, minutes) for level, minutes in ((90, 240), (93, 120), (96, 60), (99, 30), (102, 15), (107, 5), (113, 1))),
]  # fmt: skip


@pytest.mark.parametrize(("value", "level", "minutes"), EQUAL)
def test_time_to_a_value_of_the_directive(value: float, level: float, minutes: float) -> None:
    """Printed with 3 dB for a half, which is 10 log10 2 = 3.01: within 1.5 %, or half a minute."""
    assert noise_daily.hours_to(level, value) * 60 == pytest.approx(minutes, rel=0.015, abs=0.5)


@pytest.mark.parametrize(
    ("level", "snr", "worn", "label"),
    [
        (97, 28, 73, 69),  # noisemeters.co.uk, noise at work: 97 dB(C), SNR 28, 73.0 with the real-world factor of 4 dB
        (108, 30, 82, 78),  # esselacoustics.com: 108 dB(C) less 30 is 78; 4 dB more is 82
    ],
)
def test_level_under_a_single_number(level: float, snr: float, worn: float, label: float) -> None:
    found = noise_daily.worn(level, snr)
    assert (found.level, found.by_label) == (worn, label)


# What each authority says of noise, read a second time: kind, dB(A) over 8 h, peak, whether protectors count, and where.
AUTHORITIES = [
    ("us_osha", "limit", 90, 140, False, "29 CFR 1910.95, Table G-16: 8 h 90 dBA; impulse 140 dB peak"),
    ("us_osha", "action", 85, None, False, "29 CFR 1910.95(c): 85 dBA, or half of the dose"),
    ("us_calosha", "limit", 90, None, False, "Title 8, section 5095(b): criterion sound level 90 dB"),
    ("us_calosha", "action", 85, None, False, "Title 8, section 5095(b): action level 85 dBA, dose 50 %"),
    ("us_niosh", "limit", 85, 140, False, "NIOSH 98-126, section 1.1: 85 dBA, 3 dB"),
    ("us_acgih", "limit", 85, None, False, "PMC8169711, table 3: criterion level 85, exchange rate 3"),
    ("uk_hse", "action", 80, 135, False, "S.R. 2006/1, regulation 4(1)"),
    ("uk_hse", "action", 85, 137, False, "S.R. 2006/1, regulation 4(2)"),
    ("uk_hse", "limit", 87, 140, True, "S.R. 2006/1, regulation 4(3) and (5)"),
    ("eu", "action", 80, 135, False, "Directive 2003/10/EC, Article 3(1)(c): 112 Pa"),
    ("eu", "action", 85, 137, False, "Directive 2003/10/EC, Article 3(1)(b): 140 Pa"),
    ("eu", "limit", 87, 140, True, "Directive 2003/10/EC, Article 3(1)(a), 3(2): 200 Pa"),
    ("de_trgs900", "action", 80, 135, False, "LärmVibrationsArbSchV, section 6, no. 2"),
    ("de_trgs900", "action", 85, 137, False, "LärmVibrationsArbSchV, section 6, no. 1"),
    ("de_trgs900", "limit", 85, 137, True, "arbeitssicherheit.de: 85 dB(A) and 137 dB(C) with protectors"),
    ("nl", "action", 80, 135, False, "arbo.railalert.nl: 80 dB(A), 135 dB(C)"),
    ("nl", "action", 85, None, False, "betermetarbo.nl: 85 dB(A)"),
    ("nl", "limit", 87, None, True, "betermetarbo.nl: 87 dB(A), protectors counted"),
    ("au_wes", "limit", 85, 140, False, "austlii.edu.au, regulation 3.45: 85 dB(A), 140 dB(C), without protectors"),
]


@pytest.mark.parametrize(("authority", "kind", "level", "peak", "worn", "source"), AUTHORITIES)
def test_what_an_authority_says_of_noise(
    authority: str, kind: str, level: float, peak: float | None, worn: bool, source: str
) -> None:
    assert source
    held = [(one.authority, one.kind, one.level, one.peak, one.worn) for one in noise_values()]
    assert held.count((authority, kind, level, peak, worn)) == 1 and len(held) == len(AUTHORITIES)


def test_every_value_of_noise_names_its_source() -> None:
    assert all(one.source.text and one.source.where and one.source.dated for one in noise_values())
    assert {one.source.mark for one in noise_values()} <= {"seen", "second-hand"}
