// Noise by the rules of Britain and the European Union; twin of webapp/core/noise_daily.py, where formulas and sources
// are told; held to tests/vectors/noise_daily.json.
import { ACTION, BELOW, OVER, reaches } from "./exposure.js";
import { noiseLevel, noisePairs } from "./noise.js";
import { isNumber, say, tidy } from "./numbers.js";
import { Problem } from "./problems.js";

/**
 * @typedef {{level: number, points: number}} Daily
 * @typedef {{word: string, value: string|null, why: string, todo: string, source: string}} Stands
 * @typedef {{by_label: number, level: number, too_quiet: boolean, why: string, source: string}} Worn
 */

const SOURCE = "Control of Noise at Work Regulations 2005, regulation 4 (the same values in Directive 2003/10/EC)";
const LIMIT = [87, 140];
const SNR_SOURCE = "EN ISO 4869-2: C-weighted level less SNR; HSE, Controlling noise at work (L108): 4 dB more as really worn";
const REAL_WORLD = 4;
const QUIET_AT_EAR = 70;
const MOST_SNR = 45;
/** @type {[number[], string][]} */
const ACTIONS = [[[85, 137], "upper action value"], [[80, 135], "lower action value"]];
/** @type {Record<string, string>} */
const TODO = {
  "limit value": "Stop and bring it down at once; find why it was reached.",
  "upper action value": "Quieten it by more than protectors; mark the area, wear protectors there, test hearing.",
  "lower action value": "Tell and train people; protectors for whoever asks for them.",
};

/** A day of periods [dBA as LAeq, hours]. @param {[number, number][]} periods */
export const daily = (periods) => of(noisePairs(periods).reduce((sum, [level, hours]) => sum + (hours / 8) * 10 ** (level / 10), 0));

/** A week of daily exposures, at most seven, over the five days that count. @param {number[]} days */
export function weekly(days) {
  if (days.length < 1 || days.length > 7) {
    throw new Problem("days", `There are ${days.length}.`, "Give the daily exposure of one to seven days.");
  }
  return of(days.reduce((sum, one, place) => sum + 10 ** (noiseLevel(one, `days[${place}]`) / 10), 0) / 5);
}

/**
 * Exposure beside the action values, which take no account of protectors, and the limit, which does.
 * @param {number} level
 * @param {number|null} [peak]
 * @param {number|null} [atEar] the exposure under protectors; without it the bare one is taken
 * @returns {Stands}
 */
export function stands(level, peak = null, atEar = null) {
  const bare = noiseLevel(level, "level");
  const top = peak === null ? 0 : noiseLevel(peak, "peak");
  const ear = atEar === null ? bare : noiseLevel(atEar, "at_ear");
  if (ear > bare) throw new Problem("at_ear", "It is more than the bare level.", "A protector does not make it louder.");
  const why = `${say(bare)} dB(A)${peak === null ? "" : `, ${say(top)} dB(C) peak`}`;
  if (reaches(ear, LIMIT[0]) || reaches(top, LIMIT[1])) {
    const value = "limit value";
    return { word: OVER, value, why: `${why}, ${say(ear)} at the ear.`, todo: TODO[value], source: SOURCE };
  }
  for (const [[most, highest], value] of ACTIONS) {
    if (reaches(bare, most) || reaches(top, highest)) {
      return { word: ACTION, value, why: `${why}.`, todo: TODO[value], source: SOURCE };
    }
  }
  const todo = "Measure again when a machine or the work changes.";
  return { word: BELOW, value: null, why: `${why}.`, todo, source: SOURCE };
}

/** Hours at a steady level after which the daily exposure comes to `value`. @param {number} level @param {number} value */
export function hoursTo(level, value) {
  const [steady, aim] = [noiseLevel(level, "level"), noiseLevel(value, "value")];
  return tidy(8 * 10 ** ((aim - steady) / 10), 4);
}

/** What is left under a protector with a single number rating, in a C-weighted level. @param {number} level @param {number} snr @returns {Worn} */
export function worn(level, snr) {
  const outside = noiseLevel(level, "level");
  if (!isNumber(snr) || snr < 0 || snr > MOST_SNR) {
    throw new Problem("snr", `It is not between 0 and ${MOST_SNR} dB.`, "Read it off the packet: SNR, not NRR.");
  }
  const label = outside - snr;
  const ear = label + Math.min(REAL_WORLD, snr);
  const why = `${say(outside)} dB(C) less ${say(snr)} dB is ${say(label)} dB(A); as really worn ${say(ear)} dB(A).`;
  return { by_label: tidy(label, 2), level: tidy(ear, 2), too_quiet: ear < QUIET_AT_EAR, why, source: SNR_SOURCE };
}

/** @param {number} energy @returns {Daily} */
function of(energy) {
  const level = 10 * Math.log10(energy);
  return { level: tidy(level, 2), points: tidy(100 * 10 ** ((level - 85) / 10), 2) };
}
