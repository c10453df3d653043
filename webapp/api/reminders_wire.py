"""Shapes of what the reminders' calls take and answer."""

from __future__ import annotations

from marshmallow import EXCLUDE, Schema, fields

from webapp.records.fields import Count, Id, Moment, Text, one_of


class ReminderRow(Schema):
    """A need that stands, as one person is reminded of it. `task`: the task for which pressing "done" is enough, or
    null."""

    id = Id(required=True)
    person = Id(required=True)
    kind = fields.String(required=True)
    weight = fields.String(required=True, metadata={"enum": ["plain", "quiet"]})
    what = fields.String(required=True)
    where = fields.String(required=True)
    minutes = fields.Float(required=True, allow_none=True)
    why = fields.String(required=True)
    link = fields.String(required=True)
    machine = Id(required=True, allow_none=True)
    task = Id(required=True, allow_none=True)
    opened_at = Moment(40, required=True)
    told_at = Moment(40, required=True, allow_none=True)
    snoozed_until = Moment(40, required=True, allow_none=True)


class TroubleRow(Schema):
    """A job that fails: since when, and what it says."""

    job = fields.String(required=True)
    since = Moment(40, required=True)
    said = fields.String(required=True)


class RemindersOut(Schema):
    """What stands now."""

    as_of = Moment(40, required=True)
    reminders = fields.List(fields.Nested(ReminderRow), required=True)
    troubles = fields.List(fields.Nested(TroubleRow), required=True)


class JobRow(Schema):
    """A job of the scheduler."""

    job = fields.String(required=True)
    next_at = Moment(40, required=True, allow_none=True)
    ended_at = Moment(40, required=True, allow_none=True)
    failed_since = Moment(40, required=True, allow_none=True)
    said = fields.String(required=True)


class SnoozeIn(Schema):
    """Until when it is to rest; null: no longer."""

    until = Moment(40, required=True, allow_none=True)


class Keys(Schema):
    """The keys of a browser's push subscription, base64url."""

    p256dh = Text(100, required=True)
    auth = Text(40, required=True)


class SubscriptionIn(Schema):
    """A browser's push subscription, as it gives it, and whose it is."""

    class Meta:
        unknown = EXCLUDE

    person = Id(required=True)
    endpoint = Text(1000, required=True)
    keys = fields.Nested(Keys, required=True)


class SubscribedOut(Schema):
    """The id of a subscription."""

    id = Id(required=True)


class SubscriptionRow(Schema):
    """A browser that takes web push."""

    id = Id(required=True)
    person = Id(required=True)
    device = Id(required=True)
    made_at = Moment(40, required=True)


class PushWays(Schema):
    """The server's public key for web push, and who is signed up."""

    key = fields.String(required=True)
    subscriptions = fields.List(fields.Nested(SubscriptionRow), required=True)


class MailOut(Schema):
    """Whether there is a mail server, and who mail comes from."""

    set_up = fields.Boolean(required=True)
    sender = fields.String(required=True, allow_none=True)


class CalendarRow(Schema):
    """A person who has a calendar address, and when it was fetched last."""

    person = Id(required=True)
    made_at = Moment(40, required=True)
    fetched_at = Moment(40, required=True, allow_none=True)


class ChannelsOut(Schema):
    """The ways in which reminders can arrive."""

    push = fields.Nested(PushWays, required=True)
    mail = fields.Nested(MailOut, required=True)
    calendars = fields.List(fields.Nested(CalendarRow), required=True)


class PersonIn(Schema):
    """Whose it is."""

    person = Id(required=True)


class AddressOut(Schema):
    """A calendar's secret address."""

    url = fields.String(required=True)
    webcal = fields.String(required=True)


class TestIn(Schema):
    """Whom to send a test, and how."""

    person = Id(required=True)
    channel = Text(10, required=True, validate=one_of("app", "push", "mail", "calendar"))


class OutcomeRow(Schema):
    """What became of a message."""

    channel = fields.String(required=True)
    target = fields.String(required=True)
    outcome = fields.String(required=True, metadata={"enum": ["waiting", "sent", "failed", "gone", "dropped"]})
    said = fields.String(required=True)


class LogIn(Schema):
    """Whose log, and how much of it."""

    class Meta:
        unknown = EXCLUDE

    person = Id()
    limit = Count(1, 500, load_default=100)


class DeliveryRow(OutcomeRow):
    """A message in the log; `target`: the id of a subscription, a mail address, or what fetched a calendar."""

    id = Id(required=True)
    person = Id(required=True)
    title = fields.String(required=True, allow_none=True)
    made_at = Moment(40, required=True)
    tries = fields.Integer(required=True)
    ended_at = Moment(40, required=True, allow_none=True)
