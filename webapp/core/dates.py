"""Calendar arithmetic on dates without time: intervals with the month-end clamp, and dates in words."""

from __future__ import annotations

from calendar import monthrange
from datetime import date, timedelta

MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def add_months(day: date, months: int) -> date:
    """`day` moved by whole months; a day that the month lacks becomes the month's last one."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))


def add_interval(day: date, unit: str, count: int) -> date:
    """`day` plus `count` of days, weeks, months or years."""
    if unit in ("months", "years"):
        return add_months(day, count * (12 if unit == "years" else 1))
    return day + timedelta(days=count * (7 if unit == "weeks" else 1))


def say_date(day: date) -> str:
    """A date that reads the same on both sides of an ocean: 4 Jan 2027."""
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def say_days(count: int) -> str:
    """A number of days in words: 1 day, 12 days."""
    return "1 day" if count == 1 else f"{count} days"
