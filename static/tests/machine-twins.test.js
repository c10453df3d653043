// Saw, abrasives and air on the phone, held to the vectors that pytest holds the Python core to.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import * as abrasives from "../src/core/abrasives.js";
import * as purity from "../src/core/air-purity.js";
import * as air from "../src/core/air.js";
import * as bands from "../src/core/band-speeds.js";
import * as dust from "../src/core/mixed-dust.js";
import { Problem } from "../src/core/problems.js";
import * as sawing from "../src/core/sawing.js";
import * as sections from "../src/core/sections.js";
import * as speeds from "../src/core/speeds.js";

/** @type {Record<string, (args: any) => unknown>} */
const FUNCTIONS = {
  surface_speed: ({ diameter, rpm, units }) => speeds.surfaceSpeed(diameter, rpm, units),
  rpm_for: ({ speed, diameter, units }) => speeds.rpmFor(speed, diameter, units),
  cut_widths: ({ shape, measures }) => sawing.cutWidths(shape, measures),
  teeth_in_cut: ({ width, pitch, units }) => sawing.teethInCut(width, pitch, units),
  pitch_advice: ({ width, units }) => sawing.pitchAdvice(width, units),
  break_in: ({ cut, units }) => sawing.breakIn(cut, units),
  tension: ({ width, thickness, stress, blade, units }) => sawing.tension(width, thickness, stress, blade, units),
  band_speed: ({ metal, size, units, dry, carbon }) => bands.bandSpeed(metal, size, units, dry, carbon),
  gaps: ({ rest, tongue, units }) => abrasives.gaps(rest, tongue, units),
  wheel_speed: ({ diameter, rpm, marked, units }) => abrasives.wheelSpeed(diameter, rpm, marked, units),
  belt_speed: ({ diameter, rpm, rated, units }) => abrasives.beltSpeed(diameter, rpm, rated, units),
  belt_advice: ({ material, units }) => abrasives.beltAdvice(material, units),
  flange: ({ wheel, size, units }) => abrasives.flange(wheel, size, units),
  belt_lives: ({ lives }) => abrasives.beltLives(lives),
  materials: ({ batches, since }) => dust.materials(batches, since),
  dust: ({ last, now }) => dust.dust(last, now),
  nozzle_air: ({ bore, pressure, kind, units, atmosphere }) => air.nozzleAir(bore, pressure, kind, units, atmosphere),
  against: ({ demand, delivered, units }) => air.against(demand, delivered, units),
  nozzle_wear: ({ new: fresh, now, pressure, kind, units }) => air.nozzleWear(fresh, now, pressure, kind, units),
  pump_up: ({ volume, start, end, seconds, units }) => air.pumpUp(volume, start, end, seconds, units),
  leak_by_decay: ({ volume, start, end, seconds, units, delivered }) => air.leakByDecay(volume, start, end, seconds, units, delivered),
  leak_by_loads: ({ loaded, idle }) => air.leakByLoads(loaded, idle),
  receiver_energy: ({ volume, pressure, units, atmosphere }) => air.receiverEnergy(volume, pressure, units, atmosphere),
  atmosphere_at: ({ height, units }) => air.atmosphereAt(height, units),
  duty: ({ loaded, total, loads }) => air.duty(loaded, total, loads),
  media_use: ({ top_ups: topUps, hopper, least }) => air.mediaUse(topUps, hopper, least),
  purity: ({ designation }) => purity.purity(designation),
  purity_class: ({ quantity, value }) => purity.purityClass(quantity, value),
};

/** @param {string} fn @param {any} args */
function outcome(fn, args) {
  try {
    return FUNCTIONS[fn](args);
  } catch (error) {
    if (!(error instanceof Problem)) throw error;
    return { error: { field: error.field, problem: error.problem, mend: error.mend } };
  }
}

const used = new Set();
for (const file of ["sawing", "abrasives", "air"]) {
  const cases = JSON.parse(readFileSync(new URL(`../../tests/vectors/${file}.json`, import.meta.url), "utf8"));
  for (const { name, in: { fn, args }, out } of cases) {
    used.add(fn);
    test(`${file}: ${name}`, () => assert.deepEqual(outcome(fn, args), out));
  }
}

test("every function has a case", () => assert.deepEqual([...used].sort(), Object.keys(FUNCTIONS).sort()));

// JSON carries no NaN and no infinity; a form can.
for (const odd of [NaN, Infinity, -Infinity, "1", null, true]) {
  const value = /** @type {any} */ (odd);
  /** @type {[string, () => unknown][]} */
  const tries = [
    ["bore", () => air.nozzleAir(value, 80, "blast", "us")],
    ["pressure", () => air.nozzleAir(0.25, value, "blast", "us")],
    ["seconds", () => air.pumpUp(80, 0, 100, value, "us")],
    ["start", () => air.leakByDecay(80, value, 100, 60, "us")],
    ["width", () => sawing.teethInCut(value, "4/6", "us")],
    ["cut", () => sawing.breakIn(value, "us")],
    ["rest", () => abrasives.gaps(value, 0.1, "us")],
    ["marked", () => abrasives.wheelSpeed(8, 3450, value, "us")],
    ["kerf", () => sections.part(12, 1, value)],
    ["diameter", () => sections.area("round", { diameter: value })],
  ];
  for (const [field, attempt] of tries) {
    test(`${field} ${String(odd)} is refused by name`, () => {
      assert.throws(attempt, (error) => error instanceof Problem && error.field === field && error.mend !== "");
    });
  }
}
