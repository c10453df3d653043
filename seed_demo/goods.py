"""What the shop makes: small boat, instrument and organ fittings, with their alloy, section and times."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Good:
    """One article. `area` is the sawn section in sq in; times are spindle, belt, blast and lathe minutes."""

    name: str
    alloy: str
    stock: str
    area: float
    pieces_a_load: int
    first_op: float
    second_op: float
    belt: float
    blast: float
    turned: float = 0.0
    share: int = 4
    """How often it is ordered, against the others."""


GOODS = (
    Good("Horn cleat, 5 in", "C36000", "1 x 1-1/4 in bar", 1.25, 6, 13.5, 8.0, 0.55, 0.6, share=7),
    Good("Fairlead, low", "C36000", "3/4 x 2 in bar", 1.5, 8, 16.0, 7.5, 0.5, 0.55, share=6),
    Good("Barometer bezel, 4 in", "C36000", "4-1/2 in tube", 3.1, 4, 18.0, 11.0, 0.35, 0.0, 4.5, share=3),
    Good("Gimbal ring, lamp", "C36000", "3-1/2 in tube", 2.2, 4, 15.5, 9.0, 0.4, 0.45, 3.0),
    Good("Stop-knob ferrule", "C36000", "3/4 in round", 0.44, 12, 9.0, 5.0, 0.15, 0.0, 1.2),
    Good("Busbar clamp, chart lamp", "C14500", "1/2 x 1-1/2 in bar", 0.75, 10, 12.0, 6.5, 0.3, 0.3),
    Good("Terminal post, battery", "C14500", "3/4 in round", 0.44, 12, 8.0, 4.0, 0.12, 0.0, 1.0, share=3),
    Good("Reed-tongue clip", "C51000", "1/4 x 1 in strip", 0.25, 16, 11.0, 4.5, 0.2, 0.2, share=3),
    Good("Tracker spring plate", "C51000", "1/4 x 1-1/2 in strip", 0.38, 16, 12.5, 5.5, 0.25, 0.25, share=2),
    Good("Snap-shackle pin", "303", "1/2 in round", 0.2, 16, 14.0, 0.0, 0.15, 0.0, 1.6),
    Good("Turnbuckle body, small", "303", "7/8 in round", 0.6, 6, 21.0, 12.0, 0.45, 0.6, share=5),
    Good("Hatch hinge leaf", "304", "1/4 x 2 in bar", 0.5, 10, 24.0, 10.0, 0.6, 0.7),
    Good("Deck-eye plate", "304", "3/16 x 2-1/2 in bar", 0.47, 8, 19.0, 9.0, 0.65, 0.7, share=3),
)
BATCHES = (24, 32, 36, 48, 48, 60, 72, 96)
