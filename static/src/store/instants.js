// Times: RFC 3339 with the phone's own offset, and the milliseconds by which entries are ordered.

const FIVE_MINUTES = 5 * 60_000;

/** Local time with its offset, such as 2027-03-02T06:58:11.120-05:00. @param {Date} date */
export function localInstant(date) {
  const minutes = -date.getTimezoneOffset();
  const wall = new Date(date.getTime() + minutes * 60_000).toISOString().slice(0, -1);
  const two = (/** @type {number} */ value) => String(Math.floor(Math.abs(value))).padStart(2, "0");
  return `${wall}${minutes < 0 ? "-" : "+"}${two(minutes / 60)}:${two(minutes % 60)}`;
}

/**
 * The time an entry counts by, in ms: corrected as the server will when this phone's clock is over five minutes off.
 * @param {string} at @param {number} offset the server's clock minus the phone's, ms
 */
export const effectiveMs = (at, offset) => Date.parse(at) + (Math.abs(offset) > FIVE_MINUTES ? offset : 0);

/** The time a stored entry counts by. @param {any} entry with its receipt */
export const storedMs = (entry) => Date.parse(entry.receipt?.effective_at ?? entry.at);

/** The offset that matters: 0 within five minutes. @param {number} offset ms */
export const clockTrouble = (offset) => (Math.abs(offset) > FIVE_MINUTES ? offset : 0);

/** The date on this phone's wall, YYYY-MM-DD. @param {Date} [date] */
export const wallDate = (date = new Date()) => localInstant(date).slice(0, 10);
