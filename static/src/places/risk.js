// An estimate of risk in words, before and after controls.
import { sayDay } from "../kit/index.js";
import { cell } from "../core/risk.js";
import { nameOf } from "./names.js";
import { calendar } from "./world.js";

/** "Serious (2C)". @param {any} estimate */
export function sayRisk(estimate) {
  const { level, code } = cell(estimate.severity, estimate.probability);
  return `${level} (${code})`;
}

/** A line for each thing that an estimate says. @param {any} risk @returns {[string, string][]} */
export const riskRows = (risk) => [
  ["Risk before controls", sayRisk(risk.before)], ...(risk.after ? [/** @type {[string, string]} */ (["Risk after controls", sayRisk(risk.after)])] : []),
  ["Agreed by", nameOf(risk.agreed_by)], ["To be reviewed", sayDay(risk.review_on, calendar.value.today)],
];
