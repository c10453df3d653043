// Belt sander and bench grinder: gaps, wheel and belt speed, flanges and belt lives.
// Twin of webapp/core/abrasives.py, where the sources are told; held to tests/vectors/abrasives.json.
import { aboveZero, fromZero, isUs, known } from "./figures.js";
import { tidy } from "./numbers.js";
import { Problem } from "./problems.js";
import { MOST_RPM, surfaceSpeed } from "./speeds.js";

/**
 * @typedef {{value: number, limit: number, unit: string, over: boolean, why: string, source: string}} Limit
 *   a measured figure beside its limit; `over`: above it (or, for a flange, below it)
 * @typedef {{rest: Limit, tongue: Limit, caution: string|null}} Gaps
 * @typedef {{what: string, low: number, high: number, unit: string, printed: string, source: string}} BeltSpeed
 * @typedef {{material: string, count: number, shortest: number, middle: number, longest: number, few: boolean}} Lives
 */

const REST_LIMIT_IN = 0.125;
const TONGUE_LIMIT_IN = 0.25;
const REST_SOURCE = "29 CFR 1910.215(a)(4), OSHA STD 01-12-008: work rest within 1/8 in of the wheel";
const TONGUE_SOURCE = "29 CFR 1910.215(b)(9): tongue guard within 1/4 in of the wheel";
const SPEED_SOURCE = "29 CFR 1910.215(d)(1), WAC 296-806-40512: spindle speed not above the speed marked on the wheel";
const FLANGE_SOURCE = "WAC 296-806-40516: flanges at least one third of the wheel's diameter";
const BELT_RATING_SOURCE = "the belt maker's highest speed (common practice, no source)";
const FEWEST_LIVES = 5;
const MM = 25.4;
const SLACK = 1e-9;
const SHOP_TABLE = "a finishing supplier's table (paperzz.com 7943063), ft/min";
const METRIC_TABLE = "an abrasive maker's table (media.saint-gobain.com), m/s";
const MH31_BELTS = "Machinery's Handbook, 31st edition, Table 1 on abrasive belts, ft/min";
const FPM_M_S = 0.00508;

/** @type {Record<string, [string, number, number, string][]>} In the source's unit: ft/min, but m/s in METRIC_TABLE. */
const BELTS = {
  "carbon steel": [["offhand", 6500, 6500, SHOP_TABLE], ["grinding", 30, 40, METRIC_TABLE]],
  stainless: [
    ["offhand", 6500, 7000, SHOP_TABLE],
    ["grinding", 20, 30, METRIC_TABLE],
    ["roughing", 3500, 5000, MH31_BELTS],
    ["polishing", 4000, 5500, MH31_BELTS],
  ],
  aluminium: [
    ["coarse", 7500, 8000, SHOP_TABLE],
    ["fine", 6500, 7000, SHOP_TABLE],
    ["grinding", 20, 35, METRIC_TABLE],
    ["roughing", 5000, 6500, MH31_BELTS],
    ["polishing", 4500, 6500, MH31_BELTS],
  ],
  brass: [
    ["offhand", 7000, 8000, SHOP_TABLE],
    ["grinding", 25, 35, METRIC_TABLE],
    ["roughing", 2200, 4500, MH31_BELTS],
    ["polishing", 4000, 6500, MH31_BELTS],
  ],
  copper: [
    ["grinding", 25, 35, METRIC_TABLE],
    ["roughing", 2200, 4500, MH31_BELTS],
    ["polishing", 4000, 6500, MH31_BELTS],
  ],
  titanium: [["offhand", 2500, 3000, SHOP_TABLE], ["grinding", 8, 15, METRIC_TABLE]],
  "cast iron": [["offhand", 7000, 7000, SHOP_TABLE], ["grinding", 30, 40, METRIC_TABLE]],
};

/**
 * The work rest's and the tongue guard's gap (in or mm) beside the regulation's 1/8 in and 1/4 in.
 * @param {number} rest
 * @param {number} tongue
 * @param {string} units
 * @returns {Gaps}
 */
export function gaps(rest, tongue, units) {
  const us = isUs(units);
  const most = us ? 12 : 305;
  fromZero(rest, "rest", most);
  fromZero(tongue, "tongue", most);
  const [factor, unit] = us ? [1, "in"] : [MM, "mm"];
  const one = atMost(rest, tidy(REST_LIMIT_IN * factor, 4), unit, "work rest", REST_SOURCE);
  const two = atMost(tongue, tidy(TONGUE_LIMIT_IN * factor, 4), unit, "tongue guard", TONGUE_SOURCE);
  return { rest: one, tongue: two, caution: one.over || two.over ? "grinder_gaps" : null };
}

