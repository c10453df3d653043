"""Things nobody can guess: device tokens, one-time codes, and the hashes that are kept of them."""

from __future__ import annotations

import hashlib
import secrets

# No letter or digit that is taken for another in bad light: no 0 O Q D, 1 I L, 2 Z, 5 S, 8 B, U V.
ALPHABET = "ACEFGHJKMNPRTWXY34679"
JOIN_LETTERS = 8
FIRST_LETTERS = 12
TOKEN_BYTES = 32


def new_token() -> str:
    """A device's token: 256 random bits. The prefix lets a leaked one be found by search."""
    return f"wayround_{secrets.token_urlsafe(TOKEN_BYTES)}"


def new_secret() -> str:
    """256 random bits for an address that only one person is to know."""
    return secrets.token_urlsafe(TOKEN_BYTES)


def new_code(letters: int) -> str:
    """A one-time code to read aloud and type, in groups of four: `ACEF-GHJK`."""
    text = "".join(secrets.choice(ALPHABET) for _ in range(letters))
    return "-".join(text[start : start + 4] for start in range(0, letters, 4))


def digest(secret: str) -> str:
    """SHA-256, hex. Enough for random secrets; passwords go through argon2id instead."""
    return hashlib.sha256(secret.encode()).hexdigest()


def code_digest(typed: str) -> str:
    """The hash of a code however it was typed: case, spaces and hyphens do not matter."""
    return digest("".join(letter for letter in typed.upper() if letter.isalnum()))
