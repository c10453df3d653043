// What stands for a person by this phone's own state, what "later" can mean, and how failing jobs are said.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { emptyDoc, fold } from "../src/core/fold.js";
import { firstBegins, hoursOf, instantAt, nextWorkingDay } from "../src/core/hours.js";
import { laterChoices } from "../src/places/reminders/later.js";
import { forPerson, restsUntil, stands } from "../src/places/reminders/standing.js";
import { standings } from "../src/places/standing.js";

/** @type {Record<string, (args: any) => string>} */
const FUNCTIONS = {
  instant: ({ day, clock, zone }) => new Date(instantAt(day, clock, zone)).toISOString().replace(".000Z", "Z"),
  next_working_day: ({ shop, day }) => nextWorkingDay(hoursOf(shop), day),
  first_begins: ({ shop }) => firstBegins(hoursOf(shop)),
};

for (const { name, in: { fn, args }, out } of JSON.parse(readFileSync(new URL("../../tests/vectors/hours.json", import.meta.url), "utf8"))) {
  test(`hours: ${name}`, () => assert.equal(FUNCTIONS[fn](args), out));
}

const SHOP = { time_zone: "America/Chicago" };
const at = (/** @type {string} */ day, /** @type {string} */ clock) => instantAt(day, clock, SHOP.time_zone);
const said = (/** @type {number} */ now, /** @type {any} */ shop = SHOP) => laterChoices(now, shop).map(({ text, when }) => `${text}: ${when}`);

test("in the morning, later is this afternoon, tomorrow morning or next week, on the shop's wall", () => {
  assert.deepEqual(said(at("2026-03-03", "07:10")), ["This afternoon: 13:00", "Tomorrow morning: Wed 4 Mar 06:00", "Next week: Mon 9 Mar 06:00"]);
  assert.equal(laterChoices(at("2026-03-03", "07:10"), SHOP)[1].until, "2026-03-04T12:00:00.000Z");
});

test("with the afternoon near or begun it is in three hours, to the full five minutes", () => {
  assert.deepEqual(said(at("2026-03-03", "13:02"))[0], "In 3 hours: 16:05");
  assert.deepEqual(said(at("2026-03-04", "04:00"))[0], "This afternoon: 13:00");
  assert.deepEqual(said(at("2026-03-03", "12:30"))[0], "In 3 hours: 15:30");
});

test("on a Friday the next working day is next week; over a holiday it is the day after", () => {
  assert.deepEqual(said(at("2026-03-06", "07:00")), ["This afternoon: 13:00", "Next week: Mon 9 Mar 06:00"]);
  assert.deepEqual(said(at("2026-03-06", "07:00"), { ...SHOP, holidays: ["2026-03-09"] }).at(-1), "Next week: Tue 10 Mar 06:00");
  assert.deepEqual(said(at("2026-03-03", "07:00"), { ...SHOP, holidays: ["2026-03-04"] })[1], "Next working day: Thu 5 Mar 06:00");
});

test("the morning after the clocks leapt is six on the wall; nothing rests longer than thirty days", () => {
  const saturday = { ...SHOP, shifts: [{ days: ["sun"], begins: "06:00", ends: "12:00" }] };
  assert.equal(laterChoices(at("2026-03-07", "07:00"), saturday)[1].until, "2026-03-08T11:00:00.000Z");
  const closed = { ...SHOP, holidays: Array.from({ length: 60 }, (_, n) => new Date(Date.UTC(2026, 2, 4 + n)).toISOString().slice(0, 10)) };
  assert.deepEqual(said(at("2026-03-03", "07:00"), closed), ["This afternoon: 13:00"]);
});

/** @type {any} */
const mill = { id: "mill", name: "Mill 1", retired: false, meters: [], parts: [],
  fluids: [{ id: "cool", kind: "coolant", name: "Coolant", capacity: 40, unit: "gal", band: { act_low: 6, act_high: 10 } }] };
