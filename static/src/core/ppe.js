// What is current on a day, what falls due, and who lacks a sign-off; twin of webapp/core/ppe.py, held to
// tests/vectors/ppe.json. Dates are ISO dates in the shop's zone; a thing holds through its last day.
import { addInterval, daysBetween, sayDate, sayDays } from "./dates.js";
import { isNumber } from "./numbers.js";
import { Problem } from "./problems.js";

/**
 * @typedef {{word: "never"|"not yet"|"current"|"near its end"|"lapsed", until: string|null, days: number|null,
 *   why: string}} Standing
 * @typedef {{person: string, machine: string, on: string, by: string, until?: string|null}} SignOff
 */

const UNITS = ["days", "weeks", "months", "years"];
const NEAR_DAYS = 30;
const ORDER = ["current", "near its end", "lapsed", "not yet"];

/** The day on which something is due again. @param {string} last @param {string} unit @param {number} count */
export function nextDue(last, unit, count) {
  if (!UNITS.includes(unit)) {
    throw new Problem("unit", `"${unit}" is not known.`, `Give one of: ${UNITS.join(", ")}.`);
  }
  if (!isNumber(count) || !Number.isInteger(count) || count < 1 || count > 600) {
    throw new Problem("count", "It is not a whole number from 1 to 600.", "Give how many.");
  }
  return addInterval(last, unit, count);
}

/**
 * How something that was done on a day and holds until another stands today.
 * @param {string|null} done
 * @param {string|null} until
 * @param {string} today
 * @param {number} [near]
 * @returns {Standing}
 */
export function standing(done, until, today, near = NEAR_DAYS) {
  if (done === null) return { word: "never", until: null, days: null, why: "It was never done." };
  if (until !== null && until < done) {
    throw new Problem("until", "It lies before the day it was done.", "Read both dates again.");
  }
  if (done > today) return { word: "not yet", until, days: null, why: `It is dated ${sayDate(done)}, after today.` };
  if (until === null) return { word: "current", until: null, days: null, why: `Done ${sayDate(done)}, without an end.` };
  const left = daysBetween(today, until);
  if (left < 0) {
    return { word: "lapsed", until, days: left, why: `It held until ${sayDate(until)}, ${sayDays(-left)} ago.` };
  }
  return { word: left <= near ? "near its end" : "current", until, days: left, why: `It holds through ${sayDate(until)}.` };
}

/**
 * How something that must be done again every so often stands.
 * @param {string|null} done
 * @param {string} unit
 * @param {number} count
 * @param {string} today
 * @param {number} [near]
 */
export const renewed = (done, unit, count, today, near = NEAR_DAYS) =>
  standing(done, done === null ? null : nextDue(done, unit, count), today, near);

/**
 * The best standing that any sign-off of a person for a machine gives; one by the person themselves counts last among equals.
 * @param {SignOff[]} signed
 * @param {string} person
 * @param {string} machine
 * @param {string} today
 * @returns {Standing}
 */
export function signOff(signed, person, machine, today) {
  const own = signed.filter((one) => one.person === person && one.machine === machine);
  if (!own.length) return { word: "never", until: null, days: null, why: "Nobody signed them off for this machine." };
  const found = own.map((one) => ({ best: standing(one.on, one.until ?? null, today), bySelf: one.by === person }));
  found.sort((a, b) =>
    ORDER.indexOf(a.best.word) - ORDER.indexOf(b.best.word) || Number(a.bySelf) - Number(b.bySelf)
    || later(b.best.until, a.best.until));
  const { best, bySelf } = found[0];
  return bySelf ? { ...best, why: `${best.why} Signed by themselves.` } : best;
}

/**
 * Those among `people` who have no sign-off for a machine that holds today.
 * @param {SignOff[]} signed
 * @param {string[]} people
 * @param {string} machine
 * @param {string} today
 */
export const lacking = (signed, people, machine, today) =>
  people
    .map((person) => ({ person, one: signOff(signed, person, machine, today) }))
    .filter(({ one }) => one.word !== "current" && one.word !== "near its end")
    .map(({ person, one }) => ({ person, word: one.word, why: one.why }));

/** Above 0 when `a` ends later than `b`; without an end is latest. @param {string|null} a @param {string|null} b */
const later = (a, b) => (a === b ? 0 : (a ?? "9999-99-99") > (b ?? "9999-99-99") ? 1 : -1);
