"""The door of the record: what an entry must be before it is stored."""

from __future__ import annotations

from typing import Any

from marshmallow import INCLUDE, Schema, ValidationError, fields

from webapp.core.instants import InstantError, parse_instant
from webapp.records.faults import Fault, Refused, faults_of
from webapp.records.fields import Id, Text, Whole
from webapp.records.kinds import KINDS, Kind
from webapp.records.known import Known

DAY_MS = 86_400_000
CLOCK_LEEWAY_MS = 5 * 60_000
EARLIEST_MS = 946_684_800_000  # 2000-01-01T00:00:00Z: nothing was made on a phone before
AHEAD_LIMIT_MS = 400 * DAY_MS
SERVER_KINDS = frozenset({"definition.revised"})


class Envelope(Schema):
    """An entry, its body apart. Unknown fields are kept."""

    class Meta:
        unknown = INCLUDE

    id = Id(required=True)
    kind = Text(40, required=True)
    machine = Id(required=True, allow_none=True)
    by = Id(required=True)
    at = Text(40, required=True)
    seq = Whole(1, 2**31 - 1, required=True)
    body = fields.Dict(required=True)


_ENVELOPE = Envelope()


def check(raw: dict[str, Any], known: Known, *, by_server: bool = False) -> tuple[Kind, int]:
    """Check an entry against its kind and what is defined.

    Returns its kind and the time it says it was made (ms since 1970). Raises Refused with every fault.
    """
    try:
        _ENVELOPE.load(raw)
    except ValidationError as error:
        raise Refused(*faults_of(error)) from None
    if "receipt" in raw:
        raise Refused(Fault("receipt", "is the server's own field", "leave it out"))
    kind = KINDS.get(raw["kind"])
    if kind is None or (raw["kind"] in SERVER_KINDS and not by_server):
        kinds = ", ".join(sorted(set(KINDS) - SERVER_KINDS))
        raise Refused(Fault("kind", f"is «{raw['kind']}», which is not known here", f"send one of: {kinds}"))
    faults = _body_faults(kind, raw["body"], "body")
    if not by_server:
        faults = faults or _reference_faults(kind, raw, known)
    try:
        made = parse_instant(raw["at"])
    except InstantError as error:
        faults.append(Fault("at", error.problem, error.mend))
    if faults:
        raise Refused(*faults)
    return kind, made


def _body_faults(kind: Kind, body: dict[str, Any], prefix: str) -> list[Fault]:
    try:
        kind.schema.load(body)
    except ValidationError as error:
        return faults_of(error, prefix)
    return _amended_faults(body) if kind.name == "entry.amended" else []


def _amended_faults(body: dict[str, Any]) -> list[Fault]:
    target = KINDS.get(body["kind"])
    if target is None or target.mends or body["kind"] in SERVER_KINDS:
        mend = "name the kind of the entry to amend; to take an amendment back, amend again"
        return [Fault("body.kind", f"is «{body['kind']}», which cannot be amended", mend)]
    return _body_faults(target, body["body"], "body.body")


def _reference_faults(kind: Kind, raw: dict[str, Any], known: Known) -> list[Fault]:
    machine = raw["machine"]
    faults = []
    if machine is None and kind.machine_needed:
        faults.append(Fault("machine", "is null", f"name the machine: a {kind.name} happens at one"))
    if machine is not None and machine not in known.machines:
        faults.append(Fault("machine", "is not known in this shop", "sync, then choose a machine of the shop"))
    if raw["by"] not in known.people:
        faults.append(Fault("by", "is nobody known in this shop", "sync, then choose who you are"))
    body, inner = raw["body"], kind
    if kind.name == "entry.amended":
        body, inner = body["body"], KINDS[body["kind"]]
    faults += [f for path, to, key in inner.named(body) for f in _ref_fault(path, to, key, machine, known)]
    if inner.name == "batch.run":
        faults += [f for m in body["adds"] for f in _ref_fault(f"adds.{m}", "meter", m, machine, known)]
        faults += [f for p in body.get("cutters") or () for f in _ref_fault(f"cutters.{p}", "part", p, machine, known)]
    return faults


def _ref_fault(name: str, to: str, key: str, machine: str | None, known: Known) -> list[Fault]:
    if key in {"person": known.people, "machine": known.machines}.get(to, ()):
        return []
    found = known.things.get(key)
    if found is None or found[0] != to:
        return [Fault(f"body.{name}", f"is no {to} known in this shop", f"sync, then choose a {to} of the shop")]
    if found[1] is not None and found[1] != machine:
        return [Fault(f"body.{name}", f"is a {to} of another machine", f"choose a {to} of the machine named")]
    return []


def effective_ms(made_ms: int, sent_ms: int, received_ms: int, *, typed_in: bool = False) -> tuple[int, int, bool]:
    """Correct an entry's time by its device's clock.

    Takes ms since 1970: when the entry says it was made, when the device says it sent, when it arrived. A time that
    was `typed_in` from paper is the paper's, not the device's, and stays as it is.
    Returns (effective ms, offset of the device's clock in ms, whether the time was corrected). Raises Refused for
    a time no correction explains.
    """
    offset = received_ms - sent_ms
    corrected = abs(offset) > CLOCK_LEEWAY_MS and not typed_in
    at = made_ms + offset if corrected else made_ms
    if at < EARLIEST_MS:
        raise Refused(Fault("at", "lies before the year 2000", "correct the date; an old fact needs its true date"))
    if at > received_ms + AHEAD_LIMIT_MS:
        raise Refused(Fault("at", "lies far in the future", "correct the date: only what has happened is recorded"))
    if at > received_ms + CLOCK_LEEWAY_MS:
        return received_ms, offset, True
    return at, offset, corrected
