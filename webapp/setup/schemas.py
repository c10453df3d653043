"""The shape of each type of definition. Wire shapes: DEVELOPERS.md, 'Definitions'."""

from __future__ import annotations

import re
import zoneinfo
from typing import Any

from marshmallow import Schema, ValidationError, fields, post_load, validate, validates, validates_schema

from webapp.core.bands import BandError, check_band
from webapp.core.coolant import check_sump
from webapp.core.due import RuleError
from webapp.core.due import validate as validate_rule
from webapp.core.lubrication import ISO_VG
from webapp.core.problems import MixError
from webapp.core.units import SECONDS_IN
from webapp.feeds.fetching import check_url
from webapp.library.limits import authorities
from webapp.records.faults import said
from webapp.records.fields import Amounts, Day, Flag, Id, Number, Text, Whole, one_of
from webapp.records.kinds.rounds import FORMS
from webapp.setup.own_schemas import Alloy, Cabinet
from webapp.setup.strict import Strict

_CLOCK = re.compile(r"([01][0-9]|2[0-3]):[0-5][0-9]", re.ASCII)
_MAIL = re.compile(r"[^\s@<>,;\"]+@[^\s@<>,;\".]+(\.[^\s@<>,;\".]+)+", re.ASCII)
METER_KINDS = ("spindle_hours", "power_hours", "cut_area", "cuts", "belt_minutes", "blast_hours", "run_hours")


class Zone(Text):
    """An IANA time zone name."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kw: Any) -> str:
        name = super()._deserialize(value, attr, data, **kw)
        try:
            zoneinfo.ZoneInfo(name)
        except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError):
            raise ValidationError(
                said(f"is «{name}», no time zone", "send an IANA name such as America/Chicago")
            ) from None
        return name


def one_of_authorities(value: str) -> None:
    """Whoever publishes limits in the library."""
    if value not in authorities():
        raise ValidationError(said(f"is «{value}», not in the library", f"send one of: {', '.join(authorities())}"))


class Clock(Text):
    """A time on the shop's wall, `HH:MM`, 00:00 to 23:59."""

    def __init__(self, **kw: Any) -> None:
        super().__init__(5, **kw)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kw: Any) -> str:
        if not isinstance(value, str) or not _CLOCK.fullmatch(value):
            raise ValidationError(said("is no time of day", "send HH:MM, 00:00 to 23:59"))
        return value


class Shift(Strict):
    """Working hours on some days of the week; one that ends before it begins goes past midnight."""

    days = fields.List(
        Text(3, validate=one_of("mon", "tue", "wed", "thu", "fri", "sat", "sun")),
        required=True,
        validate=validate.Length(1, 7, error=said("names no day", "name at least one day, such as mon")),
    )
    begins = Clock(required=True)
    ends = Clock(required=True)


class ShopReminders(Strict):
    """When the shop's reminders come; what is not given has its usual value, see webapp/reminders/people.py."""

    digest_at = Clock()
    round_by = Clock()
    tag_days = Whole(1, 365)
    phone_days = Whole(1, 365)
    escalate_hours = Whole(1, 720)
    paper_days = Whole(1, 365)


class Shop(Strict):
    name = Text(120, required=True)
    time_zone = Zone(60, required=True)
    units = Text(10, load_default="us", validate=one_of("us", "metric"))
    jurisdiction = Text(60, load_default="US")
    hours_a_week = Number(0, 168, load_default=30)
    holidays = fields.List(Day(), load_default=list)
    authorities = fields.List(Text(40, validate=one_of_authorities))
    shifts = fields.List(
        fields.Nested(Shift),
        validate=validate.Length(
            1, 21, error=said("has none, or more than 21", "send one to 21 shifts, or leave it out")
        ),
    )
    reminders = fields.Nested(ShopReminders)

    @validates("authorities")
    def _each_once(self, value: list[str], **_: Any) -> None:
        if len(set(value)) != len(value):
            raise ValidationError(said("names one twice", "name each authority once"))


class Bay(Strict):
    name = Text(80, required=True)


class Meter(Strict):
    id = Id(required=True)
    kind = Text(20, required=True, validate=one_of(*METER_KINDS))
    name = Text(80, required=True)
    unit = Text(12, required=True)


