// Two edits of one definition put together: nobody's change is lost without a choice.
import assert from "node:assert/strict";
import test from "node:test";
import { bodyOf, differences, merge, same } from "../src/places/setup/clash.js";

/** @param {string} id @param {string} text @param {any} [more] @returns {any} */
const check = (id, text, more = {}) => ({ id, text, why: "w", ...more });
const base = { name: "Start-up", holidays: ["2027-01-01"], checks: [check("a", "Guards"), check("b", "Air"), check("c", "Oil")] };

/** @param {any} found */
const picks = (found) => Object.fromEntries(found.map((/** @type {any} */ one) => [one.key, one.pick]));

test("a body is what people wrote", () => {
  assert.deepEqual(bodyOf({ id: "x", revision: 3, retired: false, dates: [], type: "task", name: "Oil" }), { name: "Oil" });
});

test("nothing, null and missing are the same; the order of keys does not matter", () => {
  assert.ok(same(undefined, null));
  assert.ok(same({ a: 1, b: null }, { a: 1 }));
  assert.ok(same({ a: 1, b: 2 }, { b: 2, a: 1 }));
  assert.ok(!same([1, 2], [2, 1]));
  assert.ok(!same(0, null));
});

test("each side's own change is picked for it; what both changed is nobody's until chosen", () => {
  const mine = { ...base, name: "Morning", holidays: ["2027-07-05"] };
  const theirs = { ...base, name: "Dawn", checks: [check("a", "Guards and stops"), base.checks[1], base.checks[2]] };
  const found = differences(base, mine, theirs);
  assert.deepEqual(picks(found), { name: null, holidays: "mine", "checks/a/text": "theirs" });
});

test("changes to different checks, and to different fields of one check, go together", () => {
  const mine = { ...base, checks: [check("a", "Guards", { stop: true }), base.checks[1], base.checks[2]] };
  const theirs = { ...base, checks: [check("a", "Guards and stops"), base.checks[1], check("c", "Way oil")] };
  const found = differences(base, mine, theirs);
  const merged = merge(mine, theirs, found, picks(found));
  assert.deepEqual(merged.checks, [check("a", "Guards and stops", { stop: true }), base.checks[1], check("c", "Way oil")]);
});

test("checks added on both sides stay, each after the one it was put behind", () => {
  const mine = { ...base, checks: [base.checks[0], check("m", "Mine"), base.checks[1], base.checks[2]] };
  const theirs = { ...base, checks: [...base.checks, check("t", "Theirs")] };
  const found = differences(base, mine, theirs);
  assert.deepEqual(merge(mine, theirs, found, picks(found)).checks.map((/** @type {any} */ one) => one.id), ["a", "m", "b", "c", "t"]);
});

test("a check taken out here and edited there is a choice", () => {
  const mine = { ...base, checks: [base.checks[0], base.checks[2]] };
  const theirs = { ...base, checks: [base.checks[0], check("b", "Air pressure"), base.checks[2]] };
  const found = differences(base, mine, theirs);
  assert.deepEqual(picks(found), { "checks/b": null });
  assert.deepEqual(merge(mine, theirs, found, { "checks/b": "mine" }).checks.map((/** @type {any} */ one) => one.id), ["a", "c"]);
  assert.deepEqual(merge(mine, theirs, found, { "checks/b": "theirs" }).checks.map((/** @type {any} */ one) => one.text), ["Guards", "Air pressure", "Oil"]);
});

test("a new order is one difference of its own", () => {
  const mine = { ...base, checks: [base.checks[2], base.checks[0], base.checks[1]] };
  const found = differences(base, mine, base);
  assert.deepEqual(picks(found), { "checks/order": "mine" });
  assert.deepEqual(merge(mine, base, found, picks(found)).checks.map((/** @type {any} */ one) => one.id), ["c", "a", "b"]);
  assert.deepEqual(merge(mine, base, found, { "checks/order": "theirs" }).checks.map((/** @type {any} */ one) => one.id), ["a", "b", "c"]);
});

test("a list that was emptied here comes back only when theirs is picked", () => {
  const mine = { ...base, checks: [] };
  const found = differences(base, mine, base);
  assert.equal(merge(mine, base, found, picks(found)).checks.length, 0);
});
