// Whether a machine is fit today, and what is said to be due at it.
import assert from "node:assert/strict";
import { test } from "node:test";
import { emptyDoc, fold } from "../src/core/fold.js";
import { sayDue, standingOf, standings } from "../src/places/standing.js";

/** @type {any} */
const mill = { id: "mill", name: "Mill 1", retired: false, meters: [{ id: "m", kind: "spindle_hours", name: "Spindle hours", unit: "h" }],
  parts: [], fluids: [{ id: "cool", kind: "coolant", name: "Coolant", capacity: 40, unit: "gal", band: { act_low: 6, act_high: 10 } }] };
/** @type {any} */
const list = { id: "list", machine: "mill", name: "Start-up", form: "start-up", revision: 1, retired: false, checks: [{ id: "a", text: "Look" }] };
/** @type {any} */
const task = { id: "round", machine: "mill", name: "Start-up round", rule: { each: "start-up" }, checklist: "list", minutes: 1, start: "2027-01-01", retired: false, meter_start: {}, dates: [] };
/** @type {any} */
const filter = { id: "filter", machine: "mill", name: "Filter", rule: { meter: "spindle_hours", every: 100 }, checklist: null, minutes: 10, start: "2027-01-01", retired: false, meter_start: {}, dates: [] };

/** @param {[string, string, any][]} made kind, at, body @param {any[]} [tasks] @returns {any} */
function worldAfter(made, tasks = [task, filter]) {
  const doc = emptyDoc();
  made.forEach(([kind, at, body], index) => fold(doc, { id: `e${index}`, kind, machine: "mill", by: "p", at, body }, "machine:mill"));
  const definitions = { shop: { time_zone: "America/New_York" }, bays: [], machines: [mill], checklists: [list], tasks, items: [], people: [], byId: new Map() };
  return { definitions, state: { machines: { mill: doc }, meters: doc.meters, shop: emptyDoc() }, now: new Date("2027-03-02T12:30:00Z") };
}
/** @param {string} outcome @param {string} [at] @returns {[string, string, any]} */
const round = (outcome, at = "2027-03-02T12:00:00.000Z") => ["round.done", at,
  { checklist: "list", revision: 1, form: "start-up", started_at: at, seconds: 40, outcome, checks: [{ check: "a", answer: outcome === "fit" ? "ok" : "not ok", stop: true }] }];
/** @param {[string, string, any][]} made @param {any[]} [tasks] */
const millAfter = (made, tasks) => standingOf(worldAfter(made, tasks), mill);

test("nobody has looked today: not fit, and the round is due", () => {
  const standing = millAfter([]);
  assert.deepEqual([standing.fit, standing.mark, standing.startUp?.due.state], [false, "due", "due"]);
});

test("today's round was fit", () => {
  const standing = millAfter([round("fit")]);
  assert.deepEqual([standing.fit, standing.mark], [true, "fit"]);
});

test("yesterday's round does not count, by the shop's wall and not by UTC's", () => {
  assert.equal(millAfter([round("fit", "2027-03-02T04:59:00.000Z")]).fit, false); // 23:59 on 1 March in New York
  assert.equal(millAfter([round("fit", "2027-03-02T05:01:00.000Z")]).fit, true);
});

test("a tag hung after the round makes it not fit", () => {
  const standing = millAfter([round("fit"), ["tag.on", "2027-03-02T12:10:00.000Z", { why: "noise" }]]);
  assert.deepEqual([standing.fit, standing.mark], [false, "tagged"]);
  assert.match(standing.why, /noise/);
});

test("a stop finding opened after the round makes it not fit; closing it makes today's fit round count again", () => {
  const opened = /** @type {[string, string, any]} */ (["finding.opened", "2027-03-02T12:10:00.000Z", { text: "door", stop: true }]);
  assert.deepEqual([millAfter([round("fit"), opened]).fit, millAfter([round("fit"), opened]).mark], [false, "stop"]);
  const closed = /** @type {[string, string, any]} */ (["finding.closed", "2027-03-02T12:20:00.000Z", { finding: "e1", done: "new switch" }]);
  assert.equal(millAfter([round("fit"), opened, closed]).fit, true);
});

