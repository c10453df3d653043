// Air & dust: what work asks, how limits are read, exposure bars, gauges, the purge timer's copies and clocks, people.
import assert from "node:assert/strict";
import { test } from "node:test";
import { beside } from "../src/core/measured.js";
import { OVER, PURGING, blast, look, start } from "../src/core/purge.js";
import { barsOf, markOfWord, notMeasured } from "../src/places/air/bars.js";
import { besideCard, readCertificate, typedLines } from "../src/places/air/certificate.js";
import { chartOf, gaugeOf } from "../src/places/air/gauges.js";
import { authoritiesOf, groupOf, groupsFor, sayAmount, sayMilligrams, sayTime } from "../src/places/air/limits.js";
import { metalsIn } from "../src/places/air/in-dust.js";
import { RISK_BLANK, riskOf } from "../src/places/air/log/risk-of.js";
import { readExposure } from "../src/places/air/log/samples.js";
import { PLAN_BLANK, askedOf, planOf } from "../src/places/air/measure-plan.js";
import { libraryOf, rowOfBody, rowsOf } from "../src/places/air/measured-rows.js";
import { rowsOf as peopleRows, signOffOf, speaks, walkedWithout } from "../src/places/air/people.js";
import { advance, countedOf, doorHeld, leftOf, newer, readCopy } from "../src/places/air/purge-copies.js";
import { purgeOf } from "../src/places/air/purge-figures.js";
import { UNKNOWN, alloyCalled, alloyName, alloyOptions, alloysRun, askedAbout, demandsOf, matters, processOptions, ranBefore, sayPart, sourceOf, usualWork } from "../src/places/air/work.js";

const CLOSING = "The machine's manual, the safety data sheet, local codes and a licensed or competent person come first.";
const caution = { signal: "danger", hazard: "lung", what: "Dust", do: "Do not start.", why: "It harms.", source: "seen" };
/** Cards of the shape of webapp/library/cards.py, with two alloys; figures from the library itself. */
const CARDS = {
  closing: CLOSING,
  sources: { seen: { text: "A print", where: "there", dated: "2019", mark: "seen" }, heard: { text: "A quotation", where: "here", dated: "2026", mark: "second-hand" }, mind: { text: "Common knowledge", where: "nowhere", dated: "2026", mark: "from memory" } },
  elements: { Be: { name: "Beryllium", from_percent: 0.1, substance: "beryllium" }, Pb: { name: "Lead", from_percent: 0.1, substance: "lead" }, Cu: { name: "Copper", from_percent: 1, substance: "copper" } },
  alloys: {
    C17200: { name: "Beryllium copper 25", uns: "C17200", base: "Cu", family: "beryllium copper", also: ["Alloy 25"], composition: [{ element: "Cu", rest: true }, { element: "Be", low: 1.8, high: 2 }] },
    C36000: { name: "Free-cutting brass", uns: "C36000", base: "Cu", family: "leaded brass", composition: [{ element: "Cu", low: 60, high: 63 }, { element: "Pb", low: 2.5, high: 3 }] },
    A96061: { name: "6061", uns: "A96061", base: "Al", family: "aluminium", composition: [{ element: "Al", rest: true }] },
  },
  media: { silica_sand: { name: "Silica sand", refused: { text: "Refused: use another medium.", source: "seen" } }, garnet: { name: "Garnet" } },
  authorities: { us_osha: { name: "OSHA", place: "United States", word: "permissible exposure limit", law: true }, us_niosh: { name: "NIOSH", place: "United States", word: "recommended exposure limit", law: false } },
  substances: { beryllium: { name: "Beryllium", forms: { any: "Dust and fume" } }, lead: { name: "Lead, inorganic", forms: { any: "Dust and fume" } }, copper: { name: "Copper", forms: { fume: "Fume", dust: "Dusts and mists" } } },
  limits: [
    { substance: "beryllium", form: "any", authority: "us_osha", kind: "twa", value: 0.2, unit: "ug/m3", minutes: 480, fraction: "not stated", source: "heard", counted_as: "Be" },
    { substance: "beryllium", form: "any", authority: "us_osha", kind: "action", value: 0.1, unit: "ug/m3", minutes: 480, fraction: "not stated", source: "heard" },
    { substance: "beryllium", form: "any", authority: "us_niosh", kind: "ceiling", value: 0.0005, unit: "mg/m3", minutes: 0, fraction: "not stated", source: "seen" },
    { substance: "lead", form: "any", authority: "us_osha", kind: "twa", value: 50, unit: "ug/m3", minutes: 480, fraction: "not stated", source: "heard" },
    { substance: "copper", form: "dust", authority: "us_osha", kind: "twa", value: 1, unit: "mg/m3", minutes: 480, fraction: "not stated", source: "seen" },
  ],
  processes: { saw: { name: "Sawing" }, dry_sand: { name: "Dry sanding" }, wet_sand: { name: "Wet sanding" }, blast: { name: "Blasting" }, air_clean: { name: "Cleaning with compressed air" } },
  flags: { assessed: "Assessed in writing", gloves: "Gloves are worn", unknown_metal: "Nobody can say" },
  measures: { air_psi: "Pressure at the nozzle" },
  surfaces: { lead: "Lead paint" },
  ppe: { eyes: { part: "eye", text: "Glasses" } },
  rules: [
    { key: "beryllium", when: { processes: ["dry_sand", "blast"], elements: { Be: 0.1 }, unless: ["assessed"] }, caution, stop: "An assessed set-up first.", ppe: ["eyes"], controls: { enclose: ["Exhaust"] } },
    { key: "paint", when: { processes: ["dry_sand"], surfaces: ["lead"] }, caution: { ...caution, signal: "warning" } },
    { key: "air", when: { processes: ["air_clean"], measures: { air_psi: 30 } }, caution, stop: "Below 30 psi first." },
    { key: "iron", when: { processes: ["dry_sand"], bases: ["Al"], last: ["Cu"] }, caution: { ...caution, signal: "caution" } },
  ],
};
const be = { process: "dry_sand", alloy: "C17200" };

