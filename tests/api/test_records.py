"""The record as it is read back: by whom, when, of which metal, what belongs to a finding, and an entry's seal."""

from __future__ import annotations

import hashlib
import json
from typing import Any

import pytest

from tests.conftest import Shop
from webapp.records.reading import METAL_KINDS
from webapp.setup.ids import new_id

OTHER = "Ben Stope"


def ids(shop: Shop, **asked: Any) -> list[str]:
    """The ids of every page, newest first."""
    found: list[str] = []
    page: dict[str, Any] = {"more": True, "entries": []}
    while page["more"]:
        before = {"before": page["entries"][-1]["order"]} if page["entries"] else {}
        answer = shop.get("/records", **asked, **before)
        assert answer.status_code == 200, answer.get_json()
        page = answer.get_json()
        found += [entry["id"] for entry in page["entries"]]
    return found


def at(day: str, clock: str = "12:00:00.000-05:00") -> str:
    return f"{day}T{clock}"


def batch(shop: Shop, alloy: str | None, **over: Any) -> dict[str, Any]:
    body = {"adds": {shop.spindle: 1}} | ({"alloy": alloy} if alloy else {})
    return shop.entry("batch.run", body, **over)


def sent(shop: Shop, *entries: dict[str, Any]) -> list[str]:
    results = shop.push(*entries).get_json()["results"]
    assert {row["outcome"] for row in results} == {"stored"}, results
    return [entry["id"] for entry in entries]


def test_days_are_the_shops_and_both_count(either_shop: Shop) -> None:
    """23:59 on the wall in Chicago is the next day in UTC."""
    shop = either_shop
    times = [at("2026-10-04", "23:59:59.000-05:00"), at("2026-10-05", "00:00:00.000-05:00"),
             at("2026-10-06", "23:59:59.999-05:00"), at("2026-10-07", "00:00:00.000-05:00")]  # fmt: skip
    made = sent(shop, *(shop.note(time, at=time) for time in times))
    assert ids(shop, kind="note.made", **{"from": "2026-10-05", "to": "2026-10-06"}) == [made[2], made[1]]
    assert ids(shop, kind="note.made", to="2026-10-04") == [made[0]]
    assert ids(shop, kind="note.made", **{"from": "2026-10-07"}) == [made[3]]


def test_by_person_machine_and_the_shops_own(either_shop: Shop) -> None:
    shop = either_shop
    who = new_id()
    with shop.app.app_context():
        from webapp.database import writing
        from webapp.setup import definitions

        with writing() as session:
            definitions.create(session, "person", {"name": OTHER}, shop.owner, id_=who)
    mine, theirs, shops = sent(shop, shop.note(), shop.note(by=who), shop.note(machine=None, by=who))
    assert ids(shop, person=who, limit=1) == [shops, theirs]
    assert ids(shop, kind="note.made", machine=shop.mill) == [theirs, mine]
    assert ids(shop, kind="note.made", machine="shop") == [shops]
    assert ids(shop, person=who, machine=shop.mill) == [theirs]


def test_by_metal_in_any_case_and_as_amended(either_shop: Shop) -> None:
    shop = either_shop
    brass, steel, wrong = batch(shop, "C36000"), batch(shop, "A2 tool steel"), batch(shop, None)
    part = shop.entry("part.changed", {"part": shop.blade, "reason": "Worn", "material": "C36000"}, machine=shop.saw)
    word = shop.note("C36000 came in")
    right = {"adds": {shop.spindle: 1}, "alloy": "C36000"}
    mend = shop.entry("entry.amended", {"entry": wrong["id"], "kind": "batch.run", "body": right, "why": "left out"})
    sent(shop, brass, steel, wrong, part, word, mend)
    assert ids(shop, alloy="C36000") == [part["id"], wrong["id"], brass["id"]]
    assert ids(shop, alloy="c36000", limit=2) == [part["id"], wrong["id"], brass["id"]]
    assert ids(shop, alloy="C36000", kind="batch.run") == [wrong["id"], brass["id"]]
    assert ids(shop, alloy="C3600") == []
    assert ids(shop, alloy="C36%") == [] and ids(shop, alloy="C3600_") == []
    assert ids(shop, alloy="A2 tool steel") == [steel["id"]]
    assert ids(shop, alloy='"') == []


