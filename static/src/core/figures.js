// Figures as people type them: numbers, above zero, not absurd, in known units. Twin of webapp/core/figures.py.
import { isNumber } from "./numbers.js";
import { Problem } from "./problems.js";

/**
 * A figure above zero and at most `most`.
 * @param {unknown} value
 * @param {string} field
 * @param {number} most
 * @returns {number}
 */
export function aboveZero(value, field, most) {
  if (!isNumber(value) || value <= 0) {
    throw new Problem(field, "It is not a number above zero.", "Measure it, or read it off the plate.");
  }
  return notAbove(value, field, most);
}

/**
 * A figure of zero or more and at most `most`.
 * @param {unknown} value
 * @param {string} field
 * @param {number} most
 * @returns {number}
 */
export function fromZero(value, field, most) {
  if (!isNumber(value) || value < 0) throw new Problem(field, "It is not a number of 0 or more.", "Measure it again.");
  return notAbove(value, field, most);
}

/**
 * One of the words in `choices`.
 * @param {unknown} value
 * @param {string} field
 * @param {string[]} choices
 * @returns {string}
 */
export function known(value, field, choices) {
  if (typeof value !== "string" || !choices.includes(value)) {
    throw new Problem(field, `"${value}" is not known.`, `Give one of: ${choices.join(", ")}.`);
  }
  return value;
}

/**
 * Whether the units are "us" (true) or "metric".
 * @param {unknown} units
 */
export const isUs = (units) => known(units, "units", ["us", "metric"]) === "us";

/** @type {(value: number, field: string, most: number) => number} */
function notAbove(value, field, most) {
  if (value > most) throw new Problem(field, `It is more than ${most}.`, "Check the figure and its unit.");
  return value;
}
