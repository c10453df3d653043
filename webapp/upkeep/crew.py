"""What protects each person today: equipment, fit tests, sign-offs, and who may not start which machine alone."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict
from datetime import date
from typing import Any

from webapp.core import ppe, respirators
from webapp.core.dates import say_date

Doc = dict[str, Any]
DayOf = Callable[[str], str]
"""The shop's date of an instant as text."""

OPEN = ("never", "not yet", "lapsed", "failed", "change now", "refused")
"""What is to be settled before the work; what is near its end is said too."""


def person(kept: Doc, own: str, names: dict[str, str], today: date, day_of: DayOf) -> Doc:
    """One person's page, from what the shop's state keeps of them: each thing with how it stands today."""
    equipment = [_equipment(key, row, today, day_of) for key, row in sorted(kept.get("ppe", {}).items())]
    fits = [_fit(name, row, today, day_of) for name, row in sorted(kept.get("fits", {}).items())]
    machines = {key: _signed(key, own, row, today, day_of) for key, row in sorted(kept.get("machines", {}).items())}
    topics = {
        key: _standing(row, today, day_of) | {"by": _trainer(row)}
        for key, row in sorted(kept.get("topics", {}).items())
    }
    said = [*(f"{one['name']}: {one['why']}" for one in [*equipment, *fits] if _speaks(one["word"]))]
    said += [f"{names.get(key, 'A machine')}: {one['why']}" for key, one in machines.items() if _speaks(one["word"])]
    said += [f"{key}: {one['why']}" for key, one in topics.items() if _speaks(one["word"])]
    return {"ppe": equipment, "fits": fits, "machines": machines, "topics": topics, "said": said}


def lacking(kept: dict[str, Doc], people: list[str], machine: str, today: date, day_of: DayOf) -> Doc:
    """Who of `people` has no current sign-off for a machine: {asked, lacking: [{person, word, why}]}.

    `asked`: whether anybody was ever signed off for it; a shop that does not sign off for it is told of nobody.
    """
    signed = [
        sign
        for one in kept
        for key, row in kept[one].get("machines", {}).items()
        if key == machine
        for sign in [_sign_off(key, one, row, day_of)]
    ]
    found = ppe.lacking(signed, people, machine, today) if signed else []
    return {"asked": bool(signed), "lacking": [asdict(one) for one in found]}


def _speaks(word: str) -> bool:
    return word in OPEN or word == "near its end"


def _equipment(key: str, row: Doc, today: date, day_of: DayOf) -> Doc:
    part, _, what = key.partition("/")
    made: Doc = {"part": part, "what": what or None, "name": what or f"{part} protection", "result": row["result"]}
    made |= {"on": day_of(row["at"]), "since": row["since"] and day_of(row["since"]), "note": row["note"]}
    made |= {"cartridge": None, "word": "current", "why": f"Looked at {_said(row['at'], day_of)}."}
    if row["result"] == "refused":
        return made | {"word": "refused", "why": f"Out of use since {_said(row['at'], day_of)}: {row['note']}"}
    if part != "lung" and not row["change_by"]:
        return made
    if part != "lung":
        until = date.fromisoformat(row["change_by"])
        found = ppe.standing(min(until, date.fromisoformat(day_of(row["since"] or row["at"]))), until, today)
        return made | {"word": "change now" if found.word == "lapsed" else found.word, "why": found.why}
    opened = row["since"] and day_of(row["since"])
    # A last day before the day it was opened says that it must not be used at all.
    opened = None if opened and row["change_by"] and row["change_by"] < opened else opened
    worn = respirators.cartridge(
        [min(row["hours"], 10_000)], row["change_after"], None, opened, row["change_by"], today.isoformat()
    )
    word = "change now" if worn.word == "change now" else "current"
    return made | {"cartridge": asdict(worn), "word": word, "why": worn.why}


def _fit(name: str, row: Doc, today: date, day_of: DayOf) -> Doc:
    made = {"name": name, "method": row["method"], "factor": row["factor"], "make_note": row["make_note"]}
    if row["result"] == "fail":
        why = f"The fit test of {_said(row['at'], day_of)} failed: this respirator is not for this face."
        return made | {"on": day_of(row["at"]), "word": "failed", "until": None, "days": None, "why": why}
    return made | _standing(row, today, day_of)


def _standing(row: Doc, today: date, day_of: DayOf) -> Doc:
    done, until = _dates(row, day_of)
    found = ppe.standing(done, until, today)
    return {"on": done.isoformat(), "word": found.word, "until": row["expires"], "days": found.days, "why": found.why}


def _signed(machine: str, own: str, row: Doc, today: date, day_of: DayOf) -> Doc:
    found = ppe.sign_off([_sign_off(machine, own, row, day_of)], own, machine, today)
    plain = {"on": day_of(row["at"]), "word": found.word, "until": row["expires"], "days": found.days}
    return plain | {"why": found.why, "by": _trainer(row), "topic": row["topic"]}


def _sign_off(machine: str, own: str, row: Doc, day_of: DayOf) -> ppe.SignOff:
    done, until = _dates(row, day_of)
    # Whoever came from elsewhere is named beside the trainer, and signs then.
    return ppe.SignOff(own, machine, done, row["outside"] or row["trainer"], until)


def _dates(row: Doc, day_of: DayOf) -> tuple[date, date | None]:
    """The day it was done and the last it holds; an end before the day it was done holds for no day at all."""
    done = date.fromisoformat(day_of(row["at"]))
    until = date.fromisoformat(row["expires"]) if row["expires"] else None
    return (min(done, until), until) if until else (done, None)


def _trainer(row: Doc) -> Doc:
    return {"person": row["trainer"], "outside": row["outside"]}


def _said(at: str, day_of: DayOf) -> str:
    return say_date(date.fromisoformat(day_of(at)))
