"""One-time codes: for a further browser (ten minutes) and for setting a new shop up (a day)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from sqlalchemy import delete, update
from sqlalchemy.orm import Session

from webapp.security.models import JoinCode
from webapp.security.moments import DAY, MINUTE, now_text
from webapp.security.refusals import WrongCode
from webapp.security.tokens import FIRST_LETTERS, JOIN_LETTERS, code_digest, new_code

Purpose = Literal["join", "first"]

LIFETIME: dict[Purpose, int] = {"join": 10 * MINUTE, "first": DAY}
_LETTERS: dict[Purpose, int] = {"join": JOIN_LETTERS, "first": FIRST_LETTERS}
_MEND: dict[Purpose, str] = {
    "join": "ask the owner for a new code (Set-up, Devices)",
    "first": "start `wayround serve` again and use the code that it prints",
}


@dataclass(frozen=True)
class Code:
    """A code as it is shown, once; only its hash is kept."""

    text: str
    expires_at: str


def make_code(session: Session, purpose: Purpose) -> Code:
    """A new code. Only the newest set-up code counts; join codes may stand side by side."""
    stale = JoinCode.expires_at < now_text(-DAY)
    if purpose == "first":
        stale = stale | (JoinCode.purpose == "first")
    session.execute(delete(JoinCode).where(stale))
    code = Code(new_code(_LETTERS[purpose]), now_text(LIFETIME[purpose]))
    session.add(
        JoinCode(
            code_hash=code_digest(code.text),
            purpose=purpose,
            created_at=now_text(),
            expires_at=code.expires_at,
        )
    )
    return code


def use_code(session: Session, purpose: Purpose, typed: str) -> None:
    """Use a code up, or raise WrongCode. The condition is in the UPDATE: of two users at once, one wins."""
    now = now_text()
    used = session.execute(
        update(JoinCode)
        .where(
            JoinCode.code_hash == code_digest(typed),
            JoinCode.purpose == purpose,
            JoinCode.used_at.is_(None),
            JoinCode.expires_at > now,
        )
        .values(used_at=now)
    )
    if used.rowcount != 1:
        raise WrongCode(_MEND[purpose])
