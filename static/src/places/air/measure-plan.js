// What to measure of a substance that nobody measured: which samples its limits ask for, how long to draw for each, whose work it is. Pure.
import { lookUp, milligrams } from "../../core/limits.js";
import { wanted } from "../../core/measuring.js";
import { plan } from "../../core/sampling.js";
import { readNumber } from "../../kit/numbers.js";
import { formsOf, sayAmount, sayTime } from "./limits.js";

/** @typedef {import("../../core/limits.js").Limit} Limit */
/** @typedef {{ form: string, what: string, limits: Limit[], own: boolean, measure: string[] }} Asked */

/** Pumps of OSHA's methods for metals run at this. */
export const FLOW = "2";
export const PLAN_BLANK = { detection: "", flow: FLOW };

/**
 * What each form of a substance asks to be sampled, by the shop's own limits; by the strictest in the library where it has none.
 * @param {any} cards @param {string} substance @param {string[]} authorities @param {string} today @returns {Asked[]}
 */
export function askedOf(cards, substance, authorities, today) {
  return formsOf(cards, substance).map((form) => {
    const found = lookUp(cards.limits, substance, form, authorities, today);
    const limits = found.chosen.length ? found.chosen : found.strictest;
    return { form, what: cards.substances[substance].forms[form], limits, own: found.chosen.length > 0, measure: wanted(limits, {}).measure };
  });
}

/** @typedef {{ lead: string, said: string, fits: boolean }} Line */

/**
 * How long to draw for each limit, once the laboratory has said what it can find; errors beside the fields.
 * @param {Record<string, string>} values @param {Limit[]} limits
 * @returns {{ lines: Line[], errors: Record<string, string | null> }}
 */
export function planOf(values, limits) {
  const detection = readNumber(values.detection ?? "", { name: "What the laboratory can find", above: 0, max: 1e6 });
  const flow = readNumber(values.flow ?? "", { name: "Flow", above: 0, max: 100 });
  const errors = { detection: (values.detection ?? "").trim() ? detection.error : null, flow: flow.error };
  if (detection.value === null || flow.value === null) return { lines: [], errors };
  const [found, rate] = [detection.value, flow.value];
  const lines = limits.filter(({ minutes }) => minutes > 0).map((limit) => {
    // An action level or an average of up to ten hours is drawn over the shift of eight.
    const { fits, why, least } = plan(found, milligrams(limit), rate, Math.min(limit.minutes, 480));
    return { lead: `${sayAmount(limit.value, limit.unit)}, ${sayTime(limit)}`, fits, said: fits ? why : `${why} In that time ${least} % of it can be told.` };
  });
  return { lines, errors };
}
