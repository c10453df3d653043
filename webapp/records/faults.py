"""What is wrong with something that was sent, said so that a person can mend it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any

from marshmallow import ValidationError

_DEFAULT_MENDS = {
    "Missing data for required field.": ("is missing", "send it"),
    "Field may not be null.": ("is null", "send a value"),
    "Not a valid string.": ("is no text", "send a JSON string"),
    "Not a valid boolean.": ("is neither true nor false", "send true or false"),
    "Not a valid list.": ("is no list", "send a JSON array"),
    "Not a valid mapping type.": ("is no object", "send a JSON object"),
    "Not a valid integer.": ("is no whole number", "send a whole number"),
    "Invalid input type.": ("is no object", "send a JSON object"),
    "Unknown field.": ("is not known here", "leave it out or correct its name"),
}


@dataclass(frozen=True)
class Fault:
    """One thing wrong: the field's path, what is wrong with it, and how to mend it."""

    field: str
    problem: str
    mend: str

    def to_dict(self) -> dict[str, str]:
        return asdict(self)


class Refused(Exception):
    """Something that cannot be accepted, with every fault found."""

    def __init__(self, *faults: Fault) -> None:
        super().__init__("; ".join(f"{f.field} {f.problem}" for f in faults))
        self.faults = faults


def said(problem: str, mend: str) -> str:
    """A marshmallow message that carries the mend too."""
    return f"{problem}\n{mend}"


def faults_of(error: ValidationError, prefix: str = "") -> list[Fault]:
    """Flatten marshmallow's nested messages to faults with dotted field paths."""
    return list(_walk(error.messages, prefix))


def _walk(node: Any, path: str) -> Iterator[Fault]:
    if isinstance(node, dict):
        for key, value in node.items():
            step = "" if key == "_schema" else str(key)
            yield from _walk(value, f"{path}.{step}".strip("."))
    elif isinstance(node, list):
        for value in node:
            yield from _walk(value, path)
    else:
        problem, _, mend = str(node).partition("\n")
        if not mend:
            problem, mend = _DEFAULT_MENDS.get(problem, (problem, "correct it and send it again"))
        yield Fault(path or "body", problem, mend)
