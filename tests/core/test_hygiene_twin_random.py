"""Python and JavaScript work out random shifts, noise, hoods, purges and estimates alike, to the last digit and word."""

from __future__ import annotations

import json
import random
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.core.hygiene_functions import beside, run_purge
from tests.core.outcomes import outcome
from webapp.core import exposure, filters, noise, noise_daily, rates, respirators, risk, sampling, ventilation
from webapp.library.limits import limits
from webapp.library.noise import noise_values

CORE = Path(__file__).parents[2] / "static" / "src" / "core"
NODE = shutil.which("node")
SCRIPT = """
import { average, compare, shortTerm, mixture, longDay, longWeek, figure } from "CORE/exposure.js";
import { airVolume, belowDetection, leastMinutes, plan, byBalance } from "CORE/sampling.js";
import { day, protectedLevel } from "CORE/noise.js";
import { daily, weekly, stands, hoursTo, worn } from "CORE/noise-daily.js";
import { rate } from "CORE/rates.js";
import { beside as besideIt } from "CORE/measured.js";
import { choose, maximumUse, CLASSES } from "CORE/respirators.js";
import { traverse, face, captureVelocity, captureFlow, purgeTime, hoodFlow, transportAgainst } from "CORE/ventilation.js";
import { filterDrop, staticPressure } from "CORE/filters.js";
import { cell, probabilityOf, skipped } from "CORE/risk.js";
import * as purge from "CORE/purge.js";
const runPurge = (steps) => {
  let state = null;
  return steps.map(([name, ...args]) => {
    if (name === "blast") state = purge.blast(...args);
    else if (name === "reload") state = purge.fromStored(JSON.parse(JSON.stringify(state)));
    else state = { start: purge.start, exhaust_off: purge.exhaustOff, look: purge.look }[name](state, ...args);
    return [state, state && purge.secondsLeft(state), purge.holds(state)];
  });
};
const F = { average, compare, shortTerm, mixture, longDay, longWeek, figure, airVolume, belowDetection, leastMinutes,
  plan, byBalance, day, daily, weekly, stands, hoursTo, worn, rate, protectedLevel, choose, maximumUse, traverse, face, captureVelocity, captureFlow, purgeTime, hoodFlow,
  transportAgainst, filterDrop, staticPressure, cell, probabilityOf, skipped, runPurge };
const beside = (key, row, limits, noises, names, chosen, on, today) => besideIt(key, row, { limits, noises, names, chosen }, on, today);
F.beside = beside;
let all = "";
for await (const chunk of process.stdin) all += chunk;
const tried = (make) => { try { return make(); } catch (e) { return { error: { field: e.field, problem: e.problem, mend: e.mend } }; } };
console.log(JSON.stringify(JSON.parse(all).map(([name, args]) => tried(() => F[name](...args)))));
"""
TIERS = ["eliminate", "substitute", "enclose", "administer", "protect"]


def _level(rng: random.Random) -> Any:
    return rng.choice([rng.uniform(0, 5), 10 ** rng.uniform(-5, 3), round(rng.uniform(0, 1), 2), -1, None])


def _pairs(rng: random.Random, most: float) -> list[Any]:
    return [
        [_level(rng) if rng.random() < 0.3 else rng.uniform(0, 5), rng.uniform(0.01, most)]
        for _ in range(rng.randint(0, 6))
    ]


def _day(rng: random.Random) -> list[Any]:
    shift = rng.choice([None, 8, 12, rng.uniform(4, 26)])
    return [[[rng.uniform(50, 121), rng.uniform(0.01, 3)] for _ in range(rng.randint(0, 6))], shift]


def _units(rng: random.Random) -> str:
    return rng.choice(["us", "metric"])


def _steps(rng: random.Random) -> list[Any]:
    now = 1_800_000_000_000
    steps: list[Any] = [["blast", rng.uniform(-5, 200), now]]
    for _ in range(rng.randint(1, 12)):
        now += rng.choice([rng.randint(0, 60_000), rng.randint(-3_600_000, 0), 7])
        steps.append([rng.choice(["start", "look", "look", "exhaust_off"]), now])
        if rng.random() < 0.2:
            steps.append(["reload"])
    return [steps]


def _plain(row: Any) -> dict[str, Any]:
    said = {name: getattr(row, name) for name in row.__dataclass_fields__} | {"source": row.source.key}
    return {name: value for name, value in said.items() if value is not None}


LIMITS = [_plain(one) for one in limits()]
NOISES = [_plain(one) for one in noise_values()]
AUTHORITIES = sorted({one["authority"] for one in LIMITS})
SHOWN = ("machine", "place", "process", "alloy", "method", "laboratory")


