// A measurement beside the limits; twin of webapp/core/measured.py, held to tests/vectors/measured.json. A mean of part of a
// shift is never below a limit, another fraction is not compared, what lay below detection is a bound and no figure.
import { daysBetween, sayDays } from "./dates.js";
import { ACTION, BELOW, OVER, UNMEASURED, average, compare, leadShift, reaches, shortTerm } from "./exposure.js";
import { lookUp, milligrams } from "./limits.js";
import { daily, stands } from "./noise-daily.js";
import { day, dose } from "./noise.js";
import { say, tidy } from "./numbers.js";
import { Problem } from "./problems.js";
import { choose } from "./respirators.js";

/** @typedef {import("./limits.js").Limit} Limit */
/**
 * @typedef {{authority: string, kind: "limit"|"action", name: string, by: "5 dB"|"3 dB"|"energy", level: number, source: string,
 *   counted_from?: number, peak?: number, worn?: boolean, note?: string}} NoiseValue
 * @typedef {{value: number, unit: string, minutes: number, below_detection: boolean}} Sample
 * @typedef {{[key: string]: any, samples: Sample[], shift_hours: number}} Row a measurement of the state
 * @typedef {{periods: [number, number][], least: [number, number][], shift: number, sampled: string, bounded: boolean, missing: number}} Taken
 * @typedef {{limits: Limit[], noises: NoiseValue[], names: Record<string, string>, chosen: string[]}} Library
 */

export const NOISE = "noise";
export const FULL_SHIFT_SLACK = 1;
/** The worst first. */
const WORDS = [OVER, ACTION, UNMEASURED, BELOW];
const SHOWN = ["entry", "machine", "person", "place", "process", "alloy", "fraction", "shift_hours", "method", "laboratory"];
const NOT_ALIKE = "Another fraction is sampled for it: no comparison.";
/** @type {Record<string, number>} */
const MILLIGRAMS = { "mg/m3": 1, "ug/m3": 0.001 };
const EDGE = 1e-9;
const [BASE_HOURS, QUIETEST, LOUDEST, CONTINUOUS_CEILING] = [8, 20, 160, 115];
/** @type {Record<string, {rule: string, criterion: number, exchange: number}>} */
const RULES = { "5 dB": { rule: "osha", criterion: 90, exchange: 5 }, "3 dB": { rule: "niosh", criterion: 85, exchange: 3 } };

/** Which sampler a fraction means: total and inhalable both aim at the whole dust. @param {string|null} [fraction] */
const sampledBy = (fraction) => (fraction === "thoracic" || fraction === "respirable" ? fraction : "whole");

/**
 * One measurement of the state ("agent/form" or "noise") beside limits, as the upkeep document has it.
 * @param {string} key
 * @param {Row} row
 * @param {Library} library `names`: of substances; `chosen`: authorities
 * @param {string} on the day of sampling, ISO
 * @param {string} today
 * @returns {any}
 */
export function beside(key, row, library, on, today) {
  const [agent, form = ""] = key.split("/");
  const days = daysBetween(on, today);
  const head = { agent, form: form || null, on, days, ...Object.fromEntries(SHOWN.map((name) => [name, row[name]])) };
  const made = tried(agent, library, () => (agent === NOISE ? noiseOf(row, library) : dustOf(agent, form, row, library, today)));
  return { ...head, ...made, say: `${made.say}${days > 0 ? ` Measured ${sayDays(days)} ago.` : ""}` };
}

/** What measurements are sorted by: the worst first. @param {any} one @param {any} other */
export function worstFirst(one, other) {
  const by = WORDS.indexOf(one.word) - WORDS.indexOf(other.word) || (other.share ?? 0) - (one.share ?? 0);
  return by || (one.agent < other.agent ? -1 : one.agent > other.agent ? 1 : one.entry < other.entry ? -1 : 1);
}

/** @param {string} agent @param {Library} library @param {() => any} make */
function tried(agent, { names }, make) {
  try {
    return make();
  } catch (error) {
    if (!(error instanceof Problem)) throw error; // a substance or a form of which there is no limit
    return nothing(agent, names, error.message);
  }
}

/** @param {string} agent @param {Record<string, string>} names @param {string} said */
function nothing(agent, names, said) {
  const plain = agent.replaceAll("_", " ");
  const name = names[agent] ?? plain.charAt(0).toUpperCase() + plain.slice(1).toLowerCase();
  return { name, average: null, at_most: false, limits: [], silent: [], word: UNMEASURED, share: null, respirator: null, say: said };
}

