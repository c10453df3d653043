"""Marshmallow fields that take JSON as it is: no text for a number, no NaN, no guessed dates."""

from __future__ import annotations

import math
import re
from datetime import date
from typing import Any

from marshmallow import INCLUDE, Schema, ValidationError, fields, validate

from webapp.core.instants import InstantError, parse_instant
from webapp.records.faults import said

_UUID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}")
_SHA256 = re.compile(r"[0-9a-f]{64}")
_DAY = re.compile(r"\d{4}-\d\d-\d\d", re.ASCII)  # date.fromisoformat also takes week dates and days without hyphens
_DIGITS = re.compile(r"-?[0-9]{1,24}")
_NO_TEXT = re.compile("[\0\ud800-\udfff]")  # what databases and UTF-8 cannot hold
LONGEST_TEXT = 4000


def is_uuid(value: object) -> bool:
    """Whether a value is a UUID (RFC 9562) written in lower case."""
    return isinstance(value, str) and _UUID.fullmatch(value) is not None


class Number(fields.Field[float]):
    """A finite JSON number between two bounds, in the unit its name or its neighbour says."""

    def __init__(self, low: float | None = None, high: float = 1e9, *, above: float | None = None, **kw: Any):
        super().__init__(**kw)
        self.low, self.high, self.above = low, high, above

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kw: Any) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float) or not abs(value) < math.inf:
            raise ValidationError(said("is no number", "send a plain number such as 1.5"))
        if self.above is not None and value <= self.above:
            raise ValidationError(said(f"is {_short(value)}", f"send a number above {self.above:g}"))
        if self.low is not None and value < self.low:
            raise ValidationError(said(f"is {_short(value)}", f"send a number of at least {self.low:g}"))
        if value > self.high:
            raise ValidationError(said(f"is {_short(value)}", f"send a number of at most {self.high:g}"))
        return value


def _short(value: float) -> str:
    """The number as it was sent; JSON allows integers of thousands of digits."""
    text = str(value)
    return text if len(text) <= 24 else f"{text[:12]}… ({len(text)} digits)"


class Whole(Number):
    """A whole JSON number between two bounds."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kw: Any) -> float:
        if not isinstance(value, int) or isinstance(value, bool):
            raise ValidationError(said("is no whole number", "send a whole number such as 3"))
        return super()._deserialize(value, attr, data, **kw)


class Count(Whole):
    """A whole number as it stands in an address, in digits."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kw: Any) -> float:
        whole = int(value) if isinstance(value, str) and _DIGITS.fullmatch(value) else None
        return super()._deserialize(whole, attr, data, **kw)


class Text(fields.Field[str]):
    """A text that says something: not blank unless `blank`, not longer than `longest`."""

    def __init__(self, longest: int = LONGEST_TEXT, *, blank: bool = False, **kw: Any) -> None:
        super().__init__(**kw)
        self.longest, self.blank = longest, blank

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kw: Any) -> str:
        if not isinstance(value, str):
            raise ValidationError(said("is no text", "send a JSON string"))
        if not self.blank and not value.strip():
            raise ValidationError(said("is empty", "write at least a word"))
        if len(value) > self.longest:
            raise ValidationError(said(f"is {len(value)} characters long", f"keep it to {self.longest}"))
        if _NO_TEXT.search(value):
            raise ValidationError(said("holds a character that is no text (NUL or half a pair)", "leave it out"))
        return value


class Id(fields.Field[str]):
    """A UUID (RFC 9562) in lower case."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kw: Any) -> str:
        if not is_uuid(value):
            raise ValidationError(said("is no UUID", "send a UUIDv7 in lower case, with its hyphens"))
        return str(value)


class Ref(Id):
    """The id of something defined in set-up: a meter, part, fluid, checklist or item."""

    def __init__(self, to: str, **kw: Any) -> None:
        super().__init__(**kw)
        self.to = to


class Flag(fields.Field[bool]):
    """A JSON true or false, nothing else."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kw: Any) -> bool:
        if not isinstance(value, bool):
            raise ValidationError(said("is neither true nor false", "send true or false"))
        return value


class Day(fields.Field[str]):
    """A calendar date `YYYY-MM-DD` from 2000 to 2199."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kw: Any) -> str:
        try:
            day = date.fromisoformat(value) if _DAY.fullmatch(value) else None
        except (TypeError, ValueError):
            day = None
        if day is None:
            raise ValidationError(said("is no date", "send a date as YYYY-MM-DD"))
        if not 2000 <= day.year < 2200:
            raise ValidationError(said(f"is {value}", "send a date from 2000 to 2199, as YYYY-MM-DD"))
        return str(value)


class Moment(Text):
    """RFC 3339 date and time with offset."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kw: Any) -> str:
        text = super()._deserialize(value, attr, data, **kw)
        try:
            parse_instant(text)
        except InstantError as error:
            raise ValidationError(said(error.problem, error.mend)) from None
        return text


class Amounts(fields.Dict):
    """Amounts by id; a fault is named by the id it stands under."""

    def __init__(self, low: float | None = None, high: float = 1e9, *, above: float | None = None, **kw: Any) -> None:
        super().__init__(keys=Id(), values=Number(low, high, above=above), **kw)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kw: Any) -> Any:
        try:
            return super()._deserialize(value, attr, data, **kw)  # type: ignore[no-untyped-call]
        except ValidationError as error:
            if not isinstance(error.messages, dict):
                raise
            # marshmallow says whether the key or the value is at fault in a step of its own
            told = {key: [text for texts in sides.values() for text in texts] for key, sides in error.messages.items()}
            raise ValidationError(told) from None


class PhotoHash(fields.Field[str]):
    """The SHA-256 of a photo's bytes, hex."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kw: Any) -> str:
        if not isinstance(value, str) or not _SHA256.fullmatch(value):
            raise ValidationError(said("is no photo's SHA-256", "send 64 hex digits in lower case"))
        return value


def one_of(*choices: str) -> validate.OneOf:
    """A validator that lists the choices when the value is none of them."""
    return validate.OneOf(choices, error=said("is none of the known words", f"send one of: {', '.join(choices)}"))


class Body(Schema):
    """Base of every kind's body: unknown fields are kept, an older server loses nothing."""

    class Meta:
        unknown = INCLUDE
