"""A shop with something of every kind in its record, and PDFs read back by libraries that are not ours."""

from __future__ import annotations

import io
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pypdf
import pytest

from tests.cli.conftest import folder, run  # noqa: F401  (fixtures)
from tests.conftest import Shop, set_up
from webapp import create_app
from webapp.config import Settings
from webapp.core.instants import instant_text, parse_instant
from webapp.database import db, writing
from webapp.records.kinds import KINDS
from webapp.setup import definitions
from webapp.setup.ids import new_id

START = parse_instant("2026-03-02T12:00:00Z")
DAY = 86_400_000
Told = tuple[Shop, dict[str, dict[str, Any]]]
"""A shop, and its entries by name."""


def at(day: float) -> str:
    """A moment so many days after Monday, 2 March 2026, noon UTC."""
    return instant_text(START + int(day * DAY))


def plated(shop: Shop) -> Shop:
    """The small shop with a bay, a plate on the mill and a round with a reading."""
    with shop.app.app_context(), writing() as session:
        bay = definitions.create(session, "bay", {"name": "Long wall"}, shop.owner)
        edit(
            session,
            "machine",
            shop.mill,
            shop.owner,
            bay=bay["id"],
            maker="Kestrel & Öz",
            model="V-30",
            serial="Ł-0042",
        )
        reading = {"id": new_id(), "text": "Read the coolant strength", "how": "From the nozzle.", "why": "rot and rust",
                   "source": "common practice, no source", "answer": "reading", "stop": False, "unit": "%",
                   "quantity": "coolant.strength", "band": {"act_low": 6, "target": 8, "act_high": 10}}  # fmt: skip
        now = definitions.get(session, "checklist", shop.checklist)
        edit(session, "checklist", shop.checklist, shop.owner, checks=[*now["checks"], reading])
    return shop


def edit(session: Any, type_: str, id_: str, by: str, **fields: Any) -> dict[str, Any]:
    now = definitions.get(session, type_, id_)
    body = {key: value for key, value in now.items() if key not in ("id", "revision", "retired")} | fields
    return definitions.update(session, type_, id_, body, now["revision"], by)


def checks_of(shop: Shop) -> list[dict[str, Any]]:
    with shop.app.app_context():
        found = definitions.get(db.session(), "checklist", shop.checklist)
        db.session.remove()
    return list(found["checks"])


def round_of(shop: Shop, day: float, *, oil: str = "ok", strength: float = 7.5, **over: Any) -> dict[str, Any]:
    first, second = checks_of(shop)
    answers = [
        {"check": first["id"], "answer": oil, "stop": True} | ({"note": "Below the line"} if oil != "ok" else {}),
        {"check": second["id"], "answer": "ok", "stop": False, "value": strength, "unit": "%", "quantity": "coolant.strength",
         "verdict": "act low" if strength < 6 else "within"},
    ]  # fmt: skip
    body = {"checklist": shop.checklist, "revision": 2, "form": "start-up", "started_at": at(day - 0.001), "seconds": 95,
            "outcome": "fit" if oil == "ok" else "not fit", "checks": answers}  # fmt: skip
    return shop.entry("round.done", body | over, at=at(day))