class Part(Strict):
    id = Id(required=True)
    kind = Text(30, required=True)
    name = Text(80, required=True)
    meter = Text(20, load_default=None, allow_none=True, validate=one_of(*METER_KINDS))
    item = Id(load_default=None, allow_none=True)
    grade = Text(60, allow_none=True)
    planned_cost = Number(above=0, high=1e7, allow_none=True)
    unplanned_cost = Number(above=0, high=1e7, allow_none=True)


class Band(Strict):
    stop_low = Number(-1e6, 1e6)
    act_low = Number(-1e6, 1e6)
    target = Number(-1e6, 1e6)
    act_high = Number(-1e6, 1e6)
    stop_high = Number(-1e6, 1e6)

    @validates_schema(skip_on_field_errors=True)
    def _in_order(self, data: dict[str, float], **_: Any) -> None:
        try:
            check_band(data)
        except BandError as error:
            raise ValidationError(said(error.problem, error.mend), error.field) from None


class Hardness(Strict):
    """Of the make-up water."""

    value = Number(0, 1e5, required=True)
    unit = Text(8, required=True, validate=one_of("ppm", "dGH", "gpg", "clark", "fH", "mmol/L"))


def one_of_grades(value: float) -> None:
    """An ISO viscosity grade."""
    if value not in ISO_VG:
        raise ValidationError(said(f"is {value:g}, no viscosity grade", f"send one of: {', '.join(map(str, ISO_VG))}"))


class Fluid(Strict):
    id = Id(required=True)
    kind = Text(30, required=True)
    name = Text(80, required=True)
    capacity = Number(above=0, high=1e6, required=True)
    unit = Text(6, required=True, validate=one_of("L", "gal"))
    band = fields.Nested(Band, allow_none=True)
    factor = Number(above=0, high=100, allow_none=True)
    quantity = Text(60, allow_none=True)
    target = Number(above=0, high=99, allow_none=True)
    sump = fields.Dict(allow_none=True)
    hardness = fields.Nested(Hardness, allow_none=True)
    jug = Number(above=0, high=1e3, allow_none=True)
    grade = Whole(allow_none=True, validate=one_of_grades)

    @validates_schema(skip_on_field_errors=True)
    def _sump_can_be(self, data: dict[str, Any], **_: Any) -> None:
        try:
            if data.get("sump"):
                check_sump(data["sump"], data["capacity"], data["unit"])
        except MixError as error:
            raise ValidationError({"sump": {error.field: [said(error.problem, error.mend)]}}) from None


class Feed(Strict):
    """The agent that counts one of the machine's meters: an address, and the id or name of a data item."""

    kind = Text(20, required=True, validate=one_of("mtconnect"))
    url = Text(300, required=True)
    data_item = Text(120, required=True)
    meter = Id(required=True)

    @validates("url")
    def _address(self, value: str, **_: Any) -> None:
        try:
            check_url(value)
        except ValueError as error:
            raise ValidationError(said(str(error), "write it like http://192.168.1.20:5000")) from None


class Machine(Strict):
    name = Text(80, required=True)
    starter = Text(40, load_default=None, allow_none=True)
    family = Text(20, load_default="other")
    bay = Id(load_default=None, allow_none=True)
    maker = Text(80, blank=True, allow_none=True)
    model = Text(80, blank=True, allow_none=True)
    serial = Text(80, blank=True, allow_none=True)
    notes = Text(blank=True, allow_none=True)
    meters = fields.List(fields.Nested(Meter), load_default=list)
    parts = fields.List(fields.Nested(Part), load_default=list)
    fluids = fields.List(fields.Nested(Fluid), load_default=list)
    cautions = fields.List(Text(60), load_default=list)
    feed = fields.Nested(Feed, allow_none=True)
    cabinet = fields.Nested(Cabinet, allow_none=True)

    @validates_schema(skip_on_field_errors=True)
    def _feed_counts(self, data: dict[str, Any], **_: Any) -> None:
        feed = data.get("feed")
        if not feed:
            return
        meter = next((row for row in data["meters"] if row["id"] == feed["meter"]), None)
        if meter is None:
            raise ValidationError(
                {"feed": {"meter": [said("is no meter of this machine", "choose one of its meters")]}}
            )
        if meter["unit"].lower() not in SECONDS_IN:
            mend = f"give the meter one of: {', '.join(SECONDS_IN)}"
            raise ValidationError({"feed": {"meter": [said(f"counts in {meter['unit']}, not in time", mend)]}})


