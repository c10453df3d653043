// From a filter to a concentration, and what share of dust is an element; twin of webapp/core/sampling.py, where
// sources are told; held to tests/vectors/sampling.json. Mass in ug, air in litres, concentrations in mg/m3.
import { BELOW, figure, OVER, reaches } from "./exposure.js";
import { isNumber, say, tidy } from "./numbers.js";
import { Problem } from "./problems.js";

/**
 * @typedef {{litres: number|null, flow: number, drift: number, holds: boolean, why: string, source: string}} Volume
 * @typedef {{value: number, below: number, by: string, why: string, source: string}} NotFound
 * @typedef {{word: string, share: number, why: string}} Balanced
 * @typedef {{minutes: number, litres: number, fits: boolean, least: number, why: string}} Plan
 */

const PUMP_TOLERANCE = 0.05;
const PUMP_SOURCE = "within 5 % before and after: OSHA Technical Manual and NIOSH practice, from memory";
const DETECTION_SOURCE = "R. W. Hornung and L. D. Reed, Appl. Occup. Environ. Hyg. 5 (1990) 46";
const SKEWED = 3;
const BALANCE_WHY = "Reckoned from the dust as if it were the alloy and nothing else; a sample of the element itself counts "
  + "before it.";
const EDGE = 1e-9;

/**
 * Litres drawn in so many minutes, at the mean of the flow before and after (L/min).
 * @param {number} before
 * @param {number} after
 * @param {number} minutes
 * @returns {Volume}
 */
export function airVolume(before, after, minutes) {
  const [first, last] = [flowOf(before, "before"), flowOf(after, "after")];
  if (!isNumber(minutes) || minutes <= 0 || minutes > 24 * 60) {
    throw new Problem("minutes", "It is not above 0 and up to 1440.", "Give the minutes that the pump ran.");
  }
  const [drift, mean] = [last / first - 1, (first + last) / 2];
  const holds = Math.abs(drift) <= PUMP_TOLERANCE + EDGE;
  const why = `${say(mean)} L/min over ${say(minutes)} min; the pump changed by ${say(tidy(drift * 100, 1))} %.`
    + (holds ? "" : " More than 5 %: the sample is void, take another.");
  const litres = holds ? tidy(mean * minutes, 3) : null;
  return { litres, flow: tidy(mean, 4), drift: tidy(drift * 100, 2), holds, why, source: PUMP_SOURCE };
}

/** mg/m3 from the mass on a filter and on its blank (ug). @param {number} micrograms @param {number} litres @param {number} [blank] */
export function concentration(micrograms, litres, blank = 0) {
  const [found, clean] = [massOf(micrograms, "micrograms"), massOf(blank, "blank")];
  return tidy(Math.max(found - clean, 0) / litresOf(litres), 9);
}

/**
 * What to put in place of a result below the laboratory's limit of detection (ug).
 * @param {number} detection
 * @param {number} litres
 * @param {number|null} [spread] the data's geometric standard deviation, where it is known
 * @returns {NotFound}
 */
export function belowDetection(detection, litres, spread = null) {
  const least = massOf(detection, "detection");
  if (least === 0) throw new Problem("detection", "It is 0.", "Ask the laboratory for its limit of detection.");
  if (spread !== null && (!isNumber(spread) || spread < 1)) {
    throw new Problem("spread", "It is not a number of 1 or more.", "Leave it out where there are few results.");
  }
  const skewed = spread !== null && spread >= SKEWED;
  const [by, divisor] = skewed ? ["LOD / 2", 2] : ["LOD / sqrt 2", Math.sqrt(2)];
  const bound = least / litresOf(litres);
  const told = skewed ? "highly skewed (geometric standard deviation 3 or more)" : "not known to be highly skewed";
  const why = `Below ${figure(bound)} mg/m3. In an average ${by}, for data that are ${told}; no use where half are like it.`;
  return { value: tidy(bound / divisor, 9), below: tidy(bound, 9), by, why, source: DETECTION_SOURCE };
}

/**
 * Minutes to draw so that a result below detection says something, rounded up.
 * @param {number} detection ug
 * @param {number} limit mg/m3
 * @param {number} flow L/min
 * @param {number} [share] of the limit that is to be told
 */
