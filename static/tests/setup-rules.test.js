// The rule form: fixed dates against RFC 5545's own examples, rules there and back, errors that say the mend.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import test from "node:test";
import { datesOf, readPattern } from "../src/places/setup/rule-dates.js";
import { fromRule, newValues, readAmounts, toRule } from "../src/places/setup/rule-values.js";
import { sayRule, unitsOf } from "../src/places/setup/rule-words.js";

// RFC 5545, section 3.8.5.3; DTSTART 1997-09-02 09:00 where nothing else is said, COUNT replaced by the last day asked for.
/** @type {[string, string, string, string, string[] | null][]} */
const RFC = [
  ["monthly on the first Friday", "FREQ=MONTHLY;BYDAY=1FR", "1997-09-05", "1998-01-31",
    ["1997-09-05", "1997-10-03", "1997-11-07", "1997-12-05", "1998-01-02"]],
  ["every other week on Monday, Wednesday and Friday", "FREQ=WEEKLY;INTERVAL=2;BYDAY=MO,WE,FR", "1997-09-01", "1997-10-31",
    ["1997-09-01", "1997-09-03", "1997-09-05", "1997-09-15", "1997-09-17", "1997-09-19", "1997-09-29", "1997-10-01", "1997-10-03",
      "1997-10-13", "1997-10-15", "1997-10-17", "1997-10-27", "1997-10-29", "1997-10-31"]],
  ["every other day", "FREQ=DAILY;INTERVAL=2", "1997-09-02", "1997-09-10", ["1997-09-02", "1997-09-04", "1997-09-06", "1997-09-08", "1997-09-10"]],
  ["every 18 months on the 15th is left to the server when it names several days", "FREQ=MONTHLY;INTERVAL=18;BYMONTHDAY=10,11,12", "1997-09-10", "1998-01-01", null],
  ["a month that lacks the day is passed over", "FREQ=MONTHLY;BYMONTHDAY=31", "1997-09-01", "1998-03-31", ["1997-10-31", "1997-12-31", "1998-01-31", "1998-03-31"]],
];

for (const [name, rrule, anchor, to, wanted] of RFC) {
  test(`RFC 5545: ${name}`, () => assert.deepEqual(datesOf({ rrule, anchor }, anchor, to), wanted));
}

test("the last Friday, and a leap day every year", () => {
  // The calendar itself: 2027-01-29, 02-26 and 03-26 are the last Fridays; 2028 is the only leap year of the four.
  assert.deepEqual(datesOf({ rrule: "FREQ=MONTHLY;BYDAY=-1FR", anchor: "2027-01-01" }, "2027-01-01", "2027-03-31"), ["2027-01-29", "2027-02-26", "2027-03-26"]);
  assert.deepEqual(datesOf({ rrule: "FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=29", anchor: "2027-01-01" }, "2027-01-01", "2031-12-31"), ["2028-02-29"]);
});

test("dates before the anchor do not count, nor those outside the days asked for", () => {
  assert.deepEqual(datesOf({ rrule: "FREQ=WEEKLY;BYDAY=MO,TH", anchor: "2027-03-03" }, "2027-03-01", "2027-03-11"), ["2027-03-04", "2027-03-08", "2027-03-11"]);
  assert.deepEqual(datesOf({ rrule: "FREQ=WEEKLY;BYDAY=MO", anchor: "2027-01-04" }, "2027-03-01", "2027-03-08"), ["2027-03-01", "2027-03-08"]);
});

test("a rule the form cannot write is not guessed at", () => {
  for (const rrule of ["FREQ=MONTHLY;BYDAY=1MO;BYSETPOS=1", "FREQ=WEEKLY;UNTIL=20271224", "FREQ=MONTHLY;BYDAY=5MO", "FREQ=HOURLY", "nonsense"]) assert.equal(readPattern(rrule), null, rrule);
});

