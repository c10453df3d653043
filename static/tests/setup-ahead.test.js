// What a rule will do, read back while it is written. Dates by the calendar of 2027 and RFC 5545.
import assert from "node:assert/strict";
import test from "node:test";
import { aheadOf } from "../src/places/setup/rule-ahead.js";

const FACTS = { today: "2027-03-02", in_service: true, start: "2027-03-02", done: null, meters: { spindle_hours: 412.5 }, readings: {}, events: {}, meter_start: {}, dates: [], units: { spindle_hours: "h" } };

/** @param {any} rule @param {any} [some] */
const ahead = (rule, some = {}) => aheadOf(rule, { ...FACTS, ...some }).map(({ rule: _rule, ...rest }) => rest);

test("floating: from the day it was last done, else from the start; a short month gives its last day", () => {
  assert.deepEqual(ahead({ every: { months: 1 } }, { start: "2027-01-31" }), [{ dates: ["2027-02-28", "2027-03-31", "2027-04-30", "2027-05-31"] }]);
  assert.deepEqual(ahead({ every: { weeks: 2 } }, { done: { date: "2027-02-26", meters: {} } })[0].dates?.[0], "2027-03-12");
});

test("fixed dates from today on, by the calendar", () => {
  assert.deepEqual(ahead({ rrule: "FREQ=MONTHLY;BYDAY=1MO", anchor: "2027-01-04" }), [{ dates: ["2027-04-05", "2027-05-03", "2027-06-07", "2027-07-05"] }]);
});

test("a rule written out shows the server's dates, or says that they come", () => {
  const rule = { rrule: "FREQ=MONTHLY;BYDAY=MO,TU,WE,TH,FR;BYSETPOS=-1", anchor: "2027-01-04" };
  assert.deepEqual(ahead(rule, { dates: ["2027-02-26", "2027-03-31"] }), [{ dates: ["2027-03-31"] }]);
  assert.match(String(ahead(rule)[0].none), /when it is saved/);
});

test("by a meter: from where it stood when it was last done, else from where the count began", () => {
  assert.deepEqual(ahead({ meter: "spindle_hours", every: 250 }, { done: { date: "2027-01-01", meters: { spindle_hours: 300 } } }), [{ counts: [550, 800, 1050, 1300], unit: "h", now: 412.5 }]);
  assert.deepEqual(ahead({ meter: "spindle_hours", every: 250 }, { meter_start: { spindle_hours: 400 } })[0].counts?.[0], 650);
  assert.match(String(ahead({ meter: "cuts", every: 10 })[0].none), /no meter for saw cuts/);
});

test("a meter that was never read counts from 0", () => {
  assert.deepEqual(ahead({ meter: "cuts", every: 10 }, { units: { cuts: "cuts" } }), [{ counts: [10, 20, 30, 40], unit: "cuts", now: 0 }]);
});

test("after an event: its own counts or day, or that it waits", () => {
  const events = { "part.changed/blade": { date: "2027-03-01", meters: { cut_area: 1000 } }, "tag.off": { date: "2027-03-01", meters: {} } };
  const some = { events, meters: { cut_area: 1020 }, units: { cut_area: "sq in" } };
  assert.deepEqual(ahead({ after: "part.changed", part: "blade", meter: "cut_area", at: [50, 200] }, some), [{ counts: [1050, 1200], unit: "sq in", now: 1020 }]);
  assert.deepEqual(ahead({ after: "tag.off", days: 0 }, some), [{ dates: ["2027-03-01"] }]);
  assert.match(String(ahead({ after: "fluid.changed", fluid: "coolant", days: 7 }, some)[0].none), /not happened yet/);
});

test("the first of several: each part apart", () => {
  const both = ahead({ first_of: [{ meter: "spindle_hours", every: 250 }, { every: { years: 1 } }] });
  assert.equal(both.length, 2);
  assert.deepEqual(both[1].dates, ["2028-03-02", "2029-03-02", "2030-03-02", "2031-03-02"]);
});

test("by a reading and by the day: what it waits for", () => {
  assert.match(String(ahead({ when: { reading: "coolant.strength", below: 6 } })[0].none), /not been measured/);
  assert.match(String(ahead({ when: { reading: "coolant.strength", below: 6 } }, { readings: { "coolant.strength": 7 } })[0].none), /first reading beyond/);
  assert.match(String(ahead({ each: "start-up" })[0].none), /Every day/);
});
