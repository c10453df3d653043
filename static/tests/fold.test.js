import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { emptyDoc } from "../src/core/fold.js";
import { foldAll, overlay } from "../src/core/overlay.js";

/** @typedef {import("../src/core/overlay.js").Timed} Timed */

/** @param {any} entry @returns {Timed} */
const timed = (entry) => ({ ms: Date.parse(entry.at), entry });
/** @param {any} docs @param {string} subject */
const docOf = (docs, subject) => (subject === "shop" ? docs.shop : docs.machines[subject.slice("machine:".length)] ?? emptyDoc());

// The vectors are written by the Python fold, which is the truth (tests/vectors/fold.json).
const vectors = JSON.parse(readFileSync(new URL("../../tests/vectors/fold.json", import.meta.url), "utf8"));
for (const { name, subject, entries, state } of vectors) {
  test(`fold vector: ${name}`, () => {
    assert.deepEqual(docOf(foldAll(entries.map(timed)), subject), state);
    assert.deepEqual(docOf(foldAll([...entries].reverse().map(timed)), subject), state, "in whatever order they came");
  });
}

test("the vectors are there and reach every kind", () => {
  const kinds = new Set(vectors.flatMap((/** @type {any} */ vector) => vector.entries.map((/** @type {any} */ entry) => entry.kind)));
  for (const kind of ["round.done", "reading.taken", "meter.read", "meter.added", "batch.run", "part.changed", "fluid.added",
    "fluid.changed", "task.done", "task.deferred", "task.raised", "finding.opened", "finding.closed", "tag.on", "tag.off",
    "stock.counted", "stock.ordered", "hazard.noted", "hazard.closed", "exposure.measured", "air.checked", "purge.run", "chips.collected",
    "ppe.checked", "fit.tested", "training.signed", "entry.amended", "entry.voided"]) assert.ok(kinds.has(kind), kind);
});

/** @param {string} id @param {string} kind @param {any} body @param {string} [at] @param {string | null} [machine] */
const made = (id, kind, body, at = "2027-03-02T08:00:00.000Z", machine = "m") => timed({ id, kind, machine, by: "p", at, body });
/** @param {Timed[]} stored @param {Timed[]} pending */
const over = (stored, pending) => {
  const server = foldAll(stored);
  const before = structuredClone(server);
  const result = overlay(server, pending, new Map(stored.map((one) => [one.entry.id, one])));
  assert.deepEqual(server, before, "the server's own state is not written over");
  return result;
};

test("unsent entries over the server's state give what the server will fold", () => {
  const stored = [made("a", "meter.added", { meter: "h", amount: 5 }), made("b", "tag.on", { why: "belt torn" })];
  const unsent = [made("c", "tag.off", { tag: "b", done: "new belt" }, "2027-03-02T09:00:00.000Z"),
    made("d", "meter.added", { meter: "h", amount: 0.5 }, "2027-03-02T09:30:00.000Z")];
  assert.deepEqual(over(stored, unsent), foldAll([...stored, ...unsent]));
});

test("an unsent void of an unsent entry takes both out", () => {
  const pending = [made("a", "meter.added", { meter: "h", amount: 5 }), made("v", "entry.voided", { entry: "a", why: "typed wrong" })];
  assert.deepEqual(over([], pending).machines.m.meters, {});
});

const LATER = "2027-03-02T10:00:00.000Z";
for (const [kind, body, other] of /** @type {[string, any, any][]} */ ([
  ["meter.added", { meter: "h", amount: 100 }, { meter: "h", amount: 10 }],
  ["batch.run", { adds: { h: 7, k: 2 } }, { adds: { h: 1, k: 3 } }],
  ["finding.opened", { text: "leak", stop: true }, { text: "drip", stop: false }],
  ["tag.on", { why: "guard off" }, { why: "guard loose" }],
  ["task.raised", { title: "mend" }, { title: "mend the guard" }],
  ["hazard.noted", { process: "dry_sand", seen: ["haze"] }, { process: "dry_sand", text: "steam, no dust" }],
  ["reading.taken", { quantity: "coolant.strength", value: 60, unit: "%" }, { quantity: "coolant.strength", value: 6, unit: "%" }],
])) {
  const first = made("f", "meter.added", { meter: "h", amount: 1 }, "2027-03-02T07:00:00.000Z");
  const stored = [first, made("a", kind, body)];
  test(`a stored ${kind} voided without signal no longer counts`, () => {
    const voiding = made("v", "entry.voided", { entry: "a", why: "wrong" }, LATER);
    const [shown, truth] = [over(stored, [voiding]).machines.m, foldAll([...stored, voiding]).machines.m];
    for (const section of /** @type {const} */ (["tags", "findings", "raised"])) assert.deepEqual(shown[section], truth[section]);
    assert.deepEqual(Object.keys(shown.hazards ?? {}), Object.keys(truth.hazards ?? {}));
    assert.deepEqual(Object.values(shown.readings).flat(), Object.values(truth.readings).flat());
    assert.equal(shown.meters.h.total, truth.meters.h.total);
  });
  test(`a stored ${kind} amended without signal counts as amended`, () => {
    const amending = made("v", "entry.amended", { entry: "a", kind, body: other, why: "wrong" }, LATER);
    const [shown, truth] = [over(stored, [amending]).machines.m, foldAll([...stored, amending]).machines.m];
    assert.deepEqual({ ...shown, last_at: null }, { ...truth, last_at: null });
  });
}

const FITTED = made("p", "part.changed", { part: "t1", reason: "new" }, "2027-03-02T06:00:00.000Z");
const BATCH = made("a", "batch.run", { adds: { h: 1 }, loads: 6, cutters: { t1: 2.5, t2: 4 } });

test("a stored batch amended without signal counts its cutters' minutes as amended", () => {
  const body = { adds: { h: 1 }, loads: 5, cutters: { t1: 2.5 } };
  const amending = made("v", "entry.amended", { entry: "a", kind: "batch.run", body, why: "miscounted" }, LATER);
  const [shown, truth] = [over([FITTED, BATCH], [amending]).machines.m, foldAll([FITTED, BATCH, amending]).machines.m];
  assert.equal(shown.parts.t1.minutes, 12.5);
  assert.deepEqual(shown.parts, truth.parts);
});

test("a stored batch voided without signal takes its cutters' minutes along", () => {
  const voiding = made("v", "entry.voided", { entry: "a", why: "twice" }, LATER);
  assert.equal(over([FITTED, BATCH], [voiding]).machines.m.parts.t1.minutes, 0);
});

test("minutes that ended with a cutter's life wait for the server, and so does the rest of their batch", () => {
  const changed = made("c", "part.changed", { part: "t1", reason: "chipped" }, "2027-03-02T09:00:00.000Z");
  const stored = [FITTED, BATCH, changed];
  const shown = over(stored, [made("v", "entry.voided", { entry: "a", why: "twice" }, LATER)]).machines.m;
  assert.equal(shown.parts.t1.lives[0].minutes, 15);
  assert.equal(shown.meters.h.total, foldAll(stored).machines.m.meters.h.total);
});

test("a finding that was closed since stays closed when its opening is amended without signal", () => {
  const stored = [made("a", "finding.opened", { text: "leak", stop: true }), made("c", "finding.closed", { finding: "a", done: "sealed" }, LATER)];
  const amending = made("v", "entry.amended", { entry: "a", kind: "finding.opened", body: { text: "drip", stop: true }, why: "wrong" }, LATER);
  assert.deepEqual(over(stored, [amending]).machines.m.findings, {});
});
