// Noise dose, average, allowed time and what protectors take off; twin of webapp/core/noise.py, where formulas and
// sources are told; held to tests/vectors/noise.json. Levels in dBA, times in hours, doses in % of the day's.
import { ACTION, BELOW, OVER, reaches, UNMEASURED } from "./exposure.js";
import { known } from "./figures.js";
import { isNumber, say, tidy } from "./numbers.js";
import { Problem } from "./problems.js";

/**
 * @typedef {[number, number][]} Periods [dBA, hours]
 * @typedef {{dose: number, twa: number|null, hours: number, word: string, why: string, source: string}} Dose
 * @typedef {{limit: Dose, action: Dose, niosh: Dose, word: string, above_ceiling: boolean,
 *   unmeasured: number, todo: string}} Day
 * @typedef {{level: number, taken_off: number, why: string, source: string}} Ear
 * @typedef {{label: Ear, field: Ear, derated: Ear, level: number, two_advised: boolean}} Protected
 * @typedef {{criterion: number, exchange: number, factor: number, source: string}} Rule
 */

const LOUDEST = 160;
const QUIETEST = 20;
const DAY = 24;
const CONTINUOUS_CEILING = 115;
const IMPULSE_PEAK = 140;
const DOUBLE_FROM = 100;
const OSHA_SOURCE = "29 CFR 1910.95, Appendix A and Table G-16";
const NIOSH_SOURCE = "NIOSH publication 98-126 (1998), section 1.1";
const IMPULSE_SOURCE = "29 CFR 1910.95, note to Table G-16; NIOSH publication 98-126";
const FIELD_SOURCE = "OSHA's advice for engineering controls: half of NRR - 7 (1910.95 Appendix B; OSHA Technical Manual)";
const DERATING_SOURCE = "NIOSH publication 98-126: take 25 % off the NRR of muffs, 50 % of formable plugs, 70 % of others";
const DUAL_SOURCE = "OSHA Technical Manual, Noise: 5 dB for the second protector, whatever its NRR";
/** @type {Record<string, Rule>} */
const RULES = {
  osha: { criterion: 90, exchange: 5, factor: 16.61, source: OSHA_SOURCE },
  niosh: { criterion: 85, exchange: 3, factor: 10, source: NIOSH_SOURCE },
};
/** @type {Record<string, number>} */
const DERATING = { muffs: 0.25, "formable plugs": 0.5, "other plugs": 0.7 };

/** @param {string} rule */
const ruleOf = (rule) => RULES[known(rule, "rule", Object.keys(RULES))];

/**
 * Hours a day at which a steady level makes a dose of 100 %.
 * @param {number} level
 * @param {string} rule "osha" or "niosh"
 */
export function allowedHours(level, rule) {
  const one = ruleOf(rule);
  return tidy(allowed(noiseLevel(level, "level"), one));
}

/**
 * The dose of periods [dBA, hours]; levels below `threshold` count nothing.
 * @param {Periods} periods
 * @param {string} rule
 * @param {number} threshold
 * @returns {Dose}
 */
export function dose(periods, rule, threshold) {
  const one = ruleOf(rule);
  const pairs = noisePairs(periods);
  noiseLevel(threshold, "threshold");
  const counting = pairs.filter(([level]) => reaches(level, threshold));
  const total = 100 * counting.reduce((sum, [level, hours]) => sum + hours / allowed(level, one), 0);
  const hours = pairs.reduce((sum, [, length]) => sum + length, 0);
  const twa = total > 0 ? one.factor * Math.log10(total / 100) + one.criterion : null;
  const counted = `${say(total)} % of the day's dose over ${say(hours)} h, counted from ${say(threshold)} dBA`;
  return {
    dose: tidy(total, 2), twa: twa === null ? null : tidy(twa, 2), hours: tidy(hours),
    word: reaches(total, 100) ? OVER : BELOW,
    why: twa === null ? `${counted}.` : `${counted}: ${say(tidy(twa, 1))} dBA over 8 h.`, source: one.source,
  };
}

/**
 * One day by OSHA's limit, OSHA's action level (half the dose) and NIOSH's recommendation.
 * @param {Periods} periods
 * @param {number|null} [shift] hours; without it the periods are the whole of it
 * @returns {Day}
 */
export function day(periods, shift = null) {
  const limit = dose(periods, "osha", 90);
  const half = dose(periods, "osha", 80);
  const niosh = dose(periods, "niosh", 80);
  const action = { ...half, word: reaches(half.dose, 50) ? ACTION : BELOW };
  const loud = noisePairs(periods).some(([level]) => level > CONTINUOUS_CEILING);
  const unmeasured = missing(half.hours, shift);
  const found = limit.word === OVER || loud ? OVER : action.word;
  const word = found === BELOW && unmeasured ? UNMEASURED : found;
  return { limit, action, niosh, word, above_ceiling: loud, unmeasured: tidy(unmeasured), todo: todo(word, niosh.word, loud) };
}

/** The steady level that makes half a dose in a shift of so many hours. @param {number} hours */
export const actionLevel = (hours) => tidy(16.61 * Math.log10(50 / (12.5 * hoursOf(hours, "hours"))) + 90, 1);

