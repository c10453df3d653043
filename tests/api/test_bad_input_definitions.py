"""Definitions mauled at random: refused by name with nothing changed, or taken and then read by everything."""

from __future__ import annotations

import json
import shutil
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.api.intact import assert_sound, picture, unchanged
from tests.conftest import Shop, set_up
from tests.problem import assert_problem
from webapp import create_app
from webapp.config import Settings
from webapp.database import db, writing
from webapp.security.devices import let_owner_in
from webapp.setup.ids import new_id
from webapp.setup.schemas import METER_KINDS

SOURCE = {"why": "wear", "source": "common practice, no source"}


@pytest.fixture(scope="module")
def shop(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    """One small shop with the owner signed in, sound at the end."""
    place = Settings(data=tmp_path_factory.mktemp("bad"), plain=True)
    shutil.copy(sqlite_template, place.database_url.removeprefix("sqlite:///"))
    app = create_app(place)
    made = set_up(app)
    with app.app_context(), writing() as session:
        let_owner_in(session, made.device, made.owner)
    made.push(made.added(12.5), made.entry("reading.taken", {"quantity": "coolant.strength", "value": 7, "unit": "%"}))
    yield made
    assert_sound(app)
    with app.app_context():
        db.session.remove()
        db.engine.dispose()


def post(shop: Shop, type_: str, body: Any) -> Any:
    return shop.app.test_client().post(f"/api/v1/definitions/{type_}", json=body, headers=shop.headers())


def strict(text: str) -> Any:
    """JSON as browsers read it: no NaN, no Infinity."""

    def no(name: str) -> Any:
        raise AssertionError(f"{name} in an answer")

    return json.loads(text, parse_constant=no)


def read_everything(shop: Shop) -> None:
    """What phones and screens ask for still answers, in JSON that a browser can read."""
    for path in ("/sync/snapshot", "/sync/changes", "/records", "/due", "/upkeep", "/feeds"):
        answer = shop.get(path)
        assert answer.status_code == 200, (path, answer.get_data(as_text=True)[:400])
        strict(answer.get_data(as_text=True))


ODD = (
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text(max_size=8)
    | st.sampled_from([10**400, -(10**400), 1e308, 1e-308, 5e-324, "1970-01-01", "2100-01-01", "\0", "\ud800", [], {}, [[]]])
)  # fmt: skip
KIND = st.sampled_from(METER_KINDS)
AMOUNT = ODD | st.sampled_from([1, 0.5, 250])
DATE = ODD | st.sampled_from(["2026-01-05", "2199-12-31", "2000-01-01"])
RRULE = st.sampled_from([
    "FREQ=MONTHLY;BYDAY=1MO", "FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=29", "FREQ=DAILY;COUNT=0", "FREQ=DAILY;INTERVAL=0",
    "FREQ=SECONDLY", "FREQ=WEEKLY;UNTIL=20260101T000000Z", "FREQ=YEARLY;BYWEEKNO=54", "FREQ=MONTHLY;BYSETPOS=0", "FREQ=",
    "FREQ=DAILY;COUNT=99999999999", "RRULE:FREQ=DAILY", "FREQ=MONTHLY;BYMONTHDAY=31;BYDAY=+5FR", "FREQ=DAILY;BYDAY=1MO",
])  # fmt: skip
RULE = st.recursive(
    st.fixed_dictionaries({"meter": KIND | ODD, "every": AMOUNT})
    | st.fixed_dictionaries({"every": st.dictionaries(st.sampled_from(["days", "months", "years", "moons"]), AMOUNT, max_size=2)})
    | st.fixed_dictionaries({"rrule": RRULE | ODD, "anchor": DATE})
    | st.fixed_dictionaries({"each": st.just("start-up") | ODD})
    | st.fixed_dictionaries({"after": st.just("tag.off") | ODD, "days": AMOUNT})
    | st.fixed_dictionaries({"after": st.just("part.changed"), "part": st.just("blade"), "meter": KIND, "at": st.lists(AMOUNT, max_size=3)})
    | st.fixed_dictionaries({"when": st.dictionaries(st.sampled_from(["reading", "below", "above"]), AMOUNT | st.just("coolant.strength"))})
    | ODD,
    lambda inner: st.fixed_dictionaries({"first_of": st.lists(inner, max_size=4)}),
    max_leaves=6,
)  # fmt: skip


@given(rule=RULE, minutes=AMOUNT, start=DATE, meter_start=st.just({}) | st.dictionaries(st.text(max_size=4), ODD) | ODD)
@settings(max_examples=80, deadline=None, suppress_health_check=list(HealthCheck))
def test_due_rules_are_refused_by_name_or_can_be_judged(
    shop: Shop, rule: Any, minutes: Any, start: Any, meter_start: Any
) -> None:
    task = {"machine": shop.mill, "name": "Look", "rule": rule, "minutes": minutes, "start": start, **SOURCE}
    send(shop, "task", task | {"meter_start": meter_start})


def send(shop: Shop, type_: str, body: Any) -> None:
    """Post a definition that may be bad; look at everything afterwards."""
    before = picture(shop.app)
    answer = post(shop, type_, body)
    if answer.status_code == 201:
        read_everything(shop)
        made = strict(answer.get_data(as_text=True))
        gone = shop.app.test_client().put(
            f"/api/v1/definitions/{type_}/{made['id']}",
            json=made | {"retired": True},
            headers=shop.headers() | {"If-Match": '"1"'},
        )
        assert gone.status_code == 200, "what was taken once is taken again"
    else:
        assert_problem(answer, 422 if b"JSON" not in answer.data else answer.status_code)
        assert picture(shop.app) == before


def whole(shop: Shop) -> dict[str, Any]:
    """A definition of every type that can be made again and again."""
    ids = [new_id() for _ in range(5)]
    band = {"stop_low": 4, "act_low": 6, "target": 8, "act_high": 10, "stop_high": 12}
    check = {"id": ids[3], "text": "Strength", "how": "refractometer", "answer": "reading", "stop": True, **SOURCE}
    check |= {"quantity": "coolant.strength", "unit": "%", "band": band, "factor": 1.2, "photo": False, "caution": None}
    return {
        "bay": {"name": "By the window"},
        "machine": {
            "name": "Mill 3", "starter": None, "family": "mill", "bay": None, "maker": "", "model": None, "serial": "1",
            "cabinet": {"volume": {"value": 12, "unit": "ft3"}, "exhaust": {"value": 100, "unit": "cfm"}, "mixing": 3, "posted": 120},
            "notes": "n", "cautions": ["guard"],
            "meters": [{"id": ids[0], "kind": "spindle_hours", "name": "Spindle hours", "unit": "h"}],
            "parts": [{"id": ids[1], "kind": "cutter", "name": "Cutter 1", "meter": "spindle_hours", "item": shop.blades, "grade": "TiAlN", "planned_cost": 30, "unplanned_cost": 90}],
            "feed": {"kind": "mtconnect", "url": "http://192.168.1.20:5000", "data_item": "spindle", "meter": ids[0]},
            "fluids": [
                {"id": ids[2], "kind": "coolant", "name": "Coolant", "capacity": 40, "unit": "gal", "band": band, "factor": 1.1,
                 "quantity": "coolant.strength", "target": 8, "jug": 1, "grade": 32, "hardness": {"value": 120, "unit": "ppm"},
                 "sump": {"unit": "in", "shape": "flat", "length": 40, "width": 24}},
                {"id": ids[4], "kind": "coolant", "name": "Second", "capacity": 40, "unit": "gal",
                 "sump": {"unit": "in", "table": [[2, 8], [4, 17], [9, 40]]}},
            ],
        },
        "checklist": {"machine": shop.mill, "name": "Weekly", "form": "weekly", "checks": [check]},
        "item": {"name": "Belt", "kind": "belt", "unit": "piece", "reorder_at": 2, "lead_days": 9, "cost": 12.5, "machine": shop.saw},
        "person": {"name": "Bo Lind", "initials": "BL", "role": "member", "pin": {"salt": "a", "iterations": 200_000, "hash": "b"}},
        "alloy": {
            "name": "Brass rod", "uns": "C36000", "base": "Cu", "like": "C36000", "scrap": "leaded_brass", "notes": "",
            "composition": [{"element": "Cu", "percent": 61.3}, {"element": "Zn", "percent": 36}, {"element": "Pb", "percent": 2.6}, {"element": "Be", "at_most": 0.01}],
            "certificate": {"number": "T 2207", "source": "the rod mill's own", "dated": "2026-03-02"}, "density": {"value": 8.5, "unit": "g/cm3"},
        },
        "shop": {"name": "Second", "time_zone": "Europe/Oslo", "units": "us", "hours_a_week": 30, "holidays": ["2026-12-25"], "authorities": ["us_osha"]},
    }  # fmt: skip


@given(data=st.data())
@settings(max_examples=80, deadline=None, suppress_health_check=list(HealthCheck))
def test_mauled_definitions_are_refused_by_name_or_read_by_everything(shop: Shop, data: st.DataObject) -> None:
    wholes = whole(shop)
    type_ = data.draw(st.sampled_from(sorted(wholes)))
    node: Any = wholes[type_]
    while True:
        key = data.draw(st.sampled_from(sorted(node) if isinstance(node, dict) else list(range(len(node)))))
        inner = node[key]
        if not isinstance(inner, dict | list) or not inner or data.draw(st.booleans()):
            node[key] = data.draw(ODD)
            break
        node = inner
    send(shop, type_, wholes[type_])


@pytest.mark.parametrize("type_", ["bay", "machine", "checklist", "item", "person"])
def test_the_unharmed_ones_are_taken(shop: Shop, type_: str) -> None:
    """Else the two above would prove nothing."""
    assert post(shop, type_, whole(shop)[type_]).status_code == 201


def test_rules_within_rules_without_end(shop: Shop) -> None:
    rule: Any = {"every": {"days": 7}}
    with unchanged(shop.app):
        for depth in range(1, 40):
            rule = {"first_of": [{"each": "start-up"}, rule]}
            task = {"machine": shop.mill, "name": "Look", "rule": rule, "start": "2026-01-05", **SOURCE}
            if depth > 1:
                assert_problem(post(shop, "task", task), 422 if depth < 31 else 400)


@pytest.mark.parametrize("every", [5e-324, 1e-300, 1e308, 2**53, 2**53 + 1, 10**400])
def test_intervals_of_a_meter_beyond_all_measure(shop: Shop, every: float) -> None:
    rule = {"meter": "spindle_hours", "every": every}
    send(shop, "task", {"machine": shop.mill, "name": "Look", "rule": rule, "start": "2026-01-05", **SOURCE})


@pytest.mark.parametrize(
    "zone",
    ["America", "../etc/passwd", "/etc/localtime", "\0", "Europe/Oslo\0", "UTC+5", "zone.tab", "\ud800", "x" * 61],
)
def test_time_zones_that_are_none(shop: Shop, zone: str) -> None:
    (now,) = shop.get("/definitions/shop").get_json()
    with unchanged(shop.app):
        answer = shop.app.test_client().put(
            f"/api/v1/definitions/shop/{now['id']}",
            json=now | {"time_zone": zone},
            headers=shop.headers() | {"If-Match": '"1"'},
        )
    assert_problem(answer, 422, "time_zone")


@pytest.mark.parametrize(
    "rrule", ["FREQ=DAILY;BYMONTH=2;BYMONTHDAY=30", "FREQ=WEEKLY;BYMONTH=4;BYMONTHDAY=31;BYDAY=MO", "FREQ=DAILY;BYMONTH=2;BYYEARDAY=200"]
)  # fmt: skip
def test_dates_that_never_come_are_refused_without_holding_the_shop_up(shop: Shop, rrule: str) -> None:
    """Set-up is written under a lock; sought day by day to the year 9999, each of these took five seconds."""
    task = {
        "machine": shop.mill,
        "name": "Look",
        "rule": {"rrule": rrule, "anchor": "2026-01-05"},
        "start": "2026-01-05",
        **SOURCE,
    }
    before = time.process_time()
    with unchanged(shop.app):
        assert_problem(post(shop, "task", task), 422, "rule.rrule")
    assert time.process_time() - before < 2
