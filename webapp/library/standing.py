"""Stands a starter machine in the shop: its definitions with fresh ids, every local key resolved."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict
from datetime import date
from typing import Any

from webapp.library.shapes import Checklist, Item, Starter, Task

Definition = tuple[str, dict[str, Any]]
Ids = dict[tuple[str, str], str]


def stand(starter: Starter, name: str, bay: str | None, new_id: Callable[[], str], start: date) -> list[Definition]:
    """(type, body with `id`) of the machine, its items, checklists and tasks; they name each other, so store
    them in one transaction. Tasks count from `start`, and so do fixed calendar rules."""
    ids: Ids = {("machine", ""): new_id()}
    for kind, things in (("item", starter.items), ("checklist", starter.checklists), ("task", starter.tasks)):
        ids |= {(kind, thing.key): new_id() for thing in things}
    machine = ids["machine", ""]
    return [
        ("machine", {"id": machine, **_machine(starter, name, bay, ids, new_id)}),
        *(("item", _item(item, machine, ids)) for item in starter.items),
        *(("checklist", _checklist(checklist, machine, ids, new_id)) for checklist in starter.checklists),
        *(("task", _task(task, machine, ids, start)) for task in starter.tasks),
    ]


def _plain(thing: Any) -> dict[str, Any]:
    """A dataclass as JSON-like dicts and lists, without its key and without what it leaves unsaid."""

    def tidy(value: Any) -> Any:
        if isinstance(value, dict):
            return {name: tidy(inner) for name, inner in value.items() if inner is not None}
        return [tidy(inner) for inner in value] if isinstance(value, list | tuple) else value

    body: dict[str, Any] = tidy(asdict(thing))
    body.pop("key", None)
    return body


def _machine(starter: Starter, name: str, bay: str | None, ids: Ids, new_id: Callable[[], str]) -> dict[str, Any]:
    parts = []
    for part in starter.parts:
        body = {"id": new_id(), **_plain(part), "meter": part.meter}
        parts.append(body | ({"item": ids["item", part.item]} if part.item else {}))
    fluids = [{"id": new_id(), **_plain(fluid)} for fluid in starter.fluids]
    # A fluid's body has no place for a source, and a figure without one must not reach the machine.
    origins = [f"{fluid['name']}: {fluid.pop('source')}." for fluid in fluids]
    return {
        "name": name,
        "starter": starter.key,
        "family": starter.family,
        "bay": bay,
        "notes": " ".join([starter.notes, *origins]),
        "meters": [{"id": new_id(), **_plain(meter)} for meter in starter.meters],
        "parts": parts,
        "fluids": fluids,
        "cautions": list(starter.cautions),
    }


def _item(item: Item, machine: str, ids: Ids) -> dict[str, Any]:
    return {"id": ids["item", item.key], **_plain(item), "machine": machine}


def _checklist(checklist: Checklist, machine: str, ids: Ids, new_id: Callable[[], str]) -> dict[str, Any]:
    return {
        "id": ids["checklist", checklist.key],
        "machine": machine,
        "name": checklist.name,
        "form": checklist.form,
        "checks": [{"id": new_id(), **_plain(check)} for check in checklist.checks],
    }


def _task(task: Task, machine: str, ids: Ids, start: date) -> dict[str, Any]:
    body = _plain(task)
    return {
        **body,
        "id": ids["task", task.key],
        "machine": machine,
        "rule": _anchored(body["rule"], start),
        "checklist": ids["checklist", task.checklist] if task.checklist else None,
        "start": start.isoformat(),
    }


def _anchored(rule: dict[str, Any], start: date) -> dict[str, Any]:
    """The rule with its fixed dates anchored at the day the machine came into the book."""
    if "first_of" in rule:
        return {"first_of": [_anchored(inner, start) for inner in rule["first_of"]]}
    return rule | {"anchor": start.isoformat()} if "rrule" in rule else rule
