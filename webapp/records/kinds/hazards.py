"""Hazards noted and settled, what was measured in the air, checks of the exhaust, and chips and dust collected."""

from __future__ import annotations

from typing import Any

from marshmallow import ValidationError, fields, validate, validates_schema

from webapp.records.faults import said
from webapp.records.fields import Body, Day, Flag, Id, Number, PhotoHash, Ref, Text, Whole, one_of
from webapp.records.kinds.base import Kind, Name, alloy_said, kind
from webapp.records.kinds.meters import keep_reading
from webapp.records.state import Doc, Effective, close, newest_first, open_unless_settled, r6

SEEN = ("visible dust", "haze", "spill", "taste", "skin", "other")
FRACTIONS = ("total", "inhalable", "thoracic", "respirable", "not stated")
NOISE = "noise"
MEASURED_KEPT = 12
DAY_MINUTES = 24 * 60
KILOGRAMS = {"kg": 1.0, "lb": 0.45359237}
"""The pound is 0.45359237 kg by definition."""
QUANTITIES = {
    "face velocity": "air.face_velocity",
    "capture velocity": "hood.velocity",
    "duct velocity": "duct.velocity",
    "static pressure": "duct.static_pressure",
    "filter drop": "filter.pressure_drop",
    "flow": "air.flow",
}
"""Under which quantity a check of the air is kept: the one that rounds read too, so that both make one trend."""
UNITS = {
    "face velocity": ("ft/min", "m/s"),
    "capture velocity": ("ft/min", "m/s"),
    "duct velocity": ("ft/min", "m/s"),
    "static pressure": ("in H2O", "Pa"),
    "filter drop": ("in H2O", "Pa"),
    "flow": ("cfm", "m3/h", "m3/s", "L/s"),
}


def some(what: str, most: int = 40) -> validate.Length:
    """A validator for a list that may be left out, but says something when it is there."""
    return validate.Length(
        min=1, max=most, error=said("is empty or too long", f"name 1 to {most} {what}, or leave it out")
    )


class Estimate(Body):
    """One cell of the MIL-STD-882E matrix: severity 1 (worst) to 4, probability A to F (eliminated)."""

    severity = Whole(1, 4, required=True)
    probability = Text(1, required=True, validate=one_of(*"ABCDEF"))


class Risk(Body):
    """The estimate before and after controls, who agreed to it, and when it is looked at again."""

    before = fields.Nested(Estimate, required=True)
    after = fields.Nested(Estimate, allow_none=True)
    agreed_by = Ref("person", required=True)
    review_on = Day(required=True)


class HazardBody(Body):
    """A hazard as somebody met it."""

    process = Text(40, required=True)
    alloy = Text(40, allow_none=True)
    medium = Text(40, allow_none=True)
    minutes = Number(0, DAY_MINUTES, allow_none=True)
    controls = fields.List(Text(120), validate=some("controls"))
    seen = fields.List(Text(20, validate=one_of(*SEEN)), validate=some("things seen"))
    text = Text(allow_none=True)
    near_miss = Flag(allow_none=True)
    first_aid = Flag(allow_none=True)
    exposed = fields.List(Ref("person"), validate=some("people"))
    risk = fields.Nested(Risk, allow_none=True)
    photo = PhotoHash(allow_none=True)

    @validates_schema(skip_on_field_errors=True)
    def _says_what(self, data: Doc, **_: Any) -> None:
        seen = data.get("seen") or []
        if not data.get("text") and (not seen or "other" in seen):
            problem = said("is missing, and nothing else says what it was", "write what was seen, in a few words")
            raise ValidationError(problem, "text")


@kind
class HazardNoted(Kind):
    """Dust, haze, a spill, a near miss: open until somebody settles it. Its id is the entry's."""

    name = "hazard.noted"
    machine_needed = False

    @classmethod
    def body(cls) -> type[Body]:
        return HazardBody

    def fold(self, doc: Doc, entry: Effective) -> None:
        body = entry.body
        kept: Doc = {name: body.get(name) for name in ("alloy", "medium", "minutes", "text", "risk")}
        kept |= {name: body.get(name) or [] for name in ("controls", "seen", "exposed")}
        kept |= {name: body.get(name) or False for name in ("near_miss", "first_aid")}
        if body.get("photo"):
            kept["photo"] = body["photo"]
        row = {"at": entry.at, "by": entry.by, "process": body["process"]} | kept
        open_unless_settled(doc, "hazards", entry.id, row)

    def summary(self, body: dict[str, Any], name: Name) -> str:
        what = body.get("text") or ", ".join(body.get("seen") or ())
        kinds = (("near_miss", "near miss"), ("first_aid", "first aid"))
        marks = ", ".join(word for key, word in kinds if body.get(key))
        work = f"{body['process'].replace('_', ' ')} {alloy_said(body.get('alloy') or '', name)}".strip()
        return f"Hazard{f' ({marks})' if marks else ''}, {work}: {what}"


