"""Own alloys as the phone derives them too: `python -m tests.library.own_cases` writes tests/vectors/own_alloys.json anew."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from webapp.core.certificates import Line, composed
from webapp.core.problems import Problem
from webapp.core.sources import Source
from webapp.library.cards import alloy_card, cards
from webapp.library.own import own_alloy

FILE = Path(__file__).parents[1] / "vectors" / "own_alloys.json"
LIKE = ("C36000", "C14500", "S30400", "C17200")
_SOURCE = Source("row", "Mill certificate", "the shop's own", "2026-03-02", "seen")
_ID = "01900000-0000-7000-8000-00000000000a"


def lines(**figures: float | str) -> list[dict[str, Any]]:
    """`Cu=61.5` was found, `Be="0.01"` is a bound."""
    return [
        {"element": key, "percent" if not isinstance(one, str) else "at_most": float(one)}
        for key, one in figures.items()
    ]


def row(name: str, base: str, composition: list[dict[str, Any]], **more: Any) -> dict[str, Any]:
    """A definition of an alloy."""
    certificate = {"number": "T 2207", "source": "the rod mill's own, with the delivery", "dated": "2026-03-02"}
    return {"id": _ID, "name": name, "base": base, "composition": composition, "certificate": certificate} | more


CARDS = {
    "every figure of a leaded brass": row("Brass rod", "Cu", lines(Cu=61.3, Zn=35.9, Pb=2.7, Fe=0.08), like="C36000", uns="C36000"),
    "lead that was not copied is taken from the card": row("Brass rod", "Cu", lines(Zn=35.9), like="C36000"),
    "beryllium beyond the card": row("Odd rod", "Cu", lines(Zn=35.9, Pb=2.7, Be=0.4), like="C36000"),
    "a bound below the threshold": row("Rod", "Cu", lines(Zn=35.9, Pb=2.7, Be="0.05"), like="C36000"),
    "a bound above the threshold": row("Rod", "Cu", lines(Zn=35.9, Pb=2.7, Be="0.5"), like="C36000"),
    "like nothing in the library": row("Zinc casting", "Zn", lines(Al=4.1, Mg=0.05, Cu=0.1, Pb="0.005")),
    "without a density": row("Silver solder", "Ag", lines(Cu=22, Ga=20, Cd=2), scrap="cadmium_copper", notes="Filler."),
    "a stainless with its own density": row(
        "Bar 16", "Fe", lines(Cr=18.2, Ni=8.1, Mn=1.6, C=0.05, S=0.02), like="S30400", density={"value": 0.29, "unit": "lb/in3"}
    ),
    "out of use": row("Old bar", "Cu", lines(Te=0.52, P=0.008), like="C14500", retired=True, density=None, uns=None),
}  # fmt: skip

CERTIFICATES: dict[str, tuple[str, list[dict[str, Any]]]] = {
    "the remainder": ("Cu", lines(Be=1.86, Co=0.24)),
    "a per cent off the whole": ("Cu", lines(Cu=61, Zn=38)),
    "the bounds make up the whole": ("Cu", lines(Cu=97.5, Zn="1", Fe="1")),
    "no such base": ("Xx", lines(Cu=61)),
    "no line": ("Cu", []),
    "a misspelt element": ("Cu", lines(Bo=1)),
    "an element twice": ("Cu", [*lines(Pb=1), *lines(Pb=2)]),
    "no figure": ("Cu", [{"element": "Pb"}]),
    "two figures": ("Cu", [{"element": "Pb", "percent": 1.0, "at_most": 2.0}]),
    "below nothing": ("Cu", lines(Pb=-0.1)),
    "more than all": ("Cu", lines(Pb=100.5)),
    "a bound of more than all": ("Cu", lines(Pb="101")),
    "a bound on the main metal": ("Cu", lines(Cu="99")),
    "too much": ("Cu", lines(Cu=61, Zn=45)),
    "too much without the main metal": ("Cu", lines(Zn=61, Ni=45)),
    "too little": ("Cu", lines(Cu=61, Zn=30)),
    "another main metal": ("Cu", lines(Zn=60, Pb=2)),
    "another main metal, both stated": ("Cu", lines(Cu=39.8, Zn=60)),
}


def tried(base: str, certificate: list[dict[str, Any]]) -> Any:
    """The composition, or the refusal."""
    try:
        found = composed(base, [Line(**one) for one in certificate], _SOURCE)
    except Problem as problem:
        return {"error": problem.to_dict()}
    kept = [{"element": one.element, "low": one.low, "high": one.high, "rest": one.rest or None} for one in found]
    return [{name: value for name, value in one.items() if value is not None} for one in kept]


def vectors() -> dict[str, Any]:
    """The file: what of the library the rows need, cards by row, compositions by certificate."""
    known = cards()
    library = {name: known[name] for name in ("elements", "densities")}
    library["alloys"] = {key: known["alloys"][key] for key in LIKE}
    made = [
        {
            "name": name,
            "row": one,
            "out": alloy_card(own_alloy(one)) | ({"retired": True} if one.get("retired") else {}),
        }
        for name, one in CARDS.items()
    ]
    read = [
        {"name": name, "base": base, "lines": one, "out": tried(base, one)}
        for name, (base, one) in CERTIFICATES.items()
    ]
    return {"library": library, "cards": made, "certificates": read}


if __name__ == "__main__":
    FILE.write_text(json.dumps(vectors(), indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
