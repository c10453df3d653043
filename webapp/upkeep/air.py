"""Air, protection and hazards in the upkeep document: by machine, and for the shop."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from datetime import date
from typing import Any

from sqlalchemy.orm import Session

from webapp.core import risk
from webapp.core.instants import parse_instant, shop_date
from webapp.records.kinds.hazards import KILOGRAMS
from webapp.records.state import r6
from webapp.setup import definitions
from webapp.upkeep import crew, exposures
from webapp.upkeep.exhaust import DAY_MS, WINDOW_DAYS, exhaust
from webapp.upkeep.recent import entries
from webapp.upkeep.shop import Shop

Doc = dict[str, Any]
LOG_KINDS = ("hazard.noted", "chips.collected")


def machines(session: Session, shop: Shop) -> dict[str, Doc]:
    """Machine id -> {exhaust, hazards (ids of the open ones), people: {asked, lacking}}."""
    checks = _checks(session)
    people, day_of = _people(session), _day_of(shop)
    kept = shop.doc(None).get("people", {})
    found = {}
    for key, machine in shop.machines.items():
        found[key] = {
            "exhaust": exhaust(session, shop, machine, checks.get(key, {})),
            "hazards": sorted(shop.doc(key).get("hazards", {})),
            "people": crew.lacking(kept, [one["id"] for one in people], key, shop.today, day_of),
        }
    return found


def document(session: Session, shop: Shop, by_machine: dict[str, Doc]) -> Doc:
    """The shop's own: {authorities, exposures, hazards, people, leads, chips, log}. `by_machine`: of `machines`."""
    doc, day_of = shop.doc(None), _day_of(shop)
    authorities = exposures.chosen(next(iter(definitions.list_all(session, "shop")), {}))
    return {
        "authorities": authorities,
        "exposures": exposures.measured(doc.get("exposures", {}), authorities, shop.today, day_of),
        "hazards": _hazards(shop, day_of),
        "people": _pages(session, shop, by_machine, day_of),
        "chips": doc.get("chips", {}),
        "log": _log(session, shop),
    }


def _day_of(shop: Shop) -> Callable[[str], str]:
    return lambda at: shop_date(parse_instant(at), shop.zone).isoformat()


def _people(session: Session) -> list[Doc]:
    return [one for one in definitions.list_all(session, "person") if not one["retired"]]


def _checks(session: Session) -> dict[str, dict[str, Doc]]:
    """The checks of each machine that read something, by quantity."""
    found: dict[str, dict[str, Doc]] = {}
    for one in definitions.list_all(session, "checklist"):
        if not one["retired"]:
            reading = {check["quantity"]: check for check in one["checks"] if check.get("quantity")}
            found.setdefault(one["machine"], {}).update(reading)
    return found


def _pages(session: Session, shop: Shop, by_machine: dict[str, Doc], day_of: Callable[[str], str]) -> dict[str, Doc]:
    """Each person's page. Whoever leads (role owner) also reads of the others whom a machine lacks, where the shop
    signs people off for it."""
    kept, names = shop.doc(None).get("people", {}), {key: one["name"] for key, one in shop.machines.items()}
    people = _people(session)
    pages = {one["id"]: crew.person(kept.get(one["id"], {}), one["id"], names, shop.today, day_of) for one in people}
    without: dict[str, list[str]] = {one["id"]: [] for one in people}
    for key, machine in by_machine.items():
        for one in machine["people"]["lacking"]:
            without[one["person"]].append(key)
    told = [{"person": one["id"], "machines": without[one["id"]]} for one in people if without[one["id"]]]
    for one in people:
        pages[one["id"]] |= {"without": without[one["id"]], "leads": one["role"] == "owner"}
        pages[one["id"]]["told"] = [row for row in told if row["person"] != one["id"]] if one["role"] == "owner" else []
    return pages


def _hazards(shop: Shop, day_of: Callable[[str], str]) -> list[Doc]:
    """Every open hazard of the shop and its machines in use, the oldest first, with its risk in words."""
    found = []
    for place in (None, *shop.machines):
        for key, row in shop.doc(place).get("hazards", {}).items():
            days = (shop.today - date.fromisoformat(day_of(row["at"]))).days
            found.append(row | {"id": key, "machine": place, "days": days, "risk": _risk(row["risk"], shop.today)})
    return sorted(found, key=lambda one: (one["at"], one["id"]))


def _risk(kept: Doc | None, today: date) -> Doc | None:
    if not kept:
        return None
    cells = {
        name: risk.cell(kept[name]["severity"], kept[name]["probability"]) if kept.get(name) else None
        for name in ("before", "after")
    }
    told: Doc = {name: cell and {"code": cell.code, "level": cell.level} for name, cell in cells.items()}
    told |= {name: kept[name] for name in ("agreed_by", "review_on")}
    return told | {"review_late": date.fromisoformat(kept["review_on"]) < today, "source": risk.SOURCE}


def _log(session: Session, shop: Shop) -> Doc:
    """The last 52 weeks: hazards noted, near misses and first aid, by process and by what was seen; chips in kg."""
    found = [one for ms, one in entries(session, LOG_KINDS, shop.now_ms - WINDOW_DAYS * DAY_MS) if ms <= shop.now_ms]
    noted = [one.body for one in found if one.kind == "hazard.noted"]
    chips: dict[str, Doc] = {}
    for one in found:
        if one.kind == "chips.collected":
            body = one.body
            row = chips.setdefault(body["alloy"], {"scrap": 0, "waste": 0, "dust": 0, "times": 0})
            weight = body["weight"] * KILOGRAMS[body["unit"]]
            row[body["to"]] = r6(row[body["to"]] + weight)
            row["dust"] = r6(row["dust"] + weight) if body.get("dust") else row["dust"]
            row["times"] += 1
    return {
        "weeks": WINDOW_DAYS // 7,
        "noted": len(noted),
        "near_misses": sum(bool(body.get("near_miss")) for body in noted),
        "first_aid": sum(bool(body.get("first_aid")) for body in noted),
        "by_process": dict(Counter(body["process"] for body in noted).most_common()),
        "by_seen": dict(Counter(word for body in noted for word in body.get("seen") or ()).most_common()),
        "chips": chips,
    }