test("back in service: the round is due again", () => {
  const standing = millAfter([round("fit"), ["tag.on", "2027-03-02T12:10:00.000Z", { why: "noise" }], ["tag.off", "2027-03-02T12:20:00.000Z", { tag: "e1", done: "belt" }]]);
  assert.deepEqual([standing.fit, standing.startUp?.due.state], [false, "due"]);
});

test("a round that ended not fit is due again once nothing stops the machine", () => {
  const standing = millAfter([round("not fit")]);
  assert.deepEqual([standing.fit, standing.startUp?.due.state], [false, "due"]);
});

test("a start-up list that no task names is due all the same", () => {
  assert.equal(millAfter([], [filter]).startUp?.due.state, "due");
  assert.equal(millAfter([round("fit")], [filter]).fit, true);
});

test("a meter task late, coolant below its band, a raised task: each is a line with a way in", () => {
  const { lines, count, mark } = millAfter([
    round("fit"), ["meter.added", "2027-03-01T12:00:00.000Z", { meter: "m", amount: 120 }],
    ["reading.taken", "2027-03-02T12:05:00.000Z", { quantity: "coolant.strength", value: 5.8, unit: "%" }],
    ["task.raised", "2027-03-02T12:06:00.000Z", { title: "Order belts" }],
  ]);
  assert.deepEqual(lines.map(({ text }) => text), ["Filter: 20 h over", "To do: Order belts", "Coolant 5.8 %: below the band"]);
  assert.ok(lines.every(({ href }) => href?.startsWith("#/")));
  assert.deepEqual([count, mark], [3, "late"]);
});

test("a drawer at its reorder point is said, one above it is not", () => {
  const world = worldAfter([round("fit")]);
  world.definitions.items = [{ id: "belt", name: "Belts", unit: "piece", reorder_at: 2, machine: "mill", retired: false }];
  world.state.shop.stock.belt = { count: 3, at: null };
  assert.equal(standingOf(world, mill).lines.length, 0);
  world.state.shop.stock.belt = { count: 2, at: null };
  assert.match(String(standingOf(world, mill).lines[0]?.text), /2 pieces left, reorder at 2/);
  world.state.shop.orders = { belt: [{ at: "2027-03-01T12:00:00.000Z", by: "ann", count: 3, expected: null }] };
  assert.equal(standingOf(world, mill).lines.length, 0, "what is on order counts");
});

test("the day's order: late, tagged, due, near, resting", () => {
  const names = ["resting", "due", "tagged", "late"];
  const world = worldAfter([]);
  world.definitions.machines = names.map((id) => ({ ...mill, id, name: id }));
  world.definitions.checklists = [{ ...list, machine: "due" }];
  world.definitions.tasks = [{ ...filter, machine: "late" }];
  const tagged = emptyDoc();
  tagged.tags.t = { why: "jaw" };
  const late = emptyDoc();
  late.meters.m = { total: 300, base: 0, face: null, face_at: null, at: null, backwards: 0 };
  world.state = { machines: { tagged, late }, meters: {}, shop: emptyDoc() };
  assert.deepEqual(standings(world).map(({ machine }) => machine?.id), ["late", "tagged", "due", "resting"]);
});

test("what is left is said in days or in the meter's unit", () => {
  const due = { state: /** @type {const} */ ("late"), due_on: null, used: 0, every: 0, fraction: 1, why: "" };
  assert.equal(sayDue({ ...due, left: -1, unit: "days" }), "late 1 day");
  assert.equal(sayDue({ ...due, left: 0, unit: "days" }), "due today");
  assert.equal(sayDue({ ...due, left: 38.25, unit: "h" }), "38.3 h left");
});
