// The purge timer as plain state, stored before it is shown, so that the wait survives a reload; twin of
// webapp/core/purge.py, held to tests/vectors/purge.json. The wait is counted, not read off the clock: a clock that
// went back adds nothing, so it neither shortens the wait nor makes it endless.
import { isNumber } from "./numbers.js";
import { Problem } from "./problems.js";

/**
 * `seconds` are needed; `started_at`: when the exhaust began to clear it; `counted`: ms that count so far; `seen_at`:
 * the clock at the last look; `hold_until`: where the wait ends as far as is known.
 * @typedef {{phase: string, seconds: number, started_at: number|null, counted: number, seen_at: number,
 *   hold_until: number|null}} Purge
 */

export const BLASTING = "blasting";
export const NO_EXHAUST = "exhaust off";
export const PURGING = "purging";
export const OVER = "over";
const PHASES = [BLASTING, NO_EXHAUST, PURGING, OVER];
const LONGEST = 4 * 3600;

/** Blasting (again): the door is held, the wait has not begun. @param {number} seconds @param {number} now @returns {Purge} */
export function blast(seconds, now) {
  if (!isNumber(seconds) || seconds <= 0 || seconds > LONGEST) {
    throw new Problem("seconds", "It is not above 0 and up to 4 h.", "Work the purge time out again.");
  }
  return { phase: BLASTING, seconds: Math.ceil(seconds), started_at: null, counted: 0, seen_at: clock(now), hold_until: null };
}

/** Blasting stopped with the exhaust on, or the exhaust is back. @param {Purge} purge @param {number} now @returns {Purge} */
export function start(purge, now) {
  if (purge.phase === PURGING || purge.phase === OVER) return look(purge, now);
  const at = clock(now);
  const { seconds } = purge;
  return { phase: PURGING, seconds, started_at: at, counted: 0, seen_at: at, hold_until: at + seconds * 1000 };
}

/** The exhaust stopped before the wait was over: nothing clears. @param {Purge} purge @param {number} now @returns {Purge} */
export function exhaustOff(purge, now) {
  const seen = look(purge, now);
  if (seen.phase !== PURGING) return seen;
  return { ...seen, phase: NO_EXHAUST, started_at: null, counted: 0, hold_until: null };
}

/** The state at this moment. @param {Purge} purge @param {number} now @returns {Purge} */
export function look(purge, now) {
  const at = clock(now);
  if (purge.phase !== PURGING) return { ...purge, seen_at: at };
  const counted = purge.counted + Math.max(at - purge.seen_at, 0);
  const needed = purge.seconds * 1000;
  if (counted >= needed) return { ...purge, phase: OVER, counted: needed, seen_at: at, hold_until: null };
  return { ...purge, counted, seen_at: at, hold_until: at + needed - counted };
}

/** Whole seconds still to wait as of the last look; null while the wait has not begun. @param {Purge} purge */
export function secondsLeft(purge) {
  if (purge.phase === OVER) return 0;
  return purge.phase === PURGING ? Math.ceil((purge.seconds * 1000 - purge.counted) / 1000) : null;
}

/** Whether the door is to stay shut; with nothing known of a purge it is. @param {Purge|null} purge */
export const holds = (purge) => purge === null || purge.phase !== OVER;

/** A state as it was stored, or null when it cannot be one: then the door is held. @param {any} stored @returns {Purge|null} */
export function fromStored(stored) {
  if (stored === null || typeof stored !== "object" || !PHASES.includes(stored.phase)) return null;
  const numbers = [stored.seconds, stored.counted, stored.seen_at];
  const begun = [stored.started_at ?? null, stored.hold_until ?? null];
  if (!numbers.every(isNumber) || !begun.every((one) => one === null || isNumber(one))) return null;
  const [seconds, counted, seenAt] = numbers.map(Math.floor);
  if (seconds <= 0 || seconds > LONGEST || counted < 0) return null;
  if (stored.phase === OVER && counted < seconds * 1000) return null;
  return { phase: stored.phase, seconds, started_at: begun[0], counted, seen_at: seenAt, hold_until: begun[1] };
}

/** @param {number} now */
function clock(now) {
  if (!isNumber(now) || now < 0) throw new Problem("now", "It is no time in ms.", "Read the clock again.");
  return Math.floor(now);
}
