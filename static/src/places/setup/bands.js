// The limits of a reading as typed, and whether they rise; the same rule as the server's (webapp/core/bands.py).
import { readNumber } from "../../kit/numbers.js";

/** @typedef {import("../../core/bands.js").Band} Band */
/** @typedef {keyof Band} Limit */

/** From the lowest to the highest, as they are called. @type {[Limit, string][]} */
export const LIMITS = [
  ["stop_low", "Stop below"], ["act_low", "Act below"], ["target", "Target"], ["act_high", "Act above"], ["stop_high", "Stop above"],
];
/** A stop may lie on its act limit, the target on an act limit; a low limit never on a high one. */
const MAY_MEET = new Set(["stop_low/act_low", "act_high/stop_high", "act_low/target", "target/act_high"]);

/** @typedef {Record<Limit, string>} BandValues */

/** @param {Band | null | undefined} band @returns {BandValues} */
export const bandValues = (band) => /** @type {BandValues} */ (Object.fromEntries(LIMITS.map(([limit]) => [limit, typeof band?.[limit] === "number" ? String(band[limit]) : ""])));

/**
 * @param {BandValues} values
 * @returns {{ band: Band | null, errors: Record<string, string | null> }} band null when no limit is given, or one is wrong
 */
export function readBand(values) {
  const read = LIMITS.map(([limit, name]) => ({ limit, name, ...readNumber(values[limit], { name, optional: true, min: -1e6, max: 1e6 }) }));
  /** @type {Record<string, string | null>} */
  const errors = Object.fromEntries(read.map(({ limit, error }) => [limit, error]));
  const given = read.filter(({ value }) => value !== null);
  for (const [index, high] of given.entries()) {
    for (const low of given.slice(0, index)) {
      const [a, b] = [Number(low.value), Number(high.value)];
      if (a > b || (a === b && !MAY_MEET.has(`${low.limit}/${high.limit}`))) errors[high.limit] ??= `${high.name} (${b}) does not lie above ${low.name.toLowerCase()} (${a}). The limits rise from stop below to stop above.`;
    }
  }
  const wrong = Object.values(errors).some(Boolean);
  return { band: wrong || !given.length ? null : Object.fromEntries(given.map(({ limit, value }) => [limit, value])), errors };
}