class Choice(Strict):
    text = Text(80, required=True)
    ok = Flag(required=True)


class CheckLine(Strict):
    id = Id(required=True)
    text = Text(120, required=True)
    how = Text(500, load_default="", blank=True)
    why = Text(500, required=True)
    source = Text(300, required=True)
    answer = Text(10, load_default="ok", validate=one_of("ok", "reading", "choice"))
    stop = Flag(load_default=False)
    caution = Text(60, allow_none=True)
    quantity = Text(60, allow_none=True)
    unit = Text(20, blank=True, allow_none=True)
    band = fields.Nested(Band, allow_none=True)
    factor = Number(above=0, high=100, allow_none=True)
    choices = fields.List(fields.Nested(Choice))
    photo = Flag()


class Checklist(Strict):
    machine = Id(required=True)
    name = Text(80, required=True)
    form = Text(20, required=True, validate=one_of(*FORMS))
    checks = fields.List(fields.Nested(CheckLine), required=True)


class Task(Strict):
    machine = Id(load_default=None, allow_none=True)
    name = Text(120, required=True)
    rule = fields.Dict(required=True)
    checklist = Id(load_default=None, allow_none=True)
    steps = fields.List(Text(500), load_default=list)
    minutes = Number(0, 10_000, load_default=5)
    cautions = fields.List(Text(60), load_default=list)
    why = Text(500, required=True)
    source = Text(300, required=True)
    start = Day(required=True)
    meter_start = Amounts(0, load_default=dict)

    @validates_schema(skip_on_field_errors=True)
    def _rule_holds(self, data: dict[str, Any], **_: Any) -> None:
        try:
            validate_rule(data["rule"], "UTC")
        except RuleError as error:
            raise ValidationError({error.field: [said(error.problem, error.mend)]}) from None


class Item(Strict):
    name = Text(120, required=True)
    kind = Text(30, required=True)
    unit = Text(20, load_default="piece")
    reorder_at = Number(0, 1e6, load_default=1)
    lead_days = Number(above=0, high=3650, allow_none=True)
    cost = Number(above=0, high=1e7, allow_none=True)
    machine = Id(load_default=None, allow_none=True)


class Pin(Strict):
    salt = Text(64, required=True)
    iterations = Whole(100_000, 10_000_000, required=True)
    hash = Text(64, required=True)


class Quiet(Strict):
    """Hours in which a person is told nothing; past midnight when they end before they begin."""

    begins = Clock(required=True)
    ends = Clock(required=True)


def one_of_mail(value: str) -> None:
    """A bare mail address."""
    if not _MAIL.fullmatch(value):
        raise ValidationError(said("is no mail address", "write it like name@example.com"))


class PersonReminders(Strict):
    """How a person is reminded, and of what: see webapp/reminders/people.py."""

    channels = fields.List(Text(10, validate=one_of("push", "mail")))
    mail = Text(254, allow_none=True, validate=one_of_mail)
    quiet = fields.Nested(Quiet, allow_none=True)
    about = fields.List(Text(10, validate=one_of("work", "shop", "none")))
    machines = fields.List(Id(), allow_none=True)

    @validates_schema(skip_on_field_errors=True)
    def _mail_goes_somewhere(self, data: dict[str, Any], **_: Any) -> None:
        if "mail" in data.get("channels", ()) and not data.get("mail"):
            raise ValidationError(said("is missing", "give the address that mail goes to"), "mail")


class Person(Strict):
    name = Text(80, required=True)
    initials = Text(4, load_default=None, allow_none=True)
    role = Text(10, load_default="member", validate=one_of("owner", "member"))
    pin = fields.Nested(Pin, load_default=None, allow_none=True)
    reminders = fields.Nested(PersonReminders)

    @post_load
    def _initials(self, data: dict[str, Any], **_: Any) -> dict[str, Any]:
        if not data["initials"]:
            data["initials"] = "".join(word[0] for word in data["name"].split())[:3].upper()
        return data


SCHEMAS: dict[str, Schema] = {
    "shop": Shop(),
    "bay": Bay(),
    "machine": Machine(),
    "checklist": Checklist(),
    "task": Task(),
    "item": Item(),
    "person": Person(),
    "alloy": Alloy(),
}