/** @type {any} */
const list = { id: "list", machine: "mill", name: "Start-up", form: "start-up", revision: 1, retired: false, checks: [{ id: "a", text: "Look" }] };
const base = { machine: "mill", minutes: 5, retired: false, meter_start: {}, dates: [], start: "2026-02-02" };
/** @type {any} */
const round = { ...base, id: "round", name: "Start-up round", rule: { each: "start-up" }, checklist: "list" };
/** @type {any} */
const vise = { ...base, id: "vise", name: "Grease the vise", rule: { every: { weeks: 4 } }, checklist: null };
/** @type {any} */
const belts = { id: "belts", name: "Belts", unit: "pcs", reorder_at: 3, retired: false, machine: "mill" };

/** @param {[string, string, any][]} made kind, at, body @param {string} [now] @returns {any} */
function worldAfter(made, now = "2026-03-03T14:00:00Z") {
  const docs = { mill: emptyDoc(), shop: emptyDoc() };
  made.forEach(([kind, when, body], index) => {
    const own = kind.startsWith("stock.") ? "shop" : "mill";
    fold(docs[own], { id: `e${index}`, kind, machine: own === "shop" ? null : "mill", by: "p", at: when, body }, own === "shop" ? "shop" : "machine:mill");
  });
  const all = [mill, list, round, vise, belts];
  const definitions = { shop: SHOP, bays: [], machines: [mill], checklists: [list], tasks: [round, vise], items: [belts], people: [], byId: new Map(all.map((one) => [one.id, one])) };
  return { definitions, state: { machines: { mill: docs.mill }, meters: {}, shop: docs.shop }, now: new Date(now) };
}

/** @param {any} over @returns {any} */
const told = (over) => ({ id: "r", person: "ann", kind: "late", weight: "plain", what: "Grease the vise is late", where: "Mill 1", minutes: 5, why: "", link: "#/task/mill/vise",
  machine: "mill", task: "vise", opened_at: "2026-03-03T12:00:00Z", told_at: null, snoozed_until: null, ...over });
/** @param {any} reminder @param {[string, string, any][]} [made] @param {string} [now] */
const standsAfter = (reminder, made = [], now = undefined) => {
  const world = worldAfter(made, now);
  return stands(reminder, world, standings(world));
};

test("a task that is done here is over at once, whatever the server's older answer says", () => {
  const done = /** @type {[string, string, any]} */ (["task.done", "2026-03-03T13:00:00.000Z", { task: "vise" }]);
  assert.equal(standsAfter(told({})), true);
  assert.equal(standsAfter(told({}), [done]), false);
  assert.equal(standsAfter(told({ opened_at: "2026-03-03T13:30:00Z" }), [done]), false, "it does not press any more");
});

test("taken back, it stands again; put off, it does not", () => {
  const off = /** @type {[string, string, any]} */ (["task.deferred", "2026-03-03T13:00:00.000Z", { task: "vise", to: "2026-03-20", why: "waiting for grease" }]);
  assert.equal(standsAfter(told({}), [off]), false);
});

test("what was told as late is over when it is merely near by now", () => {
  const done = /** @type {[string, string, any]} */ (["task.done", "2026-02-05T13:00:00.000Z", { task: "vise" }]);
  assert.equal(standsAfter(told({ kind: "near" }), [done]), true);
  assert.equal(standsAfter(told({ kind: "late" }), [done]), false);
});

test("a round is over when it was walked, or its day is over", () => {
  const reminder = told({ kind: "round", link: "#/round/mill/list", task: null });
  const walked = /** @type {[string, string, any]} */ (["round.done", "2026-03-03T13:00:00.000Z", { checklist: "list", revision: 1, form: "start-up", started_at: "2026-03-03T12:59:00.000Z", seconds: 40, outcome: "fit", checks: [{ check: "a", answer: "ok", stop: true }] }]);
  assert.equal(standsAfter(reminder), true);
  assert.equal(standsAfter(reminder, [walked]), false);
  assert.equal(standsAfter(reminder, [], "2026-03-04T14:00:00Z"), false);
});