def _measured(rng: random.Random) -> list[Any]:
    noisy = rng.random() < 0.3
    one = rng.choice(LIMITS)
    substance, form = one["substance"], rng.choice([one["form"], "dust", "fume"])
    unit = "dBA" if noisy else rng.choice(["mg/m3", "ug/m3"])
    samples = [
        {"minutes": rng.choice([15, 60, 240, rng.uniform(1, 300)]), "unit": unit, "below_detection": rng.random() < 0.2,
         "value": rng.uniform(70, 118) if noisy else one["value"] * rng.choice([1, rng.uniform(0, 3)])}
        for _ in range(rng.randint(1, 3))
    ]  # fmt: skip
    row = {"entry": "e", "person": "p", "shift_hours": rng.choice([8, 8, 10, 0.25]), "samples": samples}
    row |= dict.fromkeys(SHOWN) | {"fraction": rng.choice([None, "total", "respirable", "inhalable"])}
    own = [each for each in LIMITS if each["substance"] == substance]
    chosen = rng.sample(AUTHORITIES, rng.randint(0, 3))
    key = "noise" if noisy else f"{substance}/{form}"
    return [
        key,
        row,
        own,
        NOISES,
        {substance: "A name"},
        chosen,
        rng.choice(["2026-11-25", "2026-11-20"]),
        "2026-11-25",
    ]


