// The bench sums: every one works in both units, says what is wrong beside its field, and meets published figures.
import assert from "node:assert/strict";
import test from "node:test";
import { SUMS } from "../src/places/sums/list.js";
import { evaluate, inOtherUnits, sayInputs, unitOf } from "../src/places/sums/sum.js";

/** What each sum is given, in US units. @type {Record<string, Record<string, string>>} */
const GIVEN = {
  "cut-area": { diameter: "2", bar: "144", blank: "1.5", kerf: "0.05" },
  teeth: { shape: "tube", outside: "2", wall: "0.25", pitch: "10" },
  "band-speed": { metal: "hard brass", size: "2", coolant: "dry" },
  tension: { width: "1", thickness: "0.035", stress: "28000" },
  strength: { reading: "5", factor: "1.6" },
  dilution: { mix: "8", volume: "5" },
  "surface-speed": { diameter: "8", rpm: "800" },
  "grinder-gaps": { rest: "0.125", tongue: "0.25" },
  "wheel-rating": { diameter: "8", rpm: "3450", marked: "3600", flange: "3" },
  "belt-speed": { diameter: "10", rpm: "1725", rated: "6000" },
  "mixed-dust": { last: "304", now: "6061" },
  nozzle: { bore: "0.25", pressure: "80", delivered: "100" },
  "worn-nozzle": { bore: "0.25", now: "0.3125", pressure: "80" },
  "pump-up": { volume: "80", start: "0", end: "125", seconds: "300" },
  leak: { volume: "80", start: "120", end: "100", seconds: "600", delivered: "15" },
  noise: { level1: "95", minutes1: "60", level2: "88", minutes2: "180", level3: "78", minutes3: "240" },
  "under-protector": { level: "100", nrr: "25" },
};

/** @param {string} name @param {Record<string, string>} [more] @param {"us" | "metric"} [units] */
const work = (name, more = {}, units = "us") => evaluate(SUMS[name], { ...GIVEN[name], ...more }, units);

/** The answer, which must be there. @param {string} name @param {Record<string, string>} [more] @param {"us" | "metric"} [units] */
function answer(name, more, units) {
  const worked = work(name, more, units);
  assert.ok(worked.answer, `${name}: ${JSON.stringify(worked)}`);
  return worked.answer;
}

test("every sum has inputs, a figure, how it is meant, how sure it is and a source", () => {
  assert.deepEqual(Object.keys(SUMS).sort(), Object.keys(GIVEN).sort());
  for (const name of Object.keys(SUMS)) {
    const found = answer(name);
    assert.ok(found.figures.length && found.sure && found.sources.every(Boolean) && found.sources.length, name);
    assert.ok(SUMS[name].meant && SUMS[name].cautions.length, name);
    assert.match(sayInputs(SUMS[name], GIVEN[name], true), /^From .+\.$/);
  }
});

test("the same work in the other units comes to the same", () => {
  for (const [name, sum] of Object.entries(SUMS)) {
    const metric = inOtherUnits(sum, GIVEN[name], false);
    const [us, other] = [answer(name), answer(name, metric, "metric")];
    assert.deepEqual(other.figures.map(({ verdict }) => verdict), us.figures.map(({ verdict }) => verdict), name);
    const back = inOtherUnits(sum, metric, true);
    for (const field of sum.fields(GIVEN[name], true)) {
      const typed = Number(GIVEN[name][field.name]);
      if (unitOf(field, true) !== unitOf(field, false) && typed) assert.ok(Math.abs(Number(back[field.name]) / typed - 1) < 1e-3, `${name} ${field.name}`);
    }
  }
});

test("an inch stays an inch: 2 in is 50.8 mm, 100 psi 6.895 bar, 15 cfm 424.8 L/min", () => {
  assert.equal(inOtherUnits(SUMS["cut-area"], { diameter: "2" }, false).diameter, "50.8");
  assert.equal(inOtherUnits(SUMS.nozzle, { pressure: "100" }, false).pressure, "6.895");
  assert.equal(inOtherUnits(SUMS.nozzle, { delivered: "15" }, false).delivered, "424.8");
  assert.equal(inOtherUnits(SUMS.nozzle, { bore: "a lot" }, false).bore, "a lot");
});

test("cut area: 2 in round is 3.142 sq in, 20.27 cm²; a bar without its kerf is asked for it", () => {
  assert.equal(Number(answer("cut-area", { bar: "", blank: "", kerf: "" }).figures[0].value).toFixed(3), "3.142");
  const metric = answer("cut-area", { diameter: "50.8", bar: "", blank: "", kerf: "" }, "metric").figures[0];
  assert.deepEqual([Number(metric.value).toFixed(2), metric.unit], ["20.27", "cm²"]);
  assert.match(String(work("cut-area", { kerf: "" }).errors.kerf), /^Kerf: It is empty\. Give the width of the cut, or 0\.$/);
  assert.match(String(work("cut-area", { blank: "200" }).errors.blank), /longer than the bar/);
});

