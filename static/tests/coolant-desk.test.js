// The coolant desk: the mix in words, what one press logs, what a top-up starts from, what is drawn.
import assert from "node:assert/strict";
import test from "node:test";
import { beginOf } from "../src/places/coolant/begin.js";
import { leftNow, sayLeft, saySure } from "../src/places/coolant/oil-words.js";
import { acidityOf, controlOf, saySignal, strengthsOf, trendOf, useOf } from "../src/places/coolant/points.js";
import { blankOf, entriesOf, sayDrain, sayHow, sayPour, saySkip, sayThen, workMix } from "../src/places/coolant/sum.js";
import { emptyDoc } from "../src/core/fold.js";

const BAND = { act_low: 6, target: 8, act_high: 10 };
const FLUID = { id: "f", kind: "coolant", name: "Coolant", capacity: 1000, unit: "L", band: BAND, factor: 1, quantity: "coolant.strength", jug: 0.1 };
const SMALL = { ...FLUID, capacity: 5, unit: "gal", jug: 0.05 };

/** @param {any} fluid @param {Record<string, string>} some */
const typed = (fluid, some) => ({ ...blankOf(fluid), ...some });
/** @param {any} fluid @param {Record<string, string>} some */
const work = (fluid, some) => workMix(fluid, typed(fluid, some));

/** A mix that must be there. @param {any} fluid @param {Record<string, string>} some */
function mixOf(fluid, some) {
  const found = work(fluid, some);
  assert.ok(found.mix, JSON.stringify(found.errors));
  return { ...found, mix: found.mix };
}

test("1000 L for 8 %, 700 L left at 10 %: 290 L water and 10 L concentrate, a mix of 3.33 % (cncmarket.de)", () => {
  const { mix } = mixOf(FLUID, { level: "700", reading: "10" });
  assert.equal(sayPour(mix, "L"), "290 L water and 10 L concentrate");
  assert.match(sayHow(mix), /^Pour the concentrate into the water/);
  assert.match(sayThen(mix, 8, "L"), /^Then the sump holds 1000 L at 8 %\. The mix poured in has 3\.3 %\.$/);
});

test("what the jug cannot measure is rounded, and the level and strength after it are said", () => {
  const { mix } = mixOf(SMALL, { level: "4.36", reading: "7.5" });
  assert.equal(sayPour(mix, "gal"), "0.55 gal water and 0.05 gal concentrate");
  assert.match(sayThen(mix, 8, "gal"), /holds 4\.96 gal at 7\.6 %, 0\.4 below the target.*Exactly it would be 0\.073 gal/);
});

test("too weak to mend by filling: what filling gives, what comes out, and the ways round it", () => {
  const found = mixOf({ ...FLUID, capacity: 100 }, { level: "98", reading: "5" });
  assert.match(String(sayDrain(found, 8, "L")), /Filling alone gives 4\.9 to 6\.9 %: 8 % cannot be reached without draining.*waste drum.*wait until use/);
  assert.match(saySkip(found, FLUID), /^2 L of concentrate alone gives 6\.9 %, inside the band\.$/);
  assert.ok(found.mix.drain > 0);
  assert.match(sayHow(found.mix), /never neat into the sump/);
  assert.equal(sayDrain(mixOf(FLUID, { level: "700", reading: "10" }), 8, "L"), null);
  const full = mixOf({ ...FLUID, capacity: 100 }, { level: "100", reading: "12" });
  assert.match(String(sayDrain(full, 8, "L")), /^The sump is full: 8 %/);
});

test("by depth: 48 by 24 in, 10 in deep, is 49.87 gal, and the mark to fill to is said", () => {
  const deep = { ...FLUID, capacity: 60, unit: "gal", sump: { shape: "flat", length: 48, width: 24, unit: "in" } };
  const found = work(deep, { level: "10", reading: "8" });
  assert.equal(Number(found.volume).toFixed(2), "49.87");
  assert.equal(Number(found.mark).toFixed(2), "12.03"); // 60 x 231 / (48 x 24)
  assert.match(String(work(deep, { level: "14", reading: "8" }).errors.level), /^The depth: 14 in makes .* more than the sump holds/);
});

test("bad input is told beside its field: 140 %, above the brim, an instrument that is off, a target of nothing", () => {
  assert.match(String(work({ ...FLUID, factor: 2 }, { level: "700", reading: "70" }).errors.reading), /140 % is more than pure concentrate/);
  assert.match(String(work(FLUID, { level: "1200", reading: "7" }).errors.level), /more than the sump holds/);
  assert.match(String(work(FLUID, { level: "700", reading: "7", zero: "0.6" }).errors.zero), /Set it to 0 on water/);
  assert.match(String(work(FLUID, { level: "700", reading: "7", target: "0" }).errors.target), /no mix/);
  assert.match(String(work(FLUID, { level: "700", reading: "7", fill: "1100" }).errors.fill), /more than the sump holds/);
  assert.match(String(work(FLUID, { level: "", reading: "7" }).errors.level), /empty/);
  assert.equal(work(FLUID, { level: "", reading: "7" }).percent, 7);
});