/** @param {Row} row @returns {Taken} */
function takenOf({ samples, shift_hours: hours, fraction }) {
  const periods = samples.map((one) => /** @type {[number, number]} */ ([one.value * (MILLIGRAMS[one.unit] ?? 1), one.minutes / 60]));
  const least = periods.map(([value, length], place) => /** @type {[number, number]} */ ([samples[place].below_detection ? 0 : value, length]));
  const measured = periods.reduce((sum, [, length]) => sum + length, 0);
  // A sampler that ran to the end of the shift may show half a minute more than the clock.
  const shift = Math.max(hours, measured);
  return { periods, least, shift, sampled: sampledBy(fraction), bounded: periods.some(([value], place) => value !== least[place][0]), missing: shift - measured };
}

/** @param {string} agent @param {string} form @param {Row} row @param {Library} library @param {string} today */
function dustOf(agent, form, row, { limits, names, chosen }, today) {
  const taken = takenOf(row);
  const { eight_hours, over_shift, shift, measured, unmeasured, why } = average(taken.periods, taken.shift);
  const mean = { eight_hours, over_shift, shift, measured, unmeasured, why };
  const answer = lookUp(limits, agent, form, chosen, today);
  const each = [...answer.chosen, ...answer.strictest.filter((limit) => !answer.chosen.includes(limit))];
  const rows = each.map((limit) => bar(limit, answer.chosen.includes(limit), answer.strictest.includes(limit), taken));
  const worst = first(rows.filter((one) => one.chosen && one.word), badness);
  return {
    name: names[agent], average: mean, at_most: taken.bounded, limits: rows, silent: answer.silent,
    word: worst ? worst.word : UNMEASURED, share: worst ? worst.share : null, respirator: respiratorFor(rows),
    say: worst ? worst.why : "None of the limits that the shop goes by can be compared with this.",
  };
}

/** The first of the lowest by two keys. @param {any[]} rows @param {(row: any) => [number, number]} by */
function first(rows, by) {
  return rows.reduce((best, row) => {
    if (!best) return row;
    const [one, other] = [by(row), by(best)];
    return one[0] < other[0] || (one[0] === other[0] && one[1] < other[1]) ? row : best;
  }, null);
}

/** @param {any} row @returns {[number, number]} */
const badness = (row) => [WORDS.indexOf(row.word), -(row.share ?? 0)];

/** @param {any} row @returns {[number, number]} the worst first; of values that were reached the highest, of others the nearest */
const loudness = (row) => [WORDS.indexOf(row.word), -(row.word === OVER || row.word === ACTION ? row.level : row.share)];

/** One limit and how the measurement stands to it; `word` is null where the two are not alike. @param {Limit} limit @param {boolean} own @param {boolean} strictest @param {Taken} taken @returns {any} */
function bar(limit, own, strictest, taken) {
  const made = {
    authority: limit.authority, kind: limit.kind, limit: milligrams(limit), minutes: limit.minutes, fraction: limit.fraction,
    source: limit.source, note: limit.note ?? null, chosen: own, strictest,
  };
  if (sampledBy(limit.fraction) !== taken.sampled) return { ...made, value: null, word: null, share: null, why: NOT_ALIKE };
  const { value, whole, bound } = against(limit, taken.periods, taken);
  const found = compare(value, bound, "mg/m3");
  let { word, why } = found;
  if (word === OVER && taken.bounded) {
    if (!reaches(against(limit, taken.least, taken).value, bound)) {
      [word, why] = [UNMEASURED, `${why} But that is only the laboratory's reporting limit: sample longer.`];
    }
  } else if (word === BELOW && !whole) {
    [word, why] = [UNMEASURED, `${why} It was at least this: ${lacking(limit, taken)}`];
  }
  if (word === OVER && limit.kind === "action") word = ACTION;
  return { ...made, limit: tidy(bound, 9), value: tidy(value, 9), word, share: found.share, why };
}

/** What is compared, whether it is all of it, and with what, in mg/m3. @param {Limit} limit @param {[number, number][]} periods @param {Taken} taken */
function against(limit, periods, taken) {
  const bound = milligrams(limit);
  if (limit.kind === "ceiling" && limit.minutes === 0) return { value: Math.max(...periods.map(([value]) => value)), whole: false, bound };
  if (limit.kind === "stel" || limit.kind === "ceiling") {
    const window = shortTerm(periods.map(([value, hours]) => [value, hours * 60]), limit.minutes);
    return { value: window.highest, whole: window.whole, bound };
  }
  const mean = average(periods, taken.shift);
  const whole = mean.unmeasured <= FULL_SHIFT_SLACK + EDGE;
  const overShift = (mean.eight_hours * BASE_HOURS) / taken.shift;
  const lead = limit.substance === "lead" && limit.authority === "us_osha" && limit.kind === "twa";
  if (lead && taken.shift > BASE_HOURS) return { value: overShift, whole, bound: leadShift(bound, taken.shift).limit };
  return { value: limit.minutes > 480 ? overShift : mean.eight_hours, whole, bound };
}