@kind
class HazardClosed(Kind):
    """A hazard was settled, and how."""

    name = "hazard.closed"
    machine_needed = False

    @classmethod
    def body(cls) -> type[Body]:
        return Body.from_dict({"hazard": Id(required=True), "done": Text(required=True)})  # type: ignore[return-value]

    def fold(self, doc: Doc, entry: Effective) -> None:
        close(doc, "hazards", entry.body["hazard"])

    def summary(self, body: dict[str, Any], name: Name) -> str:
        return f"Hazard settled: {body['done']}"


class Sample(Body):
    """One stretch of a measurement; below the laboratory's detection, `value` is its reporting limit."""

    minutes = Number(above=0, high=DAY_MINUTES, required=True)
    value = Number(0, 1e6, required=True)
    unit = Text(10, required=True, validate=one_of("mg/m3", "ug/m3", "dBA"))
    below_detection = Flag(allow_none=True)


class ExposureBody(Body):
    """What somebody breathed or heard over a shift, or what a place holds, as it was measured."""

    agent = Text(40, required=True)
    form = Text(20, allow_none=True)
    fraction = Text(12, allow_none=True, validate=one_of(*FRACTIONS))
    person = Ref("person", allow_none=True)
    place = Text(120, allow_none=True)
    samples = fields.List(fields.Nested(Sample), required=True, validate=some("samples", 200))
    shift_hours = Number(above=0, high=24, required=True)
    on = Day(allow_none=True)
    method = Text(120, allow_none=True)
    laboratory = Text(120, allow_none=True)
    process = Text(40, allow_none=True)
    alloy = Text(40, allow_none=True)
    note = Text(allow_none=True)

    @validates_schema(skip_on_field_errors=True)
    def _of_somebody_or_somewhere(self, data: Doc, **_: Any) -> None:
        if not data.get("person") and not data.get("place"):
            raise ValidationError(
                said("is missing, and so is the place", "name who wore the sampler, or where it stood"), "person"
            )
        if data["agent"] != NOISE and not data.get("form"):
            raise ValidationError(said("is missing", "say in which form it was: dust, fume, mist"), "form")

    @validates_schema(skip_on_field_errors=True)
    def _samples_go_together(self, data: Doc, **_: Any) -> None:
        noise = data["agent"] == NOISE
        units = ("dBA",) if noise else ("mg/m3", "ug/m3")
        wrong = said(f"is no unit of {data['agent']}", f"send one of: {', '.join(units)}")
        faults = {n: {"unit": [wrong]} for n, one in enumerate(data["samples"]) if one["unit"] not in units}
        if faults:
            raise ValidationError({"samples": faults})
        if noise and (odd := [n for n, one in enumerate(data["samples"]) if not 20 <= one["value"] <= 160]):
            told = said("is not between 20 and 160 dBA", "read the meter again, set to slow and A")
            raise ValidationError({"samples": {n: {"value": [told]} for n in odd}})
        if sum(one["minutes"] for one in data["samples"]) > data["shift_hours"] * 60 + 0.5:
            mend = "send the hours of the shift; samples that ran side by side are measurements of their own"
            raise ValidationError(said("is shorter than the samples together", mend), "shift_hours")


@kind
class ExposureMeasured(Kind):
    """An exposure was measured. Nothing here is ever reckoned without one."""

    name = "exposure.measured"
    machine_needed = False

    @classmethod
    def body(cls) -> type[Body]:
        return ExposureBody

    def subjects(self, machine: str | None) -> tuple[str, ...]:
        return ("shop",)

    def fold(self, doc: Doc, entry: Effective) -> None:
        body = entry.body
        names = ("fraction", "person", "place", "shift_hours", "on", "method", "laboratory", "process", "alloy")
        row: Doc = {"entry": entry.id, "at": entry.at, "by": entry.by, "machine": entry.machine}
        row |= {name: body.get(name) for name in names}
        row["samples"] = [
            {
                "minutes": one["minutes"],
                "value": one["value"],
                "unit": one["unit"],
                "below_detection": one.get("below_detection") or False,
            }
            for one in body["samples"]
        ]
        key = NOISE if body["agent"] == NOISE else f"{body['agent']}/{body['form']}"
        newest_first(doc.setdefault("exposures", {}).setdefault(key, []), row, MEASURED_KEPT)

    def fold_shop(self, doc: Doc, entry: Effective) -> None:
        self.fold(doc, entry)

    def summary(self, body: dict[str, Any], name: Name) -> str:
        where = name(body["person"]) if body.get("person") else body["place"]
        first, more = body["samples"][0], len(body["samples"])
        less = "below " if first.get("below_detection") else ""
        what = " ".join(part for part in (body["agent"].replace("_", " "), body.get("form")) if part)
        rest = f", the first of {more} samples" if more > 1 else ""
        figure = f"{less}{first['value']:g} {first['unit']} over {first['minutes']:g} min"
        return f"Measured, {what}, {where}: {figure}{rest}"


