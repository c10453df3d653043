"""Python and JavaScript work out random saws, nozzles, receivers and dusts alike, to the last digit and word."""

from __future__ import annotations

import json
import random
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.core.outcomes import outcome
from webapp.core import abrasives, air, band_speeds, mixed_dust, sawing, sections

CORE = Path(__file__).parents[2] / "static" / "src" / "core"
NODE = shutil.which("node")
SCRIPT = """
import { nozzleAir, leakByDecay, receiverEnergy } from "CORE/air.js";
import { gaps } from "CORE/abrasives.js";
import { bandSpeed } from "CORE/band-speeds.js";
import { dust } from "CORE/mixed-dust.js";
import { cutWidths, pitchAdvice, teethInCut } from "CORE/sawing.js";
import { part } from "CORE/sections.js";
const F = { nozzleAir, leakByDecay, receiverEnergy, gaps, bandSpeed, dust, cutWidths, pitchAdvice, teethInCut, part };
let all = "";
for await (const chunk of process.stdin) all += chunk;
const tried = (make) => { try { return make(); } catch (e) { return { error: { field: e.field, problem: e.problem, mend: e.mend } }; } };
console.log(JSON.stringify(JSON.parse(all).map(([name, args]) => tried(() => F[name](...args)))));
"""
METALS = [
    "6061",
    "4140",
    "Aluminium bronze",
    "C36000",
    "rusty bar",
    "Ti-6Al-4V",
    "AZ31",
    "zinc",
    "S30400",
    "brass/steel",
]


def _units(rng: random.Random) -> tuple[str, float]:
    return rng.choice([("us", 1.0), ("metric", 25.4)])


def _nozzle(rng: random.Random) -> list[Any]:
    units, inch = _units(rng)
    kind = rng.choice([*air.NOZZLES, "none"])
    return [rng.uniform(-0.01, 0.8) * inch, rng.choice([rng.uniform(-2, 30), 90, 600]), kind, units]


def _decay(rng: random.Random) -> list[Any]:
    return [
        rng.uniform(0, 300),
        rng.uniform(0, 40),
        rng.uniform(0, 40),
        rng.uniform(0, 900),
        _units(rng)[0],
        rng.uniform(0, 40),
    ]


def _band(rng: random.Random) -> list[Any]:
    units, inch = _units(rng)
    metal = rng.choice([*band_speeds.metals(), "C17200", "unknown"])
    return [metal, rng.uniform(0.01, 12) * inch, units, rng.random() < 0.5, rng.random() < 0.5]


def _section(rng: random.Random) -> list[Any]:
    shape = rng.choice(sorted(sections.SHAPES))
    return [shape, {name: rng.uniform(0.01, 3) for name in sections.SHAPES[shape]}]


def _teeth(rng: random.Random) -> list[Any]:
    units, inch = _units(rng)
    return [rng.uniform(0.01, 12) * inch, rng.choice(["4/6", "10/14", "18", "2 / 3", "0.1", "x"]), units]


def _bar(rng: random.Random) -> list[Any]:
    return [
        rng.uniform(1, 150),
        rng.uniform(0.02, 6),
        rng.choice([0, 0.035, 0.06]),
        rng.choice([0, 0.5]),
        rng.choice([0, 2.0]),
    ]


CASES: list[tuple[str, Callable[..., Any], tuple[str, ...], Callable[[random.Random], list[Any]]]] = [
    ("nozzleAir", air.nozzle_air, ("bore", "pressure", "kind", "units"), _nozzle),
    ("leakByDecay", air.leak_by_decay, ("volume", "start", "end", "seconds", "units", "delivered"), _decay),
    (
        "receiverEnergy",
        air.receiver_energy,
        ("volume", "pressure", "units"),
        lambda rng: [rng.uniform(0, 300), rng.uniform(0, 36), _units(rng)[0]],
    ),
    ("gaps", abrasives.gaps, ("rest", "tongue", "units"), lambda rng: [rng.uniform(0, 7), rng.uniform(0, 7), _units(rng)[0]]),
    ("bandSpeed", band_speeds.band_speed, ("metal", "size", "units", "dry", "carbon"), _band),
    ("dust", mixed_dust.dust, ("last", "now"), lambda rng: [rng.choices(METALS, k=rng.randint(0, 4)), rng.choice(METALS)]),
    ("cutWidths", sawing.cut_widths, ("shape", "measures"), _section),
    ("pitchAdvice", sawing.pitch_advice, ("width", "units"), lambda rng: [rng.uniform(0.01, 300), _units(rng)[0]]),
    ("teethInCut", sawing.teeth_in_cut, ("width", "pitch", "units"), _teeth),
    ("part", sections.part, ("bar", "blank", "kerf", "end_loss", "grip"), _bar),
]  # fmt: skip


@pytest.mark.skipif(NODE is None, reason="node is not installed")
def test_python_and_javascript_agree() -> None:
    rng = random.Random(20270303)
    asked = [(case, case[3](rng)) for case in CASES for _ in range(400)]
    given = json.dumps([[case[0], args] for case, args in asked])
    command = [NODE or "", "--input-type=module", "--eval", SCRIPT.replace("CORE", CORE.as_uri())]
    ran = subprocess.run(command, input=given, capture_output=True, text=True, timeout=60, check=True)
    for (case, args), theirs in zip(asked, json.loads(ran.stdout), strict=True):
        _, function, names, _ = case
        assert outcome(function, dict(zip(names, args, strict=True))) == theirs, (case[0], args)
