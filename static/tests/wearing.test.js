// The page of a wearing part, and what may be noted with a change.
import assert from "node:assert/strict";
import { test } from "node:test";
import { readNotes, stickOutUnit } from "../src/places/log/part-notes.js";
import { curveOf, dotsOf, groupsOf, notesOf, rough, sayLasts, sayLeft, sayLeftInTime, sayListed, topOf, withRange } from "../src/places/wearing/points.js";

const life = (/** @type {number | null} */ lived, /** @type {"failed" | "early"} */ ended = "failed") => ({ from: "", to: "", reason: "", ended, lived });

test("three figures, whatever the size", () => {
  assert.deepEqual([688.8314, 2209.15, 0.31234, 17.26, 0, null].map(rough), ["689", "2210", "0.31", "17.3", "0", "–"]);
});

test("a range that the lives do not bound says so", () => {
  assert.equal(withRange(689, [258, 1219.04]), "689 (258 to 1220)");
  assert.equal(withRange(2209, [1766.8, null]), "2210 (1770 or more)");
  assert.equal(withRange(5, [null, 7]), "5 (up to 7)");
  assert.equal(withRange(5, [null, null]), "5 (no bounds yet)");
});

test("lives stand oldest first, the running one last; one without a length keeps its place", () => {
  const { dots, top } = dotsOf([life(300), life(null), life(100, "early")], { lived: 40, at: "" });
  assert.deepEqual(dots.map(({ ended, lived, index }) => [ended, lived, index]), [["early", 100, 0], ["failed", 300, 2], ["running", 40, 3]]);
  assert.equal(top, 300);
  assert.deepEqual(dots.map(({ x }) => x), [0.125, 0.625, 0.875]);
  assert.equal(dots[1]?.y, 1);
});

test("no lives, no dots; a counter that was set back draws none below the axis", () => {
  assert.deepEqual(dotsOf([], null).dots, []);
  assert.equal(dotsOf([], { lived: -2, at: "" }).dots[0]?.y, 0);
});

test("the axis ends at a round figure at or above the longest life", () => {
  assert.deepEqual([531, 4650, 0.31, 10, 0].map(topOf), [600, 5000, 0.4, 10, 1]);
});

test("the curve's rows hold the curve, its range and the lives' steps at the same ages", () => {
  const fit = { curve: /** @type {[number, number][]} */ ([[0, 1], [100, 0.5], [200, 0]]), steps: /** @type {[number, number][]} */ ([[50, 0.8], [150, 0.2]]),
    band: [{ surviving: 0.9, low: 10, high: 100 }, { surviving: 0.5, low: 60, high: null }] };
  const { ages, fitted, steps, least, most } = curveOf(fit);
  assert.deepEqual(ages, [0, 50, 100, 150, 200]);
  assert.deepEqual(fitted, [100, 75, 50, 25, 0]);
  assert.deepEqual(steps, [100, 80, 80, 20, 20]);
  assert.deepEqual(least, [100, 58, null, null, null], "beyond the last age worked out nothing is drawn");
  assert.deepEqual(most, [100, 95, 90, null, null], "a side without a bound is left out");
});

test("a fit of before there was a range has none", () => {
  const { least, most } = curveOf({ curve: [[0, 1], [10, 0]], steps: [] });
  assert.deepEqual([least, most], [null, null]);
});

test("how much longer, in use and in weeks; no weeks where nobody knows the use", () => {
  const left = { left: [562.9, 1934.3, 4048.9] };
  assert.equal(sayLeft(left, "sq in"), "One in ten goes within 563 sq in from here, half within 1930, nine in ten within 4050.");
  assert.equal(sayLeftInTime(left, "sq in", 431.5), "At about 432 sq in a week that is 1.3, 4.5 and 9.4 weeks.");
  assert.equal(sayLeftInTime(left, "sq in", null), "");
});