/** @param {Limit} limit @param {Taken} taken */
function lacking({ kind, minutes }, { missing }) {
  if (kind === "ceiling" && minutes === 0) return "a ceiling asks for a reading at the worst moment, not for a mean.";
  if (kind === "stel" || kind === "ceiling") return `a sample of ${minutes} min at the worst of the work says more.`;
  return `${say(missing)} h of the shift were not measured.`;
}

/** The classes that cover the exposure, by the strictest of the shop's own averages that it reaches. @param {any[]} rows */
function respiratorFor(rows) {
  const averages = rows.filter((one) => one.chosen && one.kind === "twa" && one.word === OVER);
  const worst = first(averages, (one) => [-one.share, 0]);
  return worst ? choose(worst.value, worst.limit) : null;
}

/** @param {Row} row @param {Library} library */
function noiseOf(row, { noises, chosen }) {
  const taken = takenOf(row);
  const whole = taken.missing <= FULL_SHIFT_SLACK + EDGE;
  const bars = noises.map((value) => noiseBar(value, chosen.includes(value.authority), taken, whole));
  const own = bars.filter((one) => one.chosen);
  const strictest = ["limit", "action"].flatMap((kind) => strictestOf(bars, own, kind));
  const judged = own.length ? own : strictest;
  if (!judged.length) return nothing(NOISE, { [NOISE]: "Noise" }, "No authority's values of noise are known here.");
  const worst = first(judged, loudness);
  const loud = Math.max(...taken.periods.map(([level]) => level)) > CONTINUOUS_CEILING && judged.some(({ by }) => by === "5 dB");
  const said = `${worst.why} ${todo(worst, taken, loud)}`.trim();
  return {
    name: "Noise", average: null, at_most: false, limits: [...own, ...strictest],
    silent: chosen.filter((key) => !own.some(({ authority }) => authority === key)),
    word: loud ? OVER : worst.word, share: worst.share, respirator: null,
    say: own.length ? said : `${said} By the strictest values here: your own law's may be lower.`,
  };
}

/** The value of a kind that the noise goes furthest beyond, where it is none of the shop's. @param {any[]} bars @param {any[]} own @param {string} kind */
function strictestOf(bars, own, kind) {
  const alike = bars.filter((one) => one.kind === kind);
  const most = Math.max(...alike.map(({ share }) => share));
  if (own.some((one) => one.kind === kind && one.share === most)) return [];
  return alike.filter(({ share }) => share === most).slice(0, 1).map((one) => ({ ...one, strictest: true }));
}

/** One value and how the day stands to it. @param {NoiseValue} value @param {boolean} own @param {Taken} taken @param {boolean} whole @returns {any} */
function noiseBar(value, own, taken, whole) {
  const { dose: found, twa, share } = noiseShare(value, taken.periods);
  const word = reaches(share, 100) ? (value.kind === "action" ? ACTION : OVER) : whole ? BELOW : UNMEASURED;
  const level = twa === null ? "Nothing counts" : `${say(tidy(twa, 1))} dBA over 8 h`;
  const least = word === UNMEASURED ? ` It was at least this: ${say(taken.missing)} h of the shift were not measured.` : "";
  const worn = word === OVER && value.worn ? " What protectors take off may be counted here: reckon the level under them." : "";
  return {
    authority: value.authority, kind: value.kind, name: value.name, by: value.by, level: value.level, peak: value.peak ?? null,
    worn: value.worn ?? false, dose: found, twa, share, word, why: `${level}, beside the ${value.name} of ${say(value.level)} dBA.${least}${worn}`,
    chosen: own, strictest: false, source: value.source, note: value.note ?? null,
  };
}

/** @param {NoiseValue} value @param {[number, number][]} periods @returns {{ dose: number|null, twa: number|null, share: number }} */
function noiseShare(value, periods) {
  if (value.by === "energy") {
    const { level } = daily(periods);
    return { dose: null, twa: level, share: tidy(100 * 10 ** ((level - value.level) / 10), 1) };
  }
  const { rule, criterion, exchange } = RULES[value.by];
  const found = dose(periods, rule, value.counted_from || QUIETEST);
  return { dose: found.dose, twa: found.twa, share: tidy(found.dose / 2 ** ((value.level - criterion) / exchange), 1) };
}

/** @param {any} worst @param {Taken} taken @param {boolean} loud */
function todo(worst, { periods }, loud) {
  if (worst.by === "3 dB" && worst.word === OVER && !loud) return "Wear protectors and quieten it; hearing tests yearly.";
  if (worst.by !== "energy" || loud) return worst.word !== UNMEASURED || loud ? day(periods).todo : "";
  const level = Math.min(Math.max(daily(periods).level, QUIETEST), LOUDEST);
  return worst.word !== UNMEASURED ? stands(level).todo : "";
}
