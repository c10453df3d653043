"""Noise: dose, eight-hour average and allowed time for the 5 dB and the 3 dB exchange, and what protectors take off.

Levels are dBA, slow response, unless a name says otherwise; times in hours; a dose is % of what the day allows. OSHA:
T = 8 / 2^((L - 90) / 5), D = 100 sum(C / T), TWA = 16.61 log10(D / 100) + 90 (29 CFR 1910.95 App. A). NIOSH:
T = 8 / 2^((L - 85) / 3), TWA = 10 log10(D / 100) + 85 (publication 98-126, section 1.1).
Twin: static/src/core/noise.js, tests/vectors/noise.json.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from webapp.core.exposure import ACTION, BELOW, DAY, OVER, UNMEASURED, reaches
from webapp.core.figures import known
from webapp.core.numbers import is_number, say, tidy
from webapp.core.problems import HygieneError

LOUDEST, QUIETEST = 160, 20
CONTINUOUS_CEILING, IMPULSE_PEAK, DOUBLE_FROM = 115, 140, 100
OSHA_SOURCE = "29 CFR 1910.95, Appendix A and Table G-16"
NIOSH_SOURCE = "NIOSH publication 98-126 (1998), section 1.1"
IMPULSE_SOURCE = "29 CFR 1910.95, note to Table G-16; NIOSH publication 98-126"
FIELD_SOURCE = "OSHA's advice for engineering controls: half of NRR - 7 (1910.95 Appendix B; OSHA Technical Manual)"
DERATING_SOURCE = "NIOSH publication 98-126: take 25 % off the NRR of muffs, 50 % of formable plugs, 70 % of others"
DUAL_SOURCE = "OSHA Technical Manual, Noise: 5 dB for the second protector, whatever its NRR"


@dataclass(frozen=True)
class Rule:
    """Criterion level and exchange rate in dB, the factor of the logarithm as printed, and where it is from."""

    criterion: float
    exchange: float
    factor: float
    source: str


RULES = {"osha": Rule(90, 5, 16.61, OSHA_SOURCE), "niosh": Rule(85, 3, 10, NIOSH_SOURCE)}
# What counts towards the dose: OSHA's hearing conservation from 80, its limit from 90; NIOSH from 80.
THRESHOLDS = {("osha", "action"): 80.0, ("osha", "limit"): 90.0, ("niosh", "limit"): 80.0}
DERATING = {"muffs": 0.25, "formable plugs": 0.5, "other plugs": 0.7}


@dataclass(frozen=True)
class Dose:
    """% of the allowed dose, the eight-hour average (None when nothing reached the threshold) and how it stands."""

    dose: float
    twa: float | None
    hours: float
    word: str
    why: str
    source: str


@dataclass(frozen=True)
class Day:
    """The three doses of one day: OSHA's limit (threshold 90), its action level (threshold 80), and NIOSH's. `word`
    is the sharpest of OSHA's, "not measured" while part of the shift is missing and what there is lies below;
    `above_ceiling` whether a level passed 115 dBA; `unmeasured` hours."""

    limit: Dose
    action: Dose
    niosh: Dose
    word: str
    above_ceiling: bool
    unmeasured: float
    todo: str


@dataclass(frozen=True)
class Ear:
    """A level under the protector by one reckoning, dBA; `taken_off` in dB."""

    level: float
    taken_off: float
    why: str
    source: str


@dataclass(frozen=True)
class Protected:
    """Under the protector: by its label, by OSHA's half and by NIOSH's derating; `level` is the highest of the three,
    and the one to go by until somebody's own fit is tested. `two_advised`: loud enough for plugs under muffs."""

    label: Ear
    field: Ear
    derated: Ear
    level: float
    two_advised: bool


@dataclass(frozen=True)
class Impulse:
    """A peak beside 140 dB."""

    word: str
    why: str
    source: str


def allowed_hours(level: float, rule: str) -> float:
    """Hours a day at which a steady level makes a dose of 100 %, by "osha" or "niosh"; unrounded in no direction but
    the sixth decimal. HygieneError for a level that is none."""
    one = RULES[known(rule, "rule", RULES)]
    return tidy(_allowed(noise_level(level, "level"), one))


def dose(periods: Sequence[Sequence[float]], rule: str, threshold: float) -> Dose:
    """The dose of `periods`, each [dBA, hours]; levels below `threshold` count nothing."""
    one = RULES[known(rule, "rule", RULES)]
    pairs = noise_pairs(periods)
    noise_level(threshold, "threshold")
    total = 100 * sum(hours / _allowed(level, one) for level, hours in pairs if reaches(level, threshold))
    hours = sum(length for _, length in pairs)
    twa = one.factor * math.log10(total / 100) + one.criterion if total > 0 else None
    word = OVER if reaches(total, 100) else BELOW
    counted = f"{say(total)} % of the day's dose over {say(hours)} h, counted from {say(threshold)} dBA"
    why = f"{counted}." if twa is None else f"{counted}: {say(tidy(twa, 1))} dBA over 8 h."
    return Dose(tidy(total, 2), None if twa is None else tidy(twa, 2), tidy(hours), word, why, one.source)


