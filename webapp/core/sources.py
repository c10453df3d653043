"""Where a value of the library comes from: every figure that people may act on carries one of these."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Mark = Literal["seen", "second-hand", "from memory"]


@dataclass(frozen=True, slots=True)
class Source:
    """`text` names the publication, `where` its address or publisher, `dated` its edition or the date seen.

    `mark` says how it was read: in the publication itself, in another's quotation of it, or not at all.
    """

    key: str
    text: str
    where: str
    dated: str
    mark: Mark

    @property
    def caveat(self) -> str | None:
        """What must stand beside a value whose publication itself was not seen; None when it was."""
        return {
            "seen": None,
            "second-hand": "commonly cited, confirm",
            "from memory": "from memory: confirm",
        }[self.mark]

    def said(self) -> str:
        """The source as one line for a card."""
        line = f"{self.text}; {self.where}; {self.dated}"
        return f"{line} ({self.caveat})" if self.caveat else line
