// What a person's shift adds up to, and how that stands to limits in print; twin of webapp/core/exposure.py, where
// formulas and sources are told; held to tests/vectors/exposure.json. What was not measured is never filled in.
import { isNumber, say, tidy } from "./numbers.js";
import { Problem } from "./problems.js";

/**
 * @typedef {[number, number][]} Pairs [concentration, hours or minutes], or [concentration, limit]
 * @typedef {{eight_hours: number, over_shift: number|null, shift: number, measured: number, unmeasured: number,
 *   why: string, source: string}} Average
 * @typedef {{word: string, share: number|null, why: string}} Compared
 * @typedef {{highest: number, minutes: number, whole: boolean, why: string}} Window
 * @typedef {{index: number, word: string, parts: number[], why: string, source: string}} Mixture
 * @typedef {{limit: number, factor: number, law: boolean, why: string, source: string}} Shift
 */

export const BELOW = "below the limit";
export const OVER = "at or over the limit";
export const ACTION = "over the action level";
export const UNMEASURED = "not measured";
const DAY = 24;
const BASE_HOURS = 8;
const WINDOW_MINUTES = 15;
const TWA_SOURCE = "29 CFR 1910.1000(d)(1)(i)";
const MIXTURE_SOURCE = "29 CFR 1910.1000(d)(2)(i)";
const LEAD_SOURCE = "29 CFR 1910.1025(c)(2): 400 / hours worked, for a day of more than 8 hours";
const SHIFT_SOURCE = "R. S. Brief and R. A. Scala, Am. Ind. Hyg. Assoc. J. 36 (1975) 467: advice, no law";
const UNADJUSTED = "OSHA adjusts no limit for a long shift but that of lead; the figure beside it is advice.";
// Sums of binary fractions miss a limit that they meet on paper by some parts in 10^16.
const EDGE = 1e-9;
const MOST = 1000000;

/**
 * A number for a sentence with three significant digits and no exponent, the same in both languages.
 * @param {number} value
 */
export function figure(value) {
  let places = 0;
  for (let scaled = Math.abs(value); scaled > 0 && scaled < 100 && places < 9; scaled *= 10) places += 1;
  const text = tidy(value, places).toFixed(places);
  return text.includes(".") ? text.replace(/0+$/, "").replace(/\.$/, "") : text;
}

/**
 * The eight-hour average of periods [concentration, hours] within a shift of so many hours.
 * @param {Pairs} periods
 * @param {number|null} [shift]
 * @returns {Average}
 */
export function average(periods, shift = null) {
  if (!periods.length) throw new Problem("periods", "There are none.", "Give each as a concentration and its hours.");
  const pairs = periods.map((one, place) => pair(one, place, "periods", "hours", DAY));
  const measured = pairs.reduce((sum, [, hours]) => sum + hours, 0);
  withinDay(measured, "periods");
  const whole = shift === null ? measured : hoursOf(shift, "shift");
  if (measured > whole * (1 + EDGE)) {
    throw new Problem("shift", `It has ${say(whole)} h, the periods ${say(measured)} h.`, "Give the hours that were worked.");
  }
  const total = pairs.reduce((sum, [level, hours]) => sum + level * hours, 0);
  const missing = whole - measured <= EDGE ? 0 : whole - measured;
  const left = missing ? ` ${say(missing)} h were not measured and are left out.` : "";
  return {
    eight_hours: tidy(total / BASE_HOURS, 9), over_shift: missing ? null : tidy(total / whole, 9), shift: tidy(whole),
    measured: tidy(measured), unmeasured: tidy(missing),
    why: `${say(measured)} h measured of ${say(whole)} h, divided by 8.${left}`, source: TWA_SOURCE,
  };
}

/**
 * A measured value beside a limit and, where there is one, an action level, all in `unit`; null is "not measured".
 * @param {number|null} value
 * @param {number} limit
 * @param {string} unit
 * @param {number|null} [action]
 * @returns {Compared}
 */