test("dry sanding a beryllium alloy is stopped, its neighbours are not", () => {
  const found = demandsOf(CARDS, be);
  assert.deepEqual(found?.stops, [{ rule: "beryllium", text: "An assessed set-up first." }]);
  assert.ok(found?.cautions.every(({ text }) => text.endsWith(CLOSING)));
  assert.deepEqual(demandsOf(CARDS, { ...be, process: "wet_sand" })?.stops, []);
  assert.deepEqual(demandsOf(CARDS, { ...be, alloy: "C36000" })?.stops, []);
  assert.deepEqual(demandsOf(CARDS, { ...be, flags: ["assessed"] })?.stops, []);
});

test("nothing is judged before alloy and work are chosen, and nothing without cards", () => {
  assert.equal(demandsOf(CARDS, { process: "", alloy: "C17200" }), null);
  assert.equal(demandsOf(CARDS, { process: "dry_sand", alloy: "" }), null);
  assert.equal(demandsOf(null, be), null);
});

test("a refused medium stops the blast even where no rule speaks, and only then", () => {
  assert.deepEqual(demandsOf(CARDS, { process: "blast", alloy: "C36000", medium: "silica_sand" })?.stops.map(({ text }) => text), ["Refused: use another medium."]);
  assert.deepEqual(demandsOf(CARDS, { process: "blast", alloy: "C36000", medium: "garnet" })?.stops, []);
});

test("only conditions that change what is asked are asked about", () => {
  assert.deepEqual(askedAbout(CARDS, be), { flags: ["assessed"], surfaces: ["lead"], measures: [] });
  assert.deepEqual(askedAbout(CARDS, { process: "saw", alloy: "C36000" }), { flags: [], surfaces: [], measures: [] });
  assert.deepEqual(askedAbout(CARDS, { process: "air_clean", alloy: "C36000" }).measures, ["air_psi"]);
  assert.deepEqual(askedAbout(CARDS, { ...be, flags: ["assessed"] }).flags, ["assessed"], "a ticked one stays to be taken back");
});

test("an alloy is found by key, number, name or other name; what is unknown keeps its own words", () => {
  assert.deepEqual(["c17200", "Alloy 25", "free-cutting BRASS", "brass", ""].map((said) => alloyCalled(CARDS, said)), ["C17200", "C17200", "C36000", null, null]);
  assert.deepEqual([alloyName(CARDS, "C36000"), alloyName(CARDS, "Alloy 25"), alloyName(CARDS, "tin"), alloyName(null, "C36000")], ["C36000 Free-cutting brass", "C17200 Beryllium copper 25", "tin", "C36000"]);
  assert.equal(alloyOptions(CARDS, ["C36000", "gone"], { unknown: true })[0].value, "C36000");
  assert.equal(alloyOptions(CARDS, [], { unknown: true }).at(-1)?.value, UNKNOWN);
});

