"""Tasks done, put off and raised, and plain notes."""

from __future__ import annotations

from typing import Any

from webapp.records.fields import Body, Day, Id, Number, PhotoHash, Text
from webapp.records.kinds.base import Kind, Name, kind
from webapp.records.state import Doc, Effective, totals


@kind
class TaskDone(Kind):
    """A task was done: a defined one, or one that was raised."""

    name = "task.done"
    machine_needed = False

    @classmethod
    def body(cls) -> type[Body]:
        return Body.from_dict(
            {
                "task": Id(required=True),
                "minutes": Number(0, 100_000, allow_none=True),
                "note": Text(allow_none=True),
                "photo": PhotoHash(allow_none=True),
            }
        )  # type: ignore[return-value]

    def fold(self, doc: Doc, entry: Effective) -> None:
        task = entry.body["task"]
        if doc["raised"].pop(task, None) is None:
            done = {"at": entry.at, "by": entry.by, "meters": totals(doc), "deferred": None}
            doc["tasks"][task] = done

    def summary(self, body: dict[str, Any], name: Name) -> str:
        note = f": {body['note']}" if body.get("note") else ""
        return f"Done, {name(body['task'])}{note}"


@kind
class TaskDeferred(Kind):
    """A task was put off to a date, for a reason."""

    name = "task.deferred"
    machine_needed = False

    @classmethod
    def body(cls) -> type[Body]:
        return Body.from_dict({"task": Id(required=True), "to": Day(required=True), "why": Text(required=True)})  # type: ignore[return-value]

    def fold(self, doc: Doc, entry: Effective) -> None:
        body = entry.body
        blank: Doc = {"at": None, "by": None, "meters": {}, "deferred": None}
        kept = doc["tasks"].setdefault(body["task"], blank)
        kept["deferred"] = {"to": body["to"], "why": body["why"], "at": entry.at, "by": entry.by}

    def summary(self, body: dict[str, Any], name: Name) -> str:
        return f"Put off to {body['to']}, {name(body['task'])}: {body['why']}"


@kind
class TaskRaised(Kind):
    """A one-off task, mostly to put a finding right. Its id is the entry's."""

    name = "task.raised"
    machine_needed = False

    @classmethod
    def body(cls) -> type[Body]:
        return Body.from_dict(
            {
                "title": Text(200, required=True),
                "finding": Id(allow_none=True),
                "minutes": Number(0, 100_000, allow_none=True),
            }
        )  # type: ignore[return-value]

    def fold(self, doc: Doc, entry: Effective) -> None:
        # Done may come, in time, before raised: then the fold above has kept it as a plain task.
        if doc["tasks"].pop(entry.id, None) is not None:
            return
        body = entry.body
        doc["raised"][entry.id] = {
            "at": entry.at,
            "by": entry.by,
            "title": body["title"],
            "finding": body.get("finding"),
            "minutes": body.get("minutes"),
        }

    def summary(self, body: dict[str, Any], name: Name) -> str:
        return f"To do: {body['title']}"


@kind
class NoteMade(Kind):
    """A note, at a machine or for the shop."""

    name = "note.made"
    machine_needed = False

    @classmethod
    def body(cls) -> type[Body]:
        return Body.from_dict({"text": Text(required=True), "photo": PhotoHash(allow_none=True)})  # type: ignore[return-value]

    def summary(self, body: dict[str, Any], name: Name) -> str:
        return str(body["text"])