export function compare(value, limit, unit, action = null) {
  const bound = aboveZero(limit, "limit");
  const early = action === null ? null : aboveZero(action, "action");
  if (value === null) return { word: UNMEASURED, share: null, why: "Nothing was measured, so nothing can be said." };
  const level = levelOf(value, "value");
  const share = tidy((level / bound) * 100, 1);
  const why = `${figure(level)} ${unit} is ${say(share)} % of ${figure(bound)} ${unit}.`;
  if (reaches(level, bound)) return { word: OVER, share, why };
  if (early !== null && reaches(level, early)) {
    return { word: ACTION, share, why: `${why} The action level is ${figure(early)} ${unit}.` };
  }
  return { word: BELOW, share, why };
}

/** Whether a value is at or over a limit, with room for binary fractions. @param {number} value @param {number} limit */
export const reaches = (value, limit) => value >= limit * (1 - EDGE);

/**
 * The highest mean over any `minutes` together of readings in a row, each [concentration, minutes].
 * @param {Pairs} readings
 * @param {number} [minutes]
 * @returns {Window}
 */
export function shortTerm(readings, minutes = WINDOW_MINUTES) {
  const window = aboveZero(minutes, "minutes");
  if (!readings.length) throw new Problem("readings", "There are none.", "Give each as a concentration and its minutes.");
  const pairs = readings.map((one, place) => pair(one, place, "readings", "minutes", DAY * 60));
  const edges = [0];
  for (const [, length] of pairs) edges.push(edges[edges.length - 1] + length);
  const covered = edges[edges.length - 1];
  const whole = covered >= window * (1 - EDGE);
  const last = Math.max(covered - window, 0);
  const starts = [...edges, ...edges.map((edge) => edge - window)].filter((edge) => edge >= 0 && edge <= last);
  const highest = Math.max(...[0, ...starts].map((start) => mass(pairs, edges, start, start + window))) / window;
  const coarse = pairs.some(([, length]) => length > window * (1 + EDGE));
  let why = `Highest mean over ${say(window)} min of ${say(covered)} min measured.`;
  if (!whole) why = `Only ${say(covered)} of ${say(window)} min were measured: it was at least this.`;
  else if (coarse) why += " A reading is longer than that: a peak within it is not seen.";
  return { highest: tidy(highest, 9), minutes: tidy(covered), whole: whole && !coarse, why };
}

/**
 * What is held against a ceiling: the highest of readings that an instrument shows at once, else the highest mean over
 * 15 minutes. Each is [concentration, minutes].
 * @param {Pairs} readings
 * @param {boolean} atOnce
 * @returns {Window}
 */
export function ceiling(readings, atOnce) {
  const found = shortTerm(readings);
  if (!atOnce) {
    return { ...found, why: `${found.why} Not read at once, so held against the ceiling as a 15 min mean.` };
  }
  const highest = Math.max(...readings.map(([level]) => level));
  const why = `The highest of ${readings.length} readings at once.`;
  return { highest: tidy(highest, 9), minutes: found.minutes, whole: true, why };
}

/**
 * The index of substances breathed together, each [concentration, limit]; only for substances that harm alike.
 * @param {Pairs} parts
 * @param {string} effect what they have in common
 * @returns {Mixture}
 */
export function mixture(parts, effect) {
  if (typeof effect !== "string" || !effect.trim()) {
    throw new Problem("effect", "It is not said what they harm alike.", "Name the effect they share, or judge each by itself.");
  }
  if (parts.length < 2) throw new Problem("parts", `There are ${parts.length}.`, "A mixture has two or more.");
  const shares = parts.map((one, place) => {
    const [level, limit] = two(one, `parts[${place}]`);
    return levelOf(level, `parts[${place}].value`) / aboveZero(limit, `parts[${place}].limit`);
  });
  const index = shares.reduce((sum, one) => sum + one, 0);
  const why = `The shares of their limits make ${figure(index)}; 1 is the limit. All harm alike: ${effect.trim()}.`;
  const word = reaches(index, 1) ? OVER : BELOW;
  return { index: tidy(index), word, parts: shares.map((one) => tidy(one)), why, source: MIXTURE_SOURCE };
}

/**
 * The limit of lead for a day of so many hours; compared with the mean over the hours worked.
 * @param {number} limit
 * @param {number} hours
 * @returns {Shift}
 */
