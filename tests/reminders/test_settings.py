"""How a person is reminded, set by that person: nothing else of set-up, and nobody else's that is the owner's."""

from __future__ import annotations

from typing import Any

import pytest

from tests.problem import assert_problem
from tests.reminders.conftest import Office
from webapp.database import writing
from webapp.security.devices import let_owner_in
from webapp.setup import definitions


def put(office: Office, id_: str, body: Any, revision: int | None = 1, token: str | None = None) -> Any:
    headers = office.shop.headers(token) if token else office.shop.headers()
    more: dict[str, str] = {} if revision is None else {"If-Match": f'"{revision}"'}
    return office.app.test_client().put(f"/api/v1/reminders/settings/{id_}", json=body, headers=headers | more)


def own(office: Office, id_: str) -> dict[str, Any]:
    return dict(office.shop.get(f"/definitions/person/{id_}").get_json())


def test_a_member_sets_how_they_are_reminded_and_nothing_else(office: Office) -> None:
    ben = office.person("Ben Roe", initials="BR")
    wanted = {
        "channels": ["mail"],
        "mail": "ben@quill.example",
        "quiet": {"begins": "17:00", "ends": "08:00"},
        "about": ["work"],
    }
    answer = put(office, ben, wanted)
    assert answer.status_code == 200 and answer.headers["ETag"] == '"2"'
    row = own(office, ben)
    assert row["reminders"] == wanted and (row["name"], row["initials"], row["role"]) == ("Ben Roe", "BR", "member")
    (entry,) = office.shop.get("/records", limit=1).get_json()["entries"]
    assert entry["kind"] == "definition.revised" and entry["by"] == ben, "it is theirs in the record"
    assert put(office, ben, {}, 2).get_json()["reminders"] == {}
    for more in ({"role": "owner"}, {"reminders": {}}, {"pin": None}):
        assert_problem(put(office, ben, wanted | more, 3), 422, next(iter(more)))
    assert own(office, ben)["role"] == "member"


def test_an_owners_settings_take_the_owner(office: Office) -> None:
    assert_problem(put(office, office.shop.owner, {"about": ["none"]}), 403)
    with office.app.app_context(), writing() as session:
        let_owner_in(session, office.shop.device, office.shop.owner)
    assert put(office, office.shop.owner, {"about": ["shop"]}).status_code == 200


def test_a_newer_revision_is_shown_and_not_overwritten(office: Office) -> None:
    ben = office.person("Ben Roe")
    assert_problem(put(office, ben, {}, None), 428)
    assert put(office, ben, {"about": ["none"]}).status_code == 200
    assert assert_problem(put(office, ben, {"about": ["work"]}), 412)["now"]["reminders"] == {"about": ["none"]}
    assert own(office, ben)["reminders"] == {"about": ["none"]}


def test_nobody_of_this_shop_has_settings(office: Office) -> None:
    for id_ in (office.shop.mill, "me"):
        assert_problem(put(office, id_, {}), 404)
    ben = office.person("Ben Roe")
    with office.app.app_context(), writing() as session:
        row = definitions.get(session, "person", ben)
        assert row
        definitions.update(session, "person", ben, {"name": "Ben Roe"}, 1, office.shop.owner, retired=True)
    assert_problem(put(office, ben, {}, 2), 404)


@pytest.mark.parametrize(("body", "field"), [
    ({"channels": ["mail"]}, "mail"), ({"channels": ["pigeon"]}, "channels"), ({"mail": "ben at home"}, "mail"),
    ({"quiet": {"begins": "25:00", "ends": "08:00"}}, "quiet"), ({"about": ["rest"]}, "about"), ({"machines": ["mill"]}, "machines"),
])  # fmt: skip
def test_what_cannot_be_is_refused_by_field(office: Office, body: dict[str, Any], field: str) -> None:
    problem = assert_problem(put(office, office.person("Ben Roe"), body), 422)
    assert problem["errors"][0]["field"].startswith(field) and problem["errors"][0]["mend"]
