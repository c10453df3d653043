"""Whether everything a machine file points to is there: a dangling key shows only when somebody needs it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Container, Iterable, Sequence
from typing import Protocol

from webapp.library.reading import LibraryError
from webapp.library.shapes import Starter


class Keyed(Protocol):
    """What a file defines under a key of its own."""

    @property
    def key(self) -> str:
        """Unique among its kind in the file."""


def check_references(starter: Starter, cautions: Container[str], where: str) -> None:
    """Raise `LibraryError` at the first key given twice, or key, kind or caution that points to nothing."""
    checks = [check for checklist in starter.checklists for check in checklist.checks]
    for word, things in _keyed(starter, checks):
        _once(where, word, things)
    rules = [rule for task in starter.tasks for rule in task.rule.get("first_of", [task.rule])]
    meters = {meter.kind for meter in starter.meters}
    parts, fluids = ({thing.kind for thing in things} for things in (starter.parts, starter.fluids))
    items, lists = ({thing.key for thing in things} for things in (starter.items, starter.checklists))
    measured = {check.quantity for check in checks if check.quantity}
    _known(where, "items", items, (part.item for part in starter.parts))
    _known(where, "checklists", lists, (task.checklist for task in starter.tasks))
    _known(where, "meters", meters, [part.meter for part in starter.parts])
    _known(where, "meters", meters, [rule.get("meter") for rule in rules])
    _known(where, "kinds of part", parts, (rule.get("part") for rule in rules))
    _known(where, "kinds of fluid", fluids, (rule.get("fluid") for rule in rules))
    _known(where, "quantities", measured, (rule.get("when", {}).get("reading") for rule in rules))
    _known(where, "quantities", measured, (fluid.quantity for fluid in starter.fluids))
    _known(where, "cautions", cautions, starter.cautions)
    _known(where, "cautions", cautions, (check.caution for check in checks))
    _known(where, "cautions", cautions, (key for task in starter.tasks for key in task.cautions))


def _keyed(starter: Starter, checks: Sequence[Keyed]) -> list[tuple[str, Sequence[Keyed]]]:
    return [
        ("items", starter.items),
        ("parts", starter.parts),
        ("fluids", starter.fluids),
        ("tasks", starter.tasks),
        ("checklists", starter.checklists),
        ("checks", checks),
    ]


def _once(where: str, word: str, things: Sequence[Keyed]) -> None:
    twice = [key for key, count in Counter(thing.key for thing in things).items() if count > 1]
    if twice:
        raise LibraryError(f"{where}: {word} has {twice[0]!r} twice; give each its own key")


def _known(where: str, word: str, known: Container[str], used: Iterable[str | None]) -> None:
    for name in used:
        if name is not None and name not in known:
            raise LibraryError(f"{where}: {name!r} is none of the {word}; define it or mend the word")
