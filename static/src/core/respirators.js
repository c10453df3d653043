// Which respirator class is enough, up to what it may be worn, how long a cartridge lasts; twin of
// webapp/core/respirators.py, where sources are told; held to tests/vectors/respirators.json.
import { figure, reaches, UNMEASURED } from "./exposure.js";
import { known } from "./figures.js";
import { isNumber, say, tidy } from "./numbers.js";
import { Problem } from "./problems.js";

/**
 * @typedef {{key: string, name: string, apf: number, proven: number|null, tight: boolean, feeds: boolean}} Class
 * @typedef {{concentration: number, bound: string, why: string, source: string}} Use
 * @typedef {{word: string, ratio: number|null, classes: string[], why: string, source: string}} Choice
 * @typedef {{word: string, used: number, hours_left: number|null, why: string, source: string}} Cartridge
 * @typedef {{maker_hours?: number|null, own_hours?: number|null, opened?: string|null, until?: string|null,
 *   today?: string|null}} Schedule
 */

const APF_SOURCE = "29 CFR 1910.134(d)(3)(i)(A), Table 1";
const MUC_SOURCE = "29 CFR 1910.134(d)(3)(i)(B): APF x limit, never above IDLH nor above the cartridge's own bound";
const UNKNOWN_SOURCE = "29 CFR 1910.134(d)(1)(iii), from memory: an exposure that cannot be estimated counts as IDLH";
const CHANGE_SOURCE = "29 CFR 1910.134(d)(3)(iii)(B)(2): an end-of-service indicator or a schedule from the maker's or own data";
/** @type {Record<string, number>} */
const FIT_FACTORS = { quarter: 100, half: 100, full: 500 };
/** @type {Record<string, string>} */
const PIECES = {
  quarter: "quarter mask", half: "half mask", full: "full facepiece", hood: "helmet or hood",
  loose: "loose-fitting facepiece",
};

/** @type {(kind: string, name: string, feeds: boolean, factors: [string, number, number?][]) => Class[]} */
const rows = (kind, name, feeds, factors) =>
  factors.map(([piece, apf, proven = 0]) => ({
    key: `${kind} ${piece}`, name: `${name}, ${PIECES[piece]}`, apf, proven: proven || null,
    tight: piece in FIT_FACTORS, feeds,
  }));

export const CLASSES = [
  ...rows("filter", "Air-purifying", false, [["quarter", 5], ["half", 10], ["full", 50]]),
  ...rows("powered", "Powered air-purifying", false, [["half", 50], ["full", 1000], ["hood", 25, 1000], ["loose", 25]]),
  ...rows("line demand", "Supplied air, demand", true, [["half", 10], ["full", 50]]),
  ...rows("line flow", "Supplied air, continuous flow", true, [
    ["half", 50], ["full", 1000], ["hood", 25, 1000], ["loose", 25],
  ]),
  ...rows("line pressure", "Supplied air, pressure demand", true, [["half", 50], ["full", 1000]]),
  ...rows("tank demand", "Self-contained, demand", true, [["half", 10], ["full", 50], ["hood", 50]]),
  ...rows("tank pressure", "Self-contained, pressure demand", true, [["full", 10000], ["hood", 10000]]),
];

/** The assigned protection factor of a class. @param {string} key @param {boolean} [evidence] */
export function apf(key, evidence = false) {
  const wanted = known(key, "respirator", CLASSES.map((one) => one.key));
  const found = /** @type {Class} */ (CLASSES.find((one) => one.key === wanted));
  return evidence && found.proven !== null ? found.proven : found.apf;
}

/** How many times the limit an exposure is. @param {number} exposure @param {number} limit */
export const hazardRatio = (exposure, limit) => tidy(amount(exposure, "exposure") / aboveZero(limit, "limit"), 4);

/**
 * The most concentrated air in which a class may be worn.
 * @param {string} key
 * @param {number} limit
 * @param {number|null} [idlh]
 * @param {number|null} [ends] what the cartridge's maker allows
 * @param {boolean} [evidence]
 * @returns {Use}
 */
export function maximumUse(key, limit, idlh = null, ends = null, evidence = false) {
  const factor = apf(key, evidence);
  /** @type {[number, string][]} */
  const bounds = [[factor * aboveZero(limit, "limit"), "APF"]];
  if (idlh !== null) bounds.push([aboveZero(idlh, "idlh"), "IDLH"]);
  if (ends !== null) bounds.push([aboveZero(ends, "cartridge"), "cartridge"]);
  const [lowest, bound] = bounds.reduce((least, one) => (one[0] < least[0] ? one : least));
  const end = bound === "APF" ? "" : ` ${bound === "IDLH" ? "IDLH" : "The cartridge"} ends it at ${figure(lowest)}.`;
  const why = `${factor} x ${figure(limit)} is ${figure(factor * limit)}.${end}`;
  return { concentration: tidy(lowest, 9), bound, why, source: MUC_SOURCE };
}

/**
 * The classes whose factor covers a measured exposure.
 * @param {number|null} exposure
 * @param {number} limit
 * @param {number|null} [idlh]
 * @returns {Choice}
 */