test("alloys of batches: newest first, each once with its machines; voided and older ones left out", () => {
  const run = (/** @type {string} */ alloy, /** @type {string} */ machine, /** @type {string} */ at, more = {}) => /** @type {any} */ ({ kind: "batch.run", machine, at, body: { alloy }, ...more });
  const entries = [run("C36000", "saw", "2026-11-25T10:00:00Z"), run("C17200", "sander", "2026-11-24T10:00:00Z", { voided: true }), run("C17200", "sander", "2026-11-23T10:00:00Z"),
    run("x", "saw", "2026-11-22T10:00:00Z"), run("C17200", "saw", "2026-11-22T10:00:00Z", { amended: { alloy: "C36000" } }), run("A96061", "sander", "2026-10-22T10:00:00Z")];
  const found = alloysRun(CARDS, entries, (at) => at > "2026-11-01");
  assert.deepEqual(found.map(({ alloy, machines }) => [alloy, machines]), [["C36000", ["saw"]], ["C17200", ["sander"]]]);
  assert.deepEqual(ranBefore(CARDS, entries, "sander", "A96061"), ["C17200"]);
});

test("a machine's own work stands first", () => {
  assert.deepEqual(usualWork({ starter: "belt_sander", family: "sander" }).slice(0, 2), ["dry_sand", "wet_sand"]);
  assert.deepEqual([usualWork({ starter: "blast_cabinet", family: "cabinet" }), usualWork({ starter: null, family: "saw" }), usualWork(null)], [["blast"], ["saw"], []]);
  assert.equal(processOptions(CARDS, { starter: "blast_cabinet", family: "cabinet" })[0].text, "Blasting");
  assert.equal(processOptions(CARDS, null).length, 5);
});

test("compositions and what matters are said with their figures", () => {
  assert.deepEqual([{ rest: true }, { low: 1.8, high: 2 }, { high: 0.0002 }, { low: 99.9 }, { nominal: 0.04 }, {}].map((part) => sayPart(/** @type {any} */ (part))),
    ["the rest", "1.8 to 2 %", "at most 0.0002 %", "at least 99.9 %", "about 0.04 %", "not stated"]);
  assert.deepEqual(matters(CARDS, "C17200").map(({ said }) => said), ["Beryllium up to 2 %", "Copper, the base"]);
  assert.deepEqual(matters(CARDS, "none"), []);
});

test("what was not seen in print is to be confirmed", () => {
  assert.deepEqual(["seen", "heard", "mind", "gone"].map((key) => sourceOf(CARDS, key).caveat), ["", "commonly cited, confirm", "from memory: confirm", "commonly cited, confirm"]);
});

test("limits: the shop's own first, the strictest beside, each with its time and its mark", () => {
  const group = groupOf(CARDS, "beryllium", "any", ["us_osha"], "2026-11-25");
  assert.deepEqual(group.rows.map(({ said, time, chosen, strictest }) => [said, time, chosen, strictest]), [
    ["0.2 µg/m³", "8-hour average", true, true], ["0.1 µg/m³", "action level, 8-hour average", true, true], ["0.0005 mg/m³", "ceiling: never over it, not for a moment", false, true]]);
  assert.equal(group.rows[0].caveat, "commonly cited, confirm");
  assert.deepEqual(groupOf(CARDS, "lead", "any", ["us_niosh"], "2026-11-25").silent, ["NIOSH"]);
  assert.deepEqual(groupsFor(CARDS, ["Cu", "Be"], ["us_osha"], "2026-11-25").map(({ name, form }) => [name, form]), [["Copper", "dust"], ["Beryllium", "any"]]);
});

