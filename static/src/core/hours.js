// When the shop works, and moments on its wall; twin of webapp/reminders/hours.py. Clock times are "HH:MM".
import { addDays, shopDate } from "./dates.js";

/** @typedef {{ days: string[], begins: string, ends: string }} Shift */
/** @typedef {{ zone: string, shifts: Shift[], holidays: Set<string> }} Hours */

export const WEEKDAYS = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];
/** Where a shop has set no shifts (common practice, no source). @type {Shift[]} */
export const USUAL = [{ days: WEEKDAYS.slice(0, 5), begins: "06:00", ends: "18:00" }];
const DAY_MS = 86_400_000;

/** The working time that a shop's definition says, or the usual one. @param {any} shop @returns {Hours} */
export function hoursOf(shop) {
  const shifts = shop?.shifts?.length ? shop.shifts : USUAL;
  return { zone: shop?.time_zone ?? "UTC", shifts, holidays: new Set(shop?.holidays ?? []) };
}

/** Place of a date in the week, 0 for Monday. @param {string} day */
const weekdayOf = (day) => (new Date(`${day}T00:00Z`).getUTCDay() + 6) % 7;

/** Whether a shift begins on a day. @param {Hours} hours @param {string} day */
export function worksOn({ shifts, holidays }, day) {
  return !holidays.has(day) && shifts.some(({ days }) => days.includes(WEEKDAYS[weekdayOf(day)]));
}

/** The first working day after one; a year on at the latest. @param {Hours} hours @param {string} day */
export function nextWorkingDay(hours, day) {
  for (let ahead = 1; ahead < 366; ahead++) if (worksOn(hours, addDays(day, ahead))) return addDays(day, ahead);
  return addDays(day, 366);
}

/** When the earliest shift of the week begins. @param {Hours} hours */
export const firstBegins = ({ shifts }) => shifts.map(({ begins }) => begins).sort()[0];

/** The Monday after a day. @param {string} day */
export const mondayAfter = (day) => addDays(day, 7 - weekdayOf(day));

/** How far a zone's wall is ahead of UTC at an instant, in ms. @param {number} ms @param {string} zone */
function offsetAt(ms, zone) {
  const clock = new Intl.DateTimeFormat("en-GB", { timeZone: zone, hour: "2-digit", minute: "2-digit", second: "2-digit", hourCycle: "h23" });
  return Date.parse(`${shopDate(ms, zone)}T${clock.format(ms)}Z`) - Math.floor(ms / 1000) * 1000;
}

/**
 * Ms since 1970 of a time on the shop's wall. One that the clocks leap over counts with the offset before (RFC 5545,
 * 3.3.5), the first of one that comes twice is taken.
 * @param {string} day @param {string} clock "HH:MM" @param {string} zone IANA name
 */
export function instantAt(day, clock, zone) {
  const wall = Date.parse(`${day}T${clock}:00Z`);
  const [before, after] = [offsetAt(wall - DAY_MS, zone), offsetAt(wall + DAY_MS, zone)];
  if (offsetAt(wall - before, zone) === before) return wall - before;
  return offsetAt(wall - after, zone) === after ? wall - after : wall - before;
}
