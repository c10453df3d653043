"""Lives of wearing parts: what ended them, the plain list, and the curve where there are lives enough for one.

A life is measured by the part's meter, in its unit. It counts as a failure when its reason says worn or broken; a part
changed early for any other reason, and one still running, lived at least so long (censored).
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median
from typing import Literal

from webapp.core.gammas import chi_square_quantile
from webapp.core.numbers import is_number
from webapp.core.problems import WearError
from webapp.core.weibull import Fit, Range, fit

Ended = Literal["failed", "early", "running"]

# Below these the shop sees the list and no curve (the project's rule: five lives; two failures are the least that fit).
FEWEST_LIVES, FEWEST_FAILURES = 5, 2

# The phone offers "Worn out" and "Broken"; the other words are what people type for the same.
_WORDS = (
    r"(worn|wore|br[oe]ke\w*|dull\w*|blunt\w*|torn|tore|crack\w*|stripped|chipped|snapped|burst|split|clogged|blocked"
    r"|glazed|leak\w*|holes?|failed|gave out)\b"
)
_FAILED = re.compile(rf"\b{_WORDS}", re.IGNORECASE)
_NOT_FAILED = re.compile(rf"\b(not|no|never|before|hardly|barely|without)\s+(\w+\s+){{0,2}}{_WORDS}", re.IGNORECASE)


@dataclass(frozen=True)
class Life:
    """One life in the meter's unit. `grade` is the maker's, `material` what it cut mostly, `edge` whether it was new or
    re-ground; None where not noted."""

    lived: float
    ended: Ended
    grade: str | None = None
    material: str | None = None
    edge: str | None = None

    def __post_init__(self) -> None:
        if not is_number(self.lived) or self.lived < 0:
            problem = f"A life of {self.lived} cannot be."
            raise WearError("lived", problem, "Correct the meter or the change it was counted from.")


def how_ended(reason: str) -> Ended:
    """Whether a reason for a change says that the part had failed: worn or broken, and not "not worn yet"."""
    return "failed" if _FAILED.search(reason) and not _NOT_FAILED.search(reason) else "early"


@dataclass(frozen=True)
class Listed:
    """The plain list in figures; lengths in the meter's unit, None where no life has ended.

    `mean` is all use, running parts too, divided by the failures: right when parts fail by chance, and the only mean
    that lives changed early allow without a curve.
    """

    ended: int
    failed: int
    early: int
    use: float
    shortest: float | None
    median: float | None
    longest: float | None
    mean: float | None
    mean_range: Range


def listed(lives: Sequence[Life], level: float = 0.9) -> Listed:
    """Sum up lives, running ones among them."""
    done = [life.lived for life in lives if life.ended != "running"]
    failed = sum(life.ended == "failed" for life in lives)
    use = sum(life.lived for life in lives)
    return Listed(
        ended=len(done),
        failed=failed,
        early=len(done) - failed,
        use=use,
        shortest=min(done, default=None),
        median=median(done) if done else None,
        longest=max(done, default=None),
        mean=use / failed if failed else None,
        mean_range=mean_range(use, failed, level),
    )


def mean_range(use: float, failed: int, level: float = 0.9) -> Range:
    """The interval of the mean life when parts fail by chance alone; without a failure a lower bound alone.

    NIST/SEMATECH e-Handbook 8.4.5.1: 2 T / chi-square quantile, 2 (r + 1) degrees of freedom below and 2 r above; for
    no failure T / -ln(1 - level), one-sided. WearError for a use or a count below nought.
    """
    if not is_number(use) or use < 0:
        raise WearError("use", "It is below nought.", "Correct the meter.")
    if failed < 0:
        raise WearError("failed", "It is below nought.", "Count the failures.")
    if not is_number(level) or not 0 < level < 1:
        raise WearError("level", "It is not a number between 0 and 1.", "Give a confidence such as 0.9.")
    if use == 0:
        return Range(None, None)
    if failed == 0:
        return Range(2 * use / chi_square_quantile(level, 2), None)
    beyond = (1 - level) / 2
    low = 2 * use / chi_square_quantile(1 - beyond, 2 * failed + 2)
    return Range(low, 2 * use / chi_square_quantile(beyond, 2 * failed))


@dataclass(frozen=True)
class Study:
    """The list, the curve or None, and in sentences what was left out and why there is none."""

    listed: Listed
    fit: Fit | None
    said: tuple[str, ...]


def study(lives: Sequence[Life], level: float = 0.9) -> Study:
    """List lives and, where there are enough, fit them. What the figures cannot carry is said, never hidden."""
    told = listed(lives, level)
    said = _lengthless(lives)
    counted = [life for life in lives if life.lived > 0]
    ended = sum(life.ended != "running" for life in counted)
    failed = [life.lived for life in counted if life.ended == "failed"]
    if ended < FEWEST_LIVES:
        return Study(told, None, (*said, _too_few("life" if ended == 1 else "lives", ended, FEWEST_LIVES)))
    if len(failed) < FEWEST_FAILURES:
        words = "life ended by wear or breakage" if len(failed) == 1 else "lives ended by wear or breakage"
        return Study(told, None, (*said, _too_few(words, len(failed), FEWEST_FAILURES)))
    try:
        return Study(told, fit(failed, [life.lived for life in counted if life.ended != "failed"]), said)
    except WearError as error:
        return Study(told, None, (*said, f"No curve: {error.problem} {error.mend}"))


def groups(lives: Sequence[Life], by: Literal["grade", "material", "edge"], level: float = 0.9) -> dict[str, Study]:
    """Each group's study, the larger groups first; nothing unless two groups at least are noted."""
    noted: dict[str, list[Life]] = {}
    for life in lives:
        if key := getattr(life, by):
            noted.setdefault(key, []).append(life)
    if len(noted) < 2:
        return {}
    return {key: study(noted[key], level) for key in sorted(noted, key=lambda key: (-len(noted[key]), key))}


def _too_few(what: str, found: int, needed: int) -> str:
    return f"{found or 'No'} {what} so far, too few for a curve: it takes {needed}. The list is all there is to go by."


def _lengthless(lives: Sequence[Life]) -> tuple[str, ...]:
    """A part that failed before its meter moved is no Weibull life, and leaving it out must be said."""
    count = sum(life.lived == 0 and life.ended == "failed" for life in lives)
    if not count:
        return ()
    which = "1 life was" if count == 1 else f"{count} lives were"
    return (f"{which} over before the meter moved and cannot be in the curve: look for what broke at once.",)