test("small figures lose nothing, long averages say their hours", () => {
  assert.deepEqual([sayAmount(0.0006, "mg/m3"), sayMilligrams(0.0002), sayMilligrams(1)], ["0.0006 mg/m³", "0.2 µg/m³", "1 mg/m³"]);
  const limit = (/** @type {any} */ some) => sayTime({ kind: "twa", minutes: 480, ...some });
  assert.deepEqual([limit({ minutes: 600 }), limit({ kind: "stel", minutes: 15 }), limit({ kind: "ceiling", minutes: 15 })], ["average of up to 10 hours", "15-minute average", "ceiling, 15-minute average"]);
});

test("whose limits count where a shop chose none", () => {
  assert.deepEqual([authoritiesOf(null), authoritiesOf({ jurisdiction: "us-ca" }), authoritiesOf({ jurisdiction: "US-TX" }), authoritiesOf({ jurisdiction: "GB" }), authoritiesOf({ authorities: ["us_niosh"] }), authoritiesOf({ jurisdiction: "XX" })],
    [["us_osha"], ["us_calosha"], ["us_osha"], ["uk_hse"], ["us_niosh"], []]);
});

const body = (/** @type {any} */ samples, shift = 8) => ({ agent: "lead", form: "any", fraction: "total", shift_hours: shift, samples: samples.map((/** @type {any} */ [value, minutes, below]) => ({ value, minutes, unit: "ug/m3", ...(below ? { below_detection: true } : {}) })) });

/** Lead as the state will have it, beside the limits of the cards. @param {any} samples @param {number} [shift] */
function leadBeside(samples, shift = 8) {
  const { key, row } = rowOfBody(body(samples, shift), "2026-11-25");
  return beside(key, row, libraryOf(CARDS, ["us_osha"]), "2026-11-25", "2026-11-25");
}

test("a shift measured whole stands below or over; measured in part it is never below; below detection is a bound", () => {
  assert.equal(leadBeside([[40, 480]]).word, "below the limit");
  assert.equal(leadBeside([[50, 480]]).word, "at or over the limit");
  assert.equal(leadBeside([[40, 60]]).word, "not measured");
  assert.equal(leadBeside([[900, 60]]).word, "at or over the limit");
  assert.deepEqual([leadBeside([[10, 480, true]]).word, leadBeside([[60, 480, true]]).word], ["below the limit", "not measured"]);
});

test("lead over ten hours is held to 40 µg/m³ over the hours worked (29 CFR 1910.1025(c)(2): 400 / hours)", () => {
  const found = leadBeside([[41, 600]], 10);
  assert.deepEqual([found.word, found.limits[0].limit], ["at or over the limit", 0.04]);
});

test("of several measurements the newest of each place counts, unsent ones too, the worst first", () => {
  const entry = (/** @type {string} */ id, /** @type {string} */ place, /** @type {number} */ value) => ({ ...rowOfBody({ ...body([[value, 480]]), place }, "2026-11-24").row, entry: id, at: "2026-11-25T10:00:00.000Z" });
  const found = rowsOf(CARDS, { "lead/any": [entry("c", "saw", 10), entry("b", "belt", 60), entry("a", "saw", 90)] }, ["us_osha"], "2026-11-25", () => "2026-11-24");
  assert.deepEqual(found.map((one) => [one.entry, one.word]), [["b", "at or over the limit"], ["c", "below the limit"]]);
  assert.match(found[1].say, /Measured 1 day ago\.$/);
  assert.deepEqual(rowsOf(CARDS, undefined, ["us_osha"], "2026-11-25", () => ""), []);
});

test("typed samples become a body, or each its error", () => {
  const typed = { agent: "lead", form: "any", fraction: "total", person: "p", place: "", unit: "ug/m3", shift_hours: "8", samples: [{ value: "12", minutes: "240", below: true }] };
  assert.deepEqual(readExposure(typed).body, { agent: "lead", form: "any", fraction: "total", person: "p", shift_hours: 8, samples: [{ minutes: 240, value: 12, unit: "ug/m3", below_detection: true }] });
  const noise = readExposure({ ...typed, agent: "noise", person: "", place: "Saw", samples: [{ value: "88", minutes: "480", below: true }] });
  assert.deepEqual(noise.body, { agent: "noise", place: "Saw", shift_hours: 8, samples: [{ minutes: 480, value: 88, unit: "dBA" }] });
  const wrong = readExposure({ ...typed, agent: "noise", person: "", samples: [{ value: "300", minutes: "600", below: false }] });
  assert.equal(wrong.body, null);
  assert.match(String(wrong.errors["sample 0"]), /at most 160/);
  assert.match(String(wrong.errors.place), /nobody wore it/);
  assert.match(String(readExposure({ ...typed, samples: [{ value: "1", minutes: "600", below: false }] }).errors.shift_hours), /fewer than the samples/);
});

