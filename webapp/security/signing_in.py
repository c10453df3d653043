"""The three ways in: setting a new shop up, a one-time code, the owner's password."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from sqlalchemy.orm import Session

from webapp.database import db, writing
from webapp.records.faults import Fault, Refused
from webapp.security import codes, devices, passwords, slowing
from webapp.security.devices import Caller
from webapp.security.refusals import AlreadySetUp, WrongPassword
from webapp.setup import definitions
from webapp.setup.ids import new_id


@dataclass(frozen=True)
class Entrant:
    """Who asks to come in: from where, the device's name, and the device it already is, if any."""

    address: str
    device_name: str
    device: Caller | None = None

    def sides(self, what: str) -> tuple[slowing.Side, ...]:
        """What the tries of this entrant are counted by."""
        return slowing.sides(what, self.device.id if self.device else None, self.address)


def is_set_up(session: Session) -> bool:
    """Whether there is a shop."""
    return bool(definitions.list_all(session, "shop"))


def set_up(who: Entrant, code: str, shop: dict[str, Any], owner: dict[str, Any], password: str) -> str | None:
    """Make the shop and its owner and let the browser in as owner. Returns its token when it is new."""
    tries = who.sides("set-up code")
    slowing.count_try(tries)
    with writing() as session:
        if is_set_up(session):
            raise AlreadySetUp
        codes.use_code(session, "first", code)
        person = new_id()
        with _under("owner"):
            definitions.create(session, "person", owner | {"role": "owner"}, person, id_=person)
        with _under("shop"):
            definitions.create(session, "shop", shop, person)
        passwords.set_password(session, person, password)
        device_id, token = _let_in(session, who)
        devices.let_owner_in(session, device_id, person)
        slowing.forget_tries(session, tries)
    return token


def join(who: Entrant, code: str) -> str | None:
    """Let a browser in by a one-time code. Returns its token; one that is in already gets none and uses no code."""
    if who.device:
        return None
    tries = who.sides("join code")
    slowing.count_try(tries)
    with writing() as session:
        codes.use_code(session, "join", code)
        _, token = _let_in(session, who)
        slowing.forget_tries(session, tries)
    return token


def sign_in_owner(who: Entrant, password: str) -> str | None:
    """Let the owner in on this device, enrolled when it is not yet. Returns its token when it is new."""
    tries = who.sides("password")
    slowing.count_try(tries)
    person = passwords.owner_by_password(db.session(), password)
    if person is None:
        raise WrongPassword
    with writing() as session:
        device_id, token = _let_in(session, who)
        devices.let_owner_in(session, device_id, person)
        slowing.forget_tries(session, tries)
    return token


def _let_in(session: Session, who: Entrant) -> tuple[str, str | None]:
    """The device it is already (what it has not sent yet is numbered under that), else a new one."""
    if who.device:
        return who.device.id, None
    device, token = devices.enrol(session, who.device_name, "browser")
    return device.id, token


@contextmanager
def _under(field: str) -> Iterator[None]:
    """Name faults by where they stand in the request: `shop.time_zone`, not `time_zone`."""
    try:
        yield
    except Refused as refusal:
        raise Refused(
            *(Fault(f"{field}.{fault.field}", fault.problem, fault.mend) for fault in refusal.faults)
        ) from None
