"""QR codes (ISO/IEC 18004) of the addresses that labels open, and one label as PNG or SVG."""

from __future__ import annotations

import io

import segno

QUIET = 4
"""Modules of white that a code needs around it."""


def address(base: str, type_: str, id_: str) -> str:
    """What a label opens: the round of a machine (its own place while none waits), or a bay with its machines."""
    return f"{base}/#/round/{id_}" if type_ == "machine" else f"{base}/#/shop/{id_}"


def modules(text: str) -> list[list[int]]:
    """The code's squares, 1 where dark, without the quiet zone. Level M: 15 % of it may be dirty or scratched."""
    return [[int(one) for one in row] for row in segno.make(text, error="m", micro=False, boost_error=True).matrix]


def svg(text: str, title: str) -> bytes:
    """The code as an SVG of its own, black on white."""
    out = io.BytesIO()
    code = segno.make(text, error="m", micro=False)
    code.save(out, kind="svg", border=QUIET, light="#fff", title=title, desc=text, scale=8)
    return out.getvalue()


def png(text: str) -> bytes:
    """The code as a PNG, black on white, 12 pixels a module."""
    out = io.BytesIO()
    segno.make(text, error="m", micro=False).save(out, kind="png", border=QUIET, scale=12)
    return out.getvalue()
