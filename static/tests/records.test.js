// The record on the phone: which entries fit what is asked, and what the document of the past is made into.
import assert from "node:assert/strict";
import { test } from "node:test";
import { chainOf, filterOf, matching, queryOf, together } from "../src/places/records/filter.js";
import {
  byMonth, countOf, happened, monthOf, onTimeBy, openFindings, placeOf, sayMonth, shareOf, shopDays, tasksOf,
} from "../src/places/records/past.js";

const ZONE = "America/Chicago";
const NONE = filterOf(new URLSearchParams());
let made = 0;
/** @param {string} kind @param {any} body @param {any} [over] @returns {any} */
const entry = (kind, body, over = {}) => ({ id: `id-${String(++made).padStart(3, "0")}`, kind, machine: "mill", by: "ann", at: "2027-03-02T12:00:00Z", seq: made, body, ...over });
/** @param {any[]} rows @param {Partial<import("../src/places/records/filter.js").Filter>} asked */
const fit = (rows, asked) => matching(rows, { ...NONE, ...asked }, ZONE).map(({ id }) => id);

test("days are the shop's, and both count", () => {
  const rows = ["2027-03-02T05:59:59Z", "2027-03-02T06:00:00Z", "2027-03-04T05:59:59.999Z", "2027-03-04T06:00:00Z"].map((at) => entry("note.made", { text: at }, { at }));
  assert.deepEqual(fit(rows, { from: "2027-03-02", to: "2027-03-03" }), [rows[1].id, rows[2].id]);
  assert.deepEqual(fit(rows, { to: "2027-03-01" }), [rows[0].id]);
  const corrected = entry("note.made", { text: "" }, { at: "2027-03-09T12:00:00Z", receipt: { marked: true, effective_at: "2027-03-02T12:00:00Z" } });
  assert.deepEqual(fit([corrected], { from: "2027-03-02", to: "2027-03-02" }), [corrected.id], "by its corrected time");
});

test("by person, machine and kind; the shop's own are those of no machine", () => {
  const rows = [entry("note.made", {}), entry("note.made", {}, { by: "ben" }), entry("note.made", {}, { machine: null }), entry("batch.run", { adds: {} })];
  assert.deepEqual(fit(rows, { person: "ben" }), [rows[1].id]);
  assert.deepEqual(fit(rows, { machine: "shop" }), [rows[2].id]);
  assert.deepEqual(fit(rows, { machine: "mill", kind: "note.made" }), [rows[0].id, rows[1].id]);
  assert.equal(fit(rows, {}).length, 4);
});

test("by metal: as written, as amended, of a worn part, in any case", () => {
  const rows = [entry("batch.run", { alloy: "C36000" }), entry("batch.run", {}, { amended: { alloy: "C36000" } }), entry("part.changed", { material: "c36000" }),
    entry("batch.run", { alloy: "C3600" }), entry("note.made", { text: "C36000" })];
  assert.deepEqual(fit(rows, { alloy: "C36000" }), rows.slice(0, 3).map(({ id }) => id));
});

test("what belongs to a finding, and nothing of another's", () => {
  const round = entry("round.done", { checks: [] });
  const finding = entry("finding.opened", { text: "Drips", round: round.id });
  const other = entry("finding.opened", { text: finding.id });
  const tag = entry("tag.on", { why: "Drips", finding: finding.id });
  const task = entry("task.raised", { title: "Seal", finding: finding.id });
  const rest = [entry("task.done", { task: task.id }), entry("tag.off", { tag: tag.id }), entry("finding.closed", { finding: finding.id })];
  const strange = [entry("tag.on", { why: "Loose", finding: other.id }), entry("task.done", { task: "another" }), entry("tag.off", { tag: finding.id })];
  const rows = [round, finding, other, tag, task, ...rest, ...strange];
  assert.deepEqual([...chainOf(rows, finding.id)].sort(), [round, finding, tag, task, ...rest].map(({ id }) => id).sort());
  assert.equal(chainOf(rows, tag.id).size, 0, "a tag is no finding");
  assert.deepEqual(fit(rows, { finding: finding.id, kind: "task.done" }), [rest[0].id]);
});

test("an address carries what is asked, and nothing else", () => {
  const query = new URLSearchParams("machine=m1&from=2027-03-01&colour=blue");
  assert.equal(queryOf(filterOf(query)).toString(), "machine=m1&from=2027-03-01");
});