test("one press: zero, strength, level and the addition, in that order of time", () => {
  const some = typed(SMALL, { level: "4.36", reading: "7.5", zero: "0.1" });
  const done = workMix(SMALL, some);
  const poured = { water: 0.5, concentrate: 0.1 };
  const made = entriesOf({ machine: "m", fluid: SMALL, work: done, typed: some, own: { reading: true, level: true }, poured, note: "new drum" }, (date) => date.toISOString(), new Date(1000));
  assert.deepEqual(made.map(({ kind, body }) => [kind, body.quantity ?? body.fluid, body.value ?? body.amount, body.unit]), [
    ["reading.taken", "coolant.zero", 0.1, "Brix"], ["reading.taken", "coolant.strength", 7.5, "%"],
    ["reading.taken", "coolant.level", 4.36, "gal"], ["fluid.added", "f", 0.6, "gal"]]);
  assert.equal(made[3].body.note, "new drum");
  const times = made.map(({ at }) => Date.parse(String(at)));
  assert.deepEqual(times, [997, 998, 999, 1000]);
});

test("a depth is logged as it was read on the dipstick; what was drained is told with the fill", () => {
  const deep = { ...SMALL, capacity: 60, sump: { shape: "flat", length: 48, width: 24, unit: "in" } };
  const some = typed(deep, { how: "depth", level: "12", reading: "5" });
  const done = workMix(deep, some);
  assert.ok(done.mix && done.mix.drain > 0);
  const made = entriesOf({ machine: "m", fluid: deep, work: done, typed: some, own: { reading: true, level: true }, poured: done.mix, note: "" }, (date) => date.toISOString(), new Date(1000));
  assert.deepEqual(made.map(({ body }) => [body.quantity ?? body.fluid, body.value ?? body.amount, body.unit]).slice(0, 2), [["coolant.strength", 5, "%"], ["coolant.depth", 12, "in"]]);
  assert.match(made[2].body.note, /^[\d.]+ gal taken out first\.$/);
});

test("what was taken over from the record is not logged again; a fill to a lower mark says where it ended", () => {
  const some = typed(SMALL, { level: "4", reading: "7.5", fill: "4.5" });
  const done = workMix(SMALL, some);
  const made = entriesOf({ machine: "m", fluid: SMALL, work: done, typed: some, own: { reading: false, level: false }, poured: { water: 0.4, concentrate: 0.1 }, note: "" }, (date) => date.toISOString(), new Date(1000));
  assert.deepEqual(made.map(({ kind, body }) => [kind, body.quantity, body.value]), [["fluid.added", undefined, undefined], ["reading.taken", "coolant.level", 4.5]]);
});

const CLOCK = { now: new Date("2027-03-02T12:00:00Z"), zone: "UTC" };
const FOUND = { level: { volume: 812.4, low: 790, high: 830, at: "2027-03-01T06:00:00Z", basis: "reckoned" } };
/** @param {any} [some] @returns {import("../src/core/fold.js").Doc} */
const doc = (some = {}) => ({ ...emptyDoc(), readings: { "coolant.strength": [{ at: "2027-03-02T06:00:00Z", value: 6.3, unit: "%", by: "p" }] }, ...some });

test("a top-up starts from the last reading and the reckoned level, with their age", () => {
  const begin = beginOf({ ...FLUID, factor: 1.5 }, doc(), FOUND, "2027-03-02T06:30:00Z", CLOCK);
  assert.deepEqual([begin.level, begin.reading], ["812.4", "4.2"]);
  assert.match(begin.levelNote, /^Reckoned from the last fill and the usual loss: 790 to 830 L, as of today 06:30/);
  assert.match(begin.readingNote, /As read today 06:00; it is not logged again/);
});

test("nothing is taken over that something was poured on since, or that is too old", () => {
  const filled = doc({ fluids: { f: { changed_at: null, changed_meters: {}, added_at: "2027-03-02T07:00:00Z", added: 3 } } });
  const begin = beginOf(FLUID, filled, FOUND, "2027-03-02T06:30:00Z", CLOCK);
  assert.deepEqual([begin.level, begin.reading], ["", ""]);
  assert.match(begin.levelNote + begin.readingNote, /filled in since.*read it.*filled in since: read it again/);
  const old = beginOf(FLUID, doc({ readings: { "coolant.strength": [{ at: "2027-02-20T06:00:00Z", value: 6.3, unit: "%" }] } }), FOUND, "2027-02-20T06:30:00Z", CLOCK);
  assert.deepEqual([old.level, old.reading], ["", ""]);
  assert.match(old.readingNote, /^Last 6\.3 % read .*: read it again/);
  const doubtful = { ...FOUND, strength: { at: "2027-03-02T06:00:00.000Z", doubtful: true } };
  assert.match(beginOf(FLUID, doc(), doubtful, "2027-03-02T06:30:00Z", CLOCK).readingNote, /off on water: set it to 0/);
  assert.deepEqual(beginOf(FLUID, emptyDoc(), null, null, CLOCK), { reading: "", readingNote: "Not read before.", level: "", levelNote: "" });
});