test("bars: the limit's line stands in one place, what is beyond is cut off, words carry marks", () => {
  const row = (/** @type {any} */ some) => ({ authority: "us_osha", kind: "twa", limit: 0.05, minutes: 480, word: "below the limit", share: 52, chosen: true, strictest: true, ...some });
  const [one, far] = barsOf({ agent: "lead", at_most: true, limits: [row({}), row({ share: 900, chosen: false }), row({ word: null })] }, CARDS);
  assert.deepEqual([one.mark, Math.round(one.width), one.beyond, far.width, far.beyond], [far.mark, 35, false, 100, true]);
  assert.match(one.said, /^at most 52 % of the limit, 0\.05 mg\/m³, 8-hour average$/);
  assert.match(far.said, /strictest in the library/);
  assert.deepEqual(["at or over the limit", "over the action level", "not measured", "below the limit"].map(markOfWord), ["late", "due", "near", "resting"]);
});

test("half a dose of noise reaches the line of OSHA's action level, 85 dB(A) that of the upper action value", () => {
  const values = [{ authority: "us_osha", kind: "action", name: "action level", by: "5 dB", level: 85, counted_from: 80, source: "seen" },
    { authority: "us_niosh", kind: "limit", name: "recommended limit", by: "3 dB", level: 85, counted_from: 80, source: "seen" }, { authority: "uk_hse", kind: "action", name: "upper action value", by: "energy", level: 85, source: "seen" }];
  const { key, row } = rowOfBody({ agent: "noise", shift_hours: 8, samples: [{ value: 85, minutes: 480, unit: "dBA" }] }, "2026-11-25");
  const bars = barsOf(beside(key, row, libraryOf({ ...CARDS, noise: values }, ["us_osha", "us_niosh", "uk_hse"]), "2026-11-25", "2026-11-25"), CARDS);
  assert.ok(bars.every(({ width, mark }) => Math.round(width * 10) === Math.round(mark * 10)));
  assert.deepEqual(bars.map(({ said }) => said), ["85 dBA over 8 hours: dose 50 %, beside the action level of 85 dBA", "85 dBA over 8 hours: dose 100 %, beside the recommended limit of 85 dBA",
    "85 dB(A) as daily exposure: 100 % of what makes the upper action value of 85 dB(A)"]);
});

test("what the alloys ask to be measured and nobody did", () => {
  const inside = ["C17200", "C36000"].map((key) => matters(CARDS, key));
  assert.deepEqual(notMeasured(CARDS, inside, { "lead/any": [{}] }).map(({ substance }) => substance), ["beryllium", "copper", "noise"]);
  assert.deepEqual(notMeasured(CARDS, [], { noise: [{}] }), []);
});

test("a gauge: the phone's newer readings go on the server's line, static pressure is held to 20 %", () => {
  const found = { unit: "in H2O", series: [[1000, 1.5], [2000, 1.4]], commissioned: { in_unit: 1.5 } };
  const own = [{ at: new Date(3000).toISOString(), value: 1.1, unit: "in H2O" }, { at: new Date(2000).toISOString(), value: 1.4, unit: "in H2O" }];
  const gauge = gaugeOf("duct.static_pressure/tap 1", own, found, undefined, null);
  assert.deepEqual([gauge?.name, gauge?.word, gauge?.mark, gauge?.series.length], ["Static pressure, tap 1", "less suction", "stop", 3]);
  const chart = chartOf(/** @type {any} */ (gauge), { zone: "UTC", sayAt: String });
  assert.deepEqual(chart.limits?.map(({ name, value }) => [name, Math.round(value * 100) / 100]), [["commissioning 1.5", 1.5], ["20 % more", 1.8], ["20 % less", 1.2]]);
  assert.equal(gaugeOf("duct.static_pressure", [{ ...own[0], value: 1.25 }], undefined, { value: 1.5, unit: "in H2O" }, null)?.word, "as commissioned", "16.7 % less is within 20 %");
});

