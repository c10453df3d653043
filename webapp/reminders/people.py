"""Who hears of what, by which channel, and when: the shop's and each person's own reminder settings.

On a `person`: `reminders: {channels ["push", "mail"], mail, quiet {begins, ends}, about ["work", "shop"] or ["none"],
machines [id]}`. Without it: push to the browsers that they have let it; within the shop's shifts; the owner hears of
the shop, and of the work too when nobody else does; everybody else hears of the work at every machine.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import time
from typing import Any

from webapp.reminders.hours import Hours, clock

HOUR_MS = 3_600_000
# What a shop has not set (common practice, no source).
ROUND_BY, TAG_DAYS, PHONE_DAYS, ESCALATE_HOURS, PAPER_DAYS = "09:00", 3, 7, 24, 30


@dataclass(frozen=True)
class Limits:
    """The shop's own figures for reminders."""

    round_by: time
    tag_days: int
    phone_days: int
    escalate_ms: int
    paper_days: int


def limits_of(shop: Mapping[str, Any]) -> Limits:
    """What the shop has set, the usual where it has not."""
    own = shop.get("reminders") or {}
    return Limits(
        clock(own.get("round_by", ROUND_BY)), own.get("tag_days", TAG_DAYS), own.get("phone_days", PHONE_DAYS),
        own.get("escalate_hours", ESCALATE_HOURS) * HOUR_MS, own.get("paper_days", PAPER_DAYS),
    )  # fmt: skip


@dataclass(frozen=True)
class Person:
    """A person as reminders see them."""

    id: str
    name: str
    owner: bool
    work: bool
    shop: bool
    push: bool
    mail: str | None
    quiet: Mapping[str, str] | None
    machines: frozenset[str] | None

    def at(self, machine: str | None) -> bool:
        """Whether the work at a machine concerns them; that of the shop itself always does."""
        return self.machines is None or machine is None or machine in self.machines

    def may_be_told(self, at_ms: int, hours: Hours) -> bool:
        """Whether now is no quiet time of theirs."""
        return hours.may_tell(at_ms, self.quiet)


def people_of(rows: Iterable[Mapping[str, Any]]) -> dict[str, Person]:
    """Person definitions, those in use, by id. The owner does the work of which nobody else hears."""
    found = [_person(row) for row in rows if not row["retired"]]
    unset = {row["id"] for row in rows if (row.get("reminders") or {}).get("about") is None}
    alone = not any(one.work for one in found if not one.owner)
    people = {one.id: one for one in found}
    if alone:
        for one in found:
            if one.owner and one.id in unset:
                people[one.id] = Person(**{**one.__dict__, "work": True})
    return people


def _person(row: Mapping[str, Any]) -> Person:
    own = row.get("reminders") or {}
    owner = row["role"] == "owner"
    about = own.get("about", ["shop"] if owner else ["work"])
    channels = own.get("channels", ["push"])
    machines = own.get("machines")
    return Person(
        row["id"], row["name"], owner, "work" in about, "shop" in about, "push" in channels,
        own.get("mail") if "mail" in channels else None, own.get("quiet"),
        None if machines is None else frozenset(machines),
    )  # fmt: skip


def concerned(people: Mapping[str, Person], audience: str, machine: str | None, whom: str | None) -> list[Person]:
    """Who hears of a need. `audience`: work (who does it; the owner when nobody does), shop (who looks after the
    shop), own (`whom` it is about, and who looks after the shop)."""
    everybody = list(people.values())
    if audience == "work":
        does = [one for one in everybody if one.work and one.at(machine)]
        return does or [one for one in everybody if one.owner and one.shop]
    found = [one for one in everybody if one.shop]
    own = people.get(whom or "") if audience == "own" else None
    return found if own is None or own in found else [*found, own]
