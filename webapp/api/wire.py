"""Shapes of what the API takes and answers where no view loads or dumps them by schema; for its description."""

from __future__ import annotations

from typing import Any

from marshmallow import INCLUDE, Schema, fields

from webapp.records.checking import Envelope
from webapp.records.fields import Day, Flag, Id, Moment, Number, Text, Whole
from webapp.setup.schemas import SCHEMAS


class Open(Schema):
    """More fields may come: an older app passes over what it does not know."""

    class Meta:
        unknown = INCLUDE


class Kept(Open):
    """What every definition carries beside its body; tasks carry `dates` too, changes the `type`."""

    id = Id(required=True)
    revision = Whole(1, required=True)
    retired = Flag(required=True)
    type = Text(20)
    dates = fields.List(Day())


ROWS: dict[str, type[Schema]] = {
    type_: type(f"{type(schema).__name__}Row", (Kept, type(schema)), {"__doc__": f"A {type_} as it is kept."})
    for type_, schema in SCHEMAS.items()
}
ANY_BODY: dict[str, Any] = {"anyOf": [type(schema) for schema in SCHEMAS.values()]}
ANY_ROW: dict[str, Any] = {"anyOf": list(ROWS.values())}


class Revision(Schema):
    """A definition as it was at one revision, who made it and when (ms since 1970)."""

    revision = Whole(1, required=True)
    retired = Flag(required=True)
    by = Id(required=True)
    ms = fields.Integer(required=True)
    body = fields.Dict(required=True)


class Starter(Schema):
    """A machine of the starter library."""

    key = fields.String(required=True)
    name = fields.String(required=True)
    family = fields.String(required=True)
    checks = fields.Integer(required=True)
    tasks = fields.Integer(required=True)
    items = fields.Integer(required=True)
    minutes = fields.Float(required=True)


class Receipt(Open):
    """How an entry came: by which device, when, how far its clock was off."""

    device = Id(required=True)
    received_at = Moment(40, required=True)
    offset_ms = fields.Integer(required=True)
    marked = Flag()
    effective_at = Moment(40)
    via = Id()


class EntryRow(Open):
    """An entry as it stands in the record; of the asking device's own, `id` and `position` alone."""

    id = Id(required=True)
    position = fields.Integer(required=True)
    kind = Text(40)
    machine = Id(allow_none=True)
    by = Id()
    at = Moment(40)
    seq = Whole(1)
    body = fields.Dict()
    receipt = fields.Nested(Receipt)


class ToldRow(EntryRow):
    """An entry with its one line, its place in time, and what became of it."""

    line = fields.String(required=True)
    order = fields.String(required=True)
    chain = fields.String(required=True)
    voided = Flag()
    amended = fields.Dict()


class RecordsOut(Schema):
    """A page of the record, newest first, and the asking device."""

    entries = fields.List(fields.Nested(ToldRow), required=True)
    more = Flag(required=True)
    device = Id(required=True)


class MendingRow(Open):
    """An amendment or a voiding."""

    id = Id(required=True)
    kind = Text(40, required=True)
    by = Id(required=True)
    at = Moment(40, required=True)
    body = fields.Dict(required=True)


class SealedRow(ToldRow):
    """An entry with its place in the chain, what mends it, and the name of the device it came from."""

    previous = fields.String(required=True)
    text = fields.String(required=True)
    mendings = fields.List(fields.Nested(MendingRow), required=True)
    device = fields.String(required=True, allow_none=True)


class MeterState(Open):
    """A meter's running figures."""

    total = Number(required=True)
    base = Number(required=True)
    face = Number(required=True, allow_none=True)
    at = Moment(40, required=True, allow_none=True)
    backwards = Whole(0, required=True)


class StateOut(Schema):
    """What the shop is now, or what of it has changed."""

    meters = fields.Dict(keys=Id(), values=fields.Nested(MeterState), required=True)
    machines = fields.Dict(keys=Id(), values=fields.Dict(), required=True)
    shop = fields.Dict(required=True, allow_none=True)


class Reached(Schema):
    """How far the record goes, which one it is, and which of the device's own numbers never came."""

    head = fields.Integer(required=True)
    epoch = fields.String(required=True)
    gaps = fields.List(fields.List(fields.Integer()), required=True)
    state = fields.Nested(StateOut, required=True)
    entries = fields.List(fields.Nested(EntryRow), required=True)


class ChangesOut(Reached):
    """What came after a position."""

    definitions = fields.List(fields.Nested(Kept), required=True)
    more = Flag(required=True)


class DefinitionsOut(Schema):
    """Every definition by type."""

    shop = fields.Nested(ROWS["shop"], required=True, allow_none=True)
    bays = fields.List(fields.Nested(ROWS["bay"]), required=True)
    machines = fields.List(fields.Nested(ROWS["machine"]), required=True)
    checklists = fields.List(fields.Nested(ROWS["checklist"]), required=True)
    tasks = fields.List(fields.Nested(ROWS["task"]), required=True)
    items = fields.List(fields.Nested(ROWS["item"]), required=True)
    people = fields.List(fields.Nested(ROWS["person"]), required=True)
    alloys = fields.List(fields.Nested(ROWS["alloy"]), required=True)


class SnapshotOut(Reached):
    """Everything a new phone needs."""

    definitions = fields.Nested(DefinitionsOut, required=True)


class DueRow(Schema):
    """A task and its due state today."""

    task = Id(required=True)
    machine = Id(required=True, allow_none=True)
    name = fields.String(required=True)
    state = fields.String(required=True)
    due_on = Day(required=True, allow_none=True)
    used = fields.Float(required=True, allow_none=True)
    every = fields.Float(required=True, allow_none=True)
    left = fields.Float(required=True, allow_none=True)
    unit = fields.String(required=True, allow_none=True)
    fraction = fields.Float(required=True)
    why = fields.String(required=True)


class BatchIn(Schema):
    """What a device sends: at most 500 entries, at most 2 MiB."""

    sent_at = Moment(40, required=True)
    entries = fields.List(fields.Nested(Envelope), required=True)
    made_on = Id()


class PushProblem(Schema):
    """Why an entry was refused."""

    title = fields.String(required=True)
    status = fields.Integer(required=True)
    detail = fields.String(required=True)
    errors = fields.List(fields.Dict(), required=True)


class ResultOut(Schema):
    """What became of one entry."""

    id = fields.String(required=True, allow_none=True)
    outcome = fields.String(required=True, metadata={"enum": ["stored", "known", "refused"]})
    position = fields.Integer()
    problem = fields.Nested(PushProblem)


class PushOut(Schema):
    """What became of each entry, in the order sent; where the record ends; numbers that never came."""

    results = fields.List(fields.Nested(ResultOut), required=True)
    head = fields.Integer(required=True)
    gaps = fields.List(fields.List(fields.Integer()), required=True)
