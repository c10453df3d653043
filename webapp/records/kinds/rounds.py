"""A round: one run through a checklist at one machine."""

from __future__ import annotations

from typing import Any

from marshmallow import ValidationError, fields, validate, validates_schema

from webapp.records.faults import said
from webapp.records.fields import Body, Flag, Id, Moment, Number, PhotoHash, Ref, Text, Whole, one_of
from webapp.records.kinds.base import Kind, Name, kind
from webapp.records.kinds.meters import keep_reading
from webapp.records.state import Doc, Effective, newest_first, totals

ANSWERS_KEPT = 3
FORMS = ("start-up", "weekly", "after-change", "shut-down", "periodic")


class Check(Body):
    """One line of a round as it was answered."""

    check = Id(required=True)
    answer = Text(10, required=True, validate=one_of("ok", "not ok", "n/a"))
    stop = Flag(required=True)
    value = Number(-1e9, allow_none=True)
    unit = Text(20, blank=True, allow_none=True)
    quantity = Text(60, allow_none=True)
    verdict = Text(20, allow_none=True)
    note = Text(allow_none=True)
    photo = PhotoHash(allow_none=True)


class RoundBody(Body):
    """The whole round. `typed_in`: walked on a printed sheet, and typed in afterwards with the sheet's time."""

    checklist = Ref("checklist", required=True)
    revision = Whole(1, required=True)
    form = Text(20, required=True, validate=one_of(*FORMS))
    started_at = Moment(40, required=True)
    seconds = Number(0, 86_400 * 7, required=True)
    outcome = Text(10, required=True, validate=one_of("fit", "not fit", "done"))
    typed_in = Flag()
    checks = fields.List(
        fields.Nested(Check),
        required=True,
        validate=validate.Length(min=1, max=200, error=said("is empty", "send at least one check")),
    )

    @validates_schema(skip_on_field_errors=True)
    def _no_fit_over_a_stop(self, data: Doc, **_: Any) -> None:
        if data["outcome"] == "fit" and any(c["stop"] and c["answer"] == "not ok" for c in data["checks"]):
            problem = said("says fit although a stop check is not ok", "end the round as 'not fit'")
            raise ValidationError(problem, "outcome")


@kind
class RoundDone(Kind):
    """A round was ended."""

    name = "round.done"

    @classmethod
    def body(cls) -> type[Body]:
        return RoundBody

    def fold(self, doc: Doc, entry: Effective) -> None:
        body = entry.body
        stopped = bool(doc["tags"]) or any(finding["stop"] for finding in doc["findings"].values())
        doc["rounds"][body["checklist"]] = {
            "at": entry.at,
            "by": entry.by,
            "entry": entry.id,
            "form": body["form"],
            "outcome": body["outcome"],
            "fit": (body["outcome"] == "fit" and not stopped) if body["form"] == "start-up" else None,
            "not_ok": sum(check["answer"] == "not ok" for check in body["checks"]),
            "seconds": body["seconds"],
            "revision": body["revision"],
            "meters": totals(doc),
        }
        answers = doc["checks"].setdefault(body["checklist"], {})
        for check in body["checks"]:
            _keep_answer(doc, answers, check, entry)

    def summary(self, body: dict[str, Any], name: Name) -> str:
        answers = [check["answer"] for check in body["checks"]]
        bad, passed = answers.count("not ok"), answers.count("n/a")
        found = f"{bad} not ok" if bad else f"{passed} not applicable" if passed else "all ok"
        end = {"fit": "fit to start", "not fit": "not fit to start", "done": "done"}[body["outcome"]]
        typed = ", typed in from paper" if body.get("typed_in") else ""
        return f"{name(body['checklist'])}: {end}, {len(answers)} checks, {found}{typed}"


def _keep_answer(doc: Doc, answers: Doc, check: Doc, entry: Effective) -> None:
    value, unit = check.get("value"), check.get("unit")
    row = {"at": entry.at, "answer": check["answer"], "value": value, "unit": unit}
    newest_first(answers.setdefault(check["check"], []), row, ANSWERS_KEPT)
    if check.get("quantity") and value is not None:
        keep_reading(doc, check["quantity"], {"at": entry.at, "value": value, "unit": unit, "by": entry.by})
