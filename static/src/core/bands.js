// Where a reading lies between its limits; twin of webapp/core/bands.py.
import { isNumber } from "./numbers.js";
import { Problem } from "./problems.js";

/**
 * @typedef {{stop_low?: number|null, act_low?: number|null, target?: number|null, act_high?: number|null,
 *   stop_high?: number|null}} Band
 * @typedef {"within"|"act low"|"act high"|"stop low"|"stop high"} Verdict
 */

/** @type {[keyof Band, number, Verdict][]} */
const ORDER = [
  ["stop_low", -1, "stop low"],
  ["stop_high", 1, "stop high"],
  ["act_low", -1, "act low"],
  ["act_high", 1, "act high"],
];

/**
 * Where a reading lies; a value on a limit is still on its inner side. Throws for a value that is no finite
 * number: such a reading must not pass as within.
 * @param {number} value in the band's unit
 * @param {Band} band
 * @returns {Verdict}
 */
export function verdict(value, band) {
  if (!isNumber(value)) throw new Problem("value", "The reading is not a number.", "Read the instrument again.");
  for (const [name, beyond, word] of ORDER) {
    const limit = band[name];
    if (limit !== null && limit !== undefined && (value - limit) * beyond > 0) return word;
  }
  return "within";
}
