"""Drawing on the page of a PDF that is open: text, lines, shapes, pictures. Lengths in mm from the top left corner."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from webapp.reports.fonts import Face
from webapp.reports.pdf_objects import Objects

MM = 72 / 25.4
"""Points in a millimetre."""
_ROUND = 0.5523
"""How far the handles of a quarter circle's curve stand off, as a share of its radius (the usual approximation)."""
Point = tuple[float, float]


@dataclass
class Page:
    """The page being drawn: its size in mm, what was drawn, and which element each piece of marked content is of."""

    number: int
    width: float
    height: float
    front: bool
    content: list[str] = field(default_factory=list)
    owners: list[int] = field(default_factory=list)
    links: list[int] = field(default_factory=list)
    images: list[int] = field(default_factory=list)


@dataclass(frozen=True)
class Picture:
    """A JPEG file and its size in pixels."""

    jpeg: bytes
    width: int
    height: int


def number(value: float) -> str:
    """A number as content streams carry it."""
    return f"{value:.2f}".rstrip("0").rstrip(".")


class Canvas:
    """What is drawn goes into the content of the page that is open."""

    objects: Objects
    faces: dict[str, Face]
    page: Page | None

    def _drawn(self) -> Page:
        if self.page is None:
            raise RuntimeError("no page is begun")
        return self.page

    def _at(self, x: float, y: float) -> str:
        return f"{number(x * MM)} {number((self._drawn().height - y) * MM)}"

    def text(self, x: float, y: float, text: str, size: float, bold: bool = False, grey: float = 0) -> None:
        """A line of text whose baseline starts at (x, y)."""
        face = "F2" if bold else "F1"
        letters = f"BT /{face} {number(size)} Tf {self._at(x, y)} Td {self.faces[face].encode(text)} Tj ET"
        self._drawn().content.append(f"{number(grey)} g {letters} 0 g" if grey else letters)

    def white(self, x: float, y: float, text: str, size: float) -> None:
        """A bold line of white text, for signal words on black."""
        self.text(x, y, text, size, True)
        page = self._drawn()
        page.content[-1] = f"1 g {page.content[-1]} 0 g"

    def show_total(self, x: float, y: float) -> None:
        """The number of pages, which is known at the end only, drawn where it belongs."""
        self._drawn().content.append(f"q 1 0 0 1 {self._at(x, y)} cm /Total Do Q")

    def line(self, x1: float, y1: float, x2: float, y2: float, width: float = 0.2, grey: float = 0) -> None:
        """A straight line, its width in mm."""
        self.path([(x1, y1), (x2, y2)], width, grey)

    def path(self, points: Sequence[Point], width: float, grey: float = 0, dash: Sequence[float] = ()) -> None:
        """A line from point to point, its width and dashes in mm."""
        drawn = " ".join(f"{self._at(x, y)} {'l' if place else 'm'}" for place, (x, y) in enumerate(points))
        dashes = f"[{' '.join(number(one * MM) for one in dash)}] 0 d " if dash else ""
        self._drawn().content.append(f"q {number(width * MM)} w {number(grey)} G 1 j {dashes}{drawn} S Q")

    def shape(self, points: Sequence[Point], *, fill: float | None = None, line: float = 0) -> None:
        """A closed shape: filled with a grey (0 black, 1 white), outlined in black so wide, or both."""
        drawn = " ".join(f"{self._at(x, y)} {'l' if place else 'm'}" for place, (x, y) in enumerate(points))
        self._paint(f"{drawn} h", fill, line)

    def ring(self, x: float, y: float, radius: float, *, fill: float | None = None, line: float = 0) -> None:
        """A circle about (x, y), of four curves."""
        reach = radius * _ROUND
        turns = (
            ((x + reach, y - radius), (x + radius, y - reach), (x + radius, y)),
            ((x + radius, y + reach), (x + reach, y + radius), (x, y + radius)),
            ((x - reach, y + radius), (x - radius, y + reach), (x - radius, y)),
            ((x - radius, y - reach), (x - reach, y - radius), (x, y - radius)),
        )
        curves = " ".join(" ".join(self._at(*point) for point in turn) + " c" for turn in turns)
        self._paint(f"{self._at(x, y - radius)} m {curves} h", fill, line)

    def box(
        self, x: float, y: float, width: float, height: float, *, fill: float | None = None, line: float = 0
    ) -> None:
        """A rectangle from its top left corner: filled with a grey (0 black, 1 white), outlined so wide, or both."""
        self._paint(f"{self._at(x, y + height)} {number(width * MM)} {number(height * MM)} re", fill, line)

    def _paint(self, drawn: str, fill: float | None, line: float) -> None:
        shade = f"{number(fill)} g " if fill is not None else ""
        pen = f"{number(line * MM)} w " if line else ""
        paint = "B" if shade and pen else "f" if shade else "S"
        self._drawn().content.append(f"q {shade}{pen}{drawn} {paint} Q")

    def squares(self, x: float, y: float, side: float, rows: Iterable[Iterable[int]]) -> None:
        """A bitmap of black squares (a QR code), each `side` wide; runs of a row are drawn as one."""
        page, drawn = self._drawn(), []
        for down, row in enumerate(rows):
            start = None
            for across, dark in enumerate([*row, 0]):
                if dark and start is None:
                    start = across
                elif not dark and start is not None:
                    left, top = x + start * side, page.height - y - (down + 1) * side
                    drawn.append(
                        f"{left * MM:.3f} {top * MM:.3f} {(across - start) * side * MM:.3f} {side * MM:.3f} re"
                    )
                    start = None
        page.content.append("q 0 g " + " ".join(drawn) + " f Q")

    def picture(self, one: Picture, x: float, y: float, width: float, height: float) -> None:
        """A picture in a rectangle from its top left corner. It is written to the file at once."""
        about = b"/Type/XObject/Subtype/Image/Width %d/Height %d/ColorSpace/DeviceRGB/BitsPerComponent 8" % (
            one.width, one.height,
        )  # fmt: skip
        at, page = self.objects.jpeg(one.jpeg, about), self._drawn()
        page.images.append(at)
        size = f"{number(width * MM)} 0 0 {number(height * MM)}"
        page.content.append(f"q {size} {self._at(x, y + height)} cm /P{at} Do Q")
