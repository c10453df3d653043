"""What a message says: a title, and for each need what, where, how long and why now."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from html import escape
from typing import Any

MOST_LISTED = 12
TODAY = "#/today"


def item(row: Mapping[str, Any]) -> dict[str, Any]:
    """One reminder as messages carry it: `reminder, what, where, minutes, why, link, machine, task`."""
    body = json.loads(row["body"])
    names = ("what", "where", "minutes", "why", "link", "machine", "task")
    return {"reminder": row["id"]} | {name: body[name] for name in names}


def payload(shop: str, rows: Sequence[Mapping[str, Any]], *, standing: int = 0) -> dict[str, Any]:
    """A message of some reminders; `standing`: how many more were told before and still stand."""
    items = [item(row) for row in rows[:MOST_LISTED]]
    more = len(rows) - len(items)
    said = [f"{more} more"] if more else []
    said += [f"{standing} told before still {'stands' if standing == 1 else 'stand'}"] if standing else []
    tail = f"And {', '.join(said)}: see Today." if said else ""
    return titled(shop, items, len(rows)) | {"shop": shop, "items": items, "tail": tail}


def titled(shop: str, items: Sequence[Mapping[str, Any]], count: int) -> dict[str, Any]:
    """Title and link: of the one need, or of all of them."""
    if count == 1:
        return {"title": items[0]["what"], "link": items[0]["link"]}
    return {"title": f"{count} things to see to at {shop}", "link": TODAY}


def test_payload(shop: str) -> dict[str, Any]:
    """A message that only shows that messages arrive."""
    why = "It was asked for, to see that reminders arrive this way."
    one = {"reminder": None, "what": "A test from Wayround", "where": shop, "minutes": None, "why": why}
    one |= {"link": TODAY, "machine": None, "task": None}
    return {"title": "A test from Wayround", "link": TODAY, "shop": shop, "items": [one], "tail": ""}


def line(one: Mapping[str, Any]) -> str:
    """Where, how long, why now."""
    return ". ".join([str(one["where"]), *minutes(one), str(one["why"])])


def minutes(one: Mapping[str, Any]) -> list[str]:
    """How long it takes, if that is known."""
    return [f"About {one['minutes']:g} min"] if one["minutes"] else []


def brief(message: Mapping[str, Any]) -> str:
    """The message in a notification: one need told whole, of several a line each."""
    items = message["items"]
    if len(items) == 1:
        return " ".join([line(items[0]), message["tail"]]).strip()
    return "\n".join([*(f"{one['what']} ({one['where']})" for one in items), *filter(None, [message["tail"]])])


def as_text(message: Mapping[str, Any], base: str) -> str:
    """The message as plain text, for mail."""
    parts = []
    for one in message["items"]:
        parts.append("\n".join([one["what"], *(f"  {part}" for part in _facts(one)), f"  {base}/{one['link']}"]))
    return "\n\n".join([*parts, *filter(None, [message["tail"]]), _why_this(message)]) + "\n"


def as_html(message: Mapping[str, Any], base: str) -> str:
    """The same as HTML: headings, sentences and links, no pictures and nothing loaded."""
    parts = [
        f'<h2 style="font-size:1.1em;margin:1.2em 0 .2em"><a href="{escape(base)}/{escape(one["link"])}">'
        f"{escape(one['what'])}</a></h2>" + "".join(f"<p>{escape(part)}</p>" for part in _facts(one))
        for one in message["items"]
    ]
    tail = [f"<p>{escape(text)}</p>" for text in (message["tail"], _why_this(message)) if text]
    head = (
        f'<!doctype html><html lang="en"><head><meta charset="utf-8"><title>{escape(message["title"])}</title></head>'
    )
    return f"{head}<body>{''.join(parts + tail)}</body></html>"


def _facts(one: Mapping[str, Any]) -> list[str]:
    return [f"Where: {one['where']}", *minutes(one), f"Why now: {one['why']}"]


def _why_this(message: Mapping[str, Any]) -> str:
    return f"{message['shop']} reminds you of this; set-up says how and when you are reminded."
