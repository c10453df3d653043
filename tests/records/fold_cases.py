"""The cases of tests/vectors/fold.json: entries written by hand, folded by the Python truth.

`python -m tests.records.fold_cases` writes the file anew; read the difference before you commit it.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from webapp.core.instants import instant_text, parse_instant
from webapp.records.folding import apply, effective, mend
from webapp.records.kinds import KINDS
from webapp.records.state import empty_doc

FILE = Path(__file__).parent.parent / "vectors" / "fold.json"
START = parse_instant("2027-03-01T12:00:00Z")
MILL, SAW, ANN, BEN = "m1", "m2", "p1", "p2"

Entry = dict[str, Any]


def fold(subject: str, entries: list[Entry]) -> dict[str, Any]:
    """The Python truth: entries in order, amended and voided ones by what mends them."""
    doc = empty_doc()
    for entry in sorted(entries, key=lambda one: (parse_instant(one["at"]), one["id"])):
        mendings = [other for other in entries if other["kind"] in ("entry.voided", "entry.amended")]
        mine = [other for other in mendings if other["body"]["entry"] == entry["id"]]
        counts = mend(effective(entry, parse_instant(entry["at"])), mine)
        if counts is not None and subject in KINDS[counts.kind].subjects(counts.machine):
            apply(doc, subject, counts)
    return doc


def case(name: str, *rows: tuple[str, dict[str, Any]], subject: str = f"machine:{MILL}", machine: Any = MILL) -> Entry:
    """A case whose entries are an hour apart, alternately by two people; `_minutes` in a body moves one."""
    entries = []
    for number, (kind, body) in enumerate(rows):
        body = dict(body)
        at = START + 60_000 * body.pop("_minutes", number * 60)
        by = (ANN, BEN)[number % 2]
        row = {"id": f"e{number}", "kind": kind, "machine": body.pop("_machine", machine), "by": by}
        entries.append(row | {"at": instant_text(at), "seq": number + 1, "body": body})
    return {"name": name, "subject": subject, "entries": entries, "state": fold(subject, entries)}


def _round(outcome: str, *checks: Entry) -> tuple[str, Entry]:
    body = {"checklist": "c1", "revision": 3, "form": "start-up", "started_at": "2027-03-01T12:00:00.000Z"}
    return "round.done", body | {"seconds": 52.5, "outcome": outcome, "checks": list(checks)}


def _check(value: float | None = None, answer: str = "ok", **more: Any) -> Entry:
    row = {"check": "k1", "answer": answer, "stop": False}
    return row | ({"value": value, "unit": "%", "quantity": "coolant.strength"} if value is not None else {}) | more


COPPER = {"agent": "copper", "form": "dust", "fraction": "total", "person": BEN, "shift_hours": 10, "on": "2027-02-22"}
SAMPLES = [
    {"minutes": 210, "value": 0.41, "unit": "mg/m3"},
    {"minutes": 240, "value": 50, "unit": "ug/m3", "below_detection": True},
]


def hazard_cases() -> list[Entry]:
    """Hazards, what was measured, the exhaust, chips, and what protects people."""
    haze = {
        "process": "dry_sand",
        "alloy": "C36000",
        "minutes": 25,
        "controls": ["LEV on"],
        "seen": ["haze"],
        "exposed": [ANN, BEN],
    }
    risk = {
        "before": {"severity": 2, "probability": "C"},
        "after": {"severity": 2, "probability": "D"},
        "agreed_by": ANN,
        "review_on": "2027-09-01",
    }
    noise = {
        "agent": "noise",
        "place": "at the sander",
        "shift_hours": 8,
        "samples": [{"minutes": 90, "value": 93.5, "unit": "dBA"}],
    }
    drop = {"check": "filter drop", "unit": "in H2O"}
    speed = {"check": "capture velocity", "unit": "ft/min", "place": "sander hood"}
    chips = {"alloy": "C36000", "unit": "lb", "container": "drum 2", "to": "scrap"}
    lung = {"person": BEN, "kind": "lung", "what": "half mask P100"}
    fit = {"person": BEN, "respirator": "half mask M", "method": "quantitative", "factor": 480}
    signed = {"person": BEN, "machine": SAW, "trainer": ANN}
    shop: dict[str, Any] = {"subject": "shop", "machine": None}
    add = "ppe.checked"
    return [
        case("a hazard stays open", ("hazard.noted", haze | {"risk": risk})),
        case("a hazard keeps its photo", ("hazard.noted", haze | {"photo": "ab" * 32})),
        case("a hazard is settled", ("hazard.noted", haze), ("hazard.closed", {"hazard": "e0", "done": "hood moved"})),
        case("a hazard settled before, in time, it was noted", ("hazard.noted", haze | {"_minutes": 30}), ("hazard.closed", {"hazard": "e0", "done": "hood moved", "_minutes": 10})),
        case("a hazard of the shop, in words alone", ("hazard.noted", {"process": "sweep", "text": "dry broom", "near_miss": True, "first_aid": None}), **shop),
        case("a voided hazard leaves none", ("hazard.noted", haze), ("entry.voided", {"entry": "e0", "why": "steam"})),
        case("an amended hazard is open as amended", ("hazard.noted", haze), ("entry.amended", {"entry": "e0", "kind": "hazard.noted", "body": {"process": "mill", "text": "mist", "first_aid": True}, "why": "mist, not dust"})),
        case("what was measured is the shop's, newest first", ("exposure.measured", COPPER | {"samples": SAMPLES}), ("exposure.measured", COPPER | {"samples": SAMPLES[:1], "_machine": SAW, "alloy": "C11000"}), ("exposure.measured", noise), subject="shop"),
        case("twelve measurements are kept of thirteen", *[("exposure.measured", noise | {"shift_hours": 8 + n / 10}) for n in range(13)], **shop),
        case("an amended measurement counts as amended", ("exposure.measured", noise), ("entry.amended", {"entry": "e0", "kind": "exposure.measured", "body": noise | {"place": "at the saw"}, "why": "wrong place"}), **shop),
        case("a round and a check of the air make one series", _round("fit", _check() | {"value": 1.1, "unit": "in H2O", "quantity": "filter.pressure_drop"}), ("air.checked", drop | {"value": 1.4})),
        case("a commissioning figure stays while readings follow", ("air.checked", speed | {"value": 210, "commissioning": True}), ("air.checked", speed | {"value": 190}), ("air.checked", drop | {"value": 0.9, "commissioning": True})),
        case("a new commissioning takes the place of the old", ("air.checked", speed | {"value": 210, "commissioning": True}), ("air.checked", speed | {"value": 230, "commissioning": True})),
        case("a voided commissioning gives way to the one before", ("air.checked", speed | {"value": 210, "commissioning": True}), ("air.checked", speed | {"value": 2300, "commissioning": True}), ("entry.voided", {"entry": "e1", "why": "a nought too many"})),
        case("the last purge", ("purge.run", {"seconds": 60, "needed": 50}), ("purge.run", {"seconds": 12, "needed": 50})),
        case("chips by alloy in kilograms", ("chips.collected", chips | {"weight": 41.5}), ("chips.collected", chips | {"weight": 0.1, "unit": "kg", "dust": True, "to": "waste"}), ("chips.collected", chips | {"weight": 7, "alloy": "304", "_machine": SAW}), subject="shop"),
        case("hours on a cartridge until it is replaced", (add, lung | {"result": "issued"}), (add, lung | {"result": "ok", "hours": 2.1}), (add, lung | {"result": "ok", "hours": 0.1}), (add, lung | {"result": "replaced", "hours": 3, "change_after": 40}), (add, lung | {"result": "ok", "hours": 1}), (add, {"person": BEN, "kind": "eye", "result": "refused", "note": "scratched"}), subject="shop"),
        case("a replaced cartridge that was never issued here", (add, lung | {"result": "replaced", "change_by": "2027-06-01"}), (add, lung | {"result": "ok", "change_by": "2027-05-01", "change_after": 12}), (add, lung | {"result": "replaced"}), **shop),
        case("a fit test, and a later one that failed", ("fit.tested", fit | {"result": "pass", "expires": "2028-03-01"}), ("fit.tested", fit | {"result": "fail", "factor": 40}), ("fit.tested", fit | {"respirator": "full face", "result": "pass", "expires": "2028-03-01", "make_note": "own spectacle frame"}), **shop),
        case("signed off for a machine and for a topic", ("training.signed", signed | {"expires": "2028-03-01"}), ("training.signed", {"person": ANN, "topic": "respirators", "outside": "clinic nurse"}), ("training.signed", signed | {"topic": "blade change", "_machine": SAW}), subject="shop"),
        case("a voided sign-off is none", ("training.signed", signed), ("entry.voided", {"entry": "e0", "why": "wrong person"}), **shop),
    ]  # fmt: skip


def cases() -> list[Entry]:
    """Every case."""
    add = "meter.added"
    return [
        case("hours add up without crumbs", *[(add, {"meter": "h", "amount": 0.1})] * 3),
        case("a reading rules over what was added", (add, {"meter": "h", "amount": 5}), ("meter.read", {"meter": "h", "value": 120}), (add, {"meter": "h", "amount": 4}), ("meter.read", {"meter": "h", "value": 123.2})),
        case("a first reading below the count is a new face", (add, {"meter": "h", "amount": 50}), ("meter.read", {"meter": "h", "value": 2})),
        case("a new counter keeps the total", ("meter.read", {"meter": "h", "value": 900}), ("meter.read", {"meter": "h", "value": 1, "replaced": True}), ("meter.read", {"meter": "h", "value": 4.5})),
        case("a reading that steps back moves nothing", ("meter.read", {"meter": "h", "value": 90}), ("meter.read", {"meter": "h", "value": 89})),
        case("a counter that says it ran is use of the machine, a reading is not", ("meter.read", {"meter": "h", "value": 9}), ("meter.read", {"meter": "h", "value": 10, "ran": True}), ("meter.read", {"meter": "h", "value": 10, "ran": True}), ("meter.read", {"meter": "h", "value": 11})),
        case("a batch adds to several meters", ("batch.run", {"adds": {"h": 1.45, "c": 12}, "loads": 6, "minutes_per_load": 14.5})),
        case("a part's life in every meter", (add, {"meter": "h", "amount": 3}), ("part.changed", {"part": "b", "reason": "new"}), (add, {"meter": "h", "amount": 7.25}), ("part.changed", {"part": "b", "reason": "dull"})),
        case("cut minutes count from a cutter's change, and a life keeps them", ("part.changed", {"part": "t1", "reason": "new", "grade": "K10", "edge": "new", "tool": "3", "stick_out": {"value": 1.25, "unit": "in"}}), ("batch.run", {"adds": {"h": 1.5}, "loads": 6, "cutters": {"t1": 2.2, "t2": 4}}), ("batch.run", {"adds": {"h": 0.5}, "loads": 3, "cutters": {"t1": 0.1}}), ("part.changed", {"part": "t1", "reason": "chipped", "material": "304", "edge": "re-ground"}), ("batch.run", {"adds": {"h": 0.5}, "loads": 2, "cutters": {"t1": 1.1}})),
        case("a life without a batch has no minutes", ("part.changed", {"part": "t1", "reason": "new", "grade": "K10"}), ("part.changed", {"part": "t1", "reason": "dull"})),
        case("an amended batch counts its minutes as amended", ("part.changed", {"part": "t1", "reason": "new"}), ("batch.run", {"adds": {"h": 1}, "loads": 6, "cutters": {"t1": 2}}), ("entry.amended", {"entry": "e1", "kind": "batch.run", "body": {"adds": {"h": 1}, "loads": 5, "cutters": {"t1": 2}}, "why": "miscounted"})),
        case("a part taken from the drawer, at the machine", ("part.changed", {"part": "b", "reason": "dull", "item": "i"})),
        case("a part taken from the drawer, in the shop", ("stock.counted", {"item": "i", "count": 4}), ("part.changed", {"part": "b", "reason": "dull", "item": "i", "used": 2, "_machine": SAW}), subject="shop", machine=None),
        case("spares on order, one order in part delivered", ("stock.counted", {"item": "i", "count": 1}), ("stock.ordered", {"item": "i", "count": 5, "expected": "2027-03-09"}), ("stock.ordered", {"item": "i", "count": 2}), ("stock.counted", {"item": "i", "count": 4, "arrived": 3}), subject="shop", machine=None),
        case("a delivery over two orders, and more than was ordered", ("stock.ordered", {"item": "i", "count": 5}), ("stock.ordered", {"item": "i", "count": 2, "note": "second supplier"}), ("stock.ordered", {"item": "j", "count": 0.5}), ("stock.counted", {"item": "i", "count": 9, "arrived": 6}), ("stock.counted", {"item": "j", "count": 3, "arrived": 3}), subject="shop", machine=None),
        case("a count alone leaves what is on order", ("stock.ordered", {"item": "i", "count": 5}), ("stock.counted", {"item": "i", "count": 1, "_machine": SAW}), subject="shop", machine=None),
        case("an order called off", ("stock.ordered", {"item": "i", "count": 5}), ("entry.voided", {"entry": "e0", "why": "supplier has none"}), subject="shop", machine=None),
        case("a tag goes on and off", ("tag.on", {"why": "guard cracked", "finding": "f"}), ("tag.off", {"tag": "e0", "done": "new guard"})),
        case("a tag taken off before, in time, it went on", ("tag.on", {"why": "guard cracked", "_minutes": 30}), ("tag.off", {"tag": "e0", "done": "new guard", "_minutes": 10})),
        case("two tags: one comes off, the other stays", ("tag.on", {"why": "one"}), ("tag.on", {"why": "two"}), ("tag.off", {"tag": "e0", "done": "mended"})),
        case("a finding stays open", ("finding.opened", {"text": "way oil low", "stop": True, "check": "k1"})),
        case("a finding is closed", ("finding.opened", {"text": "way oil low", "stop": True}), ("finding.closed", {"finding": "e0", "done": "filled"})),
        case("a task raised and done", ("task.raised", {"title": "fit a jaw", "minutes": 30}), ("task.done", {"task": "e0"})),
        case("a task done before, in time, it was raised", ("task.raised", {"title": "fit a jaw", "_minutes": 9}), ("task.done", {"task": "e0", "_minutes": 2})),
        case("a task put off, then done", (add, {"meter": "h", "amount": 2}), ("task.deferred", {"task": "t", "to": "2027-04-01", "why": "no filter"}), ("task.done", {"task": "t"})),
        case("a task put off", ("task.done", {"task": "t"}), ("task.deferred", {"task": "t", "to": "2027-04-01", "why": "no filter"})),
        case("a round fit to start keeps its readings", _round("fit", _check(6.1)), _round("fit", _check(5.8))),
        case("a round under a tag is not fit", ("tag.on", {"why": "loose"}), _round("fit", _check())),
        case("a round under an open stop finding is not fit", ("finding.opened", {"text": "x", "stop": True}), _round("fit", _check())),
        case("a round under an open finding that is no stop", ("finding.opened", {"text": "x", "stop": False}), _round("fit", _check())),
        case("three answers are kept of four", *[_round("fit", _check(5 + n / 10)) for n in range(4)]),
        case("a round with something not ok", _round("not fit", _check(answer="not ok", stop=True, note="dry"), _check(answer="n/a"))),
        case("twelve readings are kept of thirteen", *[("reading.taken", {"quantity": "coolant.ph", "value": 8 + n / 10, "unit": ""}) for n in range(13)]),
        case("coolant topped up and changed", ("fluid.added", {"fluid": "f", "amount": 1.3, "unit": "gal"}), ("fluid.added", {"fluid": "f", "amount": 0.2, "unit": "gal"}), (add, {"meter": "h", "amount": 9}), ("fluid.changed", {"fluid": "f"}), ("fluid.added", {"fluid": "f", "amount": 2, "unit": "gal"})),
        case("a voided entry counts for nothing", (add, {"meter": "h", "amount": 3}), (add, {"meter": "h", "amount": 4}), ("entry.voided", {"entry": "e0", "why": "twice"})),
        case("an amended entry counts as amended last", (add, {"meter": "h", "amount": 3}), ("entry.amended", {"entry": "e0", "kind": add, "body": {"meter": "h", "amount": 2}, "why": "misread"}), ("entry.amended", {"entry": "e0", "kind": add, "body": {"meter": "h", "amount": 1.5}, "why": "again"})),
        case("an amendment made at another machine is passed over", (add, {"meter": "h", "amount": 3}), ("entry.amended", {"_machine": SAW, "entry": "e0", "kind": add, "body": {"meter": "s", "amount": 2}, "why": "wrong"})),
        case("an amendment of another kind is passed over", (add, {"meter": "h", "amount": 3}), ("entry.amended", {"entry": "e0", "kind": "note.made", "body": {"text": "x"}, "why": "wrong"})),
        case("a voided opening leaves nothing open", ("tag.on", {"why": "wrong machine"}), ("entry.voided", {"entry": "e0", "why": "wrong machine"})),
        *hazard_cases(),
        case("a note only moves the last time", ("note.made", {"text": "tapped the guide back"})),
        case("notes for the shop", ("note.made", {"text": "sawdust out on Friday"}), subject="shop", machine=None),
    ]  # fmt: skip


if __name__ == "__main__":
    FILE.write_text(json.dumps(cases(), indent=1, ensure_ascii=False) + "\n")
