"""The owner's password: argon2id, one check at a time.

Parameters are the second recommended choice of RFC 9106, section 4 (64 MiB, 3 passes, 4 lanes); the OWASP
Password Storage Cheat Sheet asks for at least 19 MiB, 2 passes, 1 lane.
"""

from __future__ import annotations

import threading
import unicodedata

from argon2 import PasswordHasher, Type
from argon2.exceptions import VerifyMismatchError
from sqlalchemy import select
from sqlalchemy.orm import Session

from webapp.security.models import OwnerSecret
from webapp.security.moments import now_text

SHORTEST = 10
LONGEST = 200

_hasher = PasswordHasher(time_cost=3, memory_cost=65536, parallelism=4, type=Type.ID)
_one_at_a_time = threading.Lock()  # 64 MiB each: many at once would starve a small machine


def _plain(password: str) -> bytes:
    """The same bytes whichever keyboard composed the letters (NFKC, as NIST SP 800-63B advises)."""
    return unicodedata.normalize("NFKC", password).encode()


def set_password(session: Session, person: str, password: str) -> None:
    """Make or replace the one owner's secret."""
    with _one_at_a_time:
        hashed = _hasher.hash(_plain(password))
    secret = session.scalar(select(OwnerSecret))
    if secret is None:
        session.add(OwnerSecret(person=person, password_hash=hashed, changed_at=now_text()))
    else:
        secret.person, secret.password_hash, secret.changed_at = person, hashed, now_text()


def owner_by_password(session: Session, password: str) -> str | None:
    """The owner's person id when the password is right; None when it is wrong or there is no owner."""
    secret = session.scalar(select(OwnerSecret))
    if secret is None:
        return None
    with _one_at_a_time:
        try:
            _hasher.verify(secret.password_hash, _plain(password))
        except VerifyMismatchError:
            return None
    return secret.person
