// Rates of recordable cases and how far chance alone moves them; twin of webapp/core/rates.py, where formulas and
// sources are told; held to tests/vectors/rates.json.
import { isNumber, say, tidy } from "./numbers.js";
import { Problem } from "./problems.js";

/** @typedef {{rate: number, low: number, high: number, one_more: number, years: number, why: string, source: string}} Rate */

const BASE_HOURS = 200000;
const SOURCE = "29 CFR 1904; Bureau of Labor Statistics, how to compute a firm's incidence rate: N x 200 000 / hours worked";
const RANGE_SOURCE = "F. Garwood, Biometrika 28 (1936) 437: exact 95 % limits of a Poisson count";
const TAIL = (1 - 0.95) / 2;
const MOST_HOURS = 100000000;
const MOST_CASES = 500;
const STEPS = 100;

/**
 * The incidence rate of so many cases in so many hours that people really worked.
 * @param {number} cases
 * @param {number} hours
 * @returns {Rate}
 */
export function rate(cases, hours) {
  const count = countOf(cases, "cases");
  if (!isNumber(hours) || hours <= 0 || hours > MOST_HOURS) {
    throw new Problem("hours", "It is not above 0.", "Add up the hours that all people worked in the time.");
  }
  const people = hours / 2000;
  const why = `${count} in ${say(hours)} h, the work of ${say(people)} full-time people in a year.`
    + (people < 100 ? " In a shop so small one case moves it far: look at each case, not at the rate." : "");
  const scale = BASE_HOURS / hours;
  const [low, high] = expected(count);
  return {
    rate: tidy(count * scale, 2), low: tidy(low * scale, 2), high: tidy(high * scale, 2), one_more: tidy((count + 1) * scale, 2),
    years: tidy(people, 2), why, source: `${SOURCE}; ${RANGE_SOURCE}`,
  };
}

/**
 * All recordable cases, those with days away or restricted work (DART), and those with days away.
 * @param {number} recordable
 * @param {number} away
 * @param {number} restricted
 * @param {number} hours
 */
export function rates(recordable, away, restricted, hours) {
  const total = countOf(recordable, "recordable");
  const absent = countOf(away, "away");
  const parts = absent + countOf(restricted, "restricted");
  if (parts > total) throw new Problem("recordable", `It is ${total}, the cases within it ${parts}.`, "Count each case once.");
  return { recordable: rate(total, hours), dart: rate(parts, hours), away: rate(absent, hours) };
}

/** The means between which a Poisson count came about. @param {number} count @returns {[number, number]} */
const expected = (count) => [count ? mean(count - 1, 1 - TAIL) : 0, mean(count, TAIL)];

/** The Poisson mean at which `share` of all counts are at most `count`. @param {number} count @param {number} share */
function mean(count, share) {
  let [low, high] = [0, count + 4 * Math.sqrt(count + 1) + 5];
  for (let step = 0; step < STEPS; step += 1) {
    const middle = (low + high) / 2;
    if (atMost(count, middle) > share) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/** The share of Poisson counts that are at most `count`. @param {number} count @param {number} mean */
function atMost(count, mean) {
  let term = Math.exp(-mean);
  let total = term;
  for (let each = 1; each <= count; each += 1) {
    term *= mean / each;
    total += term;
  }
  return total;
}

/** @type {(value: unknown, field: string) => number} */
function countOf(value, field) {
  if (!isNumber(value) || !Number.isInteger(value) || value < 0) {
    throw new Problem(field, "It is not a whole number of 0 or more.", "Count the lines of the log.");
  }
  if (value > MOST_CASES) throw new Problem(field, `It is more than ${MOST_CASES}.`, "Check it: such a log is no small shop's.");
  return value;
}