/**
 * What is left under a protector with a Noise Reduction Rating.
 * @param {number} level
 * @param {number} nrr
 * @param {string} kind "muffs", "formable plugs" or "other plugs"
 * @param {string} [weighting] "A" or "C"
 * @param {boolean} [second] plugs and muffs together
 * @returns {Protected}
 */
export function protectedLevel(level, nrr, kind, weighting = "A", second = false) {
  const outside = noiseLevel(level, "level");
  if (!isNumber(nrr) || nrr < 0 || nrr > 40) throw new Problem("nrr", "It is not between 0 and 40 dB.", "Read it off the packet.");
  const share = DERATING[known(kind, "kind", Object.keys(DERATING))];
  const spectrum = known(weighting, "weighting", ["A", "C"]) === "A" ? 7 : 0;
  const more = second ? 5 : 0;
  const also = second ? ` ${DUAL_SOURCE}.` : "";
  const label = ear(outside, nrr - spectrum, more, "By its label: what laboratories reach, and few ears.", OSHA_SOURCE);
  const field = ear(outside, (nrr - spectrum) / 2, more, `Half of the label, as worn.${also}`, FIELD_SOURCE);
  const derated = ear(outside, nrr * (1 - share) - spectrum, more, `${say(share * 100)} % off the rating.`, DERATING_SOURCE);
  const highest = Math.max(label.level, field.level, derated.level);
  return { label, field, derated, level: highest, two_advised: reaches(outside, DOUBLE_FROM) };
}

/** An impulse's peak in dB beside 140 dB. @param {number} peak */
export function impulse(peak) {
  const found = noiseLevel(peak, "peak");
  const word = reaches(found, IMPULSE_PEAK) ? OVER : BELOW;
  return { word, why: `${say(found)} dB peak beside ${IMPULSE_PEAK} dB.`, source: IMPULSE_SOURCE };
}

/** @type {(word: string, niosh: string, loud: boolean) => string} */
function todo(word, niosh, loud) {
  if (loud) return "No time at all is allowed above 115 dBA: quieten it, or keep people out of it.";
  if (word === OVER) return "Quieten it or shorten the time; protectors meanwhile, and hearing tests.";
  if (word === ACTION) {
    return "Hearing tests yearly, protectors for whoever wants them, training; measure again when work changes.";
  }
  if (word === UNMEASURED) return "Measure the rest of the shift too: what it holds is not known.";
  if (niosh === OVER) return "Under OSHA's figures, but at or over NIOSH's recommendation: wear protectors and quieten it.";
  return "Measure again when a machine or the work changes.";
}

/** @type {(measured: number, shift: number|null) => number} */
function missing(measured, shift) {
  if (shift === null) return 0;
  const whole = hoursOf(shift, "shift");
  if (measured > whole * (1 + 1e-9)) {
    const problem = `It has ${say(whole)} h, the periods ${say(measured)} h.`;
    throw new Problem("shift", problem, "Give the hours that were worked.");
  }
  return whole - measured > 1e-9 ? whole - measured : 0;
}

/** @type {(outside: number, off: number, more: number, why: string, source: string) => Ear} */
function ear(outside, off, more, why, source) {
  // A rating of less than the 7 dB for the spectrum takes nothing off; it does not make the noise louder.
  const taken = Math.max(off, 0) + more;
  return { level: tidy(outside - taken, 2), taken_off: tidy(taken, 2), why, source };
}

/** @param {number} level @param {Rule} rule */
const allowed = (level, rule) => 8 / 2 ** ((level - rule.criterion) / rule.exchange);

/** Periods of a day as [dBA, hours], checked. @param {unknown} periods @returns {Periods} */
export function noisePairs(periods) {
  if (!Array.isArray(periods) || !periods.length) {
    throw new Problem("periods", "There are none.", "Give each as a level in dBA and its hours.");
  }
  const pairs = periods.map((one, place) => {
    if (!Array.isArray(one) || one.length !== 2) {
      throw new Problem(`periods[${place}]`, "It is not a pair.", "Give a level in dBA and its hours.");
    }
    return /** @type {[number, number]} */ ([
      noiseLevel(one[0], `periods[${place}].level`), hoursOf(one[1], `periods[${place}].hours`),
    ]);
  });
  const total = pairs.reduce((sum, [, hours]) => sum + hours, 0);
  if (total > DAY * (1 + 1e-9)) {
    throw new Problem("periods", `They make ${say(total)} h; a day has 24.`, "Check each time.");
  }
  return pairs;
}

/** @type {(value: unknown, field: string) => number} */
export function noiseLevel(value, field) {
  if (!isNumber(value) || value < QUIETEST || value > LOUDEST) {
    const mend = "Measure again, with the meter set to slow and A.";
    throw new Problem(field, `It is not between ${QUIETEST} and ${LOUDEST} dB.`, mend);
  }
  return value;
}

/** @type {(value: unknown, field: string) => number} */
function hoursOf(value, field) {
  if (!isNumber(value) || value <= 0 || value > DAY) {
    throw new Problem(field, "It is not above 0 and up to 24 h.", "Give the hours it lasted.");
  }
  return value;
}
