"""The saw: how wide it cuts, how many teeth stand in the cut, which pitch, breaking a blade in, band tension.

Areas and blanks are in sections.py, surface speed in speeds.py, band speeds by metal in band_speeds.py. Every
published figure keeps its source; where sources differ, each is shown. Twin: static/src/core/sawing.js, held to
tests/vectors/sawing.json.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass

from webapp.core.figures import above_zero, from_zero, is_us, known
from webapp.core.numbers import say, tidy
from webapp.core.problems import FigureError
from webapp.core.sections import area

FEWEST_TEETH, USUAL_MOST = 3, 14
TEETH_SOURCE = "fsmdirect.com: no fewer than 3 teeth in the cut, no more than 10 to 14"
MH31 = "Machinery's Handbook, 31st edition, p. 1245"
MANUAL = "a band-saw maker's manual (manualshive.com, BS-13LS, p. 10)"
CHART = "a blade seller's chart by size (sawblade.com)"
SQ_IN_CM2, PSI_MPA = 6.4516, 0.006894757293168

# Stock (in) and pitch (teeth per inch), as the two tables print them.
_BY_POINT: tuple[tuple[str, tuple[tuple[float, str], ...]], ...] = (
    (MH31, ((0.25, "10/14"), (0.75, "6/10"), (1.25, "4/6"), (4, "3/4"), (8, "2/3"))),
    (MANUAL, ((0.25, "10/14"), (0.75, "6/10"), (1.25, "5/8"), (2.5, "4/6"), (4, "3/4"), (8, "2/3"))),
)
_BY_RANGE: tuple[tuple[float | None, str, tuple[str, ...]], ...] = (
    (1, "up to 1 in", ("10/14", "8/12")),
    (3, "over 1 to 3 in", ("8/12", "6/10", "5/8")),
    (6, "over 3 to 6 in", ("5/8", "4/6", "3/4")),
    (None, "over 6 in", ("3/4", "2/3", "1.5/1.9", "1.1/1.4")),
)
# Blade -> usual stress and the most (None: not given), in psi.
_STRESS: dict[str, tuple[float, float, float | None]] = {
    "carbon": (15_000, 20_000, None),
    "bimetal": (25_000, 30_000, 35_000),
}
TENSION_SOURCE = "forrestmfg.com: carbon 15,000 to 20,000 psi, bimetal 25,000 to 30,000, at most 35,000"
_BREAK_IN_FROM, _BREAK_IN_TO = 50, 100
BREAK_IN_SOURCE = "amadamca.com: half feed and half speed for the first 50 to 100 sq in, then up by steps"
BREAK_IN_OTHERS = (
    "wikusnews.com: full band speed; half the cutting rate (three quarters in hard metals), up over 50 to 75 sq in",
    "manualslib.com, manual of a 10 in cold saw: half feed pressure for 50 sq in of steel, 150 sq in of aluminium",
)


@dataclass(frozen=True)
class Widths:
    """What the teeth meet: the way down through the stock, the average and widest cut, a hollow section's wall."""

    travel: float
    average: float
    widest: float
    wall: float | None


@dataclass(frozen=True)
class Teeth:
    """Teeth in the cut, by the coarse and the fine end of the pitch. verdict: "too few", "within" or "many"."""

    pitch: str
    fewest: float
    most: float
    verdict: str
    why: str
    source: str


@dataclass(frozen=True)
class Pitches:
    """What one source advises: its own size, and the teeth that each pitch puts in this cut."""

    size: str
    teeth: tuple[Teeth, ...]
    source: str


@dataclass(frozen=True)
class BreakIn:
    """How far a new blade is broken in. stage: "break-in", "ease up" or "done"; shares of normal speed and feed."""

    stage: str
    share: float
    left: float
    unit: str
    why: str
    source: str
    others: tuple[str, ...]


@dataclass(frozen=True)
class Tension:
    """The pull of a tensioned band: in one leg, on the tensioner (both legs), and the usual range of one leg."""

    leg: float
    both: float
    usual_low: float
    usual_high: float
    unit: str
    verdict: str
    why: str
    source: str


def cut_widths(shape: str, measures: Mapping[str, float]) -> Widths:
    """How wide the cut is as the band goes down through the section, its first measure lying flat.

    The average is the area over the way down, as the saw tables take it for tubes. Unit: that of the measures.
    SectionError as `sections.area`.
    """
    whole = area(shape, measures)
    if shape in ("plate", "rectangle", "box"):
        travel = measures["thickness" if shape == "plate" else "height"]
        widest = measures["width"]
    else:
        travel = measures[{"round": "diameter", "square": "side", "tube": "outside", "hex": "flats"}[shape]]
        widest = travel * 2 / math.sqrt(3) if shape == "hex" else travel
    wall = measures.get("wall") if shape in ("tube", "box") else None
    if shape == "tube" and wall is not None:
        # Widest where the band just touches the bore.
        widest = 2 * math.sqrt(wall * (travel - wall))
    return Widths(tidy(travel), tidy(whole / travel), tidy(widest), None if wall is None else tidy(wall))


