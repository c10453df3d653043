// Way oil: what the hours since the last fill should have used, and how long the tank lasts.
// Twin of the phone's part of webapp/core/lubrication.py; held to tests/vectors/lubrication.json.
import { isNumber, tidy } from "./numbers.js";
import { Problem } from "./problems.js";

/** Hours beyond which a tank is said to have no end in sight. */
const LONGEST = 1e6;

/**
 * @typedef {{rate: number, low: number, high: number, residual: number, squares: number, t: number}} Use usual use
 *   per meter hour with its 95 % bounds, as the server works it out from the record
 */

/**
 * What so many hours use at the usual rate; low and high hold 95 stretches of 100.
 * @param {Use} use
 * @param {number} hours
 * @returns {[mean: number, low: number, high: number]}
 */
export function expected(use, hours) {
  if (!isNumber(hours) || hours < 0) throw new Problem("hours", "It is not a number of 0 or more.", "Read the meter again.");
  const mean = use.rate * hours;
  const room = use.t * use.residual * Math.sqrt(1 + (hours * hours) / use.squares);
  return [tidy(mean), tidy(Math.max(mean - room, 0)), tidy(mean + room)];
}

/**
 * What is left of `level` after so many hours, and the hours it lasts; null: no end seen.
 * @param {Use} use
 * @param {number} level
 * @param {number} hours
 */
export function leftInTank(use, level, hours) {
  if (!isNumber(level) || level < 0) throw new Problem("level", "It is not a number of 0 or more.", "Read the glass again.");
  const [mean, low, high] = expected(use, hours);
  const [left, least, most] = [mean, high, low].map((used) => Math.max(level - used, 0));
  /** @type {(amount: number, rate: number) => number|null} */
  const lasts = (amount, rate) => (rate * LONGEST > amount ? tidy(amount / rate) : null);
  return {
    left: tidy(left), least: tidy(least), most: tidy(most),
    hours: lasts(left, use.rate), hours_least: lasts(least, use.high), hours_most: lasts(most, use.low),
  };
}
