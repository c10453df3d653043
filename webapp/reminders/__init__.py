"""Reminders: who must hear of what, and the scheduler that sees to it, in exactly one process."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flask import Flask

if TYPE_CHECKING:
    from webapp.reminders.scheduler import Keeper


def start(app: Flask) -> Keeper:
    """Start the jobs in the background. Stop with `.shutdown()`. Every process may call this.

    Imported here because upkeep reads the facts of this package, and its jobs read upkeep.
    """
    from webapp.reminders.scheduler import Keeper

    return Keeper(app).start()
