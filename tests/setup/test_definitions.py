"""Definitions over the API: revisions, clashes shown and never overwritten, bad input named."""

from __future__ import annotations

import threading
from typing import Any

import pytest
from sqlalchemy import select, update

from tests.conftest import Shop
from tests.problem import assert_problem
from webapp.database import db, writing
from webapp.records.models import Entry
from webapp.records.verify import verify
from webapp.security.devices import let_owner_in
from webapp.setup import definitions
from webapp.setup.models import DefinitionRevision


@pytest.fixture
def owned(shop: Shop) -> Shop:
    """The small shop with the owner signed in on the scripted device."""
    with shop.app.app_context(), writing() as session:
        let_owner_in(session, shop.device, shop.owner)
    return shop


def call(shop: Shop, method: str, path: str, body: Any = None, **headers: str) -> Any:
    client = shop.app.test_client()
    return client.open(f"/api/v1{path}", method=method, json=body, headers=shop.headers() | headers)


def test_an_edit_names_the_revision_it_read(owned: Shop) -> None:
    path = f"/definitions/machine/{owned.saw}"
    read = call(owned, "GET", path)
    body = read.get_json()
    assert read.headers["ETag"] == '"1"'
    done = call(owned, "PUT", path, body | {"name": "Saw by the door"}, **{"If-Match": read.headers["ETag"]})
    assert (done.status_code, done.get_json()["revision"], done.headers["ETag"]) == (200, 2, '"2"')
    names = [row["body"]["name"] for row in call(owned, "GET", f"{path}/revisions").get_json()]
    assert names == ["Saw by the door", "Band saw"]


def test_a_clash_shows_what_is_there_now_and_overwrites_nothing(owned: Shop) -> None:
    path = f"/definitions/machine/{owned.saw}"
    body = call(owned, "GET", path).get_json()
    call(owned, "PUT", path, body | {"name": "first"}, **{"If-Match": '"1"'})
    clash = call(owned, "PUT", path, body | {"name": "second"}, **{"If-Match": '"1"'})
    assert assert_problem(clash, 412, "If-Match")["now"]["name"] == "first"
    assert call(owned, "GET", path).get_json()["name"] == "first"


def test_an_edit_without_the_revision_is_not_taken(owned: Shop) -> None:
    path = f"/definitions/machine/{owned.saw}"
    assert_problem(call(owned, "PUT", path, call(owned, "GET", path).get_json()), 428, "If-Match")


