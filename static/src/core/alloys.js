// What is in an alloy and what that means for its dust; twin of webapp/core/alloys.py.
// Works on the cards that the phone keeps (webapp/library/cards.py): what is not known is left out there.
import { isNumber, say, tidy } from "./numbers.js";
import { Problem } from "./problems.js";

/**
 * @typedef {{element: string, low?: number, high?: number, nominal?: number, rest?: boolean, source?: string}} Constituent
 * @typedef {{low: number, high: number}} Share
 * @typedef {{name: string, why: string, from_percent: number, substance?: string, hot_substance?: string}} Element
 * @typedef {{element: string, found: number, low: number, high: number, said: string}} Difference
 */

/** @param {Constituent} one */
const least = (one) => one.low ?? (one.nominal !== undefined && one.high === undefined ? one.nominal : 0);

/** @param {Constituent} one */
const most = (one) => one.high ?? one.nominal ?? one.low ?? 0;

/** @param {Constituent[]} parts @param {(one: Constituent) => number} figure */
const sum = (parts, figure) => parts.reduce((total, one) => total + figure(one), 0);

/**
 * The least and the most weight % of an element that a composition permits; null when it is not named in it.
 * A stated upper end stands even where the others leave less room: a hazard must not shrink by a print's arithmetic.
 * @param {Constituent[]} composition
 * @param {string} element
 * @returns {Share|null}
 */
export function share(composition, element) {
  const own = composition.find((one) => one.element === element);
  if (!own) return null;
  const others = composition.filter((one) => one.element !== element);
  const room = Math.max(100 - sum(others, least), 0);
  if (own.rest) return { low: tidy(Math.max(100 - sum(others, most), 0)), high: tidy(room) };
  return { low: tidy(least(own)), high: tidy(own.high ?? own.nominal ?? Math.max(room, least(own))) };
}

/**
 * The most of each element that the composition permits: what a hazard is judged by.
 * @param {Constituent[]} composition
 * @returns {Record<string, number>}
 */
export function percents(composition) {
  return Object.fromEntries(composition.map((one) => [one.element, share(composition, one.element)?.high ?? 0]));
}

/**
 * The constituents that matter for health, the strictest threshold first, with what the alloy permits.
 * @param {Constituent[]} composition
 * @param {Record<string, Element>} elements by symbol
 * @returns {({symbol: string} & Share)[]}
 */
export function mattering(composition, elements) {
  return Object.entries(elements)
    .map(([symbol, element]) => ({ symbol, from: element.from_percent, part: share(composition, symbol) }))
    .filter(({ from, part }) => part !== null && part.high >= from)
    .sort((a, b) => a.from - b.from || (a.symbol < b.symbol ? -1 : 1))
    .map(({ symbol, part }) => ({ symbol, .../** @type {Share} */ (part) }));
}

/**
 * How much of a measured dust (any unit) is one element, if the dust is the alloy and nothing else: a mass balance,
 * no measurement of that element.
 * @param {Constituent[]} composition
 * @param {string} element
 * @param {number} dust
 * @returns {Share}
 */
export function inDust(composition, element, dust) {
  if (!isNumber(dust) || dust < 0) throw new Problem("dust", "It is not a number of 0 or more.", "Give the measured dust.");
  const part = share(composition, element);
  if (!part) throw new Problem("element", `${element} is not in the composition.`, "Choose one that is.");
  return { low: tidy((dust * part.low) / 100, 9), high: tidy((dust * part.high) / 100, 9) };
}

/**
 * What on a certificate lies outside of the alloy's composition; elements that it does not name are not compared.
 * @param {Constituent[]} composition
 * @param {Record<string, number>} found element: weight %
 * @returns {Difference[]}
 */
export function differences(composition, found) {
  const out = [];
  for (const [element, percent] of Object.entries(found)) {
    const part = share(composition, element);
    if (part && (percent < part.low || percent > part.high)) {
      const bound = percent > part.high ? `at most ${say(part.high)}` : `at least ${say(part.low)}`;
      out.push({ element, found: percent, ...part, said: `${element}: ${say(percent)} % found, ${bound} % expected.` });
    }
  }
  return out;
}
