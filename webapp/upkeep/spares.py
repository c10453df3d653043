"""Spares of a machine's parts: what is in the drawer, how fast it goes, when to order, how long it lasts."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from sqlalchemy.orm import Session

from webapp.core.dates import say_date
from webapp.core.instants import shop_date
from webapp.core.numbers import say, tidy
from webapp.core.stock import Use, days_left, observe, position, reorder_point
from webapp.records.state import Doc
from webapp.setup import definitions
from webapp.upkeep.lives import DAY_MS
from webapp.upkeep.recent import entries

LOOK_BACK_DAYS = 365
SERVICE = 0.95
"""How sure a spare is to be there while a delivery is on its way (common practice, no source)."""
LEVEL = 0.9
_USUAL_SPAN = 14.0
_WORDS = ("piece", "pair", "set", "bag", "roll", "pail", "box", "can", "bottle", "tube", "sheet", "pack", "drum", "jug")
_FARTHEST_DAYS = 730
# From fewer pieces or a shorter record than these no advice is better than the owner's own (our judgement).
_FEW_PIECES, _FEW_DAYS = 5, 28


@dataclass(frozen=True)
class Drawer:
    """The shop's spares on one day: definitions by id, the shop's state, and what was used when."""

    items: dict[str, dict[str, Any]]
    doc: Doc
    now_ms: int
    zone: str
    uses: dict[str, list[tuple[int, float]]]
    first_ms: dict[str, int]

    @property
    def today(self) -> date:
        return shop_date(self.now_ms, self.zone)


def open_drawer(session: Session, shop_doc: Doc, now_ms: int, zone: str) -> Drawer:
    """Read a year of changes and counts; the answer costs the same however old the shop is."""
    begin = now_ms - LOOK_BACK_DAYS * DAY_MS
    items = {row["id"]: row for row in definitions.list_all(session, "item")}
    uses: dict[str, list[tuple[int, float]]] = {}
    first: dict[str, int] = {}
    for ms, entry in entries(session, ("part.changed", "stock.counted"), begin):
        item = entry.body.get("item")
        if not item or ms > now_ms:
            continue
        first.setdefault(item, ms)
        if entry.kind == "part.changed":
            uses.setdefault(item, []).append((ms, float(entry.body.get("used", 1))))
    return Drawer(items, shop_doc, now_ms, zone, uses, first)


def spare(drawer: Drawer, item_id: str | None) -> dict[str, Any] | None:
    """The document of one spare, or None for a part without one."""
    item = drawer.items.get(item_id or "")
    if item is None:
        return None
    counted = drawer.doc["stock"].get(item["id"]) or {"count": None, "at": None}
    use = _use(drawer, item)
    lead, count = item.get("lead_days"), counted["count"]
    ordered = _ordered(drawer, item)
    point = reorder_point(use, lead, SERVICE) if lead and use.pieces else None
    line = item["reorder_at"] if point is None else point
    lasts = _lasts(drawer, use, count)
    return {
        "item": item["id"],
        "name": item["name"],
        "unit": item["unit"],
        "count": count,
        "counted_at": counted["at"],
        "ordered": ordered,
        "use": _use_told(use),
        "lead_days": lead,
        "service": SERVICE,
        "reorder_point": point,
        "reorder_at": item["reorder_at"],
        "order_now": count is not None and position(count, ordered["count"] if ordered else 0) <= line,
        "lasts": lasts,
        "say": _say(item, use, count, point, lasts, ordered),
        "said": _said(item, use, count) + _overdue(drawer, ordered),
    }


def _ordered(drawer: Drawer, item: dict[str, Any]) -> dict[str, Any] | None:
    """What is still to come, and the day on which the next of it is expected."""
    orders = drawer.doc.get("orders", {}).get(item["id"])
    if not orders:
        return None
    days = [one["expected"] for one in orders if one["expected"]]
    return {"count": tidy(sum(one["count"] for one in orders), 3), "expected": min(days, default=None)}


def _overdue(drawer: Drawer, ordered: dict[str, Any] | None) -> list[str]:
    expected = ordered and ordered["expected"]
    if not expected or date.fromisoformat(expected) >= drawer.today:
        return []
    day = say_date(date.fromisoformat(expected))
    return [f"What is on order was expected on {day}: ask the supplier, or count what has come."]


def _use(drawer: Drawer, item: dict[str, Any]) -> Use:
    """What was used since the item is known, at most a year back."""
    known = int(item["id"].replace("-", "")[:12], 16)  # a UUIDv7 begins with its ms (RFC 9562, 5.7)
    begin = max(drawer.now_ms - LOOK_BACK_DAYS * DAY_MS, min(known, drawer.first_ms.get(item["id"], known)))
    days = max((drawer.now_ms - begin) / DAY_MS, 1.0)
    rows = [((ms - begin) / DAY_MS, pieces) for ms, pieces in drawer.uses.get(item["id"], ())]
    inside = [(min(max(day, 0.0), days * (1 - 1e-12)), pieces) for day, pieces in rows]
    return observe(inside, days, max(item.get("lead_days") or _USUAL_SPAN, 7.0))


def _use_told(use: Use) -> dict[str, Any]:
    low, high = use.a_day_range(LEVEL)
    return {
        "pieces": tidy(use.pieces, 3),
        "days": tidy(use.days, 1),
        "a_week": tidy(use.a_day * 7, 3),
        "a_week_range": [tidy(low * 7, 3), tidy(high * 7, 3)],
        "level": LEVEL,
        "scatter": tidy(use.scatter, 2),
        "model": "Poisson" if use.scatter == 1 else "negative binomial",
    }


def _lasts(drawer: Drawer, use: Use, count: float | None) -> dict[str, Any] | None:
    """Days until the drawer is empty, at 10, 50 and 90 %, and their dates; None where nobody can tell."""
    left = None if count is None else days_left(use, max(count, 0))
    if left is None:
        return None
    days = [tidy(one, 1) for one in left]
    return {"days": days, "dates": [_date(drawer.today, one) for one in left]}


def _date(today: date, days: float) -> str | None:
    """The date in so many days; None beyond what anybody plans for."""
    return (today + timedelta(days=int(days))).isoformat() if days <= _FARTHEST_DAYS else None


def _say(
    item: dict[str, Any],
    use: Use,
    count: float | None,
    point: int | None,
    lasts: dict[str, Any] | None,
    ordered: dict[str, Any] | None,
) -> str:
    """The stock in a sentence."""
    if count is None:
        return "Never counted."
    told = [f"{_pieces(count, item['unit'])} in the drawer by the record"]
    if ordered:
        day = f", expected {say_date(date.fromisoformat(ordered['expected']))}" if ordered["expected"] else ""
        told.append(f"{say(ordered['count'])} on order{day}")
    a_month = f"about {say(use.a_day * 365.25 / 12)} used a month"
    told.append(a_month if use.pieces else f"none used in {use.days:.0f} days")
    if lasts and count > 0:
        dates = [say_date(date.fromisoformat(one)) if one else "later" for one in lasts["dates"]]
        until = f"until about {dates[1]} ({dates[0]} to {dates[2]})" if dates[1] != "later" else "for years"
        told.append(f"lasts {until}")
    if point is not None:
        told.append(f"order at {point} to be {SERVICE:.0%} sure over a delivery of {say(item['lead_days'])} days")
    return f"{', '.join(told)}."


def _pieces(count: float, unit: str) -> str:
    """ "3 pieces", "1 pair", "2.5 gal": what is measured has no plural. As `sayPieces` on the phone."""
    return (
        f"{say(count)} {unit}"
        if count == 1 or unit not in _WORDS
        else f"{say(count)} {unit}{'es' if unit[-1] == 'x' else 's'}"
    )


def _said(item: dict[str, Any], use: Use, count: float | None) -> list[str]:
    """What the figures cannot carry."""
    said = []
    if count is None:
        said.append("Count the drawer once: from then on each change takes from it.")
    elif count < 0:
        said.append("The record has fewer than none: count the drawer.")
    if not item.get("lead_days"):
        said.append("Give the days from order to delivery on the item, and the reorder point is worked out from use.")
    if use.days < _FEW_DAYS:
        said.append(f"Only {use.days:.0f} days of record: the use rate is a guess yet.")
    elif 0 < use.pieces < _FEW_PIECES:
        said.append(f"Only {say(use.pieces)} used in {use.days:.0f} days: the rate is rough, see its range.")
    if use.scatter > 1:
        said.append(f"Use comes in bursts (variance {use.scatter:.1f} times the mean), so more is kept in hand.")
    return said
