"""Needs that have to do with people, their papers and their phones, and with the server's own certificate."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date
from typing import Any

from sqlalchemy import select

from webapp.config import current
from webapp.core.dates import say_date, say_days
from webapp.core.instants import parse_instant, shop_date
from webapp.reminders.needs import DAY_MS, Look, Need, days_until
from webapp.security import certificates
from webapp.security.models import Device
from webapp.setup.definitions import list_all

FORGOTTEN_DAYS = 90
"""A phone that has been away for longer is not asked after any more."""


def _papers(look: Look) -> Iterator[Need]:
    """Fit tests, sign-offs and protective equipment that run out."""
    for person, what, key, day in papers_of(look):
        yield from _paper(look, what, key, day, person)


def papers_of(look: Look) -> Iterator[tuple[str, str, str, str]]:
    """Everybody's papers: whose, what in words, a key, and until when (ISO date)."""
    names = {row["id"]: row["name"] for row in list_all(look.session, "person") if not row["retired"]}
    for person, kept in (look.shop.doc(None).get("people") or {}).items():
        if person in names:
            for what, key, day in _ends(look, kept):
                yield person, f"{names[person]}: {what}", f"{person}/{key}", day


def _ends(look: Look, kept: dict[str, Any]) -> Iterator[tuple[str, str, str]]:
    """What a person has that runs out: in words, as a key, and until when."""
    for respirator, row in kept["fits"].items():
        if row["expires"]:
            yield f"fit test, {respirator}", f"fit/{respirator}", row["expires"]
    for machine, row in kept["machines"].items():
        if row["expires"] and machine in look.shop.machines:
            yield f"sign-off for {look.shop.machines[machine]['name']}", f"machine/{machine}", row["expires"]
    for topic, row in kept["topics"].items():
        if row["expires"]:
            yield f"training, {topic}", f"topic/{topic}", row["expires"]
    for name, row in kept["ppe"].items():
        if row.get("change_by") and row["result"] != "refused":
            yield f"change of {name.replace('/', ', ')} protection", f"ppe/{name}", row["change_by"]


def _paper(look: Look, what: str, key: str, day: str, whom: str | None) -> Iterator[Need]:
    left = days_until(day, look.shop.today)
    if left > look.limits.paper_days:
        return
    over = left < 0
    said = f"{what} {'has run out' if over else 'runs out soon' if left else 'runs out today'}"
    when = f"It ran out {say_days(-left)} ago" if over else f"It runs out in {say_days(left)}" if left else "Today"
    link = "#/air/people" if whom else "#/setup/devices"
    yield Need(
        f"paper/{key[:160]}/{day}/{'over' if over else 'soon'}", "paper", said, "The shop",
        f"{when}: {say_date(date.fromisoformat(day))}.", link, audience="own" if whom else "shop", whom=whom,
    )  # fmt: skip


def _certificate(look: Look) -> Iterator[Need]:
    """The server's own certificate authority: when it ends, every phone needs the new one."""
    files = certificates.files_in(current().data)
    if current().plain or not files.authority.exists():
        return
    try:
        ends = certificates.load(files.authority).not_valid_after_utc
    except (OSError, ValueError):
        return  # the doctor says so
    day = shop_date(int(ends.timestamp() * 1000), look.shop.zone).isoformat()
    yield from _paper(look, "The server's certificate authority", "certificate", day, None)


def _phones(look: Look) -> Iterator[Need]:
    """Phones that have not synced for days, and may hold what nobody has seen."""
    query = select(Device.id, Device.name, Device.last_seen_at, Device.created_at)
    for row in look.session.execute(query.where(Device.kind == "browser", Device.revoked_at.is_(None))):
        seen = row.last_seen_at or row.created_at
        days = (look.now - parse_instant(seen)) // DAY_MS
        if look.limits.phone_days <= days <= FORGOTTEN_DAYS:
            since = say_date(shop_date(parse_instant(seen), look.shop.zone))
            yield Need(
                f"phone/{row.id}/{seen}", "phone", f"{row.name} has not synced for {say_days(days)}", "The shop",
                f"Last seen {since}. What was logged on it since is not in the record.", "#/setup/devices",
                audience="shop",
            )  # fmt: skip


PEOPLE_SOURCES: tuple[Callable[[Look], Iterator[Need]], ...] = (_papers, _certificate, _phones)