test("what is here and what was fetched stand together once, newest first", () => {
  const old = entry("note.made", {}, { at: "2027-01-01T00:00:00Z" });
  const here = entry("note.made", {}, { at: "2027-03-01T00:00:00Z", mine: true });
  assert.deepEqual(together([here], [old, { ...here, mine: false }]), [here, old]);
});

test("rounds are counted, and the worst of the shop's machines marks the day", () => {
  assert.deepEqual(countOf("ddlm.co-d"), { done: 3, late: 1, missed: 1 });
  assert.equal(shareOf(countOf("ddlm")), 50);
  assert.equal(shareOf(countOf(".co-")), null);
  const days = shopDays(["dd.co-", "dm.cc-", "l-.oc"]);
  assert.equal(days.map(({ letter }) => letter).join(""), "lm.cc-");
  assert.deepEqual(days[1]?.counts, { done: 1, late: 0, missed: 1 });
  assert.deepEqual(shopDays([]), []);
});

test("days fall into their months over a leap February", () => {
  const months = byMonth("2028-01-31", 31);
  assert.deepEqual(months.map(({ month, days }) => [month, days.length]), [["2028-01", 1], ["2028-02", 29], ["2028-03", 1]]);
  assert.deepEqual(months[1]?.days[28], { day: "2028-02-29", at: 29 });
  assert.equal(sayMonth("2028-02"), "Feb 2028");
});

const TASKS = {
  a: { name: "Grease", machine: "mill", months: { "2027-01": [3, 1, 1], "2027-02": [1, 0, 0] }, late_since: null },
  b: { name: "Hang the net", machine: null, months: { "2027-02": [0, 2, 0] }, late_since: "2027-02-03" },
};

test("on time by month, and by task the least often first", () => {
  const all = onTimeBy(TASKS, ["2027-01", "2027-02", "2027-03"], "");
  assert.deepEqual(all.share, [75, 100 / 3, null]);
  assert.deepEqual([all.onTime, all.late, all.putOff], [[3, 1, 0], [1, 2, 0], [1, 0, 0]]);
  assert.deepEqual(onTimeBy(TASKS, ["2027-02"], "mill").share, [100]);
  assert.deepEqual(tasksOf(TASKS, "").map(({ id, on, late, put, share }) => [id, on, late, put, share]), [["b", 0, 2, 0, 0], ["a", 4, 1, 1, 80]]);
  assert.deepEqual(tasksOf(TASKS, "shop").map(({ id }) => id), ["b"]);
});

test("months of several machines come to one", () => {
  const month = { rounds_min: 10, tasks_min: 5, set_up_min: 1, out_h: 2, out_shop_h: 1, shop_h: 100 };
  const sum = monthOf([{ months: { "2027-01": month } }, { months: { "2027-01": month } }, { months: {} }], "2027-01");
  assert.deepEqual(sum, { rounds_min: 20, tasks_min: 10, set_up_min: 2, out_h: 4, out_shop_h: 2, shop_h: 200 });
});

test("open findings, the oldest first, with how long they have been", () => {
  const doc = (/** @type {string} */ id, /** @type {string} */ at) => ({ findings: { [id]: { text: id, stop: false, at, by: "ann" } } });
  const found = openFindings({ machines: { mill: doc("new", "2027-03-01T00:00:00Z"), saw: doc("old", "2027-01-01T00:00:00Z") }, shop: doc("shop's", "2027-02-01T00:00:00Z") }, new Date("2027-03-02T12:00:00Z"));
  assert.deepEqual(found.map(({ id, machine, days }) => [id, machine, days]), [["old", "saw", 60.5], ["shop's", null, 29.5], ["new", "mill", 1.5]]);
});

test("what happened on the days shown, and where a stretch lies on the strip", () => {
  const subject = { events: [[0, "tasks", "e1", "one"], [5, "changes", "e2", "two"], [9, "tasks", "e3", "three"]] };
  assert.deepEqual(happened(subject, "2027-02-25", "2027-03-01", "2027-03-02"), [{ day: "2027-03-02", lane: "changes", entry: "e2", text: "two" }]);
  assert.deepEqual(placeOf("2027-03-03", "2027-03-04", "2027-03-01", 10), { left: 20, width: 20 });
  assert.deepEqual(placeOf("2027-02-01", "2027-03-01", "2027-03-01", 10), { left: 0, width: 10 });
  assert.equal(placeOf("2027-02-01", "2027-02-28", "2027-03-01", 10), null);
  assert.equal(placeOf("2027-03-11", "2027-03-12", "2027-03-01", 10), null);
});
