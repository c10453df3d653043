"""The photos of the foil test: a drawn sheet of foil with the pits that a working bath leaves in it."""

from __future__ import annotations

import hashlib
import io
from random import Random

from PIL import Image, ImageDraw

SIZE = (480, 360)
GROUND, SHEET, PIT = (72, 78, 82), (196, 200, 202), (120, 124, 128)


def foil(rng: Random) -> tuple[str, bytes]:
    """(SHA-256, PNG bytes) of a sheet pitted all over."""
    width, height = SIZE
    image = Image.new("RGB", SIZE, GROUND)
    draw = ImageDraw.Draw(image)
    left, top, right, bottom = 60, 24, width - 60, height - 24
    draw.rectangle((left, top, right, bottom), fill=SHEET)
    for _ in range(260):
        x, y = rng.uniform(left + 4, right - 4), rng.uniform(top + 4, bottom - 4)
        radius = rng.uniform(0.8, 3.4)
        draw.ellipse((x - radius, y - radius, x + radius, y + radius), fill=PIT)
    for _ in range(14):
        x, y = rng.uniform(left, right), rng.uniform(top, bottom)
        draw.line((x, y, x + rng.uniform(-40, 40), y + rng.uniform(-40, 40)), fill=(226, 229, 230))
    out = io.BytesIO()
    image.save(out, "PNG")
    data = out.getvalue()
    return hashlib.sha256(data).hexdigest(), data
