"""The documents that entries fold to: one a machine, one for the shop. Shapes: DEVELOPERS.md, 'State'.

Everything here is mirrored by `static/src/core/fold.js`; both are held to `tests/vectors/fold.json`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

Doc = dict[str, Any]

SECTIONS = (
    "meters", "tags", "findings", "raised", "rounds", "checks", "readings", "parts", "fluids", "tasks",
    "stock", "settled",
)  # fmt: skip
"""What every document has. Sections that came later (hazards, people, exposures, chips, commissioned) are made when
first needed, so that documents stored before them are still what a refold gives."""


@dataclass(frozen=True, slots=True)
class Effective:
    """An entry as the fold sees it: amended body, corrected time in UTC."""

    id: str
    kind: str
    machine: str | None
    by: str
    at: str
    body: dict[str, Any]


def empty_doc() -> Doc:
    """A machine (or the shop) of which nothing is known yet."""
    doc: Doc = {section: {} for section in SECTIONS}
    return doc | {"used_at": None, "back_at": None, "last_at": None}


def r6(value: float) -> float:
    """Round half up to 6 places: the same bits in Python and in JavaScript, unlike either's own round."""
    return math.floor(value * 1e6 + 0.5) / 1e6


def meter_of(doc: Doc, meter: str) -> Doc:
    """The meter's running figures, begun at nought."""
    blank = {"total": 0, "base": 0, "face": None, "face_at": None, "at": None, "backwards": 0}
    found: Doc = doc["meters"].setdefault(meter, blank)
    return found


def totals(doc: Doc) -> dict[str, float]:
    """Every meter's running total now."""
    return {key: meter["total"] for key, meter in doc["meters"].items()}


def newest_first(rows: list[Any], row: Any, keep: int) -> None:
    """Put a row in front and drop what is beyond `keep`."""
    rows.insert(0, row)
    del rows[keep:]


def add_to_meter(doc: Doc, meter: str, amount: float, at: str) -> None:
    """Count `amount` on and remember that the machine was used."""
    running = meter_of(doc, meter)
    running["total"] = r6(running["total"] + amount)
    running["at"] = at
    doc["used_at"] = at


def read_meter(doc: Doc, meter: str, value: float, replaced: bool, at: str) -> None:
    """A counter's face was read: it rules over what was added since the last reading.

    A first reading below what was counted, or one marked as a new counter, starts a new face and keeps the
    total. A reading below the last one moves nothing and is counted in `backwards`.
    """
    running = meter_of(doc, meter)
    face = running["face"]
    if face is not None and not replaced and value < face:
        running["backwards"] += 1
        return
    if face is None and not replaced and value >= running["total"]:
        running["base"] = value
    elif face is None or replaced:
        running["base"] = running["total"]
    else:
        running["base"] = r6(running["base"] + value - face)
    running.update(total=running["base"], face=value, face_at=at, at=at)


def close(doc: Doc, section: str, key: str) -> None:
    """Take an open thing out; remember the closing if it came, in time, before the opening."""
    if doc.get(section, {}).pop(key, None) is None:
        doc["settled"][key] = True


def open_unless_settled(doc: Doc, section: str, key: str, value: Doc) -> None:
    """Keep a thing as open, unless its closing was seen already."""
    if doc["settled"].pop(key, None) is None:
        doc.setdefault(section, {})[key] = value
