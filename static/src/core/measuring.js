// What to measure where nothing was, and the controls meanwhile; twin of webapp/core/measuring.py, held to
// tests/vectors/measuring.json. Says no figure: an exposure that was not measured has none.
import { TIERS } from "./hazards.js";

/** @typedef {import("./limits.js").Limit} Limit */

/** @type {Record<string, string>} */
const THROUGH = {
  whole: "through a filter on a pump",
  thoracic: "through a thoracic sampler on a pump",
  respirable: "through a cyclone and a filter on a pump",
};
const PUMP = "Check the pump's flow before and after; send a blank filter with it.";

/**
 * What the limits that apply ask to be measured, and the controls (tier: texts) of the work.
 * @param {Limit[]} limits
 * @param {Record<string, string[]>} controls
 * @returns {{measure: string[], controls: [string, string][]}}
 */
export function wanted(limits, controls) {
  const told = [...limits].sort((a, b) => rank(a.kind, a.minutes) - rank(b.kind, b.minutes)).map(sample);
  const once = [...new Set(told)];
  return {
    measure: once.length ? [...once, PUMP] : [],
    controls: TIERS.flatMap((tier) => (controls[tier] ?? []).map((text) => /** @type {[string, string]} */ ([tier, text]))),
  };
}

/** @type {(kind: string, minutes: number) => number} */
const rank = (kind, minutes) => (kind === "twa" || kind === "action" ? 0 : minutes > 0 ? 1 : 2);

/** @param {Limit} limit */
function sample(limit) {
  const of = limit.counted_as ?? limit.substance.replaceAll("_", " ");
  const through = THROUGH[limit.fraction] ?? THROUGH.whole;
  const place = rank(limit.kind, limit.minutes);
  if (place === 0) return `Air of the breathing zone ${through}, for the whole shift; the laboratory finds ${of}.`;
  if (place === 1) return `The same ${through}, for the ${limit.minutes} minutes in which most is in the air; ${of}.`;
  return `The worst moment, with an instrument that reads at once; without one, 15 minutes ${through}; ${of}.`;
}
