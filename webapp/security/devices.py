"""Devices: every browser, script and server that speaks for the shop has its own token."""

from __future__ import annotations

import logging
from dataclasses import dataclass
from typing import Literal

from flask import Request
from sqlalchemy import select, update
from sqlalchemy.exc import OperationalError
from sqlalchemy.orm import Session

from webapp.database import db, writing
from webapp.security.models import Device
from webapp.security.moments import HOUR, MINUTE, now_text
from webapp.security.tokens import digest, new_token
from webapp.setup.ids import new_id

COOKIE = "wayround_device"
LONGEST_NAME = 80
OWNER_STAYS = 12 * HOUR
_SEEN_EVERY = 5 * MINUTE
_OWNER_EVERY = 10 * MINUTE

logger = logging.getLogger(__name__)

Kind = Literal["browser", "script", "server", "feed"]
# Made by this server itself: they have no token, and nobody can close them out.
_OURS = ("server", "feed")


@dataclass(frozen=True)
class Caller:
    """The device behind a request, as `g.device`."""

    id: str
    name: str
    kind: str
    person: str | None
    owner: bool
    by_cookie: bool


def enrol(session: Session, name: str, kind: Kind, person: str | None = None) -> tuple[Device, str]:
    """A new device and its token; only the token's hash is kept."""
    token = new_token()
    device = Device(
        id=new_id(),
        name=name.strip(),
        kind=kind,
        person=person,
        token_hash=digest(token),
        created_at=now_text(),
        seq_max=0,
        seq_missing=[],
    )
    session.add(device)
    session.flush()
    return device, token


def server_device(session: Session) -> Device:
    """The device in whose name this server makes entries; it has no token, so nobody can sign in as it."""
    return _own_device(session, "server", "this server")


def feed_device(session: Session) -> Device:
    """The device in whose name machines that count themselves make entries; it has no token either."""
    return _own_device(session, "feed", "machines' own counters")


def _own_device(session: Session, kind: Kind, name: str) -> Device:
    device = session.scalar(select(Device).where(Device.kind == kind))
    if device is None:
        device = Device(id=new_id(), name=name, kind=kind, created_at=now_text(), seq_max=0, seq_missing=[])
        session.add(device)
        session.flush()
    return device


def revoke(session: Session, device_id: str) -> bool:
    """Close a device out from now on; False when there is none, or it was closed out before."""
    done = session.execute(
        update(Device)
        .where(Device.id == device_id, Device.revoked_at.is_(None), Device.kind.not_in(_OURS))
        .values(revoked_at=now_text(), owner_until=None)
    )
    return done.rowcount == 1


def listed(session: Session) -> list[Device]:
    """Every device that may come in, the oldest first."""
    open_ones = select(Device).where(Device.revoked_at.is_(None), Device.kind.not_in(_OURS))
    return list(session.scalars(open_ones.order_by(Device.created_at, Device.id)))


def named(session: Session) -> dict[str, str]:
    """Every device's name by its id, those closed out too: the record speaks of them."""
    return {row.id: row.name for row in session.execute(select(Device.id, Device.name))}


def let_owner_in(session: Session, device_id: str, person: str) -> None:
    """The owner has signed in on this device; it lasts twelve hours from the last use."""
    session.execute(
        update(Device).where(Device.id == device_id).values(owner_until=now_text(OWNER_STAYS), person=person)
    )


def let_owner_out(session: Session, device_id: str) -> None:
    """The owner has signed out; the device stays."""
    session.execute(update(Device).where(Device.id == device_id).values(owner_until=None))


def let_owner_out_everywhere(session: Session) -> None:
    """After a change of password: the owner signs in anew on each device."""
    session.execute(update(Device).where(Device.owner_until.is_not(None)).values(owner_until=None))


def authenticate(request: Request) -> Caller | None:
    """Who is calling, by `Authorization: Bearer …` or else by cookie; None for a stranger.

    A request that brings a bearer token is judged by that alone, even when it is wrong.
    """
    scheme, _, bearer = request.headers.get("Authorization", "").partition(" ")
    by_cookie = scheme.lower() != "bearer"
    token = request.cookies.get(COOKIE, "") if by_cookie else bearer.strip()
    return by_token(token, by_cookie) if token else None


def by_token(token: str, by_cookie: bool) -> Caller | None:
    """The device that a token belongs to; None when there is none or it has been closed out."""
    device = db.session.scalar(select(Device).where(Device.token_hash == digest(token), Device.revoked_at.is_(None)))
    if device is None:
        return None
    owner = device.owner_until is not None and device.owner_until > now_text()
    caller = Caller(device.id, device.name, device.kind, device.person, owner, by_cookie)
    if _stale(device, owner):
        _note_seen(device.id, owner)
    return caller


def _stale(device: Device, owner: bool) -> bool:
    """Whether what is kept of the last use is old enough to be worth a write."""
    if device.last_seen_at is None or device.last_seen_at < now_text(-_SEEN_EVERY):
        return True
    return owner and str(device.owner_until) < now_text(OWNER_STAYS - _OWNER_EVERY)


def _note_seen(device_id: str, owner: bool) -> None:
    values: dict[str, str] = {"last_seen_at": now_text()}
    if owner:
        values["owner_until"] = now_text(OWNER_STAYS)
    try:
        with writing() as session:
            session.execute(update(Device).where(Device.id == device_id, Device.revoked_at.is_(None)).values(**values))
    except OperationalError:
        # Somebody else writes for long (a refold): reading must go on, and the next request notes it.
        logger.warning("The last use of device %s could not be noted", device_id)
