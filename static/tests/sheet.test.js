// A printed sheet typed in: past-dated on the shop's wall, its findings and counters with it.
import assert from "node:assert/strict";
import { test } from "node:test";
import { answerOn, onTheWall, sheetEntries } from "../src/places/log/sheet-values.js";

const oil = { id: "c1", text: "Look at the way oil", answer: "ok", stop: true };
const strength = { id: "c2", text: "Read the strength", answer: "reading", stop: false, unit: "%", factor: 1.5, quantity: "coolant.strength", band: { stop_low: 3, act_low: 6, act_high: 10 } };
const smell = { id: "c3", text: "Smell it", answer: "choice", stop: false, choices: [{ text: "fresh", ok: true }, { text: "sour", ok: false }] };
const checklist = /** @type {any} */ ({ id: "l", revision: 4, form: "start-up", name: "Start-up", machine: "m", checks: [oil, strength, smell] });
const machine = /** @type {any} */ ({ id: "m", name: "Mill", meters: [{ id: "h", name: "Spindle hours", unit: "h" }] });
const good = { c1: { mark: "ok" }, c2: { typed: "5" }, c3: { choice: "fresh" } };
const now = new Date("2027-03-16T15:00:00Z");

/** @param {any} [over] */
function made(over = {}) {
  let next = 0;
  const sheet = { day: "2027-03-15", begun: "06:50", ended: "06:58", who: "p", lines: good, counters: {}, ...over };
  return /** @type {any} */ (sheetEntries({ checklist, machine, sheet, zone: "America/Chicago", now, newId: () => `id${next++}` }));
}

test("a time on the wall is the instant in the shop's zone, over both changes of the clocks", () => {
  // America/Chicago: UTC-6, from 14 March 2027 02:00 UTC-5, from 7 November 2027 02:00 UTC-6 again (tz database).
  for (const [day, time, at] of [["2027-03-13", "06:58", "2027-03-13T12:58:00.000Z"], ["2027-03-14", "06:58", "2027-03-14T11:58:00.000Z"], ["2027-03-14", "01:30", "2027-03-14T07:30:00.000Z"],
    ["2027-03-14", "02:30", "2027-03-14T08:30:00.000Z"], ["2027-11-07", "06:58", "2027-11-07T12:58:00.000Z"], ["2027-11-06", "23:59", "2027-11-07T04:59:00.000Z"]]) {
    assert.equal(onTheWall(day, time, "America/Chicago").toISOString(), at, `${day} ${time}`);
  }
  assert.equal(onTheWall("2027-03-15", "00:00", "Asia/Kolkata").toISOString(), "2027-03-14T18:30:00.000Z");
});

test("a whole sheet is one past-dated round, marked, by the person who walked it", () => {
  const { entries } = made();
  assert.equal(entries.length, 1);
  const [{ kind, machine: at, by, at: when, body }] = entries;
  assert.deepEqual([kind, at, by, when], ["round.done", "m", "p", "2027-03-15T11:58:00.000Z"]);
  assert.deepEqual([body.typed_in, body.started_at, body.seconds, body.outcome, body.revision], [true, "2027-03-15T11:50:00.000Z", 480, "fit", 4]);
  assert.deepEqual(body.checks.map((/** @type {any} */ one) => [one.answer, one.value, one.choice]), [["ok", undefined, undefined], ["ok", 7.5, undefined], ["ok", undefined, "fresh"]]);
});

test("what was not ok is a finding, closed when the sheet says what was done; nothing hangs a tag", () => {
  const { entries } = made({ lines: { ...good, c1: { mark: "not ok", note: "Glass empty", done: "Filled" }, c3: { choice: "sour" } } });
  assert.deepEqual(entries.map((/** @type {any} */ one) => one.kind), ["round.done", "finding.opened", "finding.opened", "finding.closed"]);
  assert.equal(entries[0].body.outcome, "not fit");
  assert.deepEqual([entries[1].body.text, entries[1].body.stop, entries[1].body.round], ["Glass empty", true, entries[0].id]);
  assert.equal(entries[2].body.text, "Smell it: sour");
  assert.deepEqual(entries[3].body, { finding: entries[1].id, done: "Filled" });
  assert.ok(entries.every((/** @type {any} */ one) => one.at === "2027-03-15T11:58:00.000Z" && one.by === "p"));
});

test("a reading beyond its stop limit is not ok, whatever was ticked", () => {
  const { entries } = made({ lines: { ...good, c2: { typed: "1.5", mark: "ok" } } });
  assert.deepEqual([entries[0].body.checks[1].answer, entries[0].body.checks[1].stop, entries[0].body.outcome], ["not ok", true, "not fit"]);
});

test("counters on the sheet are read with its time", () => {
  const { entries } = made({ counters: { h: "1203.5" } });
  assert.deepEqual([entries[1].kind, entries[1].body, entries[1].at], ["meter.read", { meter: "h", value: 1203.5 }, "2027-03-15T11:58:00.000Z"]);
});

test("what is missing is named where it is missing, and nothing is made", () => {
  for (const [over, field] of /** @type {[any, string][]} */ ([[{ day: "" }, "day"], [{ day: "2027-03-17" }, "day"], [{ ended: "" }, "ended"], [{ begun: "07:30" }, "begun"], [{ who: "" }, "who"],
    [{ lines: { ...good, c1: {} } }, "c1"], [{ lines: { ...good, c2: { mark: "ok" } } }, "c2"], [{ lines: { ...good, c2: { typed: "5,x" } } }, "c2"], [{ lines: { ...good, c1: { mark: "n/a" } } }, "c1"], [{ counters: { h: "-1" } }, "h"]])) {
    const found = made(over);
    assert.ok(found.errors?.[field], field);
  }
  assert.ok("answer" in answerOn(/** @type {any} */ (oil), { mark: "n/a", note: "Pump taken out" }));
});