test("teeth: a 1/4 in wall with 10 teeth an inch has 2.5 and fails, with 14 it has 3.5 and passes (fsmdirect.com)", () => {
  assert.deepEqual([answer("teeth").figures[0].value, answer("teeth").figures[0].verdict], ["2.5", "stop"]);
  const finer = answer("teeth", { pitch: "14" }).figures[0];
  assert.deepEqual([finer.value, finer.verdict], ["3.5", "within"]);
  assert.match(String(work("teeth", { pitch: "many" }).errors.pitch), /no pitch/);
});

test("band speed: hard brass over 1 in, dry, is 250 ft/min (maker's chart); a dry chart says so when coolant is asked", () => {
  assert.deepEqual([answer("band-speed").figures[0].value, answer("band-speed").figures[0].unit], ["250", "ft/min"]);
  assert.ok(answer("band-speed", { coolant: "wet" }).said?.some((line) => /dry cutting/.test(line)));
});

test("surface speed both ways: 8 in at 800 rpm is 1676 ft/min (chart), 300 ft/min on 1/2 in is 2292 rpm (kandhsalesinc.com)", () => {
  assert.equal(Math.round(Number(answer("surface-speed").figures[0].value)), 1676);
  assert.equal(Math.round(Number(answer("surface-speed", { ways: "rpm", speed: "300", diameter: "0.5" }).figures[0].value)), 2292);
});

test("grinder: 1/8 in and 1/4 in are at the limit, a thousandth more is above it (29 CFR 1910.215)", () => {
  assert.deepEqual(answer("grinder-gaps").figures.map(({ verdict }) => verdict), ["within", "within"]);
  assert.deepEqual(answer("grinder-gaps", { rest: "0.126", tongue: "0.251" }).figures.map(({ word }) => word), ["above the limit", "above the limit"]);
  assert.equal(answer("wheel-rating", { marked: "3000" }).figures[0].word, "above the mark");
  assert.equal(answer("wheel-rating", { flange: "2.6" }).figures.at(-1)?.word, "below one third");
});

test("steel and aluminium in one dust raise the caution, names that say nothing are told", () => {
  assert.deepEqual(answer("mixed-dust").cautions, ["light_metal_dust"]);
  assert.equal(answer("mixed-dust", { now: "mystery" }).figures[0].verdict, "look");
  assert.match(String(work("mixed-dust", { now: "304, 6061" }).errors.now), /one at a time/);
  assert.deepEqual(answer("belt-speed", { material: "titanium" }).cautions, ["light_metal_dust"]);
  // 10 in at 1725 rpm is 4516 ft/min: above both printed speeds for titanium, inside one for stainless (3500 to 5000, roughing).
  assert.ok(answer("belt-speed", { material: "titanium" }).lists?.[0].rows.every(({ word }) => word === "this belt is faster"));
  assert.ok(answer("belt-speed").lists?.[0].rows.some(({ word }) => word === "this belt is inside"));
});

test("nozzle: 1/4 in at 80 psi draws 68 cfm while blasting (blastandpaint.com, within its 7 %), wanted with half as much again 102", () => {
  const { figures } = answer("nozzle");
  assert.ok(Math.abs(Number(figures[0].value) / 68 - 1) < 0.07);
  assert.ok(Math.abs(Number(figures[2].value) / 102 - 1) < 0.07);
  assert.equal(figures[1].verdict, "look");
  assert.equal(answer("worn-nozzle").figures[0].word, "grown by 1/16 in: a new one"); // 1/4 to 5/16 in: blastone.com
  assert.match(String(work("worn-nozzle", { now: "0.2" }).errors.now), /smaller than the new bore/);
  assert.match(String(work("nozzle", { bore: "0" }).errors.bore), /not a number above zero/);
});

test("pump-up: 80 gal from 0 to 125 psi in 300 s is 18.2 cfm (accurateair.com); higher up the same gauge means more", () => {
  assert.equal(Number(answer("pump-up").figures[0].value).toFixed(1), "18.2");
  assert.ok(Number(answer("pump-up", { height: "5000" }).figures[0].value) > 18.2);
  assert.match(String(work("pump-up", { end: "0" }).errors.end), /not above the pressure/);
  assert.match(String(work("leak", { end: "130" }).errors.end), /not below the pressure/);
});

test("strength: 5 Brix times 1.60 is 8 % (commonwealthoil.com); 10 % at 2.2 is 4.5 Brix (toweroil.com); 140 % is refused", () => {
  assert.equal(answer("strength").figures[0].value, 8);
  assert.equal(Number(answer("strength", { factor: "2.2", percent: "10", reading: "1" }).figures[1].value).toFixed(1), "4.5");
  assert.match(String(work("strength", { reading: "70", factor: "2" }).errors.reading), /140 % is more than pure concentrate/);
  assert.match(String(work("strength", { zero: "0.6" }).errors.zero), /Set it to 0 on water/);
});