test("what ended the lives, in words", () => {
  assert.deepEqual([[0, 0, 0], [1, 1, 0], [4, 4, 0], [2, 0, 2], [10, 9, 1]].map(([ended, failed, early]) => sayListed({ ended, failed, early })), [
    "No life has ended yet.", "1 life has ended: worn or broken.", "4 lives have ended: all worn or broken.", "2 lives have ended: all changed early.",
    "10 lives have ended: 9 worn or broken, 1 changed early."]);
});

test("what is noted of a life", () => {
  assert.equal(notesOf({ grade: "M42", material: "mixed", edge: "re-ground", tool: "4", stick_out: { value: 1.125, unit: "in" } }), "tool 4, M42, several alloys, re-ground, stick-out 1.125 in");
  assert.equal(notesOf({}), "");
});

test("groups stand on one axis; one with too few lives has a middle and no range, and says so", () => {
  const listed = (/** @type {number} */ ended, /** @type {number | null} */ median) => ({ ended, failed: ended, median });
  const fit = { median: 2000, median_range: [1500, 2500], b10: 1060.9, b10_range: [536, 1549.6] };
  const { rows, top } = groupsOf({ C36000: { listed: listed(8, 1981), fit }, mixed: { listed: listed(1, 531.48), fit: null }, 304: { listed: listed(0, null), fit: null } }, "sq in");
  assert.equal(top, 2500);
  const [few, sure, none] = [rows.find(({ name }) => name === "several alloys"), rows.find(({ name }) => name === "C36000"), rows.find(({ name }) => name === "304")];
  assert.deepEqual(sure, { name: "C36000", said: "8 ended, 8 of them worn or broken; B10 1060 (536 to 1550) sq in", typical: "2000 (1500 to 2500) sq in", start: 60, width: 40, mark: 80, sure: true });
  assert.deepEqual([few?.said, few?.typical, few?.mark, few?.width, few?.sure], ["1 ended, 1 of them worn or broken: too few for a range", "531 sq in", 21.26, 0, false]);
  assert.deepEqual([none?.typical, none?.mark], ["none ended", null]);
});

test("a group whose range has no upper bound runs to the end of the axis", () => {
  const fit = { median: 2000, median_range: [1500, null], b10: 1, b10_range: [null, null] };
  const { rows: [row], top } = groupsOf({ a: { listed: { ended: 5, failed: 2, median: 1 }, fit } }, "h");
  assert.deepEqual([top, row?.start, row?.width, row?.typical], [2000, 75, 25, "2000 (1500 or more) h"]);
});

test("how long the drawer lasts, as far as anybody can tell", () => {
  assert.equal(sayLasts({ dates: ["2027-02-21", "2027-05-14", "2027-09-12"] }, "2026-11-25"), "until about 14 May (21 Feb to 12 Sep 2027)");
  assert.equal(sayLasts({ dates: ["2028-01-01", null, null] }, "2026-11-25"), "not before 1 Jan 2028, likely for more than two years");
  assert.equal(sayLasts(null, "2026-11-25"), "");
});

const typed = { material: " C36000 ", grade: "", edge: "re-ground", tool: "4", stickOut: "1,5" };

test("notes of a change: empty ones are left out, and what makes no sense for the part is not sent", () => {
  assert.deepEqual(readNotes(typed, "cutter", "in"), { body: { material: "C36000", edge: "re-ground", tool: "4", stick_out: { value: 1.5, unit: "in" } }, errors: { stickOut: null } });
  assert.deepEqual(readNotes(typed, "blade", "in").body, { material: "C36000", edge: "re-ground" });
  assert.deepEqual(readNotes(typed, "filter", "in").body, { material: "C36000" });
});

test("a stick-out of nought or in words is refused by its name", () => {
  assert.match(String(readNotes({ ...typed, stickOut: "0" }, "cutter", "in").errors.stickOut), /^The stick-out is 0\. It must be more than 0/);
  assert.match(String(readNotes({ ...typed, stickOut: "long" }, "cutter", "in").errors.stickOut), /digits only/);
  assert.deepEqual([stickOutUnit("metric"), stickOutUnit("us")], ["mm", "in"]);
});
