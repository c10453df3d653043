"""MTConnect: probe, current and sample requests, and what of their documents a meter needs.

Source: MTConnect standard, parts 1 to 3, and its schemas MTConnectStreams 1.7 and 2.4. Elements are known by their
local names, so that every version of the namespace is read. Parsed by defusedxml with document types forbidden:
no entity is ever expanded.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal
from urllib.parse import quote
from xml.etree.ElementTree import Element, ParseError

from defusedxml import DefusedXmlException
from defusedxml.ElementTree import fromstring

from webapp.core.instants import InstantError, parse_instant
from webapp.feeds.faults import FeedFault, OutOfRange
from webapp.feeds.reconcile import Observation

ItemKind = Literal["timer", "execution", "speed"]
Fetch = Callable[[str], bytes]

_KINDS: dict[str, ItemKind] = {
    "ACCUMULATED_TIME": "timer",
    "EQUIPMENT_TIMER": "timer",
    "PROCESS_TIMER": "timer",
    "EXECUTION": "execution",
    "ROTARY_VELOCITY": "speed",
    "SPINDLE_SPEED": "speed",
}
MOST_AT_ONCE = 500


@dataclass(frozen=True)
class Item:
    """A data item of the device: its id, and what can be counted from it. `name` may be empty."""

    id: str
    kind: ItemKind
    type: str
    name: str = ""
    sub_type: str = ""


@dataclass(frozen=True)
class Stream:
    """A streams document: which run of the agent, its sequence numbers, and one item's observations in order."""

    instance: str
    first: int
    last: int
    next: int
    size: int
    created_ms: int | None
    observations: tuple[Observation, ...]


def probe(fetch: Fetch, url: str, wanted: str) -> Item:
    """The data item of that id or name. Raises FeedFault when it is not there, twice, or nothing to count with."""
    root = _document(fetch(f"{url}/probe"), "MTConnectDevices")
    found = [one for one in _data_items(root) if wanted in (one.get("id"), one.get("name"))]
    exact = [one for one in found if one.get("id") == wanted] or found
    choices = ", ".join(item.id for item in _countable(root)[:12]) or "none that a meter can count"
    if len(exact) != 1:
        told = "no data item" if not exact else "more than one data item"
        raise FeedFault(f"The agent has {told} «{wanted}».", f"Give the id of one of: {choices}.")
    item = _item(exact[0])
    if item is None:
        counts = f"{exact[0].get('type')} in {exact[0].get('units')}" if exact[0].get("units") else exact[0].get("type")
        raise FeedFault(f"«{wanted}» is {counts}, which no meter counts.", f"Give one of: {choices}.")
    return item


def countable(fetch: Fetch, url: str) -> list[Item]:
    """Every data item of the agent that a meter can count."""
    return _countable(_document(fetch(f"{url}/probe"), "MTConnectDevices"))


def _countable(root: Element) -> list[Item]:
    return [item for one in _data_items(root) if (item := _item(one)) is not None]


def _data_items(root: Element) -> list[Element]:
    return [one for one in root.iter() if _name(one) == "DataItem"]


def _item(one: Element) -> Item | None:
    """What a meter can count from; None for other types, for series of values, and for timers not in seconds."""
    kind = _KINDS.get(one.get("type", ""))
    if kind is None or one.get("representation", "VALUE") != "VALUE":
        return None
    if kind == "timer" and one.get("units", "SECOND") != "SECOND":
        return None
    return Item(one.get("id", ""), kind, one.get("type", ""), one.get("name", ""), one.get("subType", ""))


def current(fetch: Fetch, url: str, item: str) -> Stream:
    """The newest observation of an item, and where the sequence stands."""
    return _stream(fetch(f"{url}/current?path={_path(item)}"), item)


def sample(fetch: Fetch, url: str, item: str, start: int, count: int) -> Stream:
    """The observations of an item from a sequence number on. Raises OutOfRange when the agent has dropped it."""
    return _stream(fetch(f"{url}/sample?path={_path(item)}&from={start}&count={count}"), item)


def _path(item: str) -> str:
    return quote(f'//DataItem[@id="{item}"]', safe="")


def _document(body: bytes, wanted: str) -> Element:
    """The root of a document of that name. Raises FeedFault, or OutOfRange for the agent's error of that name."""
    try:
        root: Element = fromstring(body, forbid_dtd=True)
    except (ParseError, DefusedXmlException, ValueError, LookupError):
        raise FeedFault("The answer is no XML.", "Give the address of an MTConnect agent.") from None
    name = _name(root)
    if name == wanted:
        return root
    if name == "MTConnectError":
        errors = [one for one in root.iter() if one.get("errorCode") or _name(one) == "OutOfRange"]
        codes = {one.get("errorCode") or "OUT_OF_RANGE" for one in errors}
        told = "; ".join(" ".join("".join(one.itertext()).split()) for one in errors)[:200]
        fault = OutOfRange if "OUT_OF_RANGE" in codes else FeedFault
        raise fault(f"The agent refuses: {told or ', '.join(sorted(codes)) or 'no reason given'}.", "See its address.")
    raise FeedFault(f"The answer is {name}, not {wanted}.", "Give the address of an MTConnect agent.")


def _stream(body: bytes, item: str) -> Stream:
    root = _document(body, "MTConnectStreams")
    header = next((one for one in root if _name(one) == "Header"), None)
    if header is None:
        raise FeedFault("The answer has no header.", "Give the address of an MTConnect agent.")
    try:
        first, last, following = (int(header.get(f"{which}Sequence", "")) for which in ("first", "last", "next"))
        size = int(header.get("bufferSize", str(MOST_AT_ONCE)))
    except ValueError:
        raise FeedFault("The answer's sequence numbers are none.", "See to the agent: it is faulty.") from None
    instance = header.get("instanceId", "")
    made = [seen for one in root.iter() if one.get("dataItemId") == item and (seen := _observation(one))]
    made.sort(key=lambda one: one.sequence)
    created = _instant(header.get("creationTime", ""))
    return Stream(instance, first, last, following, max(size, 1), created, tuple(made))


def _observation(one: Element) -> Observation | None:
    """An observation; None when it has no time or sequence number, or is a statistic over several."""
    at = _instant(one.get("timestamp", ""))
    sequence = one.get("sequence", "")
    # The standard's sequence numbers are of 64 bits.
    if at is None or not (sequence.isdecimal() and len(sequence) <= 20) or one.get("statistic"):
        return None
    text = (one.text or "").strip()
    return Observation(int(sequence), at, _value(text), bool(one.get("resetTriggered")))


def _value(text: str) -> float | str | None:
    """A finite number, else the word; None for UNAVAILABLE and for numbers that are none."""
    if not text or text == "UNAVAILABLE":
        return None
    try:
        number = float(text)
    except ValueError:
        return text
    return number if math.isfinite(number) else None


def _instant(text: str) -> int | None:
    """Ms since 1970; a time without an offset is UTC, as the standard has it. None when it is no time."""
    try:
        return parse_instant(text)
    except InstantError:
        pass
    try:
        return parse_instant(f"{text}Z")
    except InstantError:
        return None


def _name(element: Element) -> str:
    """The name without its namespace."""
    return str(element.tag).rpartition("}")[2]