test("a coolant is over when it was filled or reads within its band, not when it reads low still", () => {
  const reminder = told({ kind: "coolant", link: "#/coolant/mill/cool", task: null });
  const reading = (/** @type {number} */ value) => /** @type {[string, string, any]} */ (["reading.taken", "2026-03-03T13:00:00.000Z", { quantity: "coolant.strength", value, unit: "%" }]);
  assert.equal(standsAfter(reminder, [reading(5)]), true);
  assert.equal(standsAfter(reminder, [reading(8)]), false);
  assert.equal(standsAfter(reminder, [["fluid.added", "2026-03-03T13:00:00.000Z", { fluid: "cool", amount: 4, unit: "gal" }]]), false);
});

test("an order is over when the drawer was counted full; a tag's when it is off", () => {
  const order = told({ kind: "stock", link: "#/log/stock?item=belts", task: null });
  assert.equal(standsAfter(order, [["stock.counted", "2026-03-03T13:00:00.000Z", { item: "belts", count: 2 }]]), true);
  assert.equal(standsAfter(order, [["stock.counted", "2026-03-03T13:00:00.000Z", { item: "belts", count: 9 }]]), false);
  assert.equal(standsAfter(order, [["stock.counted", "2026-03-03T10:00:00.000Z", { item: "belts", count: 2 }], ["stock.ordered", "2026-03-03T13:00:00.000Z", { item: "belts", count: 9 }]]), false);
  const tag = told({ kind: "tag", link: "#/tag/mill/e0", task: null });
  const on = /** @type {[string, string, any]} */ (["tag.on", "2026-03-01T13:00:00.000Z", { why: "noise" }]);
  assert.equal(standsAfter(tag, [on]), true);
  assert.equal(standsAfter(tag, [on, ["tag.off", "2026-03-03T13:00:00.000Z", { tag: "e0", done: "belt" }]]), false);
});

test("a test stands for an hour; what is at a machine that is gone does not stand", () => {
  const trial = told({ kind: "test", machine: null, link: "#/today", task: null, opened_at: "2026-03-03T13:30:00Z" });
  assert.equal(standsAfter(trial), true);
  assert.equal(standsAfter(trial, [], "2026-03-03T14:31:00Z"), false);
  assert.equal(standsAfter(told({ kind: "moved", machine: "gone", link: "#/ahead" })), false);
});

test("what this phone put off rests before the server knows, and ends before it too", () => {
  const now = new Date("2026-03-03T14:00:00Z");
  const later = "2026-03-03T19:00:00Z";
  assert.equal(restsUntil(told({}), [], now), null);
  assert.equal(restsUntil(told({}), [{ id: "r", until: later }], now), later);
  assert.equal(restsUntil(told({ snoozed_until: later }), [{ id: "r", until: null }], now), null);
  assert.equal(restsUntil(told({ snoozed_until: "2026-03-03T13:00:00Z" }), [], now), null);
});

test("a person is told their own, bundled by place, the most pressing first; the quiet apart", () => {
  const world = worldAfter([]);
  const rows = [
    told({ id: "a", kind: "paper", machine: null, where: "The shop", link: "#/records", minutes: null }), told({ id: "b" }),
    told({ id: "c", person: "ben" }), told({ id: "d", kind: "moved", weight: "quiet", link: "#/ahead" }), told({ id: "e", kind: "phone", machine: null, where: "The shop", link: "#/setup/devices", minutes: null }),
    told({ id: "f", kind: "paper", machine: null, where: "The shop", link: "#/records" }),
  ];
  const mine = forPerson(rows, "ann", { world, all: standings(world), snoozes: [{ id: "f", until: "2026-03-04T12:00:00Z" }] });
  assert.deepEqual(mine.told.map(({ where, rows: own }) => [where, ...own.map(({ id }) => id)]), [["Mill 1", "b"], ["The shop", "a", "e"]]);
  assert.deepEqual([mine.count, mine.minutes, mine.quiet[0].rows[0].id, mine.resting[0].id], [3, 5, "d", "f"]);
});
