// Figures and dates as people type and read them, and the mending of an entry's body.
import assert from "node:assert/strict";
import { test } from "node:test";
import { sayDay, sayLong, sayWhen } from "../src/kit/dates.js";
import { placeName, stretchOf } from "../src/kit/chart.js";
import { figure, readNumber } from "../src/kit/numbers.js";
import { fieldsOf, mendedBody, remadeRound } from "../src/places/records/body.js";

test("a comma is a decimal point, and spaces between digits are let pass", () => {
  assert.equal(readNumber("5,8", { name: "x" }).value, 5.8);
  assert.equal(readNumber(" 1 843.6 ", { name: "x" }).value, 1843.6);
});

test("a comma before three digits may be a thousand: it is asked for again", () => {
  assert.match(String(readNumber("1,250", { name: "The total" }).error), /two ways/);
  assert.equal(readNumber("0,250", { name: "x" }).value, 0.25);
});

test("a chart's stretch holds values and limits with air, and bars stand on nought", () => {
  const series = [{ name: "a", unit: "%", values: [6, null, 8] }];
  const [low, high] = stretchOf({ title: "", x: { name: "", kind: "number", values: [1, 2, 3], say: String }, series, limits: [{ name: "l", value: 10 }] });
  assert.ok(low < 6 && low > 5 && high > 10 && high < 11);
  assert.equal(stretchOf({ title: "", x: { name: "", kind: "number", values: [1], say: String }, series: [{ ...series[0], draw: "bars" }] })[0], 0);
});

for (const bad of ["", "abc", "1.2.3", "1e5", "0x10", "NaN", "Infinity", "--1"]) {
  test(`"${bad}" is refused by the field's name`, () => {
    const { value, error } = readNumber(bad, { name: "The level" });
    assert.equal(value, null);
    assert.match(String(error), /^The level is /);
  });
}

test("bounds are said with the figure and the mend", () => {
  assert.equal(readNumber("-1", { name: "Loads", min: 0 }).error, "Loads is −1. It must be at least 0.");
  assert.equal(readNumber("1.5", { name: "Loads", whole: true }).error, "Loads is 1.5. Type a whole number.");
  assert.equal(readNumber("", { name: "Minutes", optional: true }).error, null);
});

test("figures: thin spaces from five digits on, no trailing noughts, no minus nought", () => {
  assert.deepEqual([figure(1843.6), figure(18436), figure(8), figure(-0.001, 2), figure(null)], ["1843.6", "18\u2009436", "8", "0", "–"]);
  // A gauge's error in inches and a feeler are not rounded away.
  assert.deepEqual([figure(0.0002), figure(-0.0015), figure(0.015), figure(0.1234)], ["0.0002", "−0.0015", "0.015", "0.12"]);
});

test("days as they are said on Tuesday 2 March 2027", () => {
  const days = ["2027-03-02", "2027-03-01", "2027-02-26", "2027-03-03", "2027-05-11", "2026-12-24"];
  assert.deepEqual(days.map((day) => sayDay(day, "2027-03-02")), ["today", "yesterday", "Fri", "tomorrow", "11 May", "24 Dec 2026"]);
});

test("a moment is said by the shop's wall", () => {
  const clock = { zone: "America/New_York", now: new Date("2027-03-02T12:00:00Z") };
  assert.equal(sayWhen("2027-03-02T04:30:00Z", clock), "yesterday 23:30");
});

test("how long it took", () => {
  assert.deepEqual([48, 60, 65, 3600, 7800].map(sayLong), ["48 s", "1 min", "1 min 5 s", "1 h", "2 h 10 min"]);
});

const batch = { adds: { m: 3.2 }, what: "plates", loads: 12, meter_note: { deep: 1 } };
const named = (/** @type {string} */ id) => `name of ${id}`;
const hours = () => "h";

test("an amendment changes what was changed and keeps what it does not know", () => {
  const fields = fieldsOf(batch, named, hours);
  assert.deepEqual(fields.map(({ label }) => label), ["What was made", "Loads", "name of m, h"]);
  const result = mendedBody(batch, fields, { what: "plates", loads: "13", "adds.m": "3,5" });
  assert.deepEqual(result, { body: { ...batch, loads: 13, adds: { m: 3.5 } }, errors: {}, changed: true });
  assert.equal(batch.adds.m, 3.2, "the first version is left alone");
});

test("an amendment with a bad figure names its field", () => {
  const { errors } = mendedBody(batch, fieldsOf(batch, named, hours), { what: " ", loads: "many", "adds.m": "3.2" });
  assert.deepEqual(Object.keys(errors), ["what", "loads"]);
});

test("a measurement's samples, a day and a cutter's minutes can be mended; codes cannot", () => {
  const body = { agent: "copper", place: "sander", method: "qualitative", expires: "2027-03-01", cutters: { t1: 2 }, samples: [{ value: 0.2, unit: "mg/m3", minutes: 400, below_detection: true }] };
  const fields = fieldsOf(body, named, hours);
  assert.deepEqual(fields.map(({ path, type }) => `${path.join(".")} ${type}`),
    ["place text", "expires date", "cutters.t1 number", "samples.0.value number", "samples.0.minutes number", "samples.0.below_detection tick"]);
  const typed = { place: "sander", expires: "2027-04-01", "cutters.t1": "2", "samples.0.value": "0.02", "samples.0.minutes": "400", "samples.0.below_detection": false };
  const { body: made, changed } = mendedBody(body, fields, typed);
  assert.equal(changed, true);
  assert.deepEqual(made.samples, [{ value: 0.02, unit: "mg/m3", minutes: 400, below_detection: false }]);
  assert.equal(made.expires, "2027-04-01");
  assert.equal(made.agent, "copper");
});

test("a round whose reading is mended beyond a stop limit is not fit any more", () => {
  const body = { outcome: "fit", checks: [{ check: "air", answer: "ok", stop: true, value: 60, verdict: "within" }] };
  const made = remadeRound(body, [{ id: "air", stop: true, band: { stop_low: 70 } }]);
  assert.deepEqual([made.outcome, made.checks[0].answer, made.checks[0].verdict], ["not fit", "not ok", "stop low"]);
});

test("a level's name lies where it hides least of the drawing", () => {
  const frame = { left: 0, right: 300, top: 0, bottom: 200 };
  const place = (/** @type {[number, number][]} */ run, taken = /** @type {any[]} */ ([])) => {
    const { left, top } = placeName(frame, 80, 20, 100, run, taken);
    return [left, top];
  };
  assert.deepEqual(place([]), [220, 80], "above its right end");
  assert.deepEqual(place([[250, 90]]), [0, 80], "a point lies there");
  assert.deepEqual(place([[250, 90], [10, 95]]), [220, 100]);
  assert.deepEqual(place([[250, 90], [10, 95]], [{ left: 230, right: 300, top: 105, bottom: 125 }]), [0, 100], "another name lies there");
  assert.equal(placeName(frame, 80, 20, 5, [], []).top, 5, "it is not cut off at the top");
});
