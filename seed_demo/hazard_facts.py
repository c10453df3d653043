"""What the demo's hazard log tells of: every hazard, figure and survey in it is invented."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

Body = dict[str, Any]

PURGE_NEEDED = 50
"""Seconds: 12 cubic feet at 300 cfm, 99.9 % and a mixing factor of 3 (CDC 2003, Table B.1, worked out: 49.7)."""
POUNDS_AN_HOUR = {"C36000": 9.0, "C14500": 6.5, "C51000": 5.0, "303": 5.5, "304": 4.0}
"""Chips for an hour of the mill's spindle (invented)."""
DRUM_FULL = 55.0
"""Pounds at which somebody empties a chip drum."""
DUST_WEEKS = 4
OPERATORS = {
    "mill": ("ruben", "odile"),
    "lathe": ("ruben",),
    "saw": ("femi", "ruben"),
    "sander": ("femi", "ruben", "wanda"),
    "cabinet": ("wanda", "femi"),
    "grinder": ("ruben", "femi"),
}
"""Who is signed off for which machine; whoever leads trained them, and somebody from elsewhere trained her."""
YEARLY = ("sander", "cabinet", "grinder")
"""Sign-offs that the shop renews each year, since these machines make dust."""
WEARERS = {
    "femi": "half mask, medium",
    "wanda": "half mask, small",
    "ruben": "half mask, medium",
    "odile": "half mask, small",
}
CARTRIDGE_HOURS = 40
MASK_HOURS = {"femi": 2.4, "wanda": 1.7, "ruben": 0.7, "odile": 0.3}
"""Hours a week in the mask, on average."""


@dataclass(frozen=True)
class Hazard:
    """Something noted: where, what work, what was seen, what was in use, and what settled it."""

    role: str
    by: str
    process: str
    text: str
    done: str
    seen: tuple[str, ...] = ()
    controls: tuple[str, ...] = ()
    alloy: str | None = None
    medium: str | None = None
    near_miss: bool = False
    first_aid: bool = False
    exposed: tuple[str, ...] = ()


NOTED = (
    Hazard(
        "sander",
        "femi",
        "dry_sand",
        "Haze over the belt in the afternoon sun",
        "Hose to the hood was off its collar; clamped",
        ("haze",),
        ("exhaust on", "half mask"),
        "C36000",
        exposed=("femi",),
    ),
    Hazard(
        "cabinet",
        "wanda",
        "blast",
        "Fine dust on the lid after blasting",
        "Door seal seated again, wiped up wet",
        ("visible dust",),
        ("exhaust on",),
        "C36000",
        "glass_bead",
        exposed=("wanda",),
    ),
    Hazard(
        "mill",
        "ruben",
        "mill",
        "Mist stands over the machine at full coolant",
        "Nozzles turned down, doors shut while it cuts",
        ("haze",),
        ("doors shut",),
        "304",
        exposed=("ruben",),
    ),
    Hazard(
        "sander",
        "femi",
        "dry_sand",
        "Metal taste after an hour of brass",
        "Stopped, washed, hood moved two inches nearer the belt",
        ("taste",),
        ("exhaust on",),
        "C36000",
        exposed=("femi",),
    ),
    Hazard(
        "saw",
        "femi",
        "saw",
        "Coolant on the floor behind the saw, slid on it",
        "Screen cleaned, mat laid",
        ("spill",),
        (),
        None,
        near_miss=True,
        exposed=("femi",),
    ),
    Hazard(
        "mill",
        "ruben",
        "air_clean",
        "Chip flew past the glasses at the vice",
        "Guarded tip back on that gun; face shield hung there",
        (),
        ("glasses",),
        "303",
        near_miss=True,
        exposed=("ruben",),
    ),
    Hazard(
        "mill",
        "ruben",
        "mill",
        "Cut on the thumb from a ribbon of 304",
        "Washed and covered; hook hung at the door",
        (),
        (),
        "304",
        first_aid=True,
        exposed=("ruben",),
    ),
    Hazard(
        "shop",
        "odile",
        "sweep",
        "Somebody swept under the sander with the dry broom",
        "Broom taken away; vacuum stands there now",
        ("visible dust",),
        (),
        "C36000",
        exposed=("femi", "wanda"),
    ),
    Hazard(
        "cleaner",
        "wanda",
        "deburr",
        "Red knuckles after a day in the bath",
        "Longer gloves, cream at the basin",
        ("skin",),
        ("gloves",),
        exposed=("wanda",),
    ),
    Hazard(
        "collector",
        "femi",
        "sweep",
        "Bag tore when the bin was emptied",
        "Floor cleaned with the vacuum; thicker bags ordered",
        ("visible dust", "spill"),
        ("half mask",),
        "C36000",
        exposed=("femi",),
    ),
    Hazard(
        "grinder",
        "ruben",
        "grind",
        "Grinder was used for a brass pin beside the steel dust",
        "Wheel dressed, dust out, a label on the guard",
        ("other",),
        ("glasses",),
        "C36000",
        exposed=("ruben",),
    ),
    Hazard(
        "sander",
        "wanda",
        "dry_sand",
        "Spark trail while 303 went over a belt that had done brass",
        "Box cleaned out between metals, tag on the box",
        ("other",),
        ("exhaust on",),
        "303",
        near_miss=True,
        exposed=("wanda",),
    ),
)
LAST = Hazard(
    "sander",
    "femi",
    "dry_sand",
    "Haze again when two hoods are open",
    "",
    ("haze",),
    ("exhaust on", "half mask"),
    "C36000",
    exposed=("femi", "ruben"),
)
"""Open on the morning of the demo, with its estimate."""

COMMISSIONED = (
    ("collector", "capture velocity", 200, "ft/min", None),
    ("collector", "duct velocity", 4200, "ft/min", "main"),
    ("collector", "static pressure", 2.4, "in H2O", None),
    ("cabinet", "static pressure", 2.4, "in H2O", None),
    ("cabinet", "face velocity", 520, "ft/min", "air inlet"),
)
"""(role, check, value, unit, place) of the first day; the duct's lies in the range quoted for brass turnings."""


def sampled(*values: tuple[int, float], unit: str = "mg/m3", below: bool = False) -> tuple[Body, ...]:
    under = {"below_detection": True} if below else {}
    return tuple({"minutes": minutes, "value": value, "unit": unit} | under for minutes, value in values)


FIRST_SURVEY = (
    ("femi", "sander", "dry_sand", "copper", "dust", sampled((235, 0.31), (240, 0.22))),
    ("femi", "sander", "dry_sand", "lead", "dust", sampled((235, 41), (240, 29), unit="ug/m3")),
    ("wanda", "cabinet", "blast", "copper", "dust", sampled((230, 0.06), (245, 0.04))),
    ("ruben", "mill", "mill", "copper", "dust", sampled((470, 0.01), below=True)),
    ("femi", "sander", "dry_sand", "noise", None, sampled((95, 93.0), (385, 82.5), unit="dBA")),
    ("ruben", "mill", "mill", "noise", None, sampled((300, 83.0), (180, 78.0), unit="dBA")),
)
SECOND_SURVEY = (
    ("femi", "sander", "dry_sand", "copper", "dust", sampled((240, 0.12), (240, 0.1))),
    ("femi", "sander", "dry_sand", "lead", "dust", sampled((240, 13), (240, 11), unit="ug/m3")),
    ("wanda", "cabinet", "blast", "lead", "dust", sampled((480, 4), unit="ug/m3", below=True)),
    ("femi", "sander", "dry_sand", "noise", None, sampled((60, 91.5), (420, 80.5), unit="dBA")),
)
