"""What can be wrong with a feed: said so that whoever set it up can mend it."""

from __future__ import annotations


class FeedFault(Exception):
    """The machine's agent does not answer, or not with what was asked for."""

    def __init__(self, problem: str, mend: str) -> None:
        super().__init__(f"{problem} {mend}")
        self.problem, self.mend = problem, mend


class OutOfRange(FeedFault):
    """The agent no longer holds the observations asked for: some were missed."""
