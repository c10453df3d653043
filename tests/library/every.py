"""Every starter machine, check and task of the library, with names that say where a failure lies."""

from __future__ import annotations

from typing import Any

import pytest

from webapp import library
from webapp.library.shapes import Check, Starter, Task

UNITS = ("us", "metric")
KEYS = [summary.key for summary in library.starters()]
STARTERS: list[Starter] = [library.machine(key) for key in KEYS]


def checks(starter: Starter) -> list[Check]:
    return [check for checklist in starter.checklists for check in checklist.checks]


def check(machine: str, key: str, units: library.Units = "us") -> Check:
    return next(one for one in checks(library.machine(machine, units)) if one.key == key)


def task(machine: str, key: str, units: library.Units = "us") -> Task:
    return next(one for one in library.machine(machine, units).tasks if one.key == key)


def rules(starter: Starter) -> list[dict[str, Any]]:
    """Every due rule, those of a first_of one by one."""
    return [rule for one in starter.tasks for rule in one.rule.get("first_of", [one.rule])]


each_machine = pytest.mark.parametrize("starter", STARTERS, ids=KEYS)
each_list = pytest.mark.parametrize(
    "checklist",
    [pytest.param(one, id=f"{starter.key}/{one.key}") for starter in STARTERS for one in starter.checklists],
)
each_check = pytest.mark.parametrize(
    "line", [pytest.param(one, id=f"{starter.key}/{one.key}") for starter in STARTERS for one in checks(starter)]
)
each_said = pytest.mark.parametrize(
    "said",
    [
        pytest.param(one, id=f"{starter.key}/{one.key}")
        for starter in STARTERS
        for one in (*checks(starter), *starter.tasks)
    ]
    + [pytest.param(one, id=f"cautions/{one.key}") for one in library.cautions().values()],
)
