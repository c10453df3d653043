"""Everything that upkeep reads, loaded once: the shop, its machines and tasks, and what they are now."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from webapp.core.instants import shop_date
from webapp.core.usage import check_hours_a_week
from webapp.records.models import State
from webapp.records.state import Doc, empty_doc
from webapp.reminders.today import facts
from webapp.setup import definitions

Definition = dict[str, Any]
DEFAULT_HOURS = 30.0


@dataclass(frozen=True)
class Shop:
    """Machines and tasks in use, the states by subject, and the shop's own figures, on one day."""

    now_ms: int
    zone: str
    today: date
    hours_a_week: float
    holidays: frozenset[date]
    machines: dict[str, Definition]
    tasks: list[Definition]
    docs: dict[str, Doc]

    def doc(self, machine: str | None) -> Doc:
        """The state of a machine, or the shop's own."""
        return self.docs.get(f"machine:{machine}" if machine else "shop") or empty_doc()

    def in_service(self, machine: str | None) -> bool:
        """No tag hangs on it."""
        return not self.doc(machine)["tags"]

    def facts(self, task: Definition) -> dict[str, Any]:
        """What `judge` must know of a task today."""
        machine = self.machines.get(task["machine"] or "")
        return facts(task, machine, self.doc(task["machine"]), self.now_ms, self.zone)

    def meters(self, machine: str | None) -> list[Definition]:
        """The meters of a machine; none for the shop itself."""
        return list(self.machines.get(machine or "", {}).get("meters", ()))

    def meter(self, machine: str | None, kind: str) -> Definition | None:
        """The machine's meter of a kind; the last one when it has several, as the facts take it."""
        found = [meter for meter in self.meters(machine) if meter["kind"] == kind]
        return max(found, key=lambda meter: str(meter["id"]), default=None)


def load(session: Session, now_ms: int) -> Shop:
    """Read the shop. Before it is set up: nothing in it, and UTC."""
    shops = definitions.list_all(session, "shop")
    own: Definition = shops[0] if shops else {}
    zone = str(own.get("time_zone", "UTC"))
    rows = session.execute(select(State.subject, State.body))
    machines = {row["id"]: row for row in definitions.list_all(session, "machine") if not row["retired"]}
    tasks = [
        definitions.with_dates(session, task, zone)
        for task in definitions.list_all(session, "task")
        if not task["retired"] and (task["machine"] is None or task["machine"] in machines)
    ]
    return Shop(
        now_ms, zone, shop_date(now_ms, zone), check_hours_a_week(own.get("hours_a_week", DEFAULT_HOURS)),
        frozenset(date.fromisoformat(day) for day in own.get("holidays", ())),
        machines, tasks, {row.subject: json.loads(row.body) for row in rows},
    )  # fmt: skip