class AirBody(Body):
    """A measurement at a hood, a duct or a filter."""

    check = Text(20, required=True, validate=one_of(*QUANTITIES))
    value = Number(-1e6, 1e6, required=True)
    unit = Text(12, required=True, validate=one_of(*dict.fromkeys(unit for units in UNITS.values() for unit in units)))
    place = Text(60, allow_none=True)
    instrument = Text(60, allow_none=True)
    commissioning = Flag(allow_none=True)
    note = Text(allow_none=True)

    @validates_schema(skip_on_field_errors=True)
    def _unit_of_the_check(self, data: Doc, **_: Any) -> None:
        units = UNITS[data["check"]]
        if data["unit"] not in units:
            problem = said(f"is no unit of {data['check']}", f"send one of: {', '.join(units)}")
            raise ValidationError(problem, "unit")


def air_quantity(body: dict[str, Any]) -> str:
    """Under which quantity a check is kept; a named place is a series of its own."""
    place = body.get("place")
    return f"{QUANTITIES[body['check']]}{f'/{place}' if place else ''}"


@kind
class AirChecked(Kind):
    """The exhaust was measured; `commissioning`: the figure that later ones are held against."""

    name = "air.checked"

    @classmethod
    def body(cls) -> type[Body]:
        return AirBody

    def fold(self, doc: Doc, entry: Effective) -> None:
        body, quantity = entry.body, air_quantity(entry.body)
        row = {"at": entry.at, "value": body["value"], "unit": body["unit"], "by": entry.by}
        keep_reading(doc, quantity, row)
        if body.get("commissioning"):
            doc.setdefault("commissioned", {})[quantity] = dict(row)

    def summary(self, body: dict[str, Any], name: Name) -> str:
        place = f" at {body['place']}" if body.get("place") else ""
        new = ", commissioning" if body.get("commissioning") else ""
        return f"{body['check'].capitalize()}{place} {body['value']:g} {body['unit']}{new}"


@kind
class PurgeRun(Kind):
    """After blasting the cabinet was purged for so long; `needed` is what its purge time was then, in s."""

    name = "purge.run"

    @classmethod
    def body(cls) -> type[Body]:
        return Body.from_dict({"seconds": Number(0, 86_400, required=True), "needed": Number(0, 86_400, required=True)})  # type: ignore[return-value]

    def fold(self, doc: Doc, entry: Effective) -> None:
        body = entry.body
        doc["purge"] = {"at": entry.at, "by": entry.by, "seconds": body["seconds"], "needed": body["needed"]}

    def summary(self, body: dict[str, Any], name: Name) -> str:
        if body["seconds"] < body["needed"]:
            return f"Purged {body['seconds']:g} s of {body['needed']:g} s, cut short"
        return f"Purged {body['seconds']:g} s, {body['needed']:g} s were needed"


@kind
class ChipsCollected(Kind):
    """Chips or dust of one alloy went to scrap or to waste, by weight."""

    name = "chips.collected"
    machine_needed = False

    @classmethod
    def body(cls) -> type[Body]:
        return Body.from_dict(
            {
                "alloy": Text(40, required=True),
                "weight": Number(above=0, high=1e6, required=True),
                "unit": Text(4, required=True, validate=one_of(*KILOGRAMS)),
                "container": Text(80, required=True),
                "to": Text(10, required=True, validate=one_of("scrap", "waste")),
                "dust": Flag(allow_none=True),
                "note": Text(allow_none=True),
            }
        )  # type: ignore[return-value]

    def subjects(self, machine: str | None) -> tuple[str, ...]:
        return ("shop",)

    def fold(self, doc: Doc, entry: Effective) -> None:
        body = entry.body
        blank: Doc = {"at": None, "scrap": 0, "waste": 0, "dust": 0}
        row = doc.setdefault("chips", {}).setdefault(body["alloy"], blank)
        weight = body["weight"] * KILOGRAMS[body["unit"]]
        row[body["to"]] = r6(row[body["to"]] + weight)
        if body.get("dust"):
            row["dust"] = r6(row["dust"] + weight)
        row["at"] = entry.at

    def fold_shop(self, doc: Doc, entry: Effective) -> None:
        self.fold(doc, entry)

    def summary(self, body: dict[str, Any], name: Name) -> str:
        what = "dust" if body.get("dust") else "chips"
        weight = f"{body['weight']:g} {body['unit']}"
        return f"{alloy_said(body['alloy'], name)} {what}: {weight} to {body['to']}, {body['container']}"
