"""Definitions: created, edited against the revision that was read, retired; never overwritten, never deleted."""

from __future__ import annotations

import hashlib
import json
from collections import Counter
from datetime import date
from functools import lru_cache
from typing import Any
from weakref import WeakKeyDictionary

from marshmallow import ValidationError
from sqlalchemy import insert, select
from sqlalchemy import update as sql_update
from sqlalchemy.orm import Session

from webapp.core.due import dates_for
from webapp.core.instants import shop_date
from webapp.records.append import append_by_server, head
from webapp.records.canonical import canonical
from webapp.records.faults import Fault, Refused, faults_of
from webapp.records.known import Known
from webapp.records.models import Entry
from webapp.setup.ids import new_id, now_ms
from webapp.setup.models import Definition, DefinitionRevision
from webapp.setup.schemas import SCHEMAS

TYPES = tuple(SCHEMAS)
_INNER = {"meters": "meter", "parts": "part", "fluids": "fluid"}


class Clash(Exception):
    """The definition was changed since it was read; carries what it is now."""

    def __init__(self, now: dict[str, Any]) -> None:
        super().__init__("the definition has changed")
        self.now = now


def create(
    session: Session,
    type_: str,
    body: dict[str, Any],
    made_by: str,
    *,
    id_: str | None = None,
    at_ms: int | None = None,
) -> dict[str, Any]:
    """Define something new. Call inside `writing()`. Raises Refused with every fault."""
    loaded = _checked(session, type_, body, id_)
    if type_ == "shop" and list_all(session, "shop"):
        raise Refused(Fault("type", "is shop, and there is one already", "edit the shop that there is"))
    return _keep(session, type_, id_ or new_id(), 1, loaded, False, made_by, at_ms)


def update(
    session: Session, type_: str, id_: str, body: dict[str, Any], read_revision: int, made_by: str,
    *, retired: bool = False,
) -> dict[str, Any]:  # fmt: skip
    """Edit a definition that was read at `read_revision`. Raises Clash when it is newer by now."""
    now = get(session, type_, id_)
    if now is None:
        raise LookupError(id_)
    loaded = _checked(session, type_, body, id_)
    if now["revision"] != read_revision:
        raise Clash(now)
    return _keep(session, type_, id_, read_revision + 1, loaded, retired, made_by, None)


def _checked(session: Session, type_: str, body: dict[str, Any], id_: str | None) -> dict[str, Any]:
    try:
        loaded: dict[str, Any] = SCHEMAS[type_].load(body)
    except ValidationError as error:
        raise Refused(*faults_of(error)) from None
    faults = _unknown_references(session, loaded) + _repeated_ids(loaded)
    if type_ == "machine":
        faults += _taken_ids(session, loaded, id_)
    if faults:
        raise Refused(*faults)
    return loaded


def _unknown_references(session: Session, body: dict[str, Any]) -> list[Fault]:
    wanted = {"machine": body.get("machine"), "bay": body.get("bay"), "checklist": body.get("checklist")}
    faults = []
    for type_, key in wanted.items():
        if isinstance(key, str) and get(session, type_, key) is None:
            faults.append(Fault(type_, f"is no {type_} of this shop", f"choose a {type_} that is set up"))
    return faults


def _repeated_ids(body: dict[str, Any]) -> list[Fault]:
    counted = Counter(row["id"] for name in ("meters", "parts", "fluids", "checks") for row in body.get(name, ()))
    return [
        Fault("id", f"{key} stands twice", "give every meter, part, fluid and check its own id")
        for key, times in sorted(counted.items())
        if times > 1
    ]


def _taken_ids(session: Session, body: dict[str, Any], id_: str | None) -> list[Fault]:
    """Entries name a meter, part or fluid by its id alone: a second machine with it would take them over."""
    taken: set[str] = set()
    for row in list_all(session, "machine"):
        if row["id"] != id_:
            taken |= {inner["id"] for name in _INNER for inner in row[name]}
    return [
        Fault(f"{name}.{index}.id", "stands at another machine already", "give it an id of its own")
        for name in _INNER
        for index, inner in enumerate(body[name])
        if inner["id"] in taken
    ]


def _keep(
    session: Session,
    type_: str,
    id_: str,
    revision: int,
    body: dict[str, Any],
    retired: bool,
    by: str,
    at_ms: int | None,
) -> dict[str, Any]:
    text = canonical(body)
    at = at_ms or now_ms()
    told = {
        "type": type_,
        "id": id_,
        "revision": revision,
        "sha256": hashlib.sha256(text.encode()).hexdigest(),
    }
    position = append_by_server(session, at, "definition.revised", by, told, new_id())
    row = {"id": id_, "revision": revision, "retired": retired, "body": text, "position": position}
    if revision == 1:
        session.execute(insert(Definition), [row | {"type": type_}])
    else:
        # The revision stands in the WHERE too: of two writers one passes.
        same = (Definition.id == id_, Definition.revision == revision - 1)
        changed = session.execute(sql_update(Definition).where(*same).values(**row))
        if changed.rowcount != 1:  # type: ignore[attr-defined]
            raise Clash(get(session, type_, id_) or {})
    session.execute(insert(DefinitionRevision), [row | {"person": by, "ms": at}])
    head(session).definitions_at = position
    session.flush()
    return _wire(row | {"type": type_})


