"""Charts drawn on paper: axes with their unit, band and limits, readings; all of it tagged as one figure.

Black and white by design: what is told apart is told apart by shape, fill and words.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from webapp.reports.canvas import Point
from webapp.reports.flow import POINT, Paper
from webapp.reports.scales import Scale

_HIGH, _LEFT, _FOOT, _HEAD = 40.0, 13.0, 5.5, 4.5
DEEP = _HIGH + _FOOT + _HEAD + 16
"""What a heading above a chart keeps free, in mm: the chart and the first rows of its table."""
_SMALL = 7.5
_MARKED = 90
"""So many points have a mark of their own; more would run into each other."""
_BAND, _GRID, _SOFT = 0.9, 0.75, 0.35


@dataclass(frozen=True)
class Mark:
    """A point of a chart: where, and its shape ("dot", "diamond" filled, "ring" open)."""

    x: float
    y: float
    shape: str = "dot"


@dataclass(frozen=True)
class Bar:
    """A bar from `x` to `to`, of pieces one on the other, each filled by its place: dark, light, white."""

    x: float
    to: float
    pieces: tuple[float, ...]


@dataclass(frozen=True)
class Chart:
    """What is drawn: `unit` stands over the axis; `levels` are (value, words); `band` is shaded from low to high."""

    alt: str
    unit: str
    across: Scale
    up: Scale
    marks: Sequence[Mark] = ()
    joined: bool = True
    bars: Sequence[Bar] = ()
    levels: Sequence[tuple[float, str]] = ()
    band: tuple[float, float] | None = None
    key: Sequence[tuple[str, str]] = ()
    """Shapes and what they mean, where there is more than one."""


def draw(paper: Paper, chart: Chart) -> None:
    """The chart across the width of the paper, on this page or the next."""
    deep = _HEAD + _HIGH + _FOOT
    paper.need(deep + 4)
    said = max((paper.face(False).width(told, _SMALL) * POINT + 2 for _, told in chart.levels), default=2)
    plot = _Plot(paper, chart, paper.left + _LEFT, paper.y + _HEAD, paper.inner - _LEFT - said, _HIGH)
    paper.pdf.push_figure(chart.alt, paper.left, paper.y, paper.inner, deep)
    paper.pdf.begin_content()
    plot.ground()
    plot.axes()
    plot.bars()
    plot.levels()
    plot.line()
    plot.key()
    paper.pdf.end_content()
    paper.pdf.pop()
    paper.y += deep + 1.5


class _Plot:
    """The rectangle that is drawn in, and what is drawn."""

    def __init__(self, paper: Paper, chart: Chart, x: float, y: float, wide: float, high: float) -> None:
        self.paper, self.pdf, self.chart = paper, paper.pdf, chart
        self.x, self.y, self.wide, self.high = x, y, wide, high

    def across(self, value: float) -> float:
        return self.x + min(max(self.chart.across.share(value), 0), 1) * self.wide

    def up(self, value: float) -> float:
        return self.y + self.high - min(max(self.chart.up.share(value), 0), 1) * self.high

    def _width(self, text: str, bold: bool = False) -> float:
        return self.paper.face(bold).width(text, _SMALL) * POINT

    def ground(self) -> None:
        if self.chart.band:
            low, high = self.chart.band
            self.pdf.box(self.x, self.up(high), self.wide, self.up(low) - self.up(high), fill=_BAND)

    def axes(self) -> None:
        pdf, foot = self.pdf, self.y + self.high
        for value, told in self.chart.up.ticks:
            at = self.up(value)
            pdf.line(self.x, at, self.x + self.wide, at, 0.1, _GRID)
            pdf.text(self.x - 1.5 - self._width(told), at + 1, told, _SMALL)
        pdf.text(self.paper.left, self.y - 1.8, self.chart.unit, _SMALL, True)
        for value, told in self.chart.across.ticks:
            at = self.across(value)
            pdf.line(at, foot, at, foot + 1.2, 0.2, 0)
            left = min(max(at - self._width(told) / 2, self.x), self.x + self.wide - self._width(told))
            pdf.text(left, foot + 4.2, told, _SMALL)
        pdf.line(self.x, foot, self.x + self.wide, foot, 0.25)
        pdf.line(self.x, self.y, self.x, foot, 0.25)

    def bars(self) -> None:
        for bar in self.chart.bars:
            left, right = self.across(bar.x), self.across(bar.to)
            gap, base = min((right - left) * 0.15, 2.0), 0.0
            for place, piece in enumerate(bar.pieces):
                top, below = self.up(base + piece), self.up(base)
                self.pdf.box(left + gap, top, right - left - 2 * gap, below - top, fill=_fill(place), line=0.2)
                base += piece

    def levels(self) -> None:
        """Limits as dashed lines, their words to the right of the drawing, one clear of the other."""
        inside = sorted(one for one in self.chart.levels if self.chart.up.low <= one[0] <= self.chart.up.high)
        free = self.y + self.high + 1
        for value, told in inside:
            at, right = self.up(value), self.x + self.wide
            self.pdf.path([(self.x, at), (right, at)], 0.25, 0, (1.6, 1.0))
            free = min(at + 1, free)
            self.pdf.text(right + 1.5, free, told, _SMALL)
            free -= 3

    def line(self) -> None:
        points = [(self.across(one.x), self.up(one.y)) for one in self.chart.marks]
        if self.chart.joined and len(points) > 1:
            self.pdf.path(points, 0.35)
        for place, one in zip(points, self.chart.marks, strict=True):
            if one.shape != "dot" or len(points) <= _MARKED:
                mark(self.paper, place, one.shape)

    def key(self) -> None:
        """What the shapes mean, at the right above the drawing."""
        if len(self.chart.key) < 2:
            return
        x = self.x + self.wide - sum(self._width(words) + 9 for _, words in self.chart.key) + 3
        for shape, words in self.chart.key:
            mark(self.paper, (x + 1.5, self.y - 2.7), shape)
            self.pdf.text(x + 4.5, self.y - 1.8, words, _SMALL)
            x += self._width(words) + 9


def _fill(place: int) -> float:
    return (0.35, 0.8, 1.0)[place % 3]


def mark(paper: Paper, place: Point, shape: str) -> None:
    """One mark: a dot, a filled diamond, an open ring, or the fill of a bar's piece by its place ("bar0", …)."""
    (x, y), pdf = place, paper.pdf
    if shape == "dot":
        pdf.ring(x, y, 0.55, fill=0)
    elif shape == "ring":
        pdf.ring(x, y, 1.1, fill=1, line=0.3)
    elif shape == "diamond":
        pdf.shape([(x, y - 1.2), (x + 1.2, y), (x, y + 1.2), (x - 1.2, y)], fill=0)
    elif shape.startswith("bar"):
        pdf.box(x - 1.2, y - 1.2, 2.4, 2.4, fill=_fill(int(shape[3:])), line=0.2)
    else:
        pdf.path([(x - 2.5, y), (x + 2.5, y)], 0.35)