def story(shop: Shop) -> dict[str, dict[str, Any]]:
    """Something of every kind, through March 2026 and on; by name."""
    e, saw, made = shop.entry, shop.saw, {}

    def put(name: str, kind: str, day: float, body: dict[str, Any], **over: Any) -> dict[str, Any]:
        made[name] = e(kind, body, at=at(day), **over)
        return made[name]

    made["round"], made["bad round"] = round_of(shop, 0), round_of(shop, 1, oil="not ok", strength=5.25)
    finding = put("finding", "finding.opened", 1.01, {"text": "Way oil below the line", "stop": True})
    put("closing", "finding.closed", 1.1, {"finding": finding["id"], "done": "Filled with ISO VG 68"})
    put("left", "finding.opened", 3, {"text": "Door switch sticks", "stop": False})
    tag = put("tag", "tag.on", 1.02, {"why": "No way oil"})
    put("untag", "tag.off", 1.11, {"tag": tag["id"], "done": "Oil filled, ran ten minutes"})
    put("blade", "part.changed", 0.1, {"part": shop.blade, "reason": "Fitted new"}, machine=saw)
    put("cuts", "batch.run", 2, {"adds": {shop.area: 812.5}, "what": "Brackets", "alloy": "C36000"}, machine=saw)
    put(
        "blade again", "part.changed", 9.1, {"part": shop.blade, "reason": "Worn out", "item": shop.blades}, machine=saw
    )
    put(
        "fluid", "fluid.added", 2, {"fluid": shop.coolant, "amount": 3, "unit": "gal", "water": 2.8, "concentrate": 0.2}
    )
    put("charge", "fluid.changed", 20, {"fluid": shop.coolant, "amount": 40, "unit": "gal", "strength": 8})
    put("done", "task.done", 4, {"task": shop.task, "minutes": 12, "note": "Filter was grey"})
    put("later", "task.deferred", 5, {"task": shop.task, "to": "2026-04-01", "why": "No filter in the drawer"})
    raised = put("raised", "task.raised", 6, {"title": "Free the door switch", "finding": made["left"]["id"]})
    put("raised done", "task.done", 7, {"task": raised["id"], "minutes": 3})
    put("reading", "reading.taken", 8, {"quantity": "coolant.ph", "value": 9.1, "unit": "pH"})
    put("counter", "meter.read", 8, {"meter": shop.spindle, "value": 1203.5})
    put("hours", "meter.added", 8.1, {"meter": shop.spindle, "amount": 4.25})
    put("mistyped", "meter.added", 9, {"meter": shop.spindle, "amount": 480})
    put("amended", "entry.amended", 9.2, {"entry": made["mistyped"]["id"], "kind": "meter.added", "why": "A nought too many",
                                          "body": {"meter": shop.spindle, "amount": 48}})  # fmt: skip
    put("twice", "note.made", 10, {"text": "Written twice"})
    put("voided", "entry.voided", 10.1, {"entry": made["twice"]["id"], "why": "It was on the tablet already"})
    put("count", "stock.counted", 11, {"item": shop.blades, "count": 3}, machine=None)
    put("ordered", "stock.ordered", 11.1, {"item": shop.blades, "count": 5, "expected": "2026-03-20"}, machine=None)
    put("note", "note.made", 12, {"text": '=HYPERLINK("x") ünd 日本'}, machine=None)
    put("hazard", "hazard.noted", 13, {"process": "dry_sand", "alloy": "C36000", "seen": ["haze"]}, machine=saw)
    put(
        "settled",
        "hazard.closed",
        13.2,
        {"hazard": made["hazard"]["id"], "done": "Exhaust belt tightened"},
        machine=saw,
    )
    put(
        "air",
        "air.checked",
        14,
        {"check": "face velocity", "value": 105, "unit": "ft/min", "place": "sander hood"},
        machine=saw,
    )
    put("purge", "purge.run", 14.1, {"seconds": 45, "needed": 60}, machine=saw)
    put(
        "chips",
        "chips.collected",
        14.2,
        {"alloy": "C36000", "weight": 22, "unit": "lb", "container": "Drum 2", "to": "scrap"},
    )
    put("glasses", "ppe.checked", 15, {"person": shop.owner, "kind": "eye", "result": "ok"}, machine=None)
    put("fit", "fit.tested", 15.1, {"person": shop.owner, "respirator": "half mask", "method": "qualitative",
                                    "result": "pass", "expires": "2027-03-17"}, machine=None)  # fmt: skip
    samples = [{"minutes": 240, "value": 12, "unit": "ug/m3"}, {"minutes": 240, "value": 20, "unit": "ug/m3"}]
    lead = {"agent": "lead", "form": "dust", "person": shop.owner, "samples": samples, "shift_hours": 8, "fraction": "total",
            "on": "2026-03-18", "laboratory": "Bench two"}  # fmt: skip
    put("lead", "exposure.measured", 16, lead, machine=saw)
    put("noise", "exposure.measured", 16.1, {"agent": "noise", "place": "At the saw", "shift_hours": 8, "samples": [
        {"minutes": 480, "value": 86, "unit": "dBA"}]}, machine=saw)  # fmt: skip
    put("training", "training.signed", 17, {"person": shop.owner, "machine": saw, "outside": "Course of the saw's maker", "expires": "2027-03-19"},
        machine=None)  # fmt: skip
    return made


@pytest.fixture(scope="module")
def told(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Told]:
    """The small shop, and what happened in it; the same for all tests of a file, which only add to it."""
    place = Settings(data=tmp_path_factory.mktemp("told"), plain=True)
    shutil.copy(sqlite_template, place.database_url.removeprefix("sqlite:///"))
    app = create_app(place)
    app.testing, app.config["PROPAGATE_EXCEPTIONS"] = True, False
    shop = set_up(app)
    made = story(plated(shop))
    response = shop.push(*made.values())
    refused = [row for row in response.get_json()["results"] if row["outcome"] != "stored"]
    assert not refused, refused
    with_server = {entry["kind"] for entry in made.values()} | {"definition.revised"}
    assert set(KINDS) == with_server, "something of every kind"
    yield shop, made
    with app.app_context():
        db.session.remove()
        db.engine.dispose()


def read(data: bytes) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(data), strict=True)


def words(reader: pypdf.PdfReader) -> str:
    """Every page's text, blanks drawn together."""
    return " ".join(" ".join(page.extract_text().split()) for page in reader.pages)


def structure(reader: pypdf.PdfReader) -> Iterator[tuple[str, Any]]:
    """Every structure element: its role and its dictionary."""
    open_ = [reader.trailer["/Root"]["/StructTreeRoot"]["/K"].get_object()]
    while open_:
        element = open_.pop()
        yield str(element["/S"]).strip("/"), element
        kids = element.get("/K", [])
        for kid in kids if isinstance(kids, list) else [kids]:
            kid = kid.get_object() if hasattr(kid, "get_object") else kid
            if isinstance(kid, dict) and "/S" in kid:
                open_.append(kid)
