"""What goes wrong in reminders, told so that it can be mended."""

from __future__ import annotations


class Trouble(Exception):
    """A job could not do its work; the message says what is wrong and how to mend it."""


class LeaseLost(Exception):
    """Another process runs the scheduler by now: nothing may be told from here."""