const SAY = { zone: "UTC", sayAt: (/** @type {string} */ at) => at.slice(0, 10) };

test("the trend: the phone's own newer readings after the server's, Brix turned to %, doubtful ones apart", () => {
  const series = [{ at: "2027-03-01T06:00:00Z", percent: 8, doubtful: false }, { at: "2027-03-02T06:00:00Z", percent: 9, doubtful: true }];
  const own = [{ at: "2027-03-03T06:00:00Z", value: 5, unit: "Brix" }, { at: "2027-03-01T06:00:00Z", value: 8, unit: "%" }];
  const rows = strengthsOf({ ...FLUID, factor: 1.5 }, series, own);
  assert.deepEqual(rows.map(({ percent }) => percent), [8, 9, 7.5]);
  const chart = trendOf(rows, BAND, SAY);
  assert.deepEqual(chart.good, [6, 10]);
  assert.deepEqual(chart.series.map(({ draw, values }) => [draw, values]), [[undefined, [8, null, 7.5]], ["marks", [null, 9, null]]]);
  assert.equal(chart.x.say(chart.x.values[0]), "2027-03-01");
});

test("the control chart marks the readings that signal by a series of their own shape", () => {
  const points = ["01", "02", "03"].map((day, index) => ({ at: `2027-03-${day}T06:00:00Z`, percent: 8 - index, ewma: 8 }));
  const chart = { points, limits: { centre: 8, lower: 7, upper: 9 }, ewma: { lower: 7.6, upper: 8.4 }, signals: [{ rule: "we1", side: "low", says: "beyond 3 sigma", readings: 1, from: points[2].at, to: points[2].at }] };
  const drawn = controlOf(chart, SAY);
  assert.deepEqual(drawn.series[2].values, [null, null, 6]);
  assert.equal(drawn.series[2].draw, "marks");
  assert.equal(drawn.limits?.length, 5);
  assert.equal(controlOf({ ...chart, signals: [] }, SAY).series.length, 2);
  assert.equal(saySignal(chart.signals[0], "2027-03-04", (at) => at.slice(0, 10)), "Beyond a limit, on the low side: yesterday.");
});

const USE = { rate: 0.01, low: 0.009, high: 0.011, residual: 0.01, squares: 1000, t: 2.26 };
const OIL = { meter: { id: "h", unit: "h" }, use: USE, since: { at: "2027-03-01T06:00:00Z", level: 0.5, hours: 10 } };

test("way oil: what this phone's meter ran since counts too; a fill since then makes it unknown", () => {
  const ran = { ...emptyDoc(), meters: { h: /** @type {any} */ ({ total: 110 }) } };
  const found = leftNow({ id: "o" }, OIL, ran, { h: { total: 100, a_week: 20 } }, "2027-03-02T00:00:00Z");
  assert.equal(found.hours, 20);
  assert.equal(found.left?.left, 0.3); // 0.5 - 20 x 0.01
  assert.match(sayLeft(/** @type {any} */ (found.left), "gal", "h", 20), /^About 0\.3 gal .*for 30 h more .*about 10\.5 days at 20 h a week\.$/);
  const filled = { ...ran, fluids: { o: { changed_at: null, added_at: "2027-03-02T07:00:00Z", added: 1 } } };
  assert.match(leftNow({ id: "o" }, OIL, filled, {}, "2027-03-02T00:00:00Z").why, /filled after this was worked out/);
  assert.match(leftNow({ id: "o" }, { ...OIL, use: null }, ran, {}, "").why, /takes a few fills/);
  assert.equal(saySure({ sure: 0.997, odds: "by chance less than once in 333" }), "How sure: 99.7 %, by chance less than once in 333.");
});

test("oil by stretch: use an hour beside what was to be expected, the odd ones marked", () => {
  const row = { from: "2027-03-01T00:00:00Z", hours: 10, expected: 0.1, low: 0.08, high: 0.12, sure: null };
  const chart = useOf([{ ...row, to: "2027-03-02T00:00:00Z", used: 0.1, state: "usual" }, { ...row, to: "2027-03-03T00:00:00Z", used: 0.03, state: "little" }], { unit: "gal", per: "h", ...SAY });
  assert.deepEqual(chart.series.map(({ values }) => values), [[0.01, 0.003], [0.008, 0.008], [0.012, 0.012], [null, 0.003]]);
  assert.equal(chart.series[3].draw, "marks");
});

test("pH is a line once two readings are known, those of this phone beyond the server's among them", () => {
  const found = { band: { act_low: 8.5, act_high: 9.5 }, series: [{ at: "2027-03-01T12:00:00Z", value: 9.1 }] };
  assert.equal(acidityOf(found, [], SAY), null);
  const own = [{ at: "2027-03-08T12:00:00Z", value: 8.8 }, { at: "2027-03-01T12:00:00Z", value: 9.1 }];
  const chart = acidityOf(found, own, SAY);
  assert.deepEqual(chart?.series[0]?.values, [9.1, 8.8]);
  assert.deepEqual(chart?.good, [8.5, 9.5]);
});
