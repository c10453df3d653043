"""Noise by the rules of Britain and the European Union: daily and weekly exposure, action and limit values.

Daily exposure LEP,d = 10 log10((1 / 8) sum(t 10^(L / 10))) in dB(A); weekly exposure the same over five days. Exposure
points: 100 are 85 dB for 8 h. Values: Control of Noise at Work Regulations 2005, regulation 4; Directive 2003/10/EC.
A protector by its single number: LC - SNR (EN ISO 4869-2), and 4 dB more at the ear as it is really worn (HSE).
Twin: static/src/core/noise-daily.js, tests/vectors/noise_daily.json.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from webapp.core.exposure import ACTION, BELOW, OVER, reaches
from webapp.core.noise import noise_level, noise_pairs
from webapp.core.numbers import is_number, say, tidy
from webapp.core.problems import HygieneError

SOURCE = "Control of Noise at Work Regulations 2005, regulation 4 (the same values in Directive 2003/10/EC)"
LOWER, UPPER, LIMIT = (80, 135), (85, 137), (87, 140)
"""Daily or weekly exposure in dB(A), and peak in dB(C)."""
SNR_SOURCE = "EN ISO 4869-2: C-weighted level less SNR; HSE, Controlling noise at work (L108): 4 dB more as really worn"
REAL_WORLD, QUIET_AT_EAR = 4.0, 70.0
_MOST_SNR = 45


@dataclass(frozen=True)
class Daily:
    """Exposure of a day or a week in dB(A), and as points of which 100 are 85 dB for 8 h."""

    level: float
    points: float


@dataclass(frozen=True)
class Stands:
    """How exposure stands: `word` as for other limits, `value` the value reached ("lower action value", …) or None."""

    word: str
    value: str | None
    why: str
    todo: str
    source: str


@dataclass(frozen=True)
class Worn:
    """The level under a protector by its SNR, dB(A): by the standard, and as really worn. `too_quiet`: below 70, where
    speech and warnings go unheard and people take it off."""

    by_label: float
    level: float
    too_quiet: bool
    why: str
    source: str


def daily(periods: Sequence[Sequence[float]]) -> Daily:
    """A day of `periods`, each [dBA as LAeq, hours], over the eight hours that count however long it was."""
    return _of(sum(hours / 8 * 10 ** (level / 10) for level, hours in noise_pairs(periods)))


def weekly(days: Sequence[float]) -> Daily:
    """A week of daily exposures, at most seven, over the five days that count."""
    if not 1 <= len(days) <= 7:
        raise HygieneError("days", f"There are {len(days)}.", "Give the daily exposure of one to seven days.")
    return _of(sum(10 ** (noise_level(one, f"days[{place}]") / 10) for place, one in enumerate(days)) / 5)


def stands(level: float, peak: float | None = None, at_ear: float | None = None) -> Stands:
    """Exposure beside the action values, which take no account of protectors, and the limit, which does: `at_ear` is
    the exposure under them; without it the bare one is taken. A peak counts as it is: nobody measures one under a
    protector."""
    bare = noise_level(level, "level")
    top = 0.0 if peak is None else noise_level(peak, "peak")
    ear = bare if at_ear is None else noise_level(at_ear, "at_ear")
    if ear > bare:
        raise HygieneError("at_ear", "It is more than the bare level.", "A protector does not make it louder.")
    why = f"{say(bare)} dB(A)" + (f", {say(top)} dB(C) peak" if peak is not None else "")
    if reaches(ear, LIMIT[0]) or reaches(top, LIMIT[1]):
        return Stands(OVER, "limit value", f"{why}, {say(ear)} at the ear.", _TODO["limit value"], SOURCE)
    for values, name in ((UPPER, "upper action value"), (LOWER, "lower action value")):
        if reaches(bare, values[0]) or reaches(top, values[1]):
            return Stands(ACTION, name, f"{why}.", _TODO[name], SOURCE)
    return Stands(BELOW, None, f"{why}.", "Measure again when a machine or the work changes.", SOURCE)


def hours_to(level: float, value: float) -> float:
    """Hours at a steady level after which the daily exposure comes to `value` (80, 85 or 87 dB(A)).
    8 x 10^((V - L) / 10); more than 24 means: not in a day."""
    steady, aim = noise_level(level, "level"), noise_level(value, "value")
    return tidy(8 * 10 ** ((aim - steady) / 10), 4)


def worn(level: float, snr: float) -> Worn:
    """What is left under a protector with a single number rating, in a C-weighted level."""
    outside = noise_level(level, "level")
    if not is_number(snr) or not 0 <= snr <= _MOST_SNR:
        raise HygieneError("snr", f"It is not between 0 and {_MOST_SNR} dB.", "Read it off the packet: SNR, not NRR.")
    label = outside - snr
    ear = label + min(REAL_WORLD, snr)
    why = f"{say(outside)} dB(C) less {say(snr)} dB is {say(label)} dB(A); as really worn {say(ear)} dB(A)."
    return Worn(tidy(label, 2), tidy(ear, 2), ear < QUIET_AT_EAR, why, SNR_SOURCE)


_TODO = {
    "limit value": "Stop and bring it down at once; find why it was reached.",
    "upper action value": "Quieten it by more than protectors; mark the area, wear protectors there, test hearing.",
    "lower action value": "Tell and train people; protectors for whoever asks for them.",
}


def _of(energy: float) -> Daily:
    level = 10 * math.log10(energy)
    return Daily(tidy(level, 2), tidy(100 * 10 ** ((level - 85) / 10), 2))