def test_every_kind_that_names_a_metal_is_looked_at() -> None:
    assert set(METAL_KINDS) == {"batch.run", "part.changed", "hazard.noted", "exposure.measured", "chips.collected"}


def story(shop: Shop) -> dict[str, dict[str, Any]]:
    """A finding with everything that can come of it, and another at the same machine that has nothing to do with it."""
    walked = {"checklist": shop.checklist, "revision": 1, "form": "start-up", "started_at": at("2026-10-05"),
              "seconds": 60, "outcome": "fit", "checks": [{"check": new_id(), "answer": "not ok", "stop": False}]}  # fmt: skip
    made = {"round": shop.entry("round.done", walked)}
    made["finding"] = shop.entry("finding.opened", {"text": "Drips", "stop": False, "round": made["round"]["id"]})
    made["other"] = shop.entry("finding.opened", {"text": f"Not {made['finding']['id']}", "stop": True})
    of = {"finding": made["finding"]["id"]}
    made["tag"] = shop.entry("tag.on", {"why": "Drips"} | of)
    made["other tag"] = shop.entry("tag.on", {"why": "Loose", "finding": made["other"]["id"]})
    made["task"] = shop.entry("task.raised", {"title": "New seal"} | of)
    made["put off"] = shop.entry("task.deferred", {"task": made["task"]["id"], "to": "2026-11-01", "why": "no seal"})
    made["done"] = shop.entry("task.done", {"task": made["task"]["id"], "minutes": 30})
    made["off"] = shop.entry("tag.off", {"tag": made["tag"]["id"], "done": "sealed"})
    made["closed"] = shop.entry("finding.closed", {"done": "sealed"} | of)
    made["other off"] = shop.entry("tag.off", {"tag": made["other tag"]["id"], "done": "tightened"})
    return made


def test_what_belongs_to_a_finding(either_shop: Shop) -> None:
    shop = either_shop
    made = story(shop)
    sent(shop, *made.values())
    belongs = ("closed", "off", "done", "put off", "task", "tag", "finding", "round")
    finding = made["finding"]["id"]
    assert ids(shop, finding=finding, limit=3) == [made[name]["id"] for name in belongs]
    assert ids(shop, finding=finding, kind="tag.on") == [made["tag"]["id"]]
    assert ids(shop, finding=made["other"]["id"]) == [made[name]["id"] for name in ("other off", "other tag", "other")]
    assert ids(shop, finding=made["tag"]["id"]) == [] and ids(shop, finding=new_id()) == []


def test_a_page_is_the_same_whichever_way_it_is_cut(shop: Shop) -> None:
    sent(shop, *(batch(shop, ("C36000", "6061", None)[n % 3]) for n in range(23)))
    whole = ids(shop, alloy="6061", limit=500)
    assert len(whole) == 8 and ids(shop, alloy="6061", limit=1) == whole == ids(shop, alloy="6061", limit=3)


def test_an_entrys_seal_can_be_worked_out_again(either_shop: Shop) -> None:
    shop = either_shop
    first, second = sent(shop, shop.note("one"), shop.note("two"))
    sent(shop, shop.entry("entry.voided", {"entry": second, "why": "twice"}))
    told = [shop.get(f"/records/{id_}").get_json() for id_ in (first, second)]
    for one in told:
        assert hashlib.sha256((one["previous"] + one["text"]).encode()).hexdigest() == one["chain"]
        assert json.loads(one["text"])["body"] == one["body"] and one["device"] == "script"
    assert told[1]["previous"] == told[0]["chain"] and told[1]["position"] == told[0]["position"] + 1
    assert told[0]["mendings"] == [] and told[1]["voided"]
    assert [(row["kind"], row["body"]["why"]) for row in told[1]["mendings"]] == [("entry.voided", "twice")]


def test_the_first_entry_of_all_stands_on_noughts(shop: Shop) -> None:
    oldest = shop.get("/records", limit=500).get_json()["entries"]
    first = min(oldest, key=lambda entry: entry["position"])
    told = shop.get(f"/records/{first['id']}").get_json()
    assert told["position"] == 1 and told["previous"] == "0" * 64
    assert hashlib.sha256((told["previous"] + told["text"]).encode()).hexdigest() == told["chain"]


@pytest.mark.parametrize("path", ["/records", "/records/{id}"])
def test_a_stranger_reads_nothing(shop: Shop, path: str) -> None:
    assert shop.app.test_client().get("/api/v1" + path.format(id=new_id())).status_code == 401