/** @type {(value: number, limit: number, unit: string, what: string, source: string) => Limit} */
function atMost(value, limit, unit, what, source) {
  // A gauge's last digit: 1/8 in set to the gauge must not read as above it.
  const over = value > limit + SLACK;
  const ending = over ? "above the limit: wheel stopped, reset it." : "at or below the limit.";
  return { value: tidy(value, 4), limit, unit, over, why: `Gap of the ${what}: ${ending}`, source };
}

/**
 * Surface speed of a wheel (diameter in or mm) beside that of its marked rpm, in ft/min or m/min.
 * @param {number} diameter
 * @param {number} rpm
 * @param {number} marked
 * @param {string} units
 * @returns {Limit}
 */
export function wheelSpeed(diameter, rpm, marked, units) {
  aboveZero(marked, "marked", MOST_RPM);
  const value = surfaceSpeed(diameter, rpm, units);
  const limit = surfaceSpeed(diameter, marked, units);
  const over = rpm > marked;
  const why = over ? "Spindle faster than the wheel is marked for: do not mount it." : "At or below the marked speed.";
  return { value, limit, unit: isUs(units) ? "ft/min" : "m/min", over, why, source: SPEED_SOURCE };
}

/**
 * Surface speed of a belt over its drive wheel (in or mm) beside the belt's rating, in ft/min or m/s.
 * @param {number} diameter
 * @param {number} rpm
 * @param {number} rated
 * @param {string} units
 * @returns {Limit}
 */
export function beltSpeed(diameter, rpm, rated, units) {
  const us = isUs(units);
  aboveZero(rated, "rated", us ? 20000 : 100);
  const perMinute = surfaceSpeed(diameter, rpm, units);
  const value = us ? perMinute : tidy(perMinute / 60, 4);
  const over = value > rated;
  const why = over ? "Faster than the belt is rated for: do not run it." : "At or below the belt's rating.";
  return { value, limit: tidy(rated, 4), unit: us ? "ft/min" : "m/s", over, why, source: BELT_RATING_SOURCE };
}

/**
 * Belt speeds that each source gives for a material, in ft/min ("us") or m/s ("metric"); they differ.
 * @param {string} material
 * @param {string} units
 * @returns {BeltSpeed[]}
 */
export function beltAdvice(material, units) {
  const us = isUs(units);
  return BELTS[known(material, "material", Object.keys(BELTS))].map((row) => beltRow(row, us));
}

/** @param {[string, number, number, string]} row @param {boolean} us @returns {BeltSpeed} */
function beltRow([what, low, high, source], us) {
  const printedUnit = source === METRIC_TABLE ? "m/s" : "ft/min";
  const printed = low === high ? `${low} ${printedUnit}` : `${low} to ${high} ${printedUnit}`;
  const unit = us ? "ft/min" : "m/s";
  if (unit === printedUnit) return { what, low, high, unit, printed, source };
  const [factor, places] = us ? [1 / FPM_M_S, 0] : [FPM_M_S, 1];
  return { what, low: tidy(low * factor, places), high: tidy(high * factor, places), unit, printed, source };
}

/**
 * A flange's diameter beside the least for its wheel, one third of the diameter (in or mm). `over`: too small.
 * @param {number} wheel
 * @param {number} size
 * @param {string} units
 * @returns {Limit}
 */
export function flange(wheel, size, units) {
  const us = isUs(units);
  aboveZero(wheel, "wheel", us ? 1000 : 25400);
  aboveZero(size, "flange", us ? 1000 : 25400);
  const small = size < wheel / 3 - SLACK;
  const why = small ? "Smaller than one third of the wheel: do not mount it." : "At least one third of the wheel.";
  return { value: tidy(size, 4), limit: tidy(wheel / 3, 4), unit: us ? "in" : "mm", over: small, why, source: FLANGE_SOURCE };
}

/**
 * Belt lives (material, minutes) by material in order of the alphabet; the middle one is the median.
 * @param {[string, number][]} lives
 * @returns {Lives[]}
 */
export function beltLives(lives) {
  /** @type {Map<string, number[]>} */
  const by = new Map();
  for (const [material, minutes] of lives) {
    const name = String(material).trim().split(/\s+/).join(" ").toLowerCase();
    if (!name) throw new Problem("material", "It is empty.", "Name the metal that the belt wore out on.");
    by.set(name, [...(by.get(name) ?? []), aboveZero(minutes, "minutes", 1000000)]);
  }
  return [...by.keys()].sort().map((name) => livesOf(name, (by.get(name) ?? []).sort((a, b) => a - b)));
}

/** @param {string} material @param {number[]} minutes @returns {Lives} */
function livesOf(material, minutes) {
  const half = Math.floor(minutes.length / 2);
  const middle = minutes.length % 2 ? minutes[half] : (minutes[half - 1] + minutes[half]) / 2;
  const count = minutes.length;
  const [shortest, longest] = [tidy(minutes[0], 4), tidy(minutes[count - 1], 4)];
  return { material, count, shortest, middle: tidy(middle, 4), longest, few: count < FEWEST_LIVES };
}
