"""Python and JavaScript judge two thousand random cases alike, to the last digit and word.

The vectors hold what was thought of; this looks for what was not. Needs node, which the front end needs anyway.
"""

from __future__ import annotations

import json
import random
import shutil
import subprocess
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from tests.core.strategies import TODAY
from tests.core.test_vectors import outcome
from webapp.core.due import judge
from webapp.core.rules import METERS

CORE = Path(__file__).parents[2] / "static" / "src" / "core"
NODE = shutil.which("node")
SCRIPT = """
import { judge } from "CORE/due.js";
import { topUp } from "CORE/mix.js";
import { part } from "CORE/sections.js";
const read = async () => { let all = ""; for await (const chunk of process.stdin) all += chunk; return JSON.parse(all); };
const { due, mixes, bars } = await read();
const tried = (make) => { try { return make(); } catch (e) { return { error: { field: e.field, problem: e.problem, mend: e.mend } }; } };
console.log(JSON.stringify({
  due: due.map(([rule, facts]) => judge(rule, facts)),
  mixes: mixes.map((sump) => tried(() => topUp(sump))),
  bars: bars.map(({ bar, blank, kerf }) => tried(() => part(bar, blank, kerf))),
}));
"""


def _day(rng: random.Random, low: int = -600, high: int = 300) -> str:
    return (TODAY + timedelta(days=rng.randint(low, high))).isoformat()


def _totals(rng: random.Random) -> dict[str, float]:
    return {
        kind: rng.choice([0, rng.uniform(0, 400), rng.randint(0, 4000) / 10]) for kind in METERS if rng.random() < 0.8
    }


def _moment(rng: random.Random) -> dict[str, Any]:
    moment: dict[str, Any] = {"date": _day(rng, -40, 1), "meters": _totals(rng)}
    if rng.random() < 0.3:
        moment["at"] = f"{moment['date']}T{rng.randint(0, 23):02d}:00:00.000Z"
    return moment


def _rule(rng: random.Random, inner: bool = False) -> dict[str, Any]:
    # One list of fixed dates a task: an rrule is drawn at the top or first in a first_of, not elsewhere.
    kind = rng.choice(["every", "meter", "each", "after", "days", "when"] + ([] if inner else ["rrule", "first"]))
    meter = rng.choice(list(METERS))
    if kind == "every":
        return {"every": {rng.choice(["days", "weeks", "months", "years"]): rng.randint(1, 30)}}
    if kind == "meter":
        return {"meter": meter, "every": rng.choice([rng.uniform(0.1, 300), rng.randint(1, 300), 0.3])}
    if kind == "after":
        at = sorted(rng.sample(range(1, 400), rng.randint(1, 3)))
        return {"after": "part.changed", "part": "blade", "meter": meter, "at": at}
    if kind == "days":
        return {"after": "tag.off", "days": rng.randint(0, 40)}
    if kind == "when":
        below = rng.randint(0, 90) / 10
        limits = [{"below": below}, {"above": below}, {"below": below, "above": below + rng.randint(1, 50) / 10}]
        return {"when": {"reading": "coolant.pH", **rng.choice(limits)}}
    if kind == "rrule":
        return {"rrule": "FREQ=DAILY", "anchor": "2026-01-05"}
    if kind == "each":
        return {"each": "start-up"}
    parts = [_rule(rng, inner=True) for _ in range(rng.randint(2, 4))]
    fixed = [{"rrule": "FREQ=DAILY", "anchor": "2026-01-05"}] if rng.random() < 0.3 else []
    return {"first_of": fixed + parts}


def _facts(rng: random.Random) -> dict[str, Any]:
    facts: dict[str, Any] = {
        "today": _day(rng, -5, 5),
        "in_service": rng.random() < 0.8,
        "start": _day(rng, -400, 10),
        "done": _moment(rng) if rng.random() < 0.7 else None,
        "deferred_to": _day(rng, -10, 30) if rng.random() < 0.2 else None,
        "meters": _totals(rng),
        "readings": {"coolant.pH": rng.randint(0, 140) / 10} if rng.random() < 0.8 else {},
        "done_today": rng.random() < 0.3,
        "used_today": rng.random() < 0.5,
        "events": {key: _moment(rng) for key in ("part.changed/blade", "tag.off") if rng.random() < 0.8},
        "meter_start": _totals(rng),
        "dates": [_day(rng, -60, 60) for _ in range(rng.randint(0, 6))],
    }
    if rng.random() < 0.2:
        facts["units"] = {"cut_area": "cm2"}
    return facts


def _sump(rng: random.Random) -> dict[str, Any]:
    capacity = rng.choice([50, 12.5, rng.uniform(1, 1000)])
    level = capacity * rng.choice([0, 0.5, 1, rng.random(), 1.2])
    sump: dict[str, Any] = {"capacity": capacity, "level": level, "percent": rng.choice([0, 8, rng.uniform(0, 15)])}
    sump |= {"target": rng.choice([8, 5, rng.uniform(0, 12)]), "step": rng.choice([0, 0.1, 0.25, 0.5, 1])}
    return sump | ({"fill_to": capacity * 0.9} if rng.random() < 0.3 else {})


@pytest.mark.skipif(NODE is None, reason="node is not installed")
def test_python_and_javascript_agree() -> None:
    rng = random.Random(20270302)
    due = [(_rule(rng), _facts(rng)) for _ in range(2000)]
    mixes = [_sump(rng) for _ in range(1000)]
    bars = [
        {"bar": rng.uniform(1, 150), "blank": rng.uniform(0.1, 12), "kerf": rng.choice([0, 0.035])} for _ in range(500)
    ]
    given = json.dumps({"due": due, "mixes": mixes, "bars": bars})
    command = [NODE or "", "--input-type=module", "--eval", SCRIPT.replace("CORE", CORE.as_uri())]
    ran = subprocess.run(command, input=given, capture_output=True, text=True, timeout=60, check=True)
    twin = json.loads(ran.stdout)
    for (rule, facts), theirs in zip(due, twin["due"], strict=True):
        assert judge(rule, facts).to_dict() == theirs, (rule, facts)
    for sump, theirs in zip(mixes, twin["mixes"], strict=True):
        assert outcome("top_up", sump) == theirs, sump
    for bar, theirs in zip(bars, twin["bars"], strict=True):
        assert outcome("part", bar) == theirs, bar
    assert {verdict["state"] for verdict in twin["due"]} == {"resting", "near", "due", "late"}
