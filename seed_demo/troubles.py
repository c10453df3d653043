"""What goes wrong in this shop now and then: at which check it shows, what was found, what was done about it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Trouble:
    """A fault that shows at the check whose text holds `at`; `part`: the kind of wearing part changed to mend it."""

    role: str
    at: str
    found: str
    done: str
    part: str | None = None


TROUBLES = (
    Trouble(
        "mill", "coolant up, no rot", "Oil film on the sump, sour smell", "Skimmed, sump stirred with air overnight"
    ),
    Trouble(
        "mill", "chip tray, drain screen", "Drain screen is packed, coolant on the floor", "Screen lifted and cleaned"
    ),
    Trouble("mill", "between the lines", "Way oil stands below the lower line", "Filled to the line, couplings dry"),
    Trouble("mill", "wipers and way covers", "Wiper lip on X is lifted by a chip", "Chip out, lip whole, way wiped"),
    Trouble(
        "mill", "air filter bowl", "Bowl was half full of water", "Drained; compressor's tank drained twice a day now"
    ),
    Trouble("lathe", "chuck key", "Chuck key lay in the tray", "Key in its holder; said at the Monday talk"),
    Trouble("saw", "flow on the blade", "Flow at the blade is thin", "Screen cleaned, flow is back"),
    Trouble("saw", "chip brush", "Brush no longer reaches the gullets", "Brush set forward"),
    Trouble("saw", "no crack, no lost teeth", "A crack starts at the weld", "Blade scrapped, new one fitted", "blade"),
    Trouble("saw", "no drops, no slick", "Bar ends on the floor behind the saw", "Picked up, a bin put there"),
    Trouble("sander", "tracks true", "Belt wanders to the left edge", "Tracking set, contact wheel wiped"),
    Trouble("sander", "splice whole", "Splice is lifting at one edge", "Belt thrown away, new one fitted", "belt"),
    Trouble(
        "sander", "close to the belt", "Rest stands a finger's width off", "Rest set close and tightened, belt stopped"
    ),
    Trouble("collector", "below the line", "Bin is full to the line", "Emptied into the brass bag"),
    Trouble("collector", "no hole, no sag", "Hose sags between two hangers", "A third hanger put in"),
    Trouble("grinder", "whole and clear", "Left eye shield cannot be seen through", "New shield", "shield"),
    Trouble("cabinet", "no dust, no loose media", "Beads on the floor at the door", "Seal seated again, floor swept"),
    Trouble("cabinet", "hole, clamps tight", "Small hole at the left thumb", "Gloves changed", "gloves"),
    Trouble(
        "cabinet", "dry, no clumps", "Beads clump at the pick-up", "Air separator drained, charge dried and sieved"
    ),
    Trouble("cleaner", "no film, no mud", "Grey mud at the bottom", "Drained, wiped, new bath"),
    Trouble(
        "compressor", "no hiss, no knock", "Hiss at the quick coupling by the mill", "Coupling changed, no hiss left"
    ),
    Trouble("compressor", "not milky", "Oil is at the lower mark", "Filled to the middle of the glass"),
    Trouble("air_gun", "glasses at the gun", "No glasses at the bench gun", "Two pairs hung up again"),
    Trouble("gauges", "straight, no nick", "0.2500 pin has a nick", "Pin out, new one in its place", "pins"),
    Trouble("guards", "each with a name", "One padlock has no name on it", "Name stamped on"),
    Trouble(
        "guards", "clear, lit, doors open", "Pallet of 303 bar stands in the side way out", "Pallet moved, floor marked"
    ),
    Trouble("extinguisher_saw", "nothing in front", "Cart parked in front of it", "Cart moved, corner painted"),
    Trouble("eyewash", "caps back, drain runs", "Drain runs slowly", "Trap cleaned"),
    Trouble("first_aid", "nothing expired", "Two burn dressings are out of date", "New ones in, old ones out"),
)


def fitting(role: str, checks: Iterable[dict[str, Any]]) -> Iterator[tuple[dict[str, Any], Trouble]]:
    """The checks at which a trouble can show, each with it."""
    own = BY_ROLE.get(role, ())
    return ((check, trouble) for check in checks for trouble in own if trouble.at in check["text"])


BY_ROLE = {role: tuple(one for one in TROUBLES if one.role == role) for role in {one.role for one in TROUBLES}}
