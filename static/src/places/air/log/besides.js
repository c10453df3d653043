// A measurement beside one limit, as the server will say it (webapp/upkeep/exposures.py): pure.
import { ACTION, BELOW, OVER, UNMEASURED, average, compare, leadShift } from "../../../core/exposure.js";
import { milligrams } from "../../../core/limits.js";

/** Hours of a shift that may go unmeasured, as on the server (OSHA's letter of 23 January 1997). */
const SLACK_HOURS = 1;
const MILLIGRAMS = /** @type {Record<string, number>} */ ({ "mg/m3": 1, "ug/m3": 0.001 });

/** Which sampler a fraction means: total and inhalable both aim at the whole dust. @param {string} fraction */
export const sampled = (fraction) => (fraction === "thoracic" || fraction === "respirable" ? fraction : "whole");

/**
 * The eight-hour average of samples beside one limit; of a shift measured in part nothing is ever below it, and what lay
 * below detection is never said to be over.
 * @param {any} body @param {import("../../../core/limits.js").Limit} limit
 */
export function besides(body, limit) {
  const pairs = body.samples.map((/** @type {any} */ one) => /** @type {[number, number]} */ ([one.value * MILLIGRAMS[one.unit], one.minutes / 60]));
  const found = average(pairs, Math.max(body.shift_hours, pairs.reduce((/** @type {number} */ sum, /** @type {[number, number]} */ [, hours]) => sum + hours, 0)));
  const bounded = body.samples.some((/** @type {any} */ one) => one.below_detection);
  // OSHA holds lead over a long day to less, as a mean over the hours that were worked.
  const long = limit.substance === "lead" && limit.authority === "us_osha" && limit.kind === "twa" && found.shift > 8;
  const value = long ? (found.eight_hours * 8) / found.shift : found.eight_hours;
  const bound = long ? leadShift(milligrams(limit), found.shift).limit : milligrams(limit);
  const held = compare(value, bound, "mg/m3");
  const word = limit.kind === "action" && held.word === OVER ? ACTION : held.word;
  const whole = found.unmeasured <= SLACK_HOURS + 1e-9;
  const unsure = (held.word === BELOW && !whole) || (held.word !== BELOW && bounded);
  return { value, bound, hours: long ? found.shift : 8, word: unsure ? UNMEASURED : word, share: held.share, why: found.why, bounded };
}
