// What is left of an oil by this phone's own meters, and how sure an alarm is, in words. Pure.
import { leftInTank } from "../../core/lubrication.js";
import { figure } from "../../kit/numbers.js";

/** @typedef {ReturnType<typeof leftInTank>} Left */

/**
 * What is left now: the server's use an hour over the hours that this phone's meter shows since the last fill.
 * @param {any} fluid @param {any} found the oil's document @param {import("../../core/fold.js").Doc} doc
 * @param {Record<string, any>} meters those of the machine in the kept document @param {string} asOf
 * @returns {{ left: Left | null, hours: number | null, aWeek: number | null, why: string }}
 */
export function leftNow(fluid, found, doc, meters, asOf) {
  const none = { left: null, hours: null, aWeek: null };
  const { since, use, meter } = found;
  const own = doc.fluids[fluid.id];
  const filled = [own?.added_at, own?.changed_at].some((at) => at && Date.parse(at) > Date.parse(asOf));
  if (filled) return { ...none, why: "It was filled after this was worked out: with signal it is worked out again." };
  if (!meter) return { ...none, why: "This machine has no meter by which it could be told." };
  if (!since || !use) return { ...none, why: "Not known yet: it takes a few fills up to the mark with hours between them." };
  const then = meters[meter.id]?.total;
  const ran = typeof then === "number" ? Math.max((doc.meters[meter.id]?.total ?? then) - then, 0) : 0;
  const hours = since.hours + ran;
  return { left: leftInTank(use, since.level, hours), hours, aWeek: meters[meter.id]?.a_week ?? null, why: "" };
}

/** Three figures are more than a glass can tell. @param {number} value */
const rough = (value) => figure(Number(value.toPrecision(3)), 3);

/** "About 0.282 gal (0.26 to 0.3), for 23.1 h of running (21 to 25.3): about 6 days at 25 h a week." @param {Left} left @param {string} unit @param {string} per @param {number | null} aWeek */
export function sayLeft({ left, least, most, hours, hours_least: fewest, hours_most: longest }, unit, per, aWeek) {
  const spread = `(${rough(least)} to ${rough(most)})`;
  if (left <= 0) return `By the usual use the tank should be empty: look at the glass now. At most ${rough(most)} ${unit} left.`;
  if (hours === null) return `About ${rough(left)} ${unit} ${spread}; no end in sight at this use.`;
  const lasts = `for ${rough(hours)} ${per} more (${rough(fewest ?? 0)} to ${longest === null ? "no end" : rough(longest)})`;
  const weeks = aWeek && aWeek > 0 ? `, about ${figure((hours / aWeek) * 7, hours / aWeek < 2 ? 1 : 0)} days at ${figure(aWeek, 1)} ${per} a week` : "";
  return `About ${rough(left)} ${unit} ${spread}, ${lasts}${weeks}.`;
}

/** @param {{ sure: number, odds: string }} found */
export const saySure = ({ sure, odds }) => `How sure: ${figure(sure * 100, sure > 0.99 ? 2 : 0)} %, ${odds}.`;
