import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { emptyDoc } from "../src/core/fold.js";
import { foldAll, overlay, waitsForServer } from "../src/core/overlay.js";

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

/** Without the times of the last entry and the last drum, which a mended one leaves as they were. @param {any} docs */
function timeless(docs) {
  for (const doc of [docs.shop, docs.machines.m].filter(Boolean)) {
    doc.last_at = null;
    for (const row of Object.values(doc.chips ?? {})) row.at = null;
  }
  return docs;
}

const EARLIER = "2027-03-01T08:00:00.000Z";
const SAMPLE = { minutes: 400, value: 0.2, unit: "mg/m3" };
for (const [kind, body, other] of /** @type {[string, any, any][]} */ ([
  ["exposure.measured", { agent: "copper", form: "dust", place: "sander", shift_hours: 8, samples: [SAMPLE] }, { agent: "copper", form: "dust", place: "bench", shift_hours: 8, samples: [{ ...SAMPLE, value: 0.02 }] }],
  ["exposure.measured", { agent: "noise", place: "saw", shift_hours: 8, samples: [{ ...SAMPLE, value: 91, unit: "dBA" }] }, { agent: "lead", form: "dust", place: "saw", shift_hours: 8, samples: [SAMPLE] }],
  ["air.checked", { check: "filter drop", value: 40, unit: "inH2O" }, { check: "filter drop", value: 4, unit: "inH2O" }],
  ["air.checked", { check: "flow", value: 900, unit: "cfm", commissioning: true }, { check: "flow", value: 300, unit: "cfm", commissioning: true }],
  ["chips.collected", { alloy: "C36000", weight: 40, unit: "lb", to: "scrap", container: "drum 1", dust: true }, { alloy: "C14500", weight: 4, unit: "kg", to: "waste", container: "drum 2" }],
  ["purge.run", { seconds: 10, needed: 100 }, { seconds: 100, needed: 100 }],
  ["fit.tested", { person: "p1", respirator: "half mask", method: "qualitative", result: "fail" }, { person: "p1", respirator: "half mask", method: "qualitative", result: "pass", expires: "2028-03-02" }],
  ["training.signed", { person: "p1", machine: "m", outside: "maker", expires: "2026-01-01" }, { person: "p1", machine: "m", outside: "maker" }],
  ["training.signed", { person: "p1", topic: "lead", trainer: "p2" }, { person: "p1", topic: "lead", trainer: "p3" }],
])) {
  const before = made("f", kind, { ...body, note: "before", ...(kind === "exposure.measured" ? { place: "mill" } : {}) }, EARLIER);
  const after = kind === "air.checked" || kind === "exposure.measured" ? [made("g", kind, body, "2027-03-02T09:00:00.000Z")] : [];
  const stored = [before, made("a", kind, body), ...after];
  const told = `${kind} of ${body.agent ?? body.check ?? body.topic ?? body.machine ?? "one kind"}`;
  test(`a stored ${told} amended without signal counts as amended`, () => {
    const amending = made("v", "entry.amended", { entry: "a", kind, body: other, why: "wrong" }, LATER);
    const [shown, truth] = [over(stored, [amending]), foldAll([...stored, amending])];
    assert.deepEqual(timeless(shown), timeless(truth));
  });
  test(`a stored ${told} voided without signal leaves what stood before it`, () => {
    const voiding = made("v", "entry.voided", { entry: "a", why: "wrong" }, LATER);
    const [shown, truth] = [over(stored, [voiding]), foldAll([...stored, voiding])];
    assert.deepEqual(timeless(shown), timeless(truth));
  });
}

test("what this phone cannot find again waits for the server, and it says so", () => {
  const stored = [made("a", "purge.run", { seconds: 10, needed: 100 })];
  const voiding = made("v", "entry.voided", { entry: "a", why: "wrong" }, LATER);
  assert.deepEqual(over(stored, [voiding]).machines.m.purge, foldAll(stored).machines.m.purge, "an earlier one may be older than what this phone holds");
  assert.ok(waitsForServer("purge.run", true) && waitsForServer("ppe.checked", true) && waitsForServer("ppe.checked", false) && waitsForServer("round.done", true));
  assert.ok(!waitsForServer("purge.run", false) && !waitsForServer("exposure.measured", true) && !waitsForServer("hazard.noted", true) && !waitsForServer("note.made", true));
});

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
