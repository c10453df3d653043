"""Canonical JSON (RFC 8785) and the chain over it."""

from __future__ import annotations

import hashlib
from typing import Any

import rfc8785

from webapp.records.faults import Fault, Refused

FIRST_CHAIN = "0" * 64


def canonical(value: Any) -> str:
    """RFC 8785 JSON of a value. Refuses what JSON cannot carry between machines (NaN, integers over 2^53)."""
    try:
        return rfc8785.dumps(value).decode()
    except (rfc8785.CanonicalizationError, UnicodeEncodeError, RecursionError) as error:
        mend = "send numbers within ±9007199254740991, and text that is valid Unicode"
        raise Refused(Fault("body", f"cannot be written as canonical JSON ({error})", mend)) from None


def link(previous: str, document: str) -> str:
    """The next link of the chain: SHA-256 over the previous link (hex text) and the entry's canonical JSON."""
    return hashlib.sha256((previous + document).encode()).hexdigest()
