"""The typeface on paper: its widths, and the part of it that a document uses."""

from __future__ import annotations

import hashlib
import io
from array import array
from functools import cache
from pathlib import Path
from typing import Any

UNKNOWN = "\ufffd"
"""What copying gives where the typeface has no letter."""
_STYLES = {"regular": "SourceSansPro-Regular.ttf", "bold": "SourceSansPro-Bold.ttf"}


@cache
def _file(style: str) -> Path:
    import font_source_sans_pro  # nothing but font files (SIL Open Font License)

    return Path(font_source_sans_pro.font_directory) / _STYLES[style]


class _Metrics:
    """What layout asks of a face, read once a process: glyph and width (thousandths of the size) by letter."""

    def __init__(self, style: str) -> None:
        from fontTools.ttLib import TTFont

        font = TTFont(_file(style), lazy=True)
        scale = 1000 / font["head"].unitsPerEm
        self.name: str = font["name"].getDebugName(6)
        self.ascent, self.descent = (round(value * scale) for value in (font["hhea"].ascent, font["hhea"].descent))
        self.cap_height = round(font["OS/2"].sCapHeight * scale)
        head = font["head"]
        self.box = [round(value * scale) for value in (head.xMin, head.yMin, head.xMax, head.yMax)]
        order = {name: number for number, name in enumerate(font.getGlyphOrder())}
        self.glyphs = {chr(code): order[name] for code, name in font.getBestCmap().items()}
        self.widths = array("H", (round(font["hmtx"][name][0] * scale) for name in font.getGlyphOrder()))


@cache
def _metrics(style: str) -> _Metrics:
    return _Metrics(style)


class Face:
    """One style of the typeface in one document; remembers which letters were used."""

    def __init__(self, style: str) -> None:
        self.style, self._metrics = style, _metrics(style)
        self.used: dict[int, str] = {}
        self.unprintable: set[str] = set()

    @property
    def metrics(self) -> _Metrics:
        return self._metrics

    def width(self, text: str, size: float) -> float:
        """How wide a text is, in the unit of `size`."""
        glyphs, widths = self._metrics.glyphs, self._metrics.widths
        total: int = sum(widths[glyphs.get(letter, 0)] for letter in text)
        return total * size / 1000

    def encode(self, text: str) -> str:
        """The text as a hexadecimal string of glyphs; a letter without one is noted, and is an empty box (glyph 0)."""
        known, found = self._metrics.glyphs, []
        for letter in text:
            glyph = known.get(letter, 0)
            if not glyph:
                self.unprintable.add(letter)
                letter = UNKNOWN
            self.used.setdefault(glyph, letter)
            found.append(f"{glyph:04x}")
        return f"<{''.join(found)}>"

    def subset(self) -> bytes:
        """The used letters as a TrueType file of the same numbering. The same letters give the same bytes."""
        from fontTools import subset

        options = subset.Options()
        options.retain_gids, options.notdef_outline = True, True
        options.hinting, options.layout_features, options.name_IDs = False, [], []
        options.drop_tables += ["GPOS", "GSUB", "GDEF", "BASE", "DSIG", "OS/2", "post", "cmap", "name"]
        options.recalc_timestamp = False
        font: Any = subset.load_font(str(_file(self.style)), options)
        cutter = subset.Subsetter(options)
        cutter.populate(gids=sorted(self.used))
        cutter.subset(font)
        out = io.BytesIO()
        font.save(out, reorderTables=False)
        return out.getvalue()

    def tagged_name(self) -> str:
        """The name of a subset (ISO 32000-1, 9.6.4): six letters, told by what is in it."""
        digest = hashlib.sha256(repr(sorted(self.used)).encode()).digest()
        return "".join(chr(65 + byte % 26) for byte in digest[:6]) + "+" + self._metrics.name