test("a gauge without band or commissioning figure says so; in another unit the old line is left", () => {
  const own = [{ at: new Date(3000).toISOString(), value: 120, unit: "ft/min" }];
  assert.equal(gaugeOf("hood.velocity", own, undefined, undefined, null)?.word, "nothing to hold it to");
  assert.equal(gaugeOf("hood.velocity", own, { unit: "m/s", series: [[1, 1]] }, undefined, null)?.series.length, 1);
  assert.equal(gaugeOf("filter.pressure_drop", [{ ...own[0], value: 6.5 }], undefined, undefined, { stop_high: 6, act_high: 4 })?.mark, "stop");
  assert.equal(gaugeOf("hood.velocity", [], undefined, undefined, null), null);
});

test("a purge time is rounded up, the longer of worked out and posted counts", () => {
  // t = K ln(100/1) V/Q: 3 x 4.60517 x 12 / 100 min = 99.47 s (CDC 2003, Table B.1, with the mixing factor).
  const typed = { volume: "12", flow: "100", mixing: "3", removed: "99", posted: "" };
  assert.equal(purgeOf(typed, true).seconds, 100);
  assert.equal(purgeOf({ ...typed, posted: "120" }, true).seconds, 120);
  assert.equal(purgeOf({ ...typed, posted: "60" }, true).seconds, 100);
  assert.equal(purgeOf({ volume: "", flow: "", mixing: "3", removed: "99", posted: "45.2" }, true).seconds, 46);
  assert.equal(purgeOf({ ...typed, flow: "" }, true).seconds, null);
  assert.match(String(purgeOf({ ...typed, mixing: "0.5" }, true).errors.mixing), /at least 1/);
  assert.match(String(purgeOf({ ...typed, volume: "9000", flow: "1" }, true).errors.flow), /over 4 hours/);
});

const T0 = 1_700_000_000_000;
const running = (/** @type {number} */ n, seconds = 60) => ({ n, purge: start(blast(seconds, T0), T0), entry: "e", kept: false });

test("two copies: the newer counts, of two as new the one that waits longer, and what cannot be read holds the door", () => {
  const [one, two] = [running(1), running(2)];
  assert.equal(newer(one, two), two);
  assert.equal(newer(null, one), one);
  const ahead = { ...one, purge: look(one.purge, T0 + 30_000) };
  assert.equal(newer(ahead, one), one);
  assert.equal(newer({ ...one, purge: null }, ahead)?.purge, null);
  assert.equal(readCopy(null), null);
  for (const spoilt of ["", 7, {}, { n: 1.5, entry: "e" }, { n: 3, entry: "e", purge: { phase: "purging", seconds: -1 } }]) assert.equal(doorHeld(readCopy(spoilt)), true);
  assert.deepEqual(readCopy(JSON.parse(JSON.stringify(ahead))), ahead);
  assert.equal(doorHeld(null), false, "no purge is known: nothing is held");
});

test("what counted while the tab was gone counts; a clock set back adds nothing", () => {
  const kept = running(1);
  assert.equal(leftOf({ ...kept, purge: advance(kept.purge, T0 + 20_000, null) }), 40);
  const back = advance(advance(kept.purge, T0 + 20_000, null), T0 - 3_600_000, null);
  assert.equal(leftOf({ ...kept, purge: back }), 40);
  const on = advance(back, T0 - 3_600_000 + 40_000, null);
  assert.deepEqual([on.phase, countedOf({ ...kept, purge: on })], [OVER, 60]);
});

test("in a page that was seen all along, a clock set forward counts no more than the page's own", () => {
  const { purge } = running(1);
  const jumped = advance(purge, T0 + 3_600_000, 500);
  assert.deepEqual([jumped.phase, jumped.counted, jumped.seen_at], [PURGING, 500, T0 + 3_600_000]);
  assert.equal(advance(jumped, T0 + 3_600_500, 500).counted, 1000);
  assert.equal(advance(purge, T0 + 1000, 900).counted, 1000, "clocks that differ by little are let be");
});

