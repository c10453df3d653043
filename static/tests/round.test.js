// How a round runs and ends: with an open stop finding, a tag or an unanswered check it can never end fit.
import assert from "node:assert/strict";
import { test } from "node:test";
import { emptyDoc, fold } from "../src/core/fold.js";
import { endOf, entriesOf, firstFinding, newRun, onward, readingOf, withAnswer } from "../src/places/round/run.js";

const band = { stop_low: 70, act_low: 80, target: 90, act_high: 100 };
const checks = [
  { id: "look", text: "Look inside", answer: "ok", stop: true },
  { id: "air", text: "Read the air gauge", answer: "reading", stop: true, quantity: "air.pressure", unit: "psi", band },
  { id: "chips", text: "Chip tray clear", answer: "ok", stop: false },
];
/** @type {any} */
const checklist = { id: "list", revision: 4, retired: false, name: "Start-up", form: "start-up", machine: "mill", checks };
const begun = new Date("2027-03-02T11:58:00Z");

/** @param {Record<string, any>} answers */
const run = (answers) => Object.entries(answers).reduce((before, [id, some]) => withAnswer(before, id, some), newRun(checklist, begun));
const allOk = { look: { answer: "ok" }, air: { answer: "ok", value: 90, verdict: "within" }, chips: { answer: "ok" } };
let next = 0;
const newId = () => `id-${String(next += 1).padStart(4, "0")}`;
/** @param {any} answers @param {any} [doc] */
const entries = (answers, doc = emptyDoc()) => entriesOf({ run: run(answers), checklist, doc, machine: "mill", seconds: 48.4, newId });

test("all ok ends fit, in one entry that names the revision", () => {
  const made = entries(allOk);
  assert.deepEqual(made.map(({ kind }) => kind), ["round.done"]);
  const body = /** @type {any} */ (made[0]?.body);
  assert.equal(body.outcome, "fit");
  assert.equal(body.revision, 4);
  assert.equal(body.seconds, 48);
  assert.deepEqual(body.checks[1], { check: "air", answer: "ok", stop: true, value: 90, unit: "psi", quantity: "air.pressure", verdict: "within" });
});

for (const [name, change] of /** @type {[string, (doc: any) => void][]} */ ([
  ["a tag that is on", (doc) => { doc.tags.t = { why: "jaw cracked" }; }],
  ["an open stop finding", (doc) => { doc.findings.f = { text: "door switch dead", stop: true }; }],
])) {
  test(`${name} from before keeps it from ending fit`, () => {
    const doc = emptyDoc();
    change(doc);
    const end = endOf(run(allOk), checklist, doc);
    assert.equal(end.outcome, "not fit");
    assert.equal(end.reasons.length, 1);
  });
}

test("an open finding that stops nothing does not", () => {
  const doc = emptyDoc();
  doc.findings.f = { text: "lamp dim", stop: false };
  assert.equal(endOf(run(allOk), checklist, doc).outcome, "fit");
});

test("a check without an answer keeps it from ending fit", () => {
  const end = endOf(run({ air: allOk.air, chips: allOk.chips }), checklist, emptyDoc());
  assert.deepEqual([end.outcome, end.open], ["not fit", 1]);
});

test("a failed stop check leaves round, finding, tag and task, each naming the other", () => {
  const finding = { text: "Wrench on the table", stop: true, tag: true, raise: true };
  const [round, found, tag, task] = /** @type {any[]} */ (entries({ ...allOk, look: { answer: "not ok", finding } }));
  assert.equal(round.body.outcome, "not fit");
  assert.deepEqual(found.body, { text: "Wrench on the table", stop: true, check: "look", round: round.id });
  assert.deepEqual(tag.body, { why: "Wrench on the table", finding: found.id });
  assert.deepEqual(task.body, { title: "Put right: Wrench on the table", finding: found.id });
});

test("a failed stop check cannot be called harmless", () => {
  const finding = { text: "Wrench", stop: false, tag: false, raise: false };
  const [round, found] = /** @type {any[]} */ (entries({ ...allOk, look: { answer: "not ok", finding } }));
  assert.equal(round.body.outcome, "not fit");
  assert.equal(found.body.stop, true);
});

test("a tag hung for a check that is no stop check keeps it from ending fit", () => {
  const finding = { text: "Coolant on the floor", stop: false, tag: true, raise: false };
  const [round] = /** @type {any[]} */ (entries({ ...allOk, chips: { answer: "not ok", finding } }));
  assert.equal(round.body.outcome, "not fit");
});

test("a check that is not ok and stops nothing still ends fit", () => {
  const finding = { text: "Chips", stop: false, tag: false, raise: false };
  assert.equal(endOf(run({ ...allOk, chips: { answer: "not ok", finding } }), checklist, emptyDoc()).outcome, "fit");
});

test("what is written folds to the same fitness as was said", () => {
  const finding = { text: "Wrench", stop: true, tag: true, raise: true };
  for (const answers of [allOk, { ...allOk, look: { answer: "not ok", finding } }]) {
    const doc = emptyDoc();
    for (const entry of entries(answers)) fold(doc, { by: "p", at: "2027-03-02T11:59:00.000Z", ...entry }, "machine:mill");
    assert.equal(doc.rounds.list.fit, answers === allOk);
    assert.equal(Object.keys(doc.tags).length, answers === allOk ? 0 : 1);
  }
});

test("a reading is multiplied by the instrument's factor before it is judged", () => {
  // 5 Brix on a coolant whose data sheet says 1.6 is 8 %: the worked figure in tests/reference/test_coolant.py.
  /** @type {any} */
  const coolant = { id: "c", text: "Coolant", answer: "reading", unit: "%", factor: 1.6, band: { act_low: 6, act_high: 10 } };
  assert.equal(readingOf(coolant, "5").value, 8);
  assert.equal(readingOf(coolant, "3,5").judged?.verdict, "act low");
  assert.match(String(readingOf(coolant, "5.8.1").error), /digits only/);
});

test("a finding from a reading says the figure and where it lies", () => {
  const said = firstFinding(/** @type {any} */ (checks[1]), { answer: "not ok", value: 62, verdict: "stop low" });
  assert.deepEqual(said, { text: "Air pressure 62 psi, below the stop limit", stop: true, tag: true, raise: true });
});

test("eight answers and no more lead from the first check to the summary", () => {
  let at = newRun(checklist, begun);
  for (let i = 0; i < 8; i += 1) at = onward(at, 8);
  assert.equal(at.phase, "summary");
});
