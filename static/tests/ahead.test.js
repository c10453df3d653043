// What is ahead: how it is said, how old it is, and where its bars, weeks and arcs lie.
import assert from "node:assert/strict";
import { test } from "node:test";
import { arcOf, barOf, heightsOf, mondays, peopleOf, piecesOf } from "../src/places/ahead/bars.js";
import { foretell, plainDay, sayAge, sayBasis, sayBy, sayDates, sayEarly, sayMinutes, sayTogether, sayWeek } from "../src/places/ahead/words.js";

const TODAY = "2026-11-25"; // a Wednesday
const AS_OF = "2026-11-25T06:58:00-05:00";
/** @type {any} */
const METER = { state: "resting", due_on: null, earliest: "2026-11-28", likely: "2026-12-03", latest: "2026-12-09", by: "meter", left: 38.2, every: 250, unit: "h",
  a_week: 25.016, basis: "measured", days: 248, reached: 0, deferred_to: null, resting: false, after_return: null, why: "" };
const kept = { asOf: AS_OF };

test("a day is said with its year only when it is far off", () => {
  assert.deepEqual(["2026-12-03", "2027-01-04", "2027-10-01"].map((day) => plainDay(day, TODAY)), ["3 Dec", "4 Jan", "1 Oct 2027"]);
});

test("a likely date stands with its range, the month once where it is the same", () => {
  assert.equal(sayDates({ early: "2026-11-28", likely: "2026-12-03", late: "2026-12-09" }, TODAY), "likely 3 Dec (28 Nov to 9 Dec)");
  assert.equal(sayDates({ early: "2026-12-08", likely: "2026-12-10", late: "2026-12-15" }, TODAY), "likely 10 Dec (8 to 15 Dec)");
});

test("what lies beyond three years is said, on one side or on all", () => {
  assert.equal(sayDates({ early: "2026-12-08", likely: "2027-01-10", late: null }, TODAY), "likely 10 Jan (8 Dec to beyond three years)");
  assert.match(sayDates({ early: "2029-01-08", likely: null, late: null }, TODAY), /^not before 8 Jan 2029/);
  assert.equal(sayDates({ early: null, likely: null, late: null }, TODAY), "beyond three years");
});

test("each forecast says what it rests on: measured, mixed, the shop's hours alone", () => {
  assert.deepEqual([sayBasis("measured", 248), sayBasis("mixed", 1), sayBasis("declared", 0)],
    ["measured over 248 days", "mixed: only 1 day measured yet", "the shop's hours alone, nothing measured yet"]);
  assert.equal(foretell(METER, TODAY, kept).rests, "38.2 h left at about 25 h a week, measured over 248 days");
});

test("a task is told by its meter, its calendar, its deferral, its rest", () => {
  const by = (/** @type {any} */ some) => foretell({ ...METER, ...some }, TODAY, kept).said;
  assert.equal(by({}), "likely 3 Dec (28 Nov to 9 Dec)");
  assert.equal(by({ by: "calendar", earliest: "2026-12-15", likely: "2026-12-15", latest: "2026-12-15" }), "15 Dec");
  assert.equal(by({ deferred_to: "2026-12-20" }), "put off to 20 Dec");
  assert.equal(by({ resting: true, likely: null, earliest: null, latest: null, by: null, after_return: [48, 55, 62] }), "rests: due 55 days after its return (48 to 62)");
  assert.equal(by({ state: "late" }), "late");
  assert.equal(by({ a_week: null, likely: null, earliest: null, latest: null, by: null }), "no date yet");
  assert.equal(by({ reached: 0.6 }), "probably reached: read the counter");
});

test("what a date rests on: its meter, the calendar, a deferral; a reading beyond its limit has no calendar", () => {
  const range = { early: "2026-11-28", likely: "2026-12-03", late: "2026-12-09" };
  const day = { early: "2026-12-03", likely: "2026-12-03", late: "2026-12-03" };
  const by = (/** @type {any} */ some, /** @type {any} */ dates) => sayBy({ ...METER, ...some }, dates);
  assert.equal(by({}, range), "measured over 248 days");
  assert.equal(by({ by: "calendar" }, day), "by the calendar");
  assert.equal(by({ by: "condition" }, day), "");
  assert.equal(by({ by: "condition", deferred_to: "2026-12-03" }, day), "by the calendar");
});

test("what this phone knows to have happened since goes before what was worked out", () => {
  const done = foretell(METER, TODAY, { asOf: AS_OF, since: { at: "2026-11-25T12:10:00.000Z" } });
  assert.deepEqual([done.dates, /done since/.test(done.said)], [null, true]);
  const before = foretell(METER, TODAY, { asOf: AS_OF, since: { at: "2026-11-25T11:50:00.000Z" } });
  assert.equal(before.dates?.likely, "2026-12-03", "11:50 UTC is 06:50 in the shop: before it was worked out");
  const put = foretell(METER, TODAY, { asOf: AS_OF, since: { deferred: { to: "2026-12-24", at: "2026-11-25T12:10:00.000Z" } } });
  assert.equal(put.said, "put off to 24 Dec");
});

test("a task the server has not seen is said to have no date worked out", () => {
  assert.deepEqual(foretell(undefined, TODAY, kept).said, "no date worked out yet");
});

