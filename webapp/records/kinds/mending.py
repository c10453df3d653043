"""Entries about entries: amendments, voidings, and the server's note that a definition was revised."""

from __future__ import annotations

from typing import Any

from marshmallow import fields

from webapp.records.fields import Body, Id, PhotoHash, Text, Whole
from webapp.records.kinds.base import Kind, Name, kind


@kind
class EntryAmended(Kind):
    """A mistake mended: the named entry counts with this body instead. Both stay in the record."""

    name = "entry.amended"
    machine_needed = False
    mends = True

    @classmethod
    def body(cls) -> type[Body]:
        return Body.from_dict(
            {
                "entry": Id(required=True),
                "kind": Text(40, required=True),
                "body": fields.Dict(required=True),
                "why": Text(required=True),
            }
        )  # type: ignore[return-value]

    def summary(self, body: dict[str, Any], name: Name) -> str:
        return f"Amended: {body['why']}"


@kind
class EntryVoided(Kind):
    """The named entry counts for nothing. It stays in the record."""

    name = "entry.voided"
    machine_needed = False
    mends = True

    @classmethod
    def body(cls) -> type[Body]:
        return Body.from_dict({"entry": Id(required=True), "why": Text(required=True)})  # type: ignore[return-value]

    def summary(self, body: dict[str, Any], name: Name) -> str:
        return f"Voided: {body['why']}"


@kind
class DefinitionRevised(Kind):
    """Set-up changed something; made by the server, so that the chain covers it."""

    name = "definition.revised"
    machine_needed = False

    @classmethod
    def body(cls) -> type[Body]:
        return Body.from_dict(
            {
                "type": Text(20, required=True),
                "id": Id(required=True),
                "revision": Whole(1, required=True),
                "sha256": PhotoHash(required=True),
            }
        )  # type: ignore[return-value]

    def summary(self, body: dict[str, Any], name: Name) -> str:
        return f"Set-up: {body['type']} «{name(body['id'])}», revision {body['revision']}"
