// The arithmetic that the phone repeats, held to the vectors that pytest holds the Python core to.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { verdict } from "../src/core/bands.js";
import * as coolant from "../src/core/coolant.js";
import { addInterval, shopDate } from "../src/core/dates.js";
import { judge } from "../src/core/due.js";
import * as lubrication from "../src/core/lubrication.js";
import * as mix from "../src/core/mix.js";
import { Problem } from "../src/core/problems.js";
import * as sections from "../src/core/sections.js";
import { celsius, convert, fahrenheit } from "../src/core/units.js";

/** @type {Record<string, (args: any) => unknown>} */
const FUNCTIONS = {
  verdict: ({ value, band }) => verdict(value, band),
  strength: ({ reading, factor }) => mix.strength(reading, factor),
  reading_for: ({ percent, factor }) => mix.readingFor(percent, factor),
  top_up: (sump) => mix.topUp(sump),
  neat: ({ volume, percent, target }) => mix.neat(volume, percent, target),
  ratio: ({ text }) => mix.ratio(text),
  sump_volume: ({ length, width, depth, units }) => mix.sumpVolume(length, width, depth, units),
  reach: (sump) => mix.reach(sump),
  percent_of: ({ text, meaning }) => mix.percentOf(text, meaning),
  zero_check: ({ shown, tolerance }) => coolant.zeroCheck(shown, tolerance),
  read_strength: ({ reading, factor, zero, tolerance }) => coolant.readStrength(reading, factor, zero, tolerance),
  volume_at: ({ sump, depth, capacity, unit }) => coolant.volumeAt(sump, depth, capacity, unit),
  depth_at: ({ sump, volume, capacity, unit }) => coolant.depthAt(sump, volume, capacity, unit),
  expected: ({ use, hours }) => lubrication.expected(use, hours),
  left_in_tank: ({ use, level, hours }) => lubrication.leftInTank(use, level, hours),
  convert: ({ value, unit, to }) => convert(value, unit, to),
  area: ({ shape, measures }) => sections.area(shape, measures),
  part: ({ bar, blank, kerf, end_loss: endLoss, grip }) => sections.part(bar, blank, kerf, endLoss, grip),
  bundle: ({ shape, measures, pieces }) => sections.bundle(shape, measures, pieces),
  cut_area: ({ cuts, area_per_cut: each }) => sections.cutArea(cuts, each),
  spindle_hours: ({ loads, minutes_per_load: minutes }) => sections.spindleHours(loads, minutes),
  holes: ({ pieces, holes_each: each }) => sections.holes(pieces, each),
  shop_date: ({ at, zone }) => shopDate(Date.parse(at), zone),
  add_interval: ({ day, unit, count }) => addInterval(day, unit, count),
};

/**
 * @param {string} name
 * @returns {{name: string, in: any, out: any}[]}
 */
const vectors = (name) =>
  JSON.parse(readFileSync(new URL(`../../tests/vectors/${name}.json`, import.meta.url), "utf8"));

/** @param {string} fn @param {any} args */
function outcome(fn, args) {
  try {
    return FUNCTIONS[fn](args);
  } catch (error) {
    if (!(error instanceof Problem)) throw error;
    return { error: { field: error.field, problem: error.problem, mend: error.mend } };
  }
}

for (const { name, in: { rule, facts }, out } of vectors("due")) {
  test(`due: ${name}`, () => assert.deepEqual(judge(rule, facts), out));
}

for (const file of ["bands", "mix", "coolant", "lubrication", "sections", "dates"]) {
  for (const { name, in: { fn, args }, out } of vectors(file)) {
    test(`${file}: ${name}`, () => assert.deepEqual(outcome(fn, args), out));
  }
}

test("a reading that is no number is refused, never within", () => {
  assert.throws(() => verdict(NaN, { act_low: 1 }), Problem);
});

test("water boils and freezes where it should", () => {
  assert.equal(celsius(212), 100);
  assert.equal(fahrenheit(0), 32);
});