def test_of_two_writers_at_once_one_passes(owned: Shop) -> None:
    path = f"/definitions/machine/{owned.saw}"
    body = call(owned, "GET", path).get_json()
    statuses: list[int] = []

    def work(name: str) -> None:
        statuses.append(call(owned, "PUT", path, body | {"name": name}, **{"If-Match": '"1"'}).status_code)

    threads = [threading.Thread(target=work, args=(f"writer {n}",)) for n in range(5)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(statuses) == [200, 412, 412, 412, 412]


def test_every_edit_stands_in_the_record_and_its_chain(owned: Shop) -> None:
    made = call(owned, "POST", "/definitions/bay", {"name": "By the window"}).get_json()
    with owned.app.app_context():
        last = db.session.execute(select(Entry).order_by(Entry.position.desc()).limit(1)).scalar_one()
        assert last.kind == "definition.revised" and made["id"] in last.document
        assert verify(db.session()).whole


def test_an_altered_definition_is_found(owned: Shop) -> None:
    with owned.app.app_context():
        assert definitions.faults(db.session()) == []
        db.session.execute(update(DefinitionRevision).values(body="{}"))
        assert definitions.faults(db.session())
        db.session.rollback()


def test_only_the_owner_sets_up(shop: Shop) -> None:
    assert_problem(call(shop, "POST", "/definitions/bay", {"name": "x"}), 403)
    assert_problem(call(shop, "POST", "/library/machines/cnc_mill/stand", {"name": "x"}), 403)


RULE = {"every": {"days": 7}}
TASK = {"name": "Oil", "rule": RULE, "why": "wear", "source": "common practice, no source", "start": "2026-01-05"}
BAND = {"act_low": 8, "act_high": 6}
CHECK = {"id": "01234567-89ab-7def-8123-456789abcdef", "text": "Look", "why": "x", "source": "x"}
BAD: list[tuple[str, Any, str]] = [
    ("machine", {}, "name"),
    ("machine", {"name": ""}, "name"),
    ("machine", {"name": "Mill", "mters": []}, "mters"),
    ("machine", {"name": "Mill", "meters": [{"id": "x", "kind": "spindle_hours", "name": "h", "unit": "h"}]}, "meters.0.id"),
    ("machine", {"name": "Mill", "meters": [{"kind": "laps"}]}, "meters.0.kind"),
    ("machine", {"name": "Mill", "bay": "01234567-89ab-7def-8123-456789abcdef"}, "bay"),
    ("machine", {"name": "Mill", "fluids": [{"name": "c", "kind": "coolant", "capacity": 0, "unit": "L"}]}, "fluids.0.capacity"),
    ("shop", {"name": "Second", "time_zone": "America/Chicago"}, "type"),
    ("shop", {"name": "x", "time_zone": "Mars/Olympus"}, "time_zone"),
    ("task", TASK | {"rule": {}}, "rule"),
    ("task", TASK | {"rule": {"every": {"moons": 3}}}, "rule.every"),
    ("task", TASK | {"start": "soon"}, "start"),
    ("task", TASK | {"minutes": -1}, "minutes"),
    ("task", TASK | {"machine": "01234567-89ab-7def-8123-456789abcdef"}, "machine"),
    ("checklist", {"machine": "MILL", "name": "s", "form": "hourly", "checks": []}, "form"),
    ("checklist", {"machine": "MILL", "name": "s", "form": "weekly", "checks": [CHECK | {"band": BAND}]}, "checks.0.band.act_high"),
    ("person", {"name": "Bo", "role": "king"}, "role"),
    ("item", {"name": "Blade", "kind": "blade", "reorder_at": "two"}, "reorder_at"),
]  # fmt: skip


@pytest.mark.parametrize(("type_", "body", "field"), BAD, ids=[f"{case[0]} {case[2]}" for case in BAD])
def test_bad_definitions_name_field_and_mend(owned: Shop, type_: str, body: Any, field: str) -> None:
    if body.get("machine") == "MILL":
        body = body | {"machine": owned.mill}
    problem = assert_problem(call(owned, "POST", f"/definitions/{type_}", body), 422)
    assert any(error["field"].startswith(field) for error in problem["errors"]), problem["errors"]


def test_unknown_types_ids_and_starters_are_404(owned: Shop) -> None:
    assert_problem(call(owned, "GET", "/definitions/gadget"), 404, "type")
    assert_problem(call(owned, "GET", f"/definitions/machine/{owned.owner}"), 404, "id")
    assert_problem(call(owned, "POST", "/library/machines/time_machine/stand", {"name": "x"}), 404, "key")


def test_a_starter_stands_with_all_that_belongs_to_it(owned: Shop) -> None:
    machine = call(owned, "POST", "/library/machines/band_saw/stand", {"name": "Saw 2"})
    assert machine.status_code == 201
    machine = machine.get_json()
    lists = [row for row in call(owned, "GET", "/definitions/checklist").get_json() if row["machine"] == machine["id"]]
    tasks = [row for row in call(owned, "GET", "/definitions/task").get_json() if row["machine"] == machine["id"]]
    assert "start-up" in {row["form"] for row in lists}
    assert {task["checklist"] for task in tasks if task["checklist"]} <= {row["id"] for row in lists}


def test_every_starter_of_the_library_can_stand(owned: Shop) -> None:
    """The library's shapes and the definitions' schemas agree, in both systems of units."""
    starters = call(owned, "GET", "/library/machines").get_json()
    for starter in starters:
        answer = call(owned, "POST", f"/library/machines/{starter['key']}/stand", {"name": starter["name"]})
        assert answer.status_code == 201, (starter["key"], answer.get_json())
    shop = call(owned, "GET", "/definitions/shop").get_json()[0]
    call(
        owned,
        "PUT",
        f"/definitions/shop/{shop['id']}",
        shop | {"units": "metric"},
        **{"If-Match": f'"{shop["revision"]}"'},
    )
    for starter in starters:
        answer = call(owned, "POST", f"/library/machines/{starter['key']}/stand", {"name": starter["name"]})
        assert answer.status_code == 201, (starter["key"], answer.get_json())


def test_a_shop_chooses_whose_limits_apply(owned: Shop) -> None:
    body = call(owned, "GET", "/definitions/shop").get_json()[0]
    path = f"/definitions/shop/{body['id']}"
    chosen = body | {"authorities": ["us_osha", "us_niosh"]}
    assert call(owned, "PUT", path, chosen, **{"If-Match": '"1"'}).get_json()["authorities"] == ["us_osha", "us_niosh"]
    unknown = call(owned, "PUT", path, chosen | {"authorities": ["us_osha", "mars"]}, **{"If-Match": '"2"'})
    fault = assert_problem(unknown, 422, "authorities.1")["errors"][0]
    assert "us_osha" in fault["mend"] and "mars" in fault["problem"]
    assert_problem(
        call(owned, "PUT", path, chosen | {"authorities": ["eu", "eu"]}, **{"If-Match": '"2"'}), 422, "authorities"
    )
