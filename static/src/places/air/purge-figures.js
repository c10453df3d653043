// The purge time of a cabinet's typed figures. Pure.
import { purgeTime } from "../../core/ventilation.js";
import { figure, readNumber } from "../../kit/numbers.js";

/** The longest wait that a timer takes, in seconds. */
const LONGEST = 4 * 3600;
export const FIELDS = /** @type {const} */ ({ volume: "Cabinet volume", flow: "Exhaust flow", mixing: "Mixing factor" });

/**
 * The purge time of typed figures, in whole seconds rounded up, or what is wrong with them.
 * @param {Record<string, string>} typed @param {boolean} us
 * @returns {{ seconds: number | null, why: string, source: string, errors: Record<string, string | null> }}
 */
export function purgeOf(typed, us) {
  const read = (/** @type {keyof typeof FIELDS} */ name, /** @type {any} */ rule) => readNumber(typed[name] ?? "", { name: FIELDS[name], ...rule });
  const posted = readNumber(typed.posted ?? "", { name: "Time posted on the door", above: 0, max: LONGEST, optional: true });
  const [volume, flow, mixing] = [read("volume", { above: 0, max: 1e6 }), read("flow", { above: 0, max: 1e6 }), read("mixing", { min: 1, max: 10 })];
  const errors = { volume: volume.error, flow: flow.error, mixing: mixing.error, posted: posted.error };
  const bare = !typed.volume?.trim() && !typed.flow?.trim();
  if (bare && posted.value !== null) return { seconds: Math.ceil(posted.value), why: "As posted on the door.", source: "the shop's own figure", errors: { ...errors, volume: null, flow: null } };
  if (volume.value === null || flow.value === null || mixing.value === null || posted.error) return { seconds: null, why: "", source: "", errors };
  const found = purgeTime(flow.value, volume.value, us ? "us" : "metric", Number(typed.removed), mixing.value);
  if (found.seconds > LONGEST) return { seconds: null, why: "", source: "", errors: { ...errors, flow: "Exhaust flow is too small for this cabinet: the wait would be over 4 hours. Check both figures." } };
  const longer = posted.value !== null && posted.value > found.seconds;
  return { seconds: longer ? Math.ceil(posted.value ?? 0) : found.seconds, errors, source: found.source,
    why: longer ? `The longer of the two: ${found.seconds} s were worked out, ${figure(posted.value)} s are posted.` : found.why };
}