test("risk: levels of MIL-STD-882E Table III, a review date, and no change without a control", () => {
  const typed = { ...RISK_BLANK, risk: true, severity: "2", probability: "C", agreed_by: "p" };
  const found = riskOf(typed, "2026-11-25");
  assert.deepEqual([found.before, found.risk.review_on, Object.values(found.errors).filter(Boolean)], ["Serious (2C)", "2027-02-25", []]);
  const after = riskOf({ ...typed, controlled: true, after_severity: "2", after_probability: "E", tier: "enclose", measure: "Hood" }, "2026-11-25");
  assert.deepEqual([after.after, after.risk.after], ["Medium (2E)", { severity: 2, probability: "E" }]);
  const gone = riskOf({ ...typed, controlled: true, after_severity: "2", after_probability: "F", tier: "protect", measure: "Mask" }, "2026-11-25");
  assert.equal(gone.risk, null);
  assert.match(String(gone.errors.after_probability), /gone/);
  assert.match(String(riskOf({ ...typed, severity: "" }, "2026-11-25").errors.severity), /not chosen/);
  assert.deepEqual(riskOf(RISK_BLANK, "2026-11-25").errors, {});
});

const calendar = { today: "2026-11-25", dayOf: (/** @type {string} */ at) => at.slice(0, 10) };
const PEOPLE = {
  ann: { ppe: { "lung/half mask": { at: "2026-11-20T08:00:00Z", since: "2026-10-01T08:00:00Z", result: "ok", hours: 41, change_after: 40, change_by: null, note: null }, eye: { at: "2026-11-01T08:00:00Z", since: null, result: "ok", hours: 0, change_after: null, change_by: null, note: null },
    ear: { at: "2026-11-01T08:00:00Z", since: null, result: "refused", hours: 0, change_after: null, change_by: null, note: "split" } },
  fits: { mask: { at: "2025-12-01T08:00:00Z", result: "pass", expires: "2026-12-01" }, old: { at: "2026-01-01T08:00:00Z", result: "fail" } },
  machines: { sander: { at: "2026-01-05T08:00:00Z", trainer: "ben", expires: "2026-11-25" } }, topics: { lead: { at: "2025-01-05T08:00:00Z", outside: "x", expires: "2026-01-05" } } },
};

test("people: a spent cartridge, a failed fit, what is lapsed and what is near its end; the worst first", () => {
  const rows = peopleRows(PEOPLE.ann, "ann", (id) => id, calendar);
  const words = Object.fromEntries(rows.map(({ name, word }) => [name, word]));
  assert.deepEqual(words, { "Half mask": "change now", "Eye protection": "current", "Ear protection": "refused", Mask: "near its end", Old: "failed", sander: "near its end", Lead: "lapsed" });
  assert.deepEqual(rows.filter(speaks).length, 6);
  assert.equal(rows.at(-1)?.name, "Eye protection");
  assert.deepEqual(peopleRows(undefined, "ben", String, calendar), []);
});

test("a sign-off holds through its last day; a machine that never asked for one asks nobody", () => {
  assert.deepEqual([signOffOf(PEOPLE, "ann", "sander", calendar).current, signOffOf(PEOPLE, "ann", "sander", { ...calendar, today: "2026-11-26" }).current], [true, false]);
  assert.deepEqual([signOffOf(PEOPLE, "ben", "sander", calendar).current, signOffOf(PEOPLE, "ben", "sander", calendar).asked], [false, true]);
  assert.equal(signOffOf(PEOPLE, "ben", "saw", calendar).asked, false);
  assert.equal(signOffOf(undefined, "ben", "saw", calendar).asked, false);
});

test("the lead reads of rounds walked without a sign-off, once for each person and machine", () => {
  const round = (/** @type {string} */ by, /** @type {string} */ machine, /** @type {string} */ at, more = {}) => /** @type {any} */ ({ kind: "round.done", by, machine, at, body: {}, ...more });
  const entries = [round("ben", "sander", "2026-11-25"), round("ben", "sander", "2026-11-24"), round("ann", "sander", "2026-11-24"), round("cleo", "sander", "2026-11-23", { voided: true }), round("ben", "saw", "2026-11-22"), { ...round("cleo", "sander", "2026-11-22"), kind: "note.made" }];
  assert.deepEqual(walkedWithout(entries, PEOPLE, calendar).map(({ person, machine, at }) => [person, machine, at]), [["ben", "sander", "2026-11-25"]]);
});