export function choose(exposure, limit, idlh = null) {
  const bound = aboveZero(limit, "limit");
  const danger = idlh === null ? null : aboveZero(idlh, "idlh");
  if (exposure === null) {
    const why = "Measure it first. Until then the air counts as immediately dangerous, and nobody goes in.";
    return { word: UNMEASURED, ratio: null, classes: [], why, source: UNKNOWN_SOURCE };
  }
  const found = amount(exposure, "exposure");
  const ratio = tidy(found / bound, 4);
  if (danger !== null && reaches(found, danger)) {
    const why = `${figure(found)} is at or over IDLH, ${figure(danger)}: out of there; a shop has no work in such air.`;
    return { word: "only for IDLH", ratio, classes: ["tank pressure full"], why, source: "29 CFR 1910.134(d)(2)" };
  }
  if (!reaches(found, bound)) {
    const why = `${figure(found)} is below the limit of ${figure(bound)}. Other limits and the work's own rules may ask one.`;
    return { word: "none needed by this limit", ratio, classes: [], why, source: APF_SOURCE };
  }
  const enough = CLASSES.filter((one) => one.apf >= (found / bound) * (1 - 1e-9)).sort((a, b) => a.apf - b.apf);
  const why = `${figure(found)} is ${figure(found / bound)} times the limit: a factor of at least that. Lower the dust first.`;
  const word = enough.length ? "choose one of these" : "only for IDLH";
  return { word, ratio, classes: enough.map((one) => one.key), why, source: APF_SOURCE };
}

/** What a class asks before it is worn, each with its paragraph of 29 CFR 1910.134. @param {string} key */
export function needs(key) {
  const wanted = known(key, "respirator", CLASSES.map((one) => one.key));
  const one = /** @type {Class} */ (CLASSES.find((each) => each.key === wanted));
  const asked = ["A doctor's or nurse's word that the person may wear it: (e).", "Training, each year: (k)."];
  if (one.tight) {
    asked.push("A fit test with this make, model and size within the year: (f)(2).");
    asked.push("A seal check each time it is put on: (g)(1)(iii). No hair where it seals: (g)(1)(i).");
  }
  if (one.feeds) asked.push("Breathing air of Grade D at least, from a compressor or bottles made for it: (i)(1).");
  if (one.key.startsWith("filter") || one.key.startsWith("powered")) {
    asked.push("A filter of the class that the substance's own standard asks, and a schedule to change it: (d)(3).");
  }
  return asked;
}

/** Whether a quantitative fit test's factor is reached. @param {string} piece @param {number} measured */
export const fitFactor = (piece, measured) =>
  reaches(amount(measured, "measured"), FIT_FACTORS[known(piece, "piece", Object.keys(FIT_FACTORS))]);

/**
 * Hours of use so far against the maker's and the shop's own schedule; nothing beyond what was entered.
 * @param {number[]} used
 * @param {Schedule} schedule
 * @returns {Cartridge}
 */
export function cartridge(used, schedule) {
  const { maker_hours: maker = null, own_hours: own = null, opened = null, until = null, today = null } = schedule;
  const spent = used.map((one, place) => hoursOf(one, `used[${place}]`)).reduce((sum, one) => sum + one, 0);
  /** @type {[number|null, string][]} */
  const entered = [[maker, "maker_hours"], [own, "own_hours"]];
  const bounds = entered.filter(([one]) => one !== null);
  if (until !== null && opened !== null && until < opened) {
    throw new Problem("until", "It lies before the day it was opened.", "Read both dates again.");
  }
  if (until !== null && today === null) throw new Problem("today", "It is missing.", "Give today's date.");
  if (!bounds.length && until === null) {
    const why = "No hours and no last day were entered: take the maker's, or work out your own and write down from what.";
    return { word: "no schedule", used: tidy(spent, 2), hours_left: null, why, source: CHANGE_SOURCE };
  }
  const most = bounds.length ? Math.min(...bounds.map(([one, name]) => hoursOf(one, name))) : null;
  const left = most === null ? null : Math.max(most - spent, 0);
  const worn = left !== null && left <= 1e-9;
  const late = until !== null && today !== null && today > until;
  const why = cartridgeWhy(spent, most, until, worn, late);
  const word = worn || late ? "change now" : "in use";
  return { word, used: tidy(spent, 2), hours_left: left === null ? null : tidy(left, 2), why, source: CHANGE_SOURCE };
}

/** @type {(spent: number, most: number|null, until: string|null, worn: boolean, late: boolean) => string} */
function cartridgeWhy(spent, most, until, worn, late) {
  const parts = [];
  if (most !== null) parts.push(`${say(spent)} h of ${say(most)} h used${worn ? ": it is spent" : ""}.`);
  if (until !== null) parts.push(`Its last day ${late ? "was" : "is"} ${until}.`);
  return `${parts.join(" ")} Smell, taste or harder breathing ends it at once.`;
}

/** @type {(value: unknown, field: string) => number} */
function amount(value, field) {
  if (!isNumber(value) || value < 0) throw new Problem(field, "It is not a number of 0 or more.", "Give what was measured.");
  return value;
}

/** @type {(value: unknown, field: string) => number} */
function hoursOf(value, field) {
  if (!isNumber(value) || value < 0 || value > 10000) {
    throw new Problem(field, "It is not between 0 and 10000 h.", "Give the hours it was worn, or may be.");
  }
  return value;
}

/** @type {(value: unknown, field: string) => number} */
function aboveZero(value, field) {
  if (!isNumber(value) || value <= 0) throw new Problem(field, "It is not a number above zero.", "Take it from its print.");
  return value;
}
