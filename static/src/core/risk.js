// Risk of a task by a published matrix, before and after controls; twin of webapp/core/risk.py, held to
// tests/vectors/risk.json. Protective equipment and warnings never take a hazard away: level F is for one that is gone.
import { addMonths } from "./dates.js";
import { known } from "./figures.js";
import { TIERS } from "./hazards.js";
import { isNumber } from "./numbers.js";
import { Problem } from "./problems.js";

/**
 * @typedef {{code: string, level: string, severity: string, probability: string}} Cell
 * @typedef {{before: Cell, after: Cell, review: string, said: string[], source: string}} Estimate
 * @typedef {Record<string, string[]>} Controls tier of the hierarchy: what is done
 */

const SOURCE = "MIL-STD-882E (2012), Tables I to III; how soon to review is our own choice, no source";
export const LEVEL_F = "Level F is for a hazard that is gone: no training, warning or protective equipment takes one away.";
const LEVELS = ["High", "Serious", "Medium", "Low", "Eliminated"];
/** @type {Record<number, [string, string]>} */
export const SEVERITIES = {
  1: ["Catastrophic", "death or permanent total disability"],
  2: ["Critical", "permanent partial disability, or three or more people in hospital"],
  3: ["Marginal", "an injury or illness with one or more lost days of work"],
  4: ["Negligible", "an injury or illness without a lost day"],
};
/** @type {Record<string, [string, string]>} */
export const PROBABILITIES = {
  A: ["Frequent", "likely to happen often"],
  B: ["Probable", "will happen several times"],
  C: ["Occasional", "likely to happen sometime"],
  D: ["Remote", "unlikely, but possible"],
  E: ["Improbable", "so unlikely that it may never be seen"],
  F: ["Eliminated", "cannot happen: the hazard is gone"],
};
/** @type {Record<string, string[]>} Table III, a row for each probability, severities 1 to 4. */
export const MATRIX = {
  A: ["High", "High", "Serious", "Medium"],
  B: ["High", "High", "Serious", "Medium"],
  C: ["High", "Serious", "Medium", "Low"],
  D: ["Serious", "Medium", "Medium", "Low"],
  E: ["Medium", "Medium", "Medium", "Low"],
  F: ["Eliminated", "Eliminated", "Eliminated", "Eliminated"],
};
/** @type {[string, number][]} */
const FROM = [["A", 1e-1], ["B", 1e-2], ["C", 1e-3], ["D", 1e-6]];
/** @type {Record<string, number>} */
const REVIEW_MONTHS = { High: 1, Serious: 3, Medium: 12, Low: 24, Eliminated: 24 };

/**
 * The level of one severity (1 to 4) and one probability (A to F).
 * @param {number} severity
 * @param {string} probability
 * @returns {Cell}
 */
export function cell(severity, probability) {
  if (!isNumber(severity) || !(severity in SEVERITIES)) {
    throw new Problem("severity", "It is not 1, 2, 3 or 4.", "Take the worst that can credibly happen.");
  }
  const letter = known(probability, "probability", Object.keys(PROBABILITIES));
  return {
    code: `${severity}${letter}`, level: MATRIX[letter][severity - 1],
    severity: SEVERITIES[severity][0], probability: PROBABILITIES[letter][0],
  };
}

/** The letter of a chance of mishap in the life of an item. @param {number} chance */
export function probabilityOf(chance) {
  if (!isNumber(chance) || chance < 0 || chance > 1) {
    throw new Problem("chance", "It is not between 0 and 1.", "Give a share, such as 0.01 for one in a hundred.");
  }
  if (chance === 0) return "F";
  return FROM.find(([, least]) => chance >= least * (1 - 1e-9))?.[0] ?? "E";
}

/**
 * A task's risk before and after controls, estimated on a day (ISO date).
 * @param {[number, string]} before
 * @param {[number, string]} after
 * @param {Controls} controls
 * @param {string} on
 * @returns {Estimate}
 */
export function estimate(before, after, controls, on) {
  const [first, last] = [cell(...before), cell(...after)];
  const used = TIERS.filter((tier) => holds(controls, tier));
  const unknown = Object.keys(controls).find((tier) => !TIERS.includes(tier));
  if (unknown !== undefined) {
    throw new Problem(`controls.${unknown}`, "It is no tier.", `Give one of: ${TIERS.join(", ")}.`);
  }
  if (after[1] === "F" && !used.includes("eliminate")) {
    throw new Problem("after", LEVEL_F, "Name what took it away, or estimate A to E.");
  }
  if (LEVELS.indexOf(last.level) < LEVELS.indexOf(first.level)) {
    throw new Problem("after", `${last.level} is more than ${first.level}.`, "Estimate both again.");
  }
  if (last.code !== first.code && !used.length) {
    throw new Problem("controls", "None is named, yet the estimate changed.", "Name what was done.");
  }
  const review = addMonths(on, REVIEW_MONTHS[last.level]);
  return { before: first, after: last, review, said: saidOf(before, after, last, used), source: SOURCE };
}

/**
 * Tiers above the lowest used that hold no control and give no reason why not.
 * @param {Controls} controls
 * @param {Record<string, string>} reasons
 */
export function skipped(controls, reasons) {
  const used = TIERS.filter((tier) => holds(controls, tier));
  const above = used.length ? TIERS.slice(0, TIERS.indexOf(used[used.length - 1])) : TIERS;
  return above.filter((tier) => !used.includes(tier) && !(reasons[tier] ?? "").trim());
}

/** @param {Controls} controls @param {string} tier */
const holds = (controls, tier) => (controls[tier] ?? []).some((text) => text.trim());

/** @type {(before: [number, string], after: [number, string], last: Cell, used: string[]) => string[]} */
function saidOf(before, after, last, used) {
  const said = [];
  if (used.length && used.every((tier) => tier === "administer" || tier === "protect")) {
    said.push("Only rules and protective equipment: they fail with whoever forgets them. Look for something higher up.");
  }
  if (after[0] > before[0] && !used.some((tier) => ["eliminate", "substitute", "enclose"].includes(tier))) {
    said.push("A lesser injury is claimed without a change to the work itself: say what makes it lesser.");
  }
  if (last.level === "High") {
    said.push("High after controls: do not start; find further controls and ask a competent person.");
  } else if (last.level === "Serious") {
    said.push("Serious after controls: whoever leads the shop agrees in writing before it is done again.");
  }
  return said;
}