def day(periods: Sequence[Sequence[float]], shift: float | None = None) -> Day:
    """One day by OSHA's limit, OSHA's action level (half the dose) and NIOSH's recommendation.

    Without `shift` (hours) the periods are the whole of it; HygieneError when they are longer.
    """
    limit = dose(periods, "osha", THRESHOLDS["osha", "limit"])
    action = dose(periods, "osha", THRESHOLDS["osha", "action"])
    niosh = dose(periods, "niosh", THRESHOLDS["niosh", "limit"])
    half = reaches(action.dose, 50)
    early = Dose(action.dose, action.twa, action.hours, ACTION if half else BELOW, action.why, action.source)
    loud = any(level > CONTINUOUS_CEILING for level, _ in noise_pairs(periods))
    missing = _missing(action.hours, shift)
    word = OVER if limit.word == OVER or loud else early.word
    word = UNMEASURED if word == BELOW and missing else word
    return Day(limit, early, niosh, word, loud, tidy(missing), _todo(word, niosh.word, loud))


def action_level(hours: float) -> float:
    """The steady level that makes half a dose in a shift of so many hours: 90 + 16.61 log10(50 / (12.5 h)) dBA."""
    length = _hours(hours, "hours")
    return tidy(16.61 * math.log10(50 / (12.5 * length)) + 90, 1)


def protected(level: float, nrr: float, kind: str, weighting: str = "A", second: bool = False) -> Protected:
    """What is left under a protector with a Noise Reduction Rating, worn in `level`.

    `kind`: "muffs", "formable plugs" or "other plugs"; `weighting` of the level, "A" or "C": from dBA 7 dB are taken
    off the rating for the spectrum. `second`: plugs and muffs together, with `nrr` and `kind` of the higher rated.
    """
    outside = noise_level(level, "level")
    if not is_number(nrr) or not 0 <= nrr <= 40:
        raise HygieneError("nrr", "It is not between 0 and 40 dB.", "Read it off the packet.")
    share = DERATING[known(kind, "kind", DERATING)]
    spectrum = 7 if known(weighting, "weighting", ("A", "C")) == "A" else 0
    more = 5 if second else 0
    also = f" {DUAL_SOURCE}." if second else ""
    label = _ear(outside, nrr - spectrum, more, "By its label: what laboratories reach, and few ears.", OSHA_SOURCE)
    field = _ear(outside, (nrr - spectrum) / 2, more, "Half of the label, as worn." + also, FIELD_SOURCE)
    derated = _ear(
        outside, nrr * (1 - share) - spectrum, more, f"{say(share * 100)} % off the rating.", DERATING_SOURCE
    )
    highest = max(label.level, field.level, derated.level)
    return Protected(label, field, derated, highest, reaches(outside, DOUBLE_FROM))


def impulse(peak: float) -> Impulse:
    """An impulse's peak sound pressure level in dB beside 140 dB."""
    found = noise_level(peak, "peak")
    word = OVER if reaches(found, IMPULSE_PEAK) else BELOW
    return Impulse(word, f"{say(found)} dB peak beside {IMPULSE_PEAK} dB.", IMPULSE_SOURCE)


def _todo(word: str, niosh: str, loud: bool) -> str:
    if loud:
        return "No time at all is allowed above 115 dBA: quieten it, or keep people out of it."
    if word == OVER:
        return "Quieten it or shorten the time; protectors meanwhile, and hearing tests."
    if word == ACTION:
        return "Hearing tests yearly, protectors for whoever wants them, training; measure again when work changes."
    if word == UNMEASURED:
        return "Measure the rest of the shift too: what it holds is not known."
    if niosh == OVER:
        return "Under OSHA's figures, but at or over NIOSH's recommendation: wear protectors and quieten it."
    return "Measure again when a machine or the work changes."


def _missing(measured: float, shift: float | None) -> float:
    if shift is None:
        return 0
    whole = _hours(shift, "shift")
    if measured > whole * (1 + 1e-9):
        raise HygieneError(
            "shift", f"It has {say(whole)} h, the periods {say(measured)} h.", "Give the hours that were worked."
        )
    left = whole - measured
    return left if left > 1e-9 else 0


def _ear(outside: float, off: float, more: float, why: str, source: str) -> Ear:
    # A rating of less than the 7 dB for the spectrum takes nothing off; it does not make the noise louder.
    taken = max(off, 0) + more
    return Ear(tidy(outside - taken, 2), tidy(taken, 2), why, source)


def _allowed(level: float, rule: Rule) -> float:
    return float(8 / 2 ** ((level - rule.criterion) / rule.exchange))


def noise_pairs(periods: Sequence[Sequence[float]]) -> list[tuple[float, float]]:
    """Periods of a day as [dBA, hours], checked; HygieneError names the one that cannot be."""
    if not periods:
        raise HygieneError("periods", "There are none.", "Give each as a level in dBA and its hours.")
    pairs = []
    for place, one in enumerate(periods):
        if not isinstance(one, list | tuple) or len(one) != 2:
            raise HygieneError(f"periods[{place}]", "It is not a pair.", "Give a level in dBA and its hours.")
        pairs.append((noise_level(one[0], f"periods[{place}].level"), _hours(one[1], f"periods[{place}].hours")))
    total = sum(hours for _, hours in pairs)
    if total > DAY * (1 + 1e-9):
        raise HygieneError("periods", f"They make {say(total)} h; a day has 24.", "Check each time.")
    return pairs


def noise_level(value: float, field: str) -> float:
    """A level in dB, checked."""
    if not is_number(value) or not QUIETEST <= value <= LOUDEST:
        raise HygieneError(
            field, f"It is not between {QUIETEST} and {LOUDEST} dB.", "Measure again, with the meter set to slow and A."
        )
    return value


def _hours(value: float, field: str) -> float:
    if not is_number(value) or not 0 < value <= DAY:
        raise HygieneError(field, "It is not above 0 and up to 24 h.", "Give the hours it lasted.")
    return value