test("1:20 is asked for its meaning: 1/21 is 4.76 %, 1/20 is 5 %", () => {
  const asked = work("dilution", { mix: "1:20", volume: "21", step: "0" });
  assert.equal(asked.answer, null);
  assert.match(String(asked.errors.meaning), /4\.76 %.*5 %/);
  assert.deepEqual(answer("dilution", { mix: "1:20", volume: "21", step: "0", meaning: "to" }).figures.slice(0, 2).map(({ value }) => value), [20, 1]);
  assert.deepEqual(answer("dilution", { mix: "1:20", volume: "20", step: "0", meaning: "in" }).figures.slice(0, 2).map(({ value }) => value), [19, 1]);
  assert.match(String(work("dilution", { mix: "strong" }).errors.mix), /not a ratio/);
  assert.match(String(work("dilution", { mix: "140" }).errors.mix), /140 %/);
});

test("noise: 95 dBA for 4 h is OSHA's whole dose (Table G-16a), 85 for 8 h NIOSH's and the upper action value (regulation 4)", () => {
  const single = (/** @type {string} */ level, /** @type {string} */ minutes) => evaluate(SUMS.noise, { level1: level, minutes1: minutes }, "us").answer?.figures ?? [];
  assert.deepEqual(single("95", "240").map(({ value }) => value).slice(0, 3), [100, 100, 90]);
  assert.deepEqual([single("95", "240")[0].verdict, single("94.9", "240")[0].verdict], ["stop", "within"]);
  assert.deepEqual([single("85", "480")[3].value, single("85", "480")[4].value, single("85", "480")[4].word], [100, 85, "at or over the upper action value"]);
  // 80 dBA counts towards hearing conservation (32 h are allowed) and not towards the limit.
  assert.deepEqual(single("80", "480").slice(0, 2).map(({ value }) => value), [0, 25]);
  assert.deepEqual(single("79", "480")[2].value, "nothing counts");
  assert.deepEqual([single("86.9", "480")[4].verdict, single("87", "480")[4].verdict], ["look", "stop"]);
  // Worked by hand: 1/4 at 95 and 3/10.556 at 88 over 80; the energy of all three over 8 h.
  assert.equal(Number(answer("noise").figures[1].value).toFixed(1), (100 * (1 / 4 + 3 / (8 / 2 ** (-2 / 5)))).toFixed(1));
});

test("noise: a shift that was not measured whole is below nothing; a row half filled is told beside its field", () => {
  const part = work("noise", { shift: "10" }).answer?.figures ?? [];
  assert.ok(part.every(({ verdict }) => verdict !== "within"));
  assert.match(String(work("noise", { minutes2: "" }).errors.minutes2), /Level 2 for: It is empty/);
  assert.match(String(work("noise", { level2: "300" }).errors.level2), /not between 20 and 160/);
  assert.match(String(work("noise", { minutes2: "0" }).errors.minutes2), /not above 0/);
  assert.match(String(work("noise", { shift: "4" }).errors.shift), /has 4 h/);
  assert.equal(work("noise", { peak: "140" }).answer?.figures.at(-1)?.verdict, "stop");
  const loud = answer("noise", { level1: "116", minutes1: "1" });
  assert.match(loud.lists?.[0].rows[0].notes[0] ?? "", /no time at all/);
  assert.deepEqual(answer("noise").lists?.[0].rows.map(({ lead }) => lead), ["95 dBA", "88 dBA", "78 dBA"]);
});

test("under a protector: half of NRR 25 less 7 in 100 dBA leaves 91 (1910.95 Appendix B); SNR 28 in 97 dB(C) leaves 73 (noisemeters.co.uk)", () => {
  const { figures } = answer("under-protector");
  assert.deepEqual(figures.map(({ value }) => value), [91, 82, 91, 88.25]);
  assert.equal(answer("under-protector", { second: "yes" }).figures[0].value, 86);
  const snr = evaluate(SUMS["under-protector"], { rating: "snr", level: "97", snr: "28" }, "metric").answer;
  assert.deepEqual([snr?.figures[0].value, snr?.figures[0].verdict], [73, "within"]);
  assert.equal(evaluate(SUMS["under-protector"], { rating: "snr", level: "90", snr: "28" }, "metric").answer?.figures[0].word, "below 70 dB(A): too quiet to hear a warning");
  assert.match(String(work("under-protector", { nrr: "90" }).errors.nrr), /between 0 and 40/);
});

test("what is empty waits without an error; what is no number is told at once", () => {
  const empty = evaluate(SUMS.nozzle, {}, "us");
  assert.deepEqual([empty.answer, empty.missing.length > 0, Object.values(empty.errors).every((error) => error === null)], [null, true, true]);
  assert.match(String(work("nozzle", { bore: "a quarter" }).errors.bore), /Type digits only/);
});
