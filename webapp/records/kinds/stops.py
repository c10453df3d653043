"""Findings and tags: what is wrong, and what must not be started."""

from __future__ import annotations

from typing import Any

from webapp.records.fields import Body, Flag, Id, PhotoHash, Text
from webapp.records.kinds.base import Kind, Name, kind
from webapp.records.state import Doc, Effective, close, open_unless_settled


@kind
class FindingOpened(Kind):
    """Something was found wrong; it stays open until somebody closes it. Its id is the entry's."""

    name = "finding.opened"
    machine_needed = False

    @classmethod
    def body(cls) -> type[Body]:
        return Body.from_dict(
            {
                "text": Text(required=True),
                "stop": Flag(required=True),
                "check": Id(allow_none=True),
                "round": Id(allow_none=True),
                "photo": PhotoHash(allow_none=True),
            }
        )  # type: ignore[return-value]

    def fold(self, doc: Doc, entry: Effective) -> None:
        body = entry.body
        kept = {
            "text": body["text"],
            "stop": body["stop"],
            "check": body.get("check"),
            "round": body.get("round"),
        }
        open_unless_settled(doc, "findings", entry.id, {"at": entry.at, "by": entry.by} | kept)

    def summary(self, body: dict[str, Any], name: Name) -> str:
        return f"Found{' (stop)' if body['stop'] else ''}: {body['text']}"


@kind
class FindingClosed(Kind):
    """A finding was put right."""

    name = "finding.closed"
    machine_needed = False

    @classmethod
    def body(cls) -> type[Body]:
        return Body.from_dict({"finding": Id(required=True), "done": Text(required=True)})  # type: ignore[return-value]

    def fold(self, doc: Doc, entry: Effective) -> None:
        close(doc, "findings", entry.body["finding"])

    def summary(self, body: dict[str, Any], name: Name) -> str:
        return f"Put right: {body['done']}"


@kind
class TagOn(Kind):
    """«Do not operate» was hung on the machine. The tag's id is the entry's."""

    name = "tag.on"

    @classmethod
    def body(cls) -> type[Body]:
        return Body.from_dict({"why": Text(required=True), "finding": Id(allow_none=True)})  # type: ignore[return-value]

    def fold(self, doc: Doc, entry: Effective) -> None:
        tag = {"at": entry.at, "by": entry.by, "why": entry.body["why"], "finding": entry.body.get("finding")}
        open_unless_settled(doc, "tags", entry.id, tag)

    def summary(self, body: dict[str, Any], name: Name) -> str:
        return f"Tagged, do not operate: {body['why']}"


@kind
class TagOff(Kind):
    """A tag was taken off: the machine returns to service once no other tag hangs on it."""

    name = "tag.off"

    @classmethod
    def body(cls) -> type[Body]:
        return Body.from_dict({"tag": Id(required=True), "done": Text(required=True)})  # type: ignore[return-value]

    def fold(self, doc: Doc, entry: Effective) -> None:
        close(doc, "tags", entry.body["tag"])
        doc["back_at"] = entry.at

    def summary(self, body: dict[str, Any], name: Name) -> str:
        return f"Tag taken off: {body['done']}"