/** @type {[any, string][]} */
const RULES = [
  [{ every: { months: 6 } }, "Every 6 months after it was last done"],
  [{ every: { weeks: 1 } }, "Every week after it was last done"],
  [{ rrule: "FREQ=MONTHLY;BYDAY=1MO", anchor: "2027-01-04" }, "On the first Monday, every month"],
  [{ rrule: "FREQ=WEEKLY;INTERVAL=2;BYDAY=MO,TH", anchor: "2027-01-04" }, "Every 2 weeks on Monday and Thursday"],
  [{ rrule: "FREQ=MONTHLY;INTERVAL=3;BYMONTHDAY=22", anchor: "2027-01-04" }, "On the 22nd, every 3 months"],
  [{ rrule: "FREQ=YEARLY;BYMONTH=1;BYMONTHDAY=4", anchor: "2027-01-04" }, "Every year on 4 January"],
  [{ rrule: "FREQ=YEARLY;UNTIL=20301231", anchor: "2027-01-04" }, "On fixed dates (FREQ=YEARLY;UNTIL=20301231), from 4 Jan 2027"],
  [{ meter: "spindle_hours", every: 250 }, "Every 250 spindle hours"],
  [{ meter: "cut_area", every: 400 }, "Every 400 sq in of cut area"],
  [{ each: "start-up" }, "Before the first use of each day"],
  [{ after: "part.changed", part: "blade", meter: "cut_area", at: [50, 200] }, "50 and 200 sq in of cut area after the blade is changed"],
  [{ after: "fluid.changed", fluid: "coolant", days: 7 }, "7 days after the coolant is changed"],
  [{ after: "tag.off", days: 0 }, "At once after a tag is taken off"],
  [{ when: { reading: "coolant.strength", below: 6, above: 12 } }, "While coolant strength is below 6 or above 12"],
  [{ first_of: [{ meter: "spindle_hours", every: 250 }, { every: { months: 6 } }] }, "Whichever comes first: every 250 spindle hours; or every 6 months after it was last done"],
];

for (const [rule, said] of RULES) {
  test(`in words, and through the form unchanged: ${said}`, () => {
    assert.equal(sayRule(rule), said);
    assert.deepEqual(toRule(fromRule(rule, "2027-03-02")).rule, rule);
  });
}

test("a rule says the unit of what is read, and the name of the one part it waits for", () => {
  const machine = { id: "m", meters: [{ kind: "run_hours", unit: "h" }], parts: [{ id: "t3", kind: "cutter", name: "T3 End mill" }], fluids: [] };
  const lists = [{ machine: "m", checks: [{ quantity: "probe.ring_error", unit: "in" }, { text: "Look" }] }, { machine: "n", checks: [{ quantity: "probe.ring_error", unit: "mm" }] }];
  const units = unitsOf(machine, lists);
  assert.equal(sayRule({ when: { reading: "probe.ring_error", above: 0.0002 } }, units), "While probe ring error is above 0.0002 in");
  assert.equal(sayRule({ after: "part.changed", part: "cutter", only: "t3", meter: "run_hours", at: [0.5] }, units), "0.5 run hours after the T3 End mill is changed");
  assert.deepEqual(unitsOf(null, lists), {});
});

test("every rule of the shared vectors goes through the form unchanged", () => {
  const cases = JSON.parse(readFileSync(new URL("../../tests/vectors/due.json", import.meta.url), "utf8"));
  const rules = cases.map((/** @type {any} */ one) => one.in.rule);
  assert.ok(rules.length > 20);
  for (const rule of rules) assert.deepEqual(toRule(fromRule(rule, "2027-03-02")).rule, rule);
});

test("what is missing is named with its mend", () => {
  const today = "2027-03-02";
  const errors = (/** @type {any} */ some) => toRule([newValues(today, some)]).errors[0];
  assert.match(String(errors({ kind: "meter", amount: "0" }).amount), /more than 0/);
  assert.match(String(errors({ kind: "meter", amount: "5" }).meter), /Choose/);
  assert.match(String(errors({ kind: "every", count: "1.5" }).count), /whole number/);
  assert.match(String(errors({ kind: "dates", days: [] }).days), /Tick one/);
  assert.match(String(errors({ kind: "when", reading: "x" }).below), /Give below, above, or both/);
  assert.match(String(errors({ kind: "when", reading: "x", below: "9", above: "3" }).below), /Swap/);
  assert.match(String(errors({ kind: "after", event: "", by: "days" }).event), /Choose/);
  assert.equal(toRule([newValues(today, { kind: "each" })]).rule?.each, "start-up");
});

test("two rules of fixed dates cannot stand in one task", () => {
  const dates = newValues("2027-03-02", { kind: "dates" });
  const { rule, errors } = toRule([dates, newValues("2027-03-02"), dates]);
  assert.equal(rule, null);
  assert.match(String(errors[2].kind), /Keep one/);
});

test("amounts after an event rise", () => {
  assert.deepEqual(readAmounts("50, 200").amounts, [50, 200]);
  assert.deepEqual(readAmounts("2.5 and 10").amounts, [2.5, 10]);
  assert.match(String(readAmounts("200, 50").error), /do not rise/);
  assert.match(String(readAmounts("soon").error), /no list/);
  assert.match(String(readAmounts(" ").error), /empty/);
});