Case = tuple[str, Callable[..., Any], tuple[str, ...], Callable[[random.Random], list[Any]]]
CASES: list[Case] = [
    ("figure", exposure.figure, ("value",), lambda r: [10 ** r.uniform(-9, 6)]),
    ("average", exposure.average, ("periods", "shift"), lambda r: [_pairs(r, 5), r.choice([None, 8, r.uniform(1, 26)])]),
    ("compare", exposure.compare, ("value", "limit", "unit", "action"),
     lambda r: [_level(r), r.uniform(0.001, 5), "mg/m3", r.choice([None, r.uniform(0.001, 2)])]),
    ("shortTerm", exposure.short_term, ("readings", "minutes"), lambda r: [_pairs(r, 20), r.choice([15, 10, r.uniform(-1, 30)])]),
    ("mixture", exposure.mixture, ("parts", "effect"), lambda r: [_pairs(r, 5), r.choice(["", "lungs"])]),
    ("longDay", exposure.long_day, ("limit", "hours"), lambda r: [r.uniform(0.001, 9), r.uniform(-1, 26)]),
    ("longWeek", exposure.long_week, ("limit", "hours"), lambda r: [r.uniform(0.001, 9), r.uniform(-1, 180)]),
    ("airVolume", sampling.air_volume, ("before", "after", "minutes"),
     lambda r: [r.uniform(0, 5), r.uniform(0, 5), r.uniform(0, 600)]),
    ("belowDetection", sampling.below_detection, ("detection", "litres", "spread"),
     lambda r: [r.uniform(0, 5), r.uniform(1, 1000), r.choice([None, 3, r.uniform(0.5, 5)])]),
    ("leastMinutes", sampling.least_minutes, ("detection", "limit", "flow", "share"),
     lambda r: [r.uniform(0, 5), r.uniform(0.0001, 1), r.uniform(0.5, 4), r.choice([0.1, 0.5, 2])]),
    ("plan", sampling.plan, ("detection", "limit", "flow", "window"),
     lambda r: [r.uniform(0, 5), r.uniform(0.0001, 1), r.uniform(0.5, 4), r.choice([15, 480, r.uniform(-1, 600)])]),
    ("byBalance", sampling.by_balance, ("low", "high", "limit"), lambda r: [r.uniform(0, 0.1), r.uniform(0, 0.2), r.uniform(0.01, 0.2)]),
    ("day", noise.day, ("periods", "shift"), _day),
    ("daily", noise_daily.daily, ("periods",), lambda r: [_day(r)[0]]),
    ("weekly", noise_daily.weekly, ("days",), lambda r: [[r.uniform(15, 120) for _ in range(r.randint(0, 8))]]),
    ("stands", noise_daily.stands, ("level", "peak", "at_ear"),
     lambda r: [r.uniform(60, 120), r.choice([None, r.uniform(100, 145)]), r.choice([None, r.uniform(50, 100)])]),
    ("hoursTo", noise_daily.hours_to, ("level", "value"), lambda r: [r.uniform(15, 130), r.choice([80, 85, 87])]),
    ("worn", noise_daily.worn, ("level", "snr"), lambda r: [r.uniform(60, 130), r.uniform(-1, 46)]),
    ("rate", rates.rate, ("cases", "hours"), lambda r: [r.choice([r.randint(-1, 12), r.randint(0, 501)]), r.uniform(-1, 400_000)]),
    ("beside", beside, ("key", "row", "limits", "noises", "names", "chosen", "on", "today"), _measured),
    ("protectedLevel", noise.protected, ("level", "nrr", "kind", "weighting", "second"),
     lambda r: [r.uniform(70, 120), r.uniform(-1, 42), r.choice([*noise.DERATING, "wool"]), r.choice("AC"), r.random() < 0.5]),
    ("choose", respirators.choose, ("exposure", "limit", "idlh"),
     lambda r: [_level(r), r.uniform(0.001, 2), r.choice([None, r.uniform(0.1, 100)])]),
    ("maximumUse", respirators.maximum_use, ("key", "limit", "idlh", "cartridge", "evidence"),
     lambda r: [r.choice([one.key for one in respirators.CLASSES]), r.uniform(0.001, 2), r.choice([None, r.uniform(0.1, 99)]),
                r.choice([None, r.uniform(0.1, 99)]), r.random() < 0.5]),
    ("traverse", ventilation.traverse, ("pressures", "units", "area", "density"),
     lambda r: [[r.uniform(-0.02, 2) for _ in range(r.randint(0, 9))], _units(r), r.choice([None, r.uniform(0.1, 5)]),
                r.choice([None, r.uniform(0.2, 2.1)])]),
    ("face", ventilation.face, ("readings", "units", "least", "area"),
     lambda r: [[r.uniform(-1, 150) for _ in range(r.randint(0, 9))], _units(r), r.choice([None, 100]), r.choice([None, 2])]),
    ("captureVelocity", ventilation.capture_velocity, ("air", "distance", "area", "units", "flanged"),
     lambda r: [r.uniform(0, 5000), r.uniform(-1, 90), r.uniform(0.01, 9), _units(r), r.random() < 0.5]),
    ("captureFlow", ventilation.capture_flow, ("speed", "distance", "area", "units", "flanged"),
     lambda r: [r.uniform(0, 200), r.uniform(-1, 90), r.uniform(0.01, 9), _units(r), r.random() < 0.5]),
    ("purgeTime", ventilation.purge_time, ("air", "volume", "units", "removed", "mixing"),
     lambda r: [r.uniform(0, 900), r.uniform(0.1, 90), _units(r), r.choice([99, 99.9, r.uniform(40, 101)]), r.uniform(0.9, 10.2)]),
    ("hoodFlow", ventilation.hood_flow, ("static", "entry", "area", "units"),
     lambda r: [r.uniform(0, 9), r.uniform(0.1, 1.1), r.uniform(0.01, 2), _units(r)]),
    ("transportAgainst", ventilation.transport_against, ("speed", "carried", "units"),
     lambda r: [r.uniform(0, 5000), r.choice([*ventilation.CARRIED, "gold"]), "us"]),
    ("filterDrop", filters.filter_drop, ("now", "clean", "change_at", "before"),
     lambda r: [r.uniform(-0.2, 6), r.uniform(0.1, 2), r.uniform(1, 6), r.choice([None, r.uniform(0, 6)])]),
    ("staticPressure", filters.static_pressure, ("now", "commissioned"), lambda r: [r.uniform(0, 4), r.uniform(0.5, 3)]),
    ("cell", risk.cell, ("severity", "probability"), lambda r: [r.randint(0, 5), r.choice("ABCDEFG")]),
    ("probabilityOf", risk.probability_of, ("chance",), lambda r: [r.choice([10 ** r.uniform(-8, 0.1), 0])]),
    ("skipped", risk.skipped, ("controls", "reasons"),
     lambda r: [{tier: [r.choice(["", "done"])] for tier in r.sample(TIERS, r.randint(0, 5))},
                {tier: r.choice([" ", "no room"]) for tier in r.sample(TIERS, r.randint(0, 5))}]),
    ("runPurge", run_purge, ("steps",), _steps),
]  # fmt: skip


@pytest.mark.skipif(NODE is None, reason="node is not installed")
def test_python_and_javascript_agree() -> None:
    rng = random.Random(20270302)
    asked = [(case, case[3](rng)) for case in CASES for _ in range(250)]
    given = json.dumps([[case[0], args] for case, args in asked])
    command = [NODE or "", "--input-type=module", "--eval", SCRIPT.replace("CORE", CORE.as_uri())]
    ran = subprocess.run(command, input=given, capture_output=True, text=True, timeout=60, check=True)
    for (case, args), theirs in zip(asked, json.loads(ran.stdout), strict=True):
        _, function, names, _ = case
        assert outcome(function, dict(zip(names, args, strict=False))) == theirs, (case[0], args)
