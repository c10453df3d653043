"""What became of an attempt to send."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True)
class Outcome:
    """`kept`: sent; waiting (try again, not before `wait_ms` have passed); failed for good; gone (no such target any
    more). `said`: what the other side answered, for the log."""

    kept: Literal["sent", "waiting", "failed", "gone"]
    said: str = ""
    wait_ms: int = 0
