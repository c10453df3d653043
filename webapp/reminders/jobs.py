"""The jobs of the scheduler: what runs, and how often. Each may run twice or late without harm."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any
from zoneinfo import ZoneInfo

from apscheduler.triggers.base import BaseTrigger
from apscheduler.triggers.cron import CronTrigger
from apscheduler.triggers.interval import IntervalTrigger

from webapp.feeds.polling import poll_all
from webapp.reminders import backups, delivery, plan
from webapp.reminders.faults import Trouble
from webapp.reminders.hours import hours_of
from webapp.reminders.roll import roll_day

__all__ = ["Jobs", "Spec", "Trouble", "declared"]

POLL_EVERY_SECONDS: float = 30
DELIVER_EVERY_SECONDS: float = 30
REMIND_EVERY_SECONDS: float = 300
# Phases are counted from here, so that a restart does not move them.
_FROM = datetime(2026, 1, 1, tzinfo=UTC)


@dataclass(frozen=True)
class Spec:
    """A job: its trigger, what it does (given the lease's holder; returns what to say of it), and whether it runs at
    once when it is new."""

    trigger: BaseTrigger
    work: Callable[[str], str | None]
    at_once: bool = True


Jobs = Mapping[str, Spec]


def declared(shop: Mapping[str, Any]) -> Jobs:
    """Every job, in the zone and by the hours of a shop's definition ({} before there is a shop)."""
    zone = ZoneInfo(str(shop.get("time_zone", "UTC")))
    digest = plan.digest_time(shop, hours_of(shop))

    def daily(hour: int, minute: int, second: int = 0) -> CronTrigger:
        return CronTrigger(hour=hour, minute=minute, second=second, timezone=zone)

    def each(seconds: float) -> IntervalTrigger:
        # In UTC: an interval must not feel the change of the clocks.
        return IntervalTrigger(seconds=seconds, start_date=_FROM, timezone=UTC)

    return {
        "daily roll": Spec(daily(0, 0, 1), _roll),
        "reminders": Spec(each(REMIND_EVERY_SECONDS), plan.remind),
        "digest": Spec(daily(digest.hour, digest.minute, 5), plan.remind, at_once=False),
        "messages": Spec(each(DELIVER_EVERY_SECONDS), delivery.deliver),
        "purge": Spec(daily(3, 10), plan.purge, at_once=False),
        "backup": Spec(daily(2, 30), backups.make, at_once=False),
        "feeds": Spec(each(POLL_EVERY_SECONDS), _poll),
    }


def _roll(_holder: str) -> str:
    became = roll_day()
    return f"{len(became)} tasks became due." if became else "Nothing became due."


def _poll(_holder: str) -> None:
    poll_all()
