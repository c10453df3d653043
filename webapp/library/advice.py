"""What to measure in the air at a piece of work: the limits of each constituent that matters in what it makes.

Nothing here estimates an exposure: it says which substance to have measured, against which limits.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from webapp.core.alloys import Alloy, Element, Share, mattering
from webapp.core.limits import ANY, Answer
from webapp.core.problems import HazardError
from webapp.library.alloys import elements
from webapp.library.hazards import Process, processes
from webapp.library.limits import limits_for, substances

# What limits any dust, whatever is in it.
DUST = "particulates"


@dataclass(frozen=True, slots=True)
class Measured:
    """One substance to measure: its element (None for dust as such), how much of it the alloy permits, and the
    limits. `answer` is None where the library has no limit for it in this form: ask a hygienist."""

    element: Element | None
    share: Share | None
    substance: str
    form: str
    answer: Answer | None


def to_measure(alloy: Alloy, process: str, chosen: Sequence[str], on: date) -> list[Measured]:
    """What to have measured at this work, the gravest constituent first and dust as such last; HazardError for an
    unknown process. The mist of a fluid is no matter of the alloy and is left out."""
    if process not in processes():
        raise HazardError("process", f"{process} is not in the library.", f"Use: {', '.join(processes())}.")
    work = processes()[process]
    forms = [form for form in work.makes if form != "mist"]
    found = [
        Measured(element, part, substance, form, _answer(substance, form, chosen, on))
        for element, part in mattering(alloy, elements().values())
        for substance in _substances(element, work)
        for form in forms
    ]
    if "dust" in forms:
        found.append(Measured(None, None, DUST, "dust", _answer(DUST, "dust", chosen, on)))
    return found


def _substances(element: Element, work: Process) -> Iterator[str]:
    if element.substance is not None:
        yield element.substance
    if work.hot and element.hot_substance is not None:
        yield element.hot_substance


def _answer(substance: str, form: str, chosen: Sequence[str], on: date) -> Answer | None:
    if not {form, ANY} & substances()[substance].forms.keys():
        return None
    return limits_for(substance, form, chosen, on)