export function leadShift(limit, hours) {
  const [bound, day] = [aboveZero(limit, "limit"), hoursOf(hours, "hours")];
  const factor = day > BASE_HOURS ? BASE_HOURS / day : 1;
  const why = `${say(day)} h: the mean over them is held to ${figure(bound * factor)}.`;
  return { limit: tidy(bound * factor, 9), factor: tidy(factor), law: true, why, source: LEAD_SOURCE };
}

/**
 * A limit made for 8 hours on a longer day, by Brief and Scala.
 * @param {number} limit
 * @param {number} hours
 * @returns {Shift}
 */
export function longDay(limit, hours) {
  const [bound, day] = [aboveZero(limit, "limit"), hoursOf(hours, "hours")];
  if (day >= DAY) throw new Problem("hours", "A day of 24 h leaves no rest.", "Give the hours that were worked.");
  return reduced(bound, Math.min(((BASE_HOURS / day) * (DAY - day)) / 16, 1), `${say(day)} h a day`);
}

/**
 * A limit made for 40 hours on a longer week, by Brief and Scala.
 * @param {number} limit
 * @param {number} hours
 * @returns {Shift}
 */
export function longWeek(limit, hours) {
  const [bound, week] = [aboveZero(limit, "limit"), aboveZero(hours, "hours")];
  if (week >= 168) throw new Problem("hours", `${say(week)} h are no week's work.`, "Give the hours worked in a week.");
  return reduced(bound, Math.min(((40 / week) * (168 - week)) / 128, 1), `${say(week)} h a week`);
}

/** @type {(limit: number, factor: number, over: string) => Shift} */
function reduced(limit, factor, over) {
  const why = `${over}: ${figure(limit)} x ${figure(factor)}. ${UNADJUSTED}`;
  return { limit: tidy(limit * factor, 9), factor: tidy(factor), law: false, why, source: SHIFT_SOURCE };
}

/** @type {(pairs: Pairs, edges: number[], start: number, end: number) => number} */
const mass = (pairs, edges, start, end) =>
  pairs.reduce(
    (sum, [level], place) => sum + level * Math.max(Math.min(edges[place + 1], end) - Math.max(edges[place], start), 0), 0,
  );

/** @type {(one: unknown, field: string) => [number, number]} */
function two(one, field) {
  if (!Array.isArray(one) || one.length !== 2) throw new Problem(field, "It is not a pair.", "Give two numbers.");
  return [one[0], one[1]];
}

/** @type {(one: unknown, place: number, name: string, of: string, most: number) => [number, number]} */
function pair(one, place, name, of, most) {
  const [level, length] = two(one, `${name}[${place}]`);
  levelOf(level, `${name}[${place}].value`);
  const field = `${name}[${place}].${of}`;
  if (!isNumber(length) || length <= 0) {
    throw new Problem(field, "It is not a number above zero.", "Give how long it lasted, or leave it out.");
  }
  if (length > most) throw new Problem(field, `It is more than ${most}.`, "A day has 24 h: check it and its unit.");
  return [level, length];
}

/** @type {(value: unknown, field: string) => number} */
function hoursOf(value, field) {
  if (!isNumber(value) || value <= 0) {
    throw new Problem(field, "It is not a number above zero.", "Give the hours that were worked.");
  }
  return withinDay(value, field);
}

/** @type {(value: number, field: string) => number} */
function withinDay(value, field) {
  if (value > DAY * (1 + EDGE)) {
    throw new Problem(field, `${say(value)} h are more than a day has.`, "Give at most 24 h; check each time.");
  }
  return value;
}

/** @type {(value: unknown, field: string) => number} */
function levelOf(value, field) {
  if (!isNumber(value) || value < 0) throw new Problem(field, "It is not a number of 0 or more.", "Give what was measured.");
  if (value > MOST) throw new Problem(field, `It is more than ${MOST}.`, "Check the figure and its unit.");
  return value;
}

/** @type {(value: unknown, field: string) => number} */
function aboveZero(value, field) {
  if (!isNumber(value) || value <= 0) throw new Problem(field, "It is not a number above zero.", "Take it from its print.");
  return value;
}
