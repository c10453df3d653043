"""The one shape of a refusal in the core: which field, what is wrong, how to mend it."""

from __future__ import annotations


class Problem(ValueError):
    """Something given to the core that cannot be used; says the field, the problem and the mend."""

    def __init__(self, field: str, problem: str, mend: str) -> None:
        super().__init__(f"{field}: {problem} {mend}")
        self.field = field
        self.problem = problem
        self.mend = mend

    def to_dict(self) -> dict[str, str]:
        """The shape in which the API lists errors."""
        return {"field": self.field, "problem": self.problem, "mend": self.mend}


class RuleError(Problem):
    """A due rule that cannot be used."""


class BandError(Problem):
    """Limits of a reading that contradict each other."""


class MixError(Problem):
    """Figures for a coolant mix that cannot be."""


class SectionError(Problem):
    """A section, a bar or a load that cannot be."""


class FigureError(Problem):
    """A figure of a saw, a sander, a nozzle or a compressor that cannot be."""


class WearError(Problem):
    """Lives, costs or counts of wearing parts that cannot be."""


class SpanError(Problem):
    """A stretch of time, or a sum of them, that cannot be."""


class InstantError(Problem):
    """A time that is not RFC 3339 with an offset."""


class UsageError(Problem):
    """Movements of a meter, or what a forecast starts from, that cannot be."""


class AlloyError(Problem):
    """A composition, a certificate or an amount of metal that cannot be."""


class LimitError(Problem):
    """A substance, form or authority for which the library holds no limit."""


class HazardError(Problem):
    """A description of work that the hazard rules cannot judge."""


class HygieneError(Problem):
    """A measurement of air or noise, or a fact about protection or risk, that cannot be."""