def _wire(row: dict[str, Any]) -> dict[str, Any]:
    body: dict[str, Any] = json.loads(row["body"])
    return body | {"id": row["id"], "revision": row["revision"], "retired": row["retired"]}


_COLUMNS = (
    Definition.id, Definition.type, Definition.revision, Definition.retired, Definition.body, Definition.position
)  # fmt: skip


def get(session: Session, type_: str, id_: str) -> dict[str, Any] | None:
    """A definition as it is now, or None."""
    query = select(*_COLUMNS).where(Definition.id == id_, Definition.type == type_)
    row = session.execute(query).mappings().first()
    return None if row is None else _wire(dict(row))


def list_all(session: Session, type_: str) -> list[dict[str, Any]]:
    """Every definition of a type, retired ones too, oldest first."""
    query = select(*_COLUMNS).where(Definition.type == type_).order_by(Definition.id)
    return [_wire(dict(row)) for row in session.execute(query).mappings()]


def changed(session: Session, after: int, upto: int) -> list[dict[str, Any]]:
    """Definitions whose last change lies after one position and not after another, with their type."""
    query = select(*_COLUMNS).where(Definition.position > after, Definition.position <= upto)
    rows = session.execute(query.order_by(Definition.position)).mappings()
    found = [_wire(dict(row)) | {"type": row["type"]} for row in rows]
    return [with_dates(session, row) if row["type"] == "task" else row for row in found]


def with_dates(session: Session, task: dict[str, Any], zone: str | None = None) -> dict[str, Any]:
    """A task as phones get it: the dates of an rrule listed more than a year ahead, for they cannot expand it."""
    zone = zone or shop_zone(session)
    return task | {"dates": _dates(canonical(task["rule"]), zone, shop_date(now_ms(), zone))}


@lru_cache(maxsize=512)
def _dates(rule: str, zone: str, today: date) -> list[str]:
    return [day.isoformat() for day in dates_for(json.loads(rule), zone, today)]


def shop_zone(session: Session) -> str:
    """The shop's IANA time zone; UTC before there is a shop."""
    shops = list_all(session, "shop")
    return str(shops[0]["time_zone"]) if shops else "UTC"


def revisions(session: Session, id_: str) -> list[dict[str, Any]]:
    """Every revision of a definition, newest first."""
    query = select(DefinitionRevision).where(DefinitionRevision.id == id_).order_by(DefinitionRevision.revision.desc())
    return [
        {"revision": r.revision, "retired": r.retired, "by": r.person, "ms": r.ms, "body": json.loads(r.body)}
        for r in session.execute(query).scalars()
    ]


def faults(session: Session) -> list[str]:
    """What does not fit the record: a revision whose body is not the one the chain covers, or is missing."""
    entries = select(Entry.document).where(Entry.kind == "definition.revised").order_by(Entry.position)
    told = [json.loads(document)["body"] for document in session.execute(entries).scalars()]
    kept = {(row.id, row.revision): row.body for row in session.execute(select(DefinitionRevision.__table__))}
    wrong = []
    for one in told:
        body = kept.pop((one["id"], one["revision"]), "")
        if hashlib.sha256(body.encode()).hexdigest() != one["sha256"]:
            wrong.append(f"{one['type']} {one['id']}, revision {one['revision']}, differs from the record")
    newest = {one["id"]: one for one in told}
    for row in session.execute(select(*_COLUMNS)):
        if row.id not in newest or hashlib.sha256(row.body.encode()).hexdigest() != newest[row.id]["sha256"]:
            wrong.append(f"{row.type} {row.id} differs from its last revision")
    return wrong + [f"revision {number} of {id_} is not in the record" for id_, number in kept]


_known: WeakKeyDictionary[Any, tuple[int, Known]] = WeakKeyDictionary()


def known(session: Session) -> Known:
    """What the record must know of set-up; kept until a definition changes."""
    at = head(session).definitions_at
    engine = session.get_bind().engine
    held = _known.get(engine)
    if held is None or held[0] != at:
        held = _known[engine] = (at, _build_known(session))
    return held[1]


def _build_known(session: Session) -> Known:
    people, machines = set(), set()
    things: dict[str, tuple[str, str | None]] = {}
    for row in session.execute(select(*_COLUMNS)).mappings():
        if row["type"] == "person":
            people.add(row["id"])
        elif row["type"] == "machine":
            machines.add(row["id"])
            body = json.loads(row["body"])
            for name, type_ in _INNER.items():
                things |= {inner["id"]: (type_, row["id"]) for inner in body[name]}
        elif row["type"] in ("checklist", "task"):
            things[row["id"]] = (row["type"], json.loads(row["body"])["machine"])
        elif row["type"] == "item":
            things[row["id"]] = ("item", None)
    return Known(frozenset(people), frozenset(machines), things)
