"""A photo made small for paper: still a JPEG, as many dots as the print can show."""

from __future__ import annotations

import io

from webapp.reports.canvas import Picture

WIDE, HIGH = 44.0, 33.0
"""The room of a picture on paper, in mm: four stand side by side."""
_DOTS = 8
"""Dots a mm, some 200 an inch."""
_QUALITY = 75


def small(jpeg: bytes) -> Picture | None:
    """A kept photo scaled down to its room; None for bytes that are no picture."""
    from PIL import Image

    try:
        with Image.open(io.BytesIO(jpeg), formats=("JPEG",)) as image:
            room = (round(WIDE * _DOTS), round(HIGH * _DOTS))
            image.draft("RGB", room)  # the decoder leaves out what would be thrown away
            found = image.convert("RGB")
            found.thumbnail(room)
            out = io.BytesIO()
            found.save(out, "JPEG", quality=_QUALITY)
    except (OSError, ValueError):
        return None
    return Picture(out.getvalue(), found.width, found.height)


def placed(one: Picture) -> tuple[float, float]:
    """Its width and height on paper, in mm."""
    share = min(WIDE / one.width, HIGH / one.height)
    return one.width * share, one.height * share