def teeth_in_cut(width: float, pitch: str, units: str) -> Teeth:
    """Teeth that stand in a cut `width` wide (in or mm). `pitch` is teeth per inch: "10", or "4/6" when it varies.

    FigureError for a width or pitch that cannot be.
    """
    inches = above_zero(width, "width", 1000 if is_us(units) else 25_400) / (1 if is_us(units) else 25.4)
    low, high = _pitch(pitch)
    fewest, most = tidy(inches * low, 4), tidy(inches * high, 4)
    verdict = "too few" if fewest < FEWEST_TEETH else "many" if fewest > USUAL_MOST else "within"
    advice = {
        "too few": "Fewer than 3 catch on the edge and strip: take a finer pitch.",
        "within": "At least 3, and not more than the usual most of 14 at the coarse end.",
        "many": "More than the usual most of 14: gullets fill, take a coarser pitch.",
    }
    count = say(fewest) if fewest == most else f"{say(fewest)} to {say(most)}"
    return Teeth(
        "".join(pitch.split()), fewest, most, verdict, f"{count} teeth in the cut. {advice[verdict]}", TEETH_SOURCE
    )


def _pitch(pitch: object) -> tuple[float, float]:
    """The coarse and the fine end of a pitch."""
    found = re.fullmatch(r"\s*(\d+(?:\.\d+)?)(?:\s*/\s*(\d+(?:\.\d+)?))?\s*", pitch) if isinstance(pitch, str) else None
    ends = sorted(float(end) for end in found.groups() if end is not None) if found else []
    if not ends or ends[0] < 0.5 or ends[-1] > 50:
        raise FigureError("pitch", f'"{pitch}" is no pitch.', "Give teeth per inch as printed on the blade, 10 or 4/6.")
    return ends[0], ends[-1]


def pitch_advice(width: float, units: str) -> tuple[Pitches, ...]:
    """The pitch that each source gives for a cut of this width (in or mm), and the teeth it puts in the cut."""
    inches = above_zero(width, "width", 1000 if is_us(units) else 25_400) / (1 if is_us(units) else 25.4)
    rows = []
    for source, points in _BY_POINT:
        size, pitch = points[0]
        for further, finer in points[1:]:
            # The nearest printed size by ratio: past the geometric mean of two the larger is nearer.
            if inches * inches > size * further:
                size, pitch = further, finer
        rows.append(Pitches(f"{say(size)} in", (teeth_in_cut(inches, pitch, "us"),), source))
    for most, words, pitches in _BY_RANGE:
        if most is None or inches <= most:
            rows.append(Pitches(words, tuple(teeth_in_cut(inches, pitch, "us") for pitch in pitches), CHART))
            break
    return tuple(rows)


def break_in(cut: float, units: str) -> BreakIn:
    """Where a new blade stands after `cut` sq in ("us") or cm2 ("metric") since it was fitted."""
    factor, unit = (1, "sq in") if is_us(units) else (SQ_IN_CM2, "cm2")
    done = from_zero(cut, "cut", 1_000_000_000) / factor
    left = tidy(max(_BREAK_IN_TO - done, 0) * factor, 4)
    if done >= _BREAK_IN_TO:
        return BreakIn("done", 1, 0, unit, "Broken in: normal speed and feed.", BREAK_IN_SOURCE, BREAK_IN_OTHERS)
    if done < _BREAK_IN_FROM:
        why = "New teeth chip: half the normal speed and half the feed."
        return BreakIn("break-in", 0.5, left, unit, why, BREAK_IN_SOURCE, BREAK_IN_OTHERS)
    share = tidy(0.5 + 0.5 * (done - _BREAK_IN_FROM) / (_BREAK_IN_TO - _BREAK_IN_FROM), 2)
    why = f"Raise speed and feed by steps: about {say(share * 100)} % of normal now."
    return BreakIn("ease up", share, left, unit, why, BREAK_IN_SOURCE, BREAK_IN_OTHERS)


def tension(width: float, thickness: float, stress: float, blade: str, units: str) -> Tension:
    """The force that a stress makes in a band: stress x width x thickness in each leg; the tensioner bears two.

    us: in, psi, lbf; metric: mm, MPa, N. `blade` is "carbon" or "bimetal". The gullets are not taken off the width.
    """
    us = is_us(units)
    low, high, most = _STRESS[known(blade, "blade", _STRESS)]
    scale, unit = (1, "lbf") if us else (PSI_MPA, "N")
    above_zero(width, "width", 10 if us else 254)
    above_zero(thickness, "thickness", 1 if us else 25.4)
    above_zero(stress, "stress", 200_000 if us else 1400)
    section = width * thickness
    psi = tidy(stress / scale, 4)
    limit = high if most is None else most
    verdict = "below" if psi < low else "above" if psi > limit else "within"
    why = {
        "below": "Below the usual range: the band wanders and cuts out of square.",
        "within": "Within the usual range.",
        "above": "Above the usual most: the band or its weld may part.",
    }[verdict]
    leg = stress * section
    return Tension(
        tidy(leg, 4),
        tidy(2 * leg, 4),
        tidy(low * scale * section, 4),
        tidy(high * scale * section, 4),
        unit,
        verdict,
        why,
        TENSION_SOURCE,
    )
