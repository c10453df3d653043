// Fixed dates by the rules that set-up's own form can write, for a look ahead before they are saved. Once saved, the
// dates that count are the server's; a rule written by hand (RFC 5545) is left to it altogether.
import { addDays, addMonths, dayNumber, daysBetween } from "../../core/dates.js";

export const WEEKDAYS = ["MO", "TU", "WE", "TH", "FR", "SA", "SU"];

/**
 * @typedef {object} Pattern
 * @property {"DAILY" | "WEEKLY" | "MONTHLY" | "YEARLY"} freq
 * @property {number} interval
 * @property {string[]} days weekdays, for WEEKLY
 * @property {{ nth: number, day: string } | null} nth such as the first Monday, for MONTHLY; -1 is the last
 * @property {number | null} monthday
 * @property {number | null} month 1 to 12, for YEARLY
 */

const LONGEST_LOOK = 4000; // periods tried before giving up

/** @param {Record<string, string>} parts @returns {Pattern | null} */
function weekly(parts) {
  const days = (parts.BYDAY ?? "").split(",").filter(Boolean);
  if (!days.every((day) => WEEKDAYS.includes(day))) return null;
  return { freq: "WEEKLY", interval: 1, days, nth: null, monthday: null, month: null };
}

/** @param {Record<string, string>} parts @returns {Pattern | null} */
function monthly({ BYDAY, BYMONTHDAY }) {
  if (BYDAY && BYMONTHDAY) return null;
  const nth = /^(-1|[1-4])(MO|TU|WE|TH|FR|SA|SU)$/.exec(BYDAY ?? "");
  if (BYDAY && !nth) return null;
  if (BYMONTHDAY && !/^([1-9]|[12]\d|3[01])$/.test(BYMONTHDAY)) return null;
  return {
    freq: "MONTHLY", interval: 1, days: [], month: null, monthday: BYMONTHDAY ? Number(BYMONTHDAY) : null,
    nth: nth ? { nth: Number(nth[1]), day: nth[2] } : null,
  };
}

/** @param {Record<string, string>} parts @returns {Pattern | null} */
function yearly({ BYMONTH, BYMONTHDAY, BYDAY }) {
  const whole = (BYMONTH === undefined) === (BYMONTHDAY === undefined);
  if (BYDAY || !whole || (BYMONTH && !/^([1-9]|1[0-2])$/.test(BYMONTH)) || (BYMONTHDAY && !/^([1-9]|[12]\d|3[01])$/.test(BYMONTHDAY))) return null;
  return { freq: "YEARLY", interval: 1, days: [], nth: null, monthday: BYMONTHDAY ? Number(BYMONTHDAY) : null, month: BYMONTH ? Number(BYMONTH) : null };
}

/** What each frequency may carry beside its interval, and how it is read. @type {Record<string, [string[], (parts: Record<string, string>) => Pattern | null]>} */
const READERS = {
  DAILY: [[], () => ({ freq: "DAILY", interval: 1, days: [], nth: null, monthday: null, month: null })],
  WEEKLY: [["BYDAY"], weekly],
  MONTHLY: [["BYDAY", "BYMONTHDAY"], monthly],
  YEARLY: [["BYMONTH", "BYMONTHDAY", "BYDAY"], yearly],
};

/** The pattern of a rule, or null when the form could not have written it. @param {string} rrule @returns {Pattern | null} */
export function readPattern(rrule) {
  const parts = Object.fromEntries(rrule.trim().toUpperCase().replace(/^RRULE:/, "").split(";").filter(Boolean).map((piece) => piece.split("=")));
  const { FREQ, INTERVAL, ...rest } = parts;
  const reader = READERS[FREQ];
  if (!reader || (INTERVAL !== undefined && !/^[1-9]\d{0,2}$/.test(INTERVAL)) || Object.keys(rest).some((key) => !reader[0].includes(key))) return null;
  const pattern = reader[1](rest);
  return pattern && { ...pattern, interval: Number(INTERVAL ?? 1) };
}

/** @param {Pattern} pattern */
export function writePattern({ freq, interval, days, nth, monthday, month }) {
  const parts = [
    `FREQ=${freq}`, interval > 1 && `INTERVAL=${interval}`, days.length > 0 && `BYDAY=${WEEKDAYS.filter((day) => days.includes(day)).join(",")}`,
    nth && `BYDAY=${nth.nth}${nth.day}`, month && `BYMONTH=${month}`, monthday && `BYMONTHDAY=${monthday}`,
  ];
  return parts.filter(Boolean).join(";");
}

/** 0 for Monday. @param {string} day */
export const weekdayOf = (day) => (((dayNumber(day) + 3) % 7) + 7) % 7;

/** A day of a month, or null when the month lacks it. @param {string} first the month's first day @param {number} monthday */
function inMonth(first, monthday) {
  const day = addDays(first, monthday - 1);
  return day.slice(0, 7) === first.slice(0, 7) ? day : null;
}

/** @param {string} first the month's first day @param {{ nth: number, day: string }} which */
function nthIn(first, { nth, day }) {
  const wanted = WEEKDAYS.indexOf(day);
  if (nth > 0) return inMonth(first, 1 + ((wanted - weekdayOf(first) + 7) % 7) + (nth - 1) * 7);
  const last = addDays(addMonths(first, 1), -1);
  return addDays(last, -((weekdayOf(last) - wanted + 7) % 7));
}

/** The dates of one period of a pattern, rising. @param {Pattern} pattern @param {string} anchor @param {number} index @returns {string[]} */
function period({ freq, interval, days, nth, monthday, month }, anchor, index) {
  const step = index * interval;
  if (freq === "DAILY") return [addDays(anchor, step)];
  if (freq === "WEEKLY") {
    const monday = addDays(anchor, step * 7 - weekdayOf(anchor));
    const wanted = days.length ? days.map((day) => WEEKDAYS.indexOf(day)) : [weekdayOf(anchor)];
    return wanted.sort((a, b) => a - b).map((day) => addDays(monday, day));
  }
  const own = month === null ? anchor.slice(0, 8) : `${anchor.slice(0, 5)}${String(month).padStart(2, "0")}-`;
  const first = addMonths(`${own}01`, freq === "YEARLY" ? step * 12 : step);
  const found = nth ? nthIn(first, nth) : inMonth(first, monthday ?? Number(anchor.slice(8)));
  return found ? [found] : [];
}

/**
 * The dates of a rule from one day to another, both included; null when the rule is not the form's own.
 * @param {{ rrule: string, anchor: string }} rule @param {string} from @param {string} to @returns {string[] | null}
 */
export function datesOf({ rrule, anchor }, from, to) {
  const pattern = readPattern(rrule);
  const start = anchor.slice(0, 10);
  if (!pattern || !/^\d{4}-\d\d-\d\d$/.test(start)) return null;
  const found = [];
  for (let index = 0; index < LONGEST_LOOK; index += 1) {
    const days = period(pattern, start, index);
    if (days.length > 0 && daysBetween(to, days[0]) > 0) break;
    found.push(...days.filter((day) => day >= start && day >= from && day <= to));
  }
  return found;
}
