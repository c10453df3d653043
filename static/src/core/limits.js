// Exposure limits by (substance, form, authority) on the phone; twin of webapp/core/limits.py.
// A limit is a figure in print, never a verdict, and compares only within one kind and one sampled fraction.
import { tidy } from "./numbers.js";
import { Problem } from "./problems.js";

/**
 * @typedef {{substance: string, form: string, authority: string, kind: "twa"|"stel"|"ceiling"|"action", value: number,
 *   unit: "mg/m3"|"ug/m3", minutes: number, fraction: string, source: string, counted_as?: string, since?: string,
 *   until?: string, note?: string}} Limit
 * @typedef {{chosen: Limit[], strictest: Limit[], coming: Limit[], silent: string[]}} Answer
 */

const KINDS = ["twa", "stel", "ceiling", "action"];
// The form of a limit that its print sets for dust, fume and mist alike.
const ANY = "any";
/** @type {Record<string, number>} */
const MILLIGRAMS = { "mg/m3": 1, "ug/m3": 0.001 };

/** The value in mg/m3. @param {Limit} limit */
export const milligrams = (limit) => tidy(limit.value * MILLIGRAMS[limit.unit], 9);

/** Total and inhalable samplers both aim at the whole dust. @param {Limit} limit */
const sampled = (limit) => (limit.fraction === "thoracic" || limit.fraction === "respirable" ? limit.fraction : "whole");

/**
 * The limits of one substance in one form on a day (ISO date), and the strictest of any authority beside them.
 * No form stands in for another; a limit printed without a form goes for each.
 * @param {Limit[]} limits
 * @param {string} substance
 * @param {string} form
 * @param {string[]} authorities those that the shop chose
 * @param {string} on
 * @returns {Answer}
 */
export function lookUp(limits, substance, form, authorities, on) {
  const own = limits.filter((one) => one.substance === substance);
  if (!own.length) throw new Problem("substance", `The library has no limit for ${substance}.`, "Ask a hygienist.");
  const found = own.filter((one) => one.form === form || one.form === ANY);
  if (!found.length) {
    const forms = [...new Set(own.map((one) => one.form))].sort().join(", ");
    throw new Problem("form", `There is none for ${substance} as ${form}.`, `Choose one of: ${forms}.`);
  }
  const inForce = found.filter((one) => (one.since ?? on) <= on && (one.until === undefined || on < one.until));
  const chosen = inForce.filter((one) => authorities.includes(one.authority));
  return {
    chosen,
    strictest: strictest(inForce),
    coming: found.filter((one) => one.since !== undefined && one.since > on),
    silent: authorities.filter((one) => !chosen.some((limit) => limit.authority === one)),
  };
}

/** @param {Limit[]} found */
function strictest(found) {
  return KINDS.flatMap((kind) =>
    ["whole", "thoracic", "respirable"].flatMap((fraction) => {
      const alike = found.filter((one) => one.kind === kind && sampled(one) === fraction);
      const lowest = Math.min(...alike.map(milligrams));
      return alike.filter((one) => milligrams(one) === lowest);
    }),
  );
}
