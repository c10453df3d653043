// The copies of a purge timer: which counts, and how it goes on when clocks jump. Pure.
import { PURGING, fromStored, holds, look, secondsLeft } from "../../core/purge.js";

/** @typedef {import("../../core/purge.js").Purge} Purge */
/**
 * @typedef {{ n: number, purge: Purge | null, entry: string, kept: boolean }} Kept `n` grows with every change, so that the
 *   newer of two copies is known; `purge` null: it cannot be read, and the door is held; `kept`: it is in the record
 */

/** Two clocks that both run well differ by less. */
const SLACK_MS = 2000;

/** A copy as it was stored; null when there is none. What cannot be read holds the door. @param {any} stored @returns {Kept | null} */
export function readCopy(stored) {
  if (stored === null || stored === undefined) return null;
  const broken = { n: 0, purge: null, entry: "", kept: false };
  if (typeof stored !== "object" || !Number.isInteger(stored.n) || typeof stored.entry !== "string") return broken;
  return { n: stored.n, purge: fromStored(stored.purge), entry: stored.entry, kept: stored.kept === true };
}

/** The copy that counts: the newer; of two as new the one that waits longer. @param {Kept | null} one @param {Kept | null} other @returns {Kept | null} */
export function newer(one, other) {
  if (!one || !other) return one ?? other;
  if (one.n !== other.n) return one.n > other.n ? one : other;
  return (one.purge?.counted ?? -1) <= (other.purge?.counted ?? -1) ? one : other;
}

/**
 * The state now. In a page that was seen without a break no more counts than its own steady clock says, so that a wall clock
 * set forward does not shorten the wait; one set back never does (core/purge.js).
 * @param {Purge} purge @param {number} wall ms since 1970 @param {number | null} steady ms that passed since the last look, null where the page slept
 * @returns {Purge}
 */
export function advance(purge, wall, steady) {
  if (steady === null || purge.phase !== PURGING || wall - purge.seen_at <= steady + SLACK_MS) return look(purge, wall);
  const stepped = look(purge, purge.seen_at + Math.max(steady, 0));
  const end = stepped.hold_until === null ? null : wall + stepped.seconds * 1000 - stepped.counted;
  return { ...stepped, seen_at: Math.floor(wall), hold_until: end };
}

/** Whether a machine's door is held by a purge that this phone knows of. @param {Kept | null | undefined} kept */
export const doorHeld = (kept) => Boolean(kept) && holds(/** @type {Kept} */ (kept).purge);

/** Seconds still to wait; null while the wait has not begun or cannot be read. @param {Kept | null | undefined} kept */
export const leftOf = (kept) => (kept?.purge ? secondsLeft(kept.purge) : null);

/** Seconds that counted. @param {Kept | null | undefined} kept */
export const countedOf = (kept) => Math.floor((kept?.purge?.counted ?? 0) / 1000);