test("how old it is, and whether this phone has more", () => {
  const clock = { zone: "America/New_York", now: new Date("2026-11-25T15:00:00Z"), unsent: 0 };
  const doc = { as_of: AS_OF, head: 7512 };
  assert.deepEqual(sayAge(doc, { ...clock, head: 7512 }), { said: "As worked out today 06:58, from the record up to entry 7512.", older: false });
  assert.equal(sayAge(doc, { ...clock, head: 7513 }).older, true);
  assert.equal(sayAge(doc, { ...clock, head: 7512, unsent: 1 }).older, true);
  assert.match(sayAge(doc, { ...clock, head: 7512, now: new Date("2026-11-27T15:00:00Z") }).said, /Wed 06:58/);
});

test("a bar spans its days on eight weeks, its mark in the middle of the likely day", () => {
  assert.deepEqual(barOf({ early: "2026-11-25", likely: "2026-12-09", late: "2027-01-19" }, TODAY),
    { start: 0, width: 100, mark: 25.89, beyond: false, single: false });
  assert.deepEqual(barOf({ early: "2026-12-09", likely: "2026-12-09", late: "2026-12-09" }, TODAY), { start: 25, width: 1.79, mark: 25.89, beyond: false, single: true });
});

test("a bar that goes on past the weeks shown has no end, what lies past them no bar, what is past stands today", () => {
  assert.deepEqual(barOf({ early: "2027-01-06", likely: "2027-02-20", late: null }, TODAY), { start: 75, width: 25, mark: null, beyond: true, single: false });
  assert.equal(barOf({ early: "2027-01-20", likely: "2027-02-20", late: null }, TODAY), null);
  assert.equal(barOf({ early: null, likely: null, late: null }, TODAY), null);
  assert.deepEqual(barOf({ early: "2026-11-20", likely: "2026-11-22", late: "2026-11-24" }, TODAY)?.start, 0);
});

test("the axis names every second Monday of eight weeks", () => {
  const ticks = mondays(TODAY);
  assert.deepEqual([ticks.length, ticks[0], ticks[1]?.text, ticks[2]?.text], [8, { at: 8.93, text: "30 Nov" }, "", "14 Dec"]);
  assert.equal(mondays("2026-11-30")[0]?.at, 0, "today is a Monday");
});

/** @type {any[]} */
const WEEKS = [
  { week: "2026-11-23", minutes: 40, people: [{ person: null, minutes: 30 }, { person: "a", minutes: 10 }], tasks: [] },
  { week: "2026-11-30", minutes: 80, people: [{ person: "b", minutes: 60 }, { person: "a", minutes: 20 }], tasks: [] },
];

test("people stand in one order in every week, nobody's last; the fullest week fills its bar", () => {
  assert.deepEqual(peopleOf(WEEKS), ["b", "a", null]);
  assert.deepEqual(piecesOf(WEEKS), [
    [{ person: "a", minutes: 10, width: 12.5 }, { person: null, minutes: 30, width: 37.5 }],
    [{ person: "b", minutes: 60, width: 75 }, { person: "a", minutes: 20, width: 25 }],
  ]);
  assert.deepEqual([peopleOf([]), piecesOf([])], [[], []]);
});

test("minutes are said in hours from an hour on", () => {
  assert.deepEqual([0, 0.4, 25.4, 60, 690.2].map(sayMinutes), ["0 min", "under 1 min", "25 min", "1 h", "11 h 30 min"]);
});

test("the arc is where the hand will stand on the likely date: wide when unsure, none for a certain date", () => {
  // Half is left and ten days are likely: 50 of 100 at five a day. In eight days, or in twenty, it has run out.
  const ahead = { ...METER, left: 50, every: 100, earliest: "2026-12-02", likely: "2026-12-04", latest: "2026-12-14" };
  const arc = arcOf(ahead, TODAY);
  assert.ok(arc && Math.abs(arc[0] - 0.75) < 1e-9 && Math.abs(arc[1] - 1.125) < 1e-9, String(arc));
  assert.equal(arcOf({ ...ahead, by: "calendar" }, TODAY), null);
  assert.equal(arcOf({ ...ahead, left: 0 }, TODAY), null);
  assert.deepEqual(arcOf({ ...ahead, latest: null }, TODAY)?.[0], 0.5, "it may not run out at all: the hand may stay where it is");
});

test("what is done early together says what is given up and what is saved", () => {
  assert.equal(sayEarly({ task: "t", minutes: 20, days_early: 4, interval_given_up: 0.031, lock_out: true }), "20 min, 4 days early: 3 % of its interval given up");
  assert.equal(sayEarly({ task: "t", minutes: 20, days_early: 0, interval_given_up: 0.01, lock_out: true }), "20 min, due about now");
  assert.equal(sayTogether({ because: [], stopped: false, with: [], minutes: 65, saved: 10, lock_out: true }), "1 h 5 min together. One lock-out serves them all: about 10 min less than one by one.");
  assert.equal(sayTogether({ because: [], stopped: true, with: [], minutes: 20, saved: 0, lock_out: false }), "20 min together.");
});

test("a week of use, in words and in heights", () => {
  const days = [{ day: "Mon", mean: 5.178 }, { day: "Sat", mean: 0.368 }, { day: "Sun", mean: 0 }];
  assert.equal(sayWeek(days, "h"), "In h a day: Mon 5.2, Sat 0.4, Sun 0.");
  assert.deepEqual([heightsOf(days), heightsOf([{ day: "Mon", mean: 0 }])], [[100, 7, 0], [0]]);
});
