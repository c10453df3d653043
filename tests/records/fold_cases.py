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
        case("a note only moves the last time", ("note.made", {"text": "tapped the guide back"})),
        case("notes for the shop", ("note.made", {"text": "sawdust out on Friday"}), subject="shop", machine=None),
    ]  # fmt: skip


if __name__ == "__main__":
    FILE.write_text(json.dumps(cases(), indent=1, ensure_ascii=False) + "\n")