export function leastMinutes(detection, limit, flow, share = 0.1) {
  const [least, bound] = [massOf(detection, "detection"), aboveZero(limit, "limit")];
  if (!isNumber(share) || share <= 0 || share > 1) {
    throw new Problem("share", "It is not above 0 and up to 1.", "Give 0.1 for a tenth of the limit.");
  }
  return Math.ceil(tidy(least / (share * bound) / flowOf(flow, "flow"), 6));
}

/**
 * What to draw at a flow (L/min) for a limit (mg/m3) that is an average of `window` minutes, so that a tenth of it can be told.
 * @param {number} detection ug
 * @param {number} limit
 * @param {number} flow
 * @param {number} window
 * @returns {Plan}
 */
export function plan(detection, limit, flow, window) {
  if (!isNumber(window) || window <= 0 || window > 24 * 60) {
    throw new Problem("window", "It is not above 0 and up to 1440.", "Give the minutes that the limit averages.");
  }
  const minutes = leastMinutes(detection, limit, flow);
  const least = tidy((detection / (limit * flow * window)) * 100, 1);
  const [litres, fits] = [tidy(minutes * flow, 1), minutes <= window];
  const told = `A tenth of ${figure(limit)} mg/m3 takes ${say(minutes)} min, ${say(litres)} L.`;
  const more = !fits ? ` That is more than ${say(window)} min: ask for a method that finds less, or a faster pump.`
    : window <= 15 ? ` Draw the whole ${say(window)} min.` : " Draw the whole shift all the same: it is what the limit is an average of.";
  return { minutes, litres, fits, least, why: told + more };
}

/**
 * An element's share of measured dust (mg/m3, as inDust of alloys.js reckons it) beside its limit, by its upper end.
 * @param {number} low
 * @param {number} high
 * @param {number} limit
 * @returns {Balanced}
 */
export function byBalance(low, high, limit) {
  if (!isNumber(low) || low < 0) {
    throw new Problem("low", "It is not a number of 0 or more.", "Reckon it from the measured dust.");
  }
  if (!isNumber(high) || high < low) {
    throw new Problem("high", "It is not a number from the least on.", "Reckon it from the measured dust.");
  }
  const bound = aboveZero(limit, "limit");
  const word = reaches(high, bound) ? OVER : BELOW;
  const may = word === OVER && !reaches(low, bound) ? ", so it may be at or over it" : "";
  const why = `${figure(low)} to ${figure(high)} mg/m3 beside ${figure(bound)} mg/m3${may}. ${BALANCE_WHY}`;
  return { word, share: tidy((high / bound) * 100, 1), why };
}

/** The dust (mg/m3) at which an element of at most `high` weight % comes to its own limit. @param {number} limit @param {number} high */
export function dustFor(limit, high) {
  const [bound, most] = [aboveZero(limit, "limit"), percent(high, "high")];
  if (most === 0) throw new Problem("high", "The alloy has none of it.", "Leave the element out.");
  return tidy((bound * 100) / most, 9);
}

/** @type {(value: unknown, field: string) => number} */
function percent(value, field) {
  if (!isNumber(value) || value < 0 || value > 100) {
    throw new Problem(field, "It is not between 0 and 100 %.", "Take it from the alloy's composition.");
  }
  return value;
}

/** @type {(value: unknown, field: string) => number} */
function flowOf(value, field) {
  if (!isNumber(value) || value <= 0 || value > 100) {
    throw new Problem(field, "It is not above 0 and up to 100 L/min.", "Check the pump against a calibrator.");
  }
  return value;
}

/** @param {unknown} value */
function litresOf(value) {
  if (!isNumber(value) || value <= 0 || value > 200000) {
    throw new Problem("litres", "It is not above 0.", "Give the air that was drawn.");
  }
  return value;
}

/** @type {(value: unknown, field: string) => number} */
function massOf(value, field) {
  if (!isNumber(value) || value < 0) {
    throw new Problem(field, "It is not a number of 0 or more.", "Copy it from the laboratory's report.");
  }
  return value;
}

/** @type {(value: unknown, field: string) => number} */
function aboveZero(value, field) {
  if (!isNumber(value) || value <= 0) throw new Problem(field, "It is not a number above zero.", "Take it from its print.");
  return value;
}
