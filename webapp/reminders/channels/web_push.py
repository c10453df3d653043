"""Web push: encrypted messages handed to the push service of each browser (RFC 8030)."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from email.utils import parsedate_to_datetime
from http.client import HTTPException
from typing import Any
from urllib.error import HTTPError, URLError
from urllib.parse import urlsplit
from urllib.request import HTTPRedirectHandler, Request, build_opener

from sqlalchemy import select
from sqlalchemy.orm import Session

from webapp.config import Settings, current
from webapp.reminders.channels.encryption import b64, encrypt, proof, public_bytes, server_key, unb64
from webapp.reminders.channels.outcome import Outcome
from webapp.reminders.models import Subscription
from webapp.reminders.saying import brief
from webapp.setup.ids import now_ms

SECONDS = 15.0
TTL_SECONDS = 86_400
PROOF_SECONDS = 12 * 3600
LARGEST = 3000
"""Bytes of a message; services take 4096 with the encryption's own (RFC 8030, 7.2)."""
SCHEMES = ("https",)
MOST_LISTED = 4


class _NoRedirect(HTTPRedirectHandler):
    """What is meant for one push service goes to no other."""

    def redirect_request(self, *_: Any) -> None:
        return None


_OPENER = build_opener(_NoRedirect())


@dataclass(frozen=True)
class Target:
    """A browser that takes web push."""

    id: str
    device: str
    person: str
    endpoint: str
    p256dh: str
    auth: str


def target(session: Session, id_: str) -> Target | None:
    """A subscription by its id, or None."""
    row = session.execute(select(Subscription).where(Subscription.id == id_)).scalar_one_or_none()
    return None if row is None else Target(row.id, row.device, row.person, row.endpoint, row.p256dh, row.auth)


def check_endpoint(url: str) -> None:
    """Raises ValueError for what cannot be a push service's address."""
    try:
        parts = urlsplit(url)
        named = bool(parts.hostname) and parts.port != 0 and parts.username is None
    except ValueError:
        named = False
    if not named or urlsplit(url).scheme not in SCHEMES or any(c.isspace() or c < " " or c > "~" for c in url):
        raise ValueError(url)


def public_key(settings: Settings) -> str:
    """The key that browsers ask for when they sign up."""
    return b64(public_bytes(server_key(settings.data).public_key()))


def told(to: Target, id_: str, message: dict[str, Any]) -> bytes:
    """What the service worker gets: `v, id, title, body, link, device, person, items [{reminder, machine, task,
    link}]`; less of it when it would be too large."""
    data = b""
    for most, longest in ((MOST_LISTED, 1200), (2, 500), (1, 150)):
        items = message["items"][:most]
        more = len(message["items"]) - len(items)
        body = brief(message | {"items": items} | ({"tail": f"And {more} more: see Today."} if more else {}))
        said = {
            "v": 1, "id": id_, "title": message["title"][:120], "body": body[:longest], "link": message["link"],
            "device": to.device, "person": to.person,
            "items": [{key: one[key] for key in ("reminder", "machine", "task", "link")} for one in items],
        }  # fmt: skip
        data = json.dumps(said, ensure_ascii=False).encode()
        if len(data) <= LARGEST:
            break
    return data


def send(to: Target, id_: str, message: dict[str, Any]) -> Outcome:
    """Hand one message to the push service."""
    settings = current()
    parts = urlsplit(to.endpoint)
    body = encrypt(told(to, id_, message), unb64(to.p256dh), unb64(to.auth))
    until = now_ms() // 1000 + PROOF_SECONDS
    headers = {
        "Authorization": proof(server_key(settings.data), f"{parts.scheme}://{parts.netloc}", contact(settings), until),
        "Content-Encoding": "aes128gcm",
        "Content-Type": "application/octet-stream",
        "TTL": str(TTL_SECONDS),
        "Urgency": "normal",
        "Topic": b64(hashlib.sha256(id_.encode()).digest())[:32],
        "User-Agent": "Wayround",
    }
    request = Request(to.endpoint, body, headers, method="POST")  # noqa: S310 - https alone, see check_endpoint
    try:
        with _OPENER.open(request, timeout=SECONDS) as answer:
            return _outcome(answer.status, "", parts.netloc)
    except HTTPError as error:
        with error:
            return _outcome(error.code, error.headers.get("Retry-After") or "", parts.netloc)
    except (URLError, OSError, HTTPException) as error:
        return Outcome("waiting", f"{parts.netloc} does not answer ({getattr(error, 'reason', error)}).")


def _outcome(status: int, retry_after: str, host: str) -> Outcome:
    """What a push service's answer means (RFC 8030, 5 and 7.3; RFC 8292, 4.2)."""
    said = f"{host} answered {status}."
    if status in (200, 201, 202, 204):
        return Outcome("sent", said)
    if status in (404, 410):
        return Outcome("gone", f"{said} That browser has ended its subscription.")
    if status == 429 or status >= 500:
        return Outcome("waiting", said, wait_ms(retry_after, now_ms()))
    if status in (401, 403):
        return Outcome("failed", f"{said} Switch reminders off and on again on that phone.")
    return Outcome("failed", said)


def wait_ms(retry_after: str, now: int) -> int:
    """`Retry-After` (RFC 9110, 10.2.3), seconds or a date, as ms from now; 0 when it says nothing that can be read."""
    text = retry_after.strip()
    if text.isascii() and text.isdigit() and len(text) < 10:
        return int(text) * 1000
    try:
        return max(int(parsedate_to_datetime(text).timestamp() * 1000) - now, 0)
    except ValueError:
        return 0


def contact(settings: Settings) -> str:
    """Where the push service's people may turn to (RFC 8292, 2.1)."""
    if settings.smtp_from:
        return f"mailto:{settings.smtp_from}"
    return settings.address if settings.address.startswith("https://") else "mailto:owner@localhost"