test("a mill certificate: what lies outside of the card, and what the card does not name", () => {
  assert.deepEqual(readCertificate("cu 61,5, Pb: 3.4 %; Be=0.5"), { lines: [{ element: "Cu", percent: 61.5 }, { element: "Pb", percent: 3.4 }, { element: "Be", percent: 0.5 }], error: null });
  assert.match(String(readCertificate("Pb much").error), /cannot be read/);
  assert.match(String(readCertificate("Pb 340").error), /cannot be read/);
  const rows = besideCard(CARDS, "C36000", readCertificate("Cu 61.5, Pb 3.4, Be 0.5, P 0.01").lines);
  assert.deepEqual(rows.map(({ matters: weighs }) => weighs), [true, true, false]);
  assert.match(rows[0].said, /^Pb: 3\.4 % found, at most 3 %/);
  assert.match(rows[1].said, /^Beryllium: 0\.5 % found, and the card does not name it/);
  assert.deepEqual(besideCard(CARDS, "C36000", readCertificate("Cu 61.5, Pb 2.9").lines), []);
  const bounds = readCertificate("Be <0.05, Cd 0,01 max; Pb max 3.9");
  assert.deepEqual(bounds.lines, [{ element: "Be", at_most: 0.05 }, { element: "Cd", at_most: 0.01 }, { element: "Pb", at_most: 3.9 }]);
  assert.equal(typedLines(bounds.lines), "Be <0.05, Cd <0.01, Pb <3.9");
  assert.deepEqual(readCertificate(typedLines(bounds.lines)).lines, bounds.lines);
  assert.deepEqual(besideCard(CARDS, "C36000", readCertificate("Pb <0.5").lines), [], "a bound below the card's least says nothing");
});

test("what to measure: the shop's own limits ask, else the strictest; a coarse laboratory is told", () => {
  const [own] = askedOf(CARDS, "lead", ["us_osha"], "2026-11-25");
  assert.ok(own.own && own.measure.some((line) => /whole shift; the laboratory finds/.test(line)) && /pump's flow/.test(own.measure.at(-1) ?? ""));
  assert.equal(askedOf(CARDS, "lead", ["nl"], "2026-11-25")[0].own, false);
  // 1 ug / (0.1 x 0.05 mg/m3) = 200 L: 100 min at 2 L/min. 50 ug take 5000 min.
  assert.match(planOf({ detection: "1", flow: "2" }, own.limits).lines[0].said, /takes 100 min, 200 L/);
  const coarse = planOf({ detection: "50", flow: "2" }, own.limits).lines[0];
  assert.ok(!coarse.fits && /In that time 104\.2 % of it can be told/.test(coarse.said), coarse.said);
  assert.deepEqual(planOf(PLAN_BLANK, own.limits), { lines: [], errors: { detection: null, flow: null } });
  assert.match(String(planOf({ detection: "0", flow: "2" }, own.limits).errors.detection), /more than 0/);
});

test("measured dust is shared out to the alloy's metals by its composition, each beside the shop's own limit", () => {
  const of = (/** @type {string} */ id, /** @type {number} */ dust) => Object.fromEntries(metalsIn(CARDS, id, dust, ["us_osha"], "2026-11-25").map((one) => [one.symbol, one]));
  const [little, much] = [of("C36000", 1.5), of("C36000", 2)];
  assert.equal(little.Pb.said, "Lead: 0.0375 mg/m³ to 0.045 mg/m³, below the limit");
  assert.equal(little.Pb.over, false);
  assert.equal(much.Pb.said, "Lead: 0.05 mg/m³ to 0.06 mg/m³, at or over the limit");
  assert.match(much.Pb.why, /The limit is 0\.05 mg\/m³ over eight hours\. About 1\.67 mg\/m³ of this alloy's dust/);
  assert.ok(much.Cu.over && !of("C36000", 1).Cu.over); // 63 % of 2 mg/m3 beside 1 mg/m3 of copper dust
  assert.ok(of("C17200", 0.01).Be.over && !of("C17200", 0.009).Be.over); // 2 % of 10 ug/m3 is the 0.2 ug/m3 of 29 CFR 1910.1024
  assert.match(metalsIn(CARDS, "C17200", 1, ["us_niosh"], "2026-11-25").find(({ symbol }) => symbol === "Be")?.why ?? "", /no 8-hour average/);
});
