"""The shape of a shop's own alloy, and of a blast cabinet's figures. Wire shapes: DEVELOPERS.md, 'Definitions'."""

from __future__ import annotations

import re
from typing import Any

from marshmallow import ValidationError, fields, validate, validates, validates_schema

from webapp.core.alloys import POUND_PER_CUBIC_INCH
from webapp.core.certificates import Line, composed
from webapp.core.problems import AlloyError
from webapp.core.purge import LONGEST
from webapp.core.sources import Source
from webapp.core.ventilation import purge_time
from webapp.library.alloys import alloys, behaviours
from webapp.records.faults import said
from webapp.records.fields import Day, Number, Text, Whole, one_of
from webapp.setup.strict import Strict

_UNS = re.compile(r"[A-Z][0-9]{5}", re.ASCII)
# From light metal foams to osmium, g/cm3: beyond it, a unit was mistaken (own choice).
LIGHTEST, HEAVIEST = 0.5, 23.0


class Analysed(Strict):
    """One line of a certificate: the weight % found, or the bound that is printed."""

    element = Text(3, required=True)
    percent = Number(0, 100)
    at_most = Number(0, 100)


class Certificate(Strict):
    """Which certificate it is: its number or the heat's, whose it is in the shop's own words, its date."""

    number = Text(60, required=True)
    source = Text(200, required=True)
    dated = Day(required=True)


class Density(Strict):
    """As the certificate states it."""

    value = Number(above=0, high=100, required=True)
    unit = Text(6, required=True, validate=one_of("g/cm3", "lb/in3"))

    @validates_schema(skip_on_field_errors=True)
    def _of_a_metal(self, data: dict[str, Any], **_: Any) -> None:
        grams = data["value"] * (POUND_PER_CUBIC_INCH if data["unit"] == "lb/in3" else 1)
        if not LIGHTEST <= grams <= HEAVIEST:
            mend = f"send a metal's density, {LIGHTEST:g} to {HEAVIEST:g} g/cm3, with its own unit"
            raise ValidationError(said(f"makes {grams:.4g} g/cm3", mend), "value")


class Alloy(Strict):
    """A metal of the shop's own, by a mill certificate."""

    name = Text(80, required=True)
    uns = Text(6, allow_none=True)
    base = Text(2, required=True)
    like = Text(40, allow_none=True)
    composition = fields.List(
        fields.Nested(Analysed),
        required=True,
        validate=validate.Length(1, 60, error=said("names no element, or more than 60", "send one to 60 lines")),
    )
    certificate = fields.Nested(Certificate, required=True)
    density = fields.Nested(Density, allow_none=True)
    scrap = Text(40, allow_none=True)
    notes = Text(2000, blank=True, allow_none=True)

    @validates("uns")
    def _unified(self, value: str | None, **_: Any) -> None:
        if value is not None and not _UNS.fullmatch(value):
            raise ValidationError(said(f"is «{value}»", "send a UNS number such as C36000, or leave it out"))

    @validates("like")
    def _in_library(self, value: str | None, **_: Any) -> None:
        if value is not None and value not in alloys():
            raise ValidationError(said(f"is «{value}», not in the library", "send the key of a card, or leave it out"))

    @validates("scrap")
    def _kept_apart(self, value: str | None, **_: Any) -> None:
        if value is not None and value not in behaviours("scrap"):
            known = ", ".join(behaviours("scrap"))
            raise ValidationError(said(f"is «{value}», no group of scrap", f"send one of: {known}"))

    @validates_schema(skip_on_field_errors=True)
    def _can_be(self, data: dict[str, Any], **_: Any) -> None:
        try:
            composed(data["base"], [Line(**line) for line in data["composition"]], _CERTIFICATE)
        except AlloyError as error:
            raise ValidationError(_nested(error.field, said(error.problem, error.mend))) from None
        like = alloys().get(data.get("like") or "")
        if like and like.base != data["base"]:
            problem = said(f"is made of {like.base}, and this of {data['base']}", "choose one of the same main metal")
            raise ValidationError({"like": [problem]})


_CERTIFICATE = Source("certificate", "Mill certificate", "the shop's own", "as dated", "seen")


def _nested(field: str, text: Any) -> dict[Any, Any]:
    """The fault under its path, as marshmallow nests them: places of a list are numbers."""
    first, _, rest = field.partition(".")
    key: Any = int(first) if first.isdigit() else first
    return {key: _nested(rest, text) if rest else [text]}


class Volume(Strict):
    """Of the cabinet inside."""

    value = Number(above=0, high=1e5, required=True)
    unit = Text(4, required=True, validate=one_of("ft3", "m3"))


class Flow(Strict):
    """Of the exhaust, as measured with the cabinet closed and a clean filter."""

    value = Number(above=0, high=1e5, required=True)
    unit = Text(5, required=True, validate=one_of("cfm", "m3/h"))


class Cabinet(Strict):
    """What the purge timer goes by; `posted`: seconds on the door's own sign, of which the longer counts."""

    volume = fields.Nested(Volume)
    exhaust = fields.Nested(Flow)
    mixing = Number(1, 10, load_default=3)
    posted = Whole(1, LONGEST)

    @validates_schema(skip_on_field_errors=True)
    def _tells_a_time(self, data: dict[str, Any], **_: Any) -> None:
        volume, exhaust = data.get("volume"), data.get("exhaust")
        if volume is None and exhaust is None:
            if "posted" not in data:
                raise ValidationError(said("is missing", "send volume and exhaust, or the time posted"), "volume")
            return
        if volume is None or exhaust is None:
            missing = "volume" if volume is None else "exhaust"
            raise ValidationError(said("is missing", "send the volume and the exhaust, or neither"), missing)
        if (volume["unit"] == "ft3") != (exhaust["unit"] == "cfm"):
            mend = "send ft3 with cfm, or m3 with m3/h"
            raise ValidationError({"exhaust": {"unit": [said(f"is {exhaust['unit']}, not that of the volume", mend)]}})
        units = "us" if volume["unit"] == "ft3" else "metric"
        if purge_time(exhaust["value"], volume["value"], units, 99.9, data["mixing"]).seconds > LONGEST:
            problem = said("is too small: the wait would be over 4 hours", "check the volume and the exhaust")
            raise ValidationError({"exhaust": {"value": [problem]}})
