"""The shop's working time on the server, held to the vectors that static/tests/reminders.test.js holds the phone to.

Sources: RFC 5545, 3.3.5 for times that a change of the clocks leaves out or repeats; the others follow from the IANA
time zone database."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from webapp.core.instants import parse_instant
from webapp.reminders.hours import clock, hours_of, instant

CASES = json.loads((Path(__file__).parents[1] / "vectors" / "hours.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("case", [pytest.param(case, id=case["name"]) for case in CASES])
def test_the_shops_hours_are_those_of_the_vectors(case: dict[str, Any]) -> None:
    fn, args = case["in"]["fn"], case["in"]["args"]
    if fn == "instant":
        assert instant(date.fromisoformat(args["day"]), clock(args["clock"]), args["zone"]) == parse_instant(
            case["out"]
        )
    elif fn == "next_working_day":
        found = hours_of(args["shop"]).next_working_day(date.fromisoformat(args["day"]))
        assert found.isoformat() == case["out"]
    else:
        assert fn == "first_begins" and f"{hours_of(args['shop']).first_begins():%H:%M}" == case["out"]
