"""Python and JavaScript work out a thousand random sumps, readings and tanks alike, to the last digit and word.

The vectors hold what was thought of; this looks for what was not. Needs node, which the front end needs anyway.
"""

from __future__ import annotations

import json
import random
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest

from tests.core.test_vectors import outcome

CORE = Path(__file__).parents[2] / "static" / "src" / "core"
NODE = shutil.which("node")
SCRIPT = """
import * as coolant from "CORE/coolant.js";
import * as lubrication from "CORE/lubrication.js";
import * as mix from "CORE/mix.js";
const read = async () => { let all = ""; for await (const chunk of process.stdin) all += chunk; return JSON.parse(all); };
const run = {
  volume_at: ({ sump, depth, capacity, unit }) => coolant.volumeAt(sump, depth, capacity, unit),
  depth_at: ({ sump, volume, capacity, unit }) => coolant.depthAt(sump, volume, capacity, unit),
  read_strength: ({ reading, factor, zero }) => coolant.readStrength(reading, factor, zero),
  reach: (sump) => mix.reach(sump),
  percent_of: ({ text, meaning }) => mix.percentOf(text, meaning),
  expected: ({ use, hours }) => lubrication.expected(use, hours),
  left_in_tank: ({ use, level, hours }) => lubrication.leftInTank(use, level, hours),
};
const tried = (make) => { try { return make(); } catch (e) { return { error: { field: e.field, problem: e.problem, mend: e.mend } }; } };
console.log(JSON.stringify((await read()).map(([fn, args]) => tried(() => run[fn](args)))));
"""


def _sump(rng: random.Random) -> dict[str, Any]:
    unit = rng.choice(["in", "cm", "mm"])
    if rng.random() < 0.5:
        return {
            "shape": "flat",
            "length": rng.uniform(1, 100),
            "width": rng.choice([24, rng.uniform(1, 60)]),
            "unit": unit,
        }
    depths, volumes = (sorted(rng.sample(range(1, 60), 4)) for _ in range(2))
    return {"table": [[d, v] for d, v in zip(depths, volumes, strict=True)], "unit": unit}


def _use(rng: random.Random) -> dict[str, float]:
    rate = rng.choice([0, rng.uniform(0, 0.1)])
    use = {"rate": rate, "low": rate * 0.9, "high": rate * 1.1}
    return use | {"residual": rng.uniform(0, 0.05), "squares": rng.uniform(1, 1e4), "t": rng.uniform(1.9, 5)}


def _case(rng: random.Random) -> tuple[str, dict[str, Any]]:
    capacity, unit = rng.choice([40, rng.uniform(1, 300)]), rng.choice(["gal", "L"])
    fn = rng.choice(["volume_at", "depth_at", "read_strength", "reach", "percent_of", "expected", "left_in_tank"])
    if fn == "volume_at":
        return fn, {"sump": _sump(rng), "depth": rng.uniform(-2, 60), "capacity": capacity, "unit": unit}
    if fn == "depth_at":
        return fn, {"sump": _sump(rng), "volume": rng.uniform(-2, 1.2 * capacity), "capacity": capacity, "unit": unit}
    if fn == "read_strength":
        zero = rng.choice([None, 0, 0.2, -0.2, rng.uniform(-1, 1)])
        return fn, {"reading": rng.uniform(-1, 60), "factor": rng.choice([1, 1.5, rng.uniform(0, 3)]), "zero": zero}
    if fn == "reach":
        sump = {"capacity": capacity, "level": capacity * rng.uniform(0, 1.1), "percent": rng.uniform(0, 110)}
        return fn, sump | ({"fill_to": capacity * rng.random()} if rng.random() < 0.3 else {})
    if fn == "percent_of":
        text = rng.choice(["8", "8.5 %", " 8,25", "1:20", "1 / 12.5", "1:0", "x", "", f"{rng.uniform(0, 120):.3f}"])
        return fn, {"text": text, "meaning": rng.choice([None, "to", "in"])}
    args = {"use": _use(rng), "hours": rng.choice([0, rng.uniform(-1, 300)])}
    return fn, args | ({"level": rng.uniform(-0.1, 2)} if fn == "left_in_tank" else {})


@pytest.mark.skipif(NODE is None, reason="node is not installed")
def test_python_and_javascript_agree() -> None:
    rng = random.Random(20270303)
    cases = [_case(rng) for _ in range(2000)]
    command = [NODE or "", "--input-type=module", "--eval", SCRIPT.replace("CORE", CORE.as_uri())]
    ran = subprocess.run(command, input=json.dumps(cases), capture_output=True, text=True, timeout=60, check=True)
    refused = 0
    for (fn, args), theirs in zip(cases, json.loads(ran.stdout), strict=True):
        assert outcome(fn, args) == theirs, (fn, args)
        refused += isinstance(theirs, dict) and "error" in theirs
    assert 200 < refused < 1500
