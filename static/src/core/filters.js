// A filter's pressure drop in its band, and static pressure beside its commissioning value; twin of
// webapp/core/filters.py, held to tests/vectors/filters.json. Pressures in one unit, whichever the gauge has.
import { figure } from "./exposure.js";
import { aboveZero, fromZero } from "./figures.js";
import { say, tidy } from "./numbers.js";
import { Problem } from "./problems.js";

/**
 * @typedef {{word: string, stop: boolean, used: number, why: string, todo: string, source: string}} Drop
 * @typedef {{word: string, stop: boolean, change: number, flow: number|null, why: string, todo: string, source: string}} Static
 */

const MOST = 100000;
const EDGE = 1e-9;
const FALL = 0.25;
const STATIC_CHANGE = 0.2;
const STATIC_SOURCE = "29 CFR 1910.94(a)(4)(i)(b), more than 20 %: commonly cited, confirm";
const BAND_SOURCE = "the maker's or the shop's own figures; what counts as a fall is our choice";
/** @type {Record<string, string>} */
const TODO = {
  "no air": "Do not start. Look at the fan, its direction and belt, the damper and the gauge's tubes.",
  fallen: "Stop: dust may be blowing past. Look for a torn or loose filter, an open door, a leak, a slow fan.",
  clean: "Nothing to do.",
  working: "Nothing to do; read it again before the next use.",
  loaded: "Stop: clean or change the filter, with the dust kept in and a respirator on. Then read it again.",
};
/** @type {Record<string, string>} */
const STATIC_TODO = {
  "no suction": "Do not start. Look at the fan, the damper and the tap.",
  "less suction": "Clean or repair before use. After the tap: a loaded filter, a loose belt, a leak, a shut damper.",
  "more suction": "Clean or repair before use. Before the tap: a blocked hood or baffle, dust settled in the duct.",
  "as commissioned": "Nothing to do; read it again at the next check.",
};

/**
 * A drop beside that of the clean filter and the one at which to change.
 * @param {number} now
 * @param {number} clean
 * @param {number} changeAt
 * @param {number|null} [before] the reading before it, unless the filter was changed or pulsed in between
 * @returns {Drop}
 */
export function filterDrop(now, clean, changeAt, before = null) {
  const here = fromZero(now, "now", MOST);
  const [start, end] = [aboveZero(clean, "clean", MOST), aboveZero(changeAt, "change_at", MOST)];
  if (end <= start) {
    throw new Problem("change_at", "It is not above the clean filter's drop.", "Take both from the maker.");
  }
  const last = before === null ? null : fromZero(before, "before", MOST);
  const used = tidy(((here - start) / (end - start)) * 100, 1);
  const [word, why] = dropWord(here, start, end, last);
  const stop = word === "no air" || word === "fallen" || word === "loaded";
  return { word, stop, used, why, todo: TODO[word], source: BAND_SOURCE };
}

/**
 * Static pressure at a tap beside its commissioning value, both as amounts.
 * @param {number} now
 * @param {number} commissioned
 * @returns {Static}
 */
export function staticPressure(now, commissioned) {
  const [here, then] = [fromZero(now, "now", MOST), aboveZero(commissioned, "commissioned", MOST)];
  const change = here / then - 1;
  const less = change < -STATIC_CHANGE - EDGE;
  const more = change > STATIC_CHANGE + EDGE;
  const word = here === 0 ? "no suction" : less ? "less suction" : more ? "more suction" : "as commissioned";
  return {
    word, stop: word !== "as commissioned", change: tidy(change * 100, 1),
    flow: change <= EDGE ? tidy(Math.sqrt(here / then) * 100, 1) : null,
    why: `${figure(here)} beside ${figure(then)} at commissioning: ${say(tidy(change * 100, 1))} %.`,
    todo: STATIC_TODO[word], source: STATIC_SOURCE,
  };
}

/** @type {(here: number, clean: number, changeAt: number, before: number|null) => [string, string]} */
function dropWord(here, clean, changeAt, before) {
  if (here === 0) return ["no air", "The gauge shows nothing: no air moves, or its tubes are off."];
  if (before !== null && here < before * (1 - FALL) - EDGE * before) {
    return ["fallen", `It fell from ${figure(before)} to ${figure(here)} without a new or cleaned filter.`];
  }
  if (here < clean * (1 - FALL) - EDGE * clean) {
    return ["fallen", `${figure(here)} is far under the clean filter's ${figure(clean)}.`];
  }
  if (here >= changeAt * (1 - EDGE)) {
    return ["loaded", `${figure(here)} is at or over ${figure(changeAt)}, where it is to be changed.`];
  }
  const word = here <= clean * (1 + EDGE) ? "clean" : "working";
  return [word, `${figure(here)} between ${figure(clean)} clean and ${figure(changeAt)} to change.`];
}
