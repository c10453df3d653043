"""What protects each person: equipment issued and checked, fit tests, and training signed off."""

from __future__ import annotations

from typing import Any

from marshmallow import ValidationError, validates_schema

from webapp.records.faults import said
from webapp.records.fields import Body, Day, Number, Ref, Text, one_of
from webapp.records.kinds.base import Kind, Name, kind
from webapp.records.state import Doc, Effective, r6

PARTS = ("eye", "ear", "hand", "lung", "foot", "skin", "head")
RESULTS = ("ok", "replaced", "issued", "refused")
NEW = ("replaced", "issued")


def person_of(doc: Doc, key: str) -> Doc:
    """What is kept of a person, begun empty."""
    blank: Doc = {"ppe": {}, "fits": {}, "machines": {}, "topics": {}}
    found: Doc = doc.setdefault("people", {}).setdefault(key, blank)
    return found


class _OfPeople(Kind):
    """People belong to the shop, whatever machine they stood at."""

    machine_needed = False

    def subjects(self, machine: str | None) -> tuple[str, ...]:
        return ("shop",)

    def fold_shop(self, doc: Doc, entry: Effective) -> None:
        self.fold(doc, entry)


class PpeBody(Body):
    """One piece of equipment of one person; `hours`: worn since the last entry, of a cartridge; `change_after` hours
    or on `change_by` it is to be changed."""

    person = Ref("person", required=True)
    kind = Text(10, required=True, validate=one_of(*PARTS))
    what = Text(80, allow_none=True)
    result = Text(10, required=True, validate=one_of(*RESULTS))
    hours = Number(0, 10_000, allow_none=True)
    change_after = Number(above=0, high=10_000, allow_none=True)
    change_by = Day(allow_none=True)
    note = Text(allow_none=True)

    @validates_schema(skip_on_field_errors=True)
    def _hours_of_a_cartridge(self, data: Doc, **_: Any) -> None:
        of_cartridges = [name for name in ("hours", "change_after") if data.get(name) is not None]
        if of_cartridges and data["kind"] != "lung":
            raise ValidationError(said("is for cartridges", "leave it out, or send kind lung"), of_cartridges[0])
        if data["result"] == "refused" and not data.get("note"):
            raise ValidationError(said("is missing", "write why it was refused"), "note")


@kind
class PpeChecked(_OfPeople):
    """Equipment was looked at, issued, replaced, or refused: taken out of use with nothing in its place."""

    name = "ppe.checked"

    @classmethod
    def body(cls) -> type[Body]:
        return PpeBody

    def fold(self, doc: Doc, entry: Effective) -> None:
        body = entry.body
        key = f"{body['kind']}/{body['what']}" if body.get("what") else body["kind"]
        blank: Doc = {"since": None, "hours": 0, "last_hours": None, "change_after": None, "change_by": None}
        row = person_of(doc, body["person"])["ppe"].setdefault(key, blank)
        row.update(at=entry.at, by=entry.by, result=body["result"], note=body.get("note"))
        row["hours"] = r6(row["hours"] + (body.get("hours") or 0))
        if body["result"] in NEW:
            # The hours named with a new one were worn on the old one.
            row.update(last_hours=row["hours"] or None, hours=0, since=entry.at, change_after=None, change_by=None)
        row.update({name: body[name] for name in ("change_after", "change_by") if body.get(name) is not None})

    def summary(self, body: dict[str, Any], name: Name) -> str:
        what = body.get("what") or f"{body['kind']} protection"
        hours = f" after {body['hours']:g} h" if body.get("hours") else ""
        note = f": {body['note']}" if body.get("note") else ""
        return f"{name(body['person'])}, {what} {body['result']}{hours}{note}"


class FitBody(Body):
    """A fit test; `factor`: the fit factor of a quantitative one."""

    person = Ref("person", required=True)
    respirator = Text(80, required=True)
    make_note = Text(200, allow_none=True)
    method = Text(20, required=True, validate=one_of("qualitative", "quantitative"))
    factor = Number(above=0, high=1e6, allow_none=True)
    result = Text(4, required=True, validate=one_of("pass", "fail"))
    expires = Day(allow_none=True)
    note = Text(allow_none=True)

    @validates_schema(skip_on_field_errors=True)
    def _passed_until(self, data: Doc, **_: Any) -> None:
        if data["result"] == "pass" and not data.get("expires"):
            problem = said("is missing", "send the day by which the next test is due, a year on at the latest")
            raise ValidationError(problem, "expires")


@kind
class FitTested(_OfPeople):
    """A respirator was tested on a person's face."""

    name = "fit.tested"

    @classmethod
    def body(cls) -> type[Body]:
        return FitBody

    def fold(self, doc: Doc, entry: Effective) -> None:
        body = entry.body
        row = {name: body.get(name) for name in ("make_note", "method", "factor", "result", "expires")}
        person_of(doc, body["person"])["fits"][body["respirator"]] = {"at": entry.at, "by": entry.by} | row

    def summary(self, body: dict[str, Any], name: Name) -> str:
        until = f", until {body['expires']}" if body["result"] == "pass" else ""
        word = {"pass": "passed", "fail": "failed"}[body["result"]]
        return f"Fit test, {name(body['person'])}, {body['respirator']}: {word}{until}"


class TrainingBody(Body):
    """Somebody was shown and can do it: a machine, a topic, or a topic at a machine."""

    person = Ref("person", required=True)
    machine = Ref("machine", allow_none=True)
    topic = Text(120, allow_none=True)
    trainer = Ref("person", allow_none=True)
    outside = Text(120, allow_none=True)
    expires = Day(allow_none=True)
    note = Text(allow_none=True)

    @validates_schema(skip_on_field_errors=True)
    def _what_and_by_whom(self, data: Doc, **_: Any) -> None:
        if not data.get("machine") and not data.get("topic"):
            raise ValidationError(said("is missing, and so is the topic", "name the machine or the topic"), "machine")
        if not data.get("trainer") and not data.get("outside"):
            problem = said("is missing", "name who trained; somebody from elsewhere goes under outside")
            raise ValidationError(problem, "trainer")
        if data.get("trainer") == data["person"] and not data.get("outside"):
            mend = "name another; for a course or a trainer from elsewhere, say so under outside"
            raise ValidationError(said("is the person themselves", mend), "trainer")


@kind
class TrainingSigned(_OfPeople):
    """A person was signed off for a machine, or for a topic."""

    name = "training.signed"

    @classmethod
    def body(cls) -> type[Body]:
        return TrainingBody

    def fold(self, doc: Doc, entry: Effective) -> None:
        body = entry.body
        row = {name: body.get(name) for name in ("topic", "trainer", "outside", "expires")}
        section, key = ("machines", body["machine"]) if body.get("machine") else ("topics", body["topic"])
        person_of(doc, body["person"])[section][key] = {"at": entry.at, "by": entry.by} | row

    def summary(self, body: dict[str, Any], name: Name) -> str:
        machine = name(body["machine"]) if body.get("machine") else None
        what = ", ".join(part for part in (machine, body.get("topic")) if part)
        until = f", until {body['expires']}" if body.get("expires") else ""
        return f"{name(body['person'])} signed off: {what}{until}"
