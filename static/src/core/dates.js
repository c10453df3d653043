// Calendar arithmetic on dates without time ("2027-03-02"); twin of webapp/core/dates.py.
// A day is counted in UTC, where every day has 24 hours: local time would lose one when the clocks change.

const DAY_MS = 86_400_000;
const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

/**
 * Days since 1970-01-01.
 * @param {string} day
 */
export const dayNumber = (day) => Date.parse(`${day}T00:00:00Z`) / DAY_MS;

/**
 * The day so many days after 1970-01-01.
 * @param {number} number
 */
export const dayOf = (number) => new Date(number * DAY_MS).toISOString().slice(0, 10);

/**
 * Days from one day to another; negative when the second is earlier.
 * @param {string} from
 * @param {string} to
 */
export const daysBetween = (from, to) => dayNumber(to) - dayNumber(from);

/**
 * @param {string} day
 * @param {number} count
 */
export const addDays = (day, count) => dayOf(dayNumber(day) + count);

/**
 * A day moved by whole months; one that the month lacks becomes the month's last.
 * @param {string} day
 * @param {number} count
 */
export function addMonths(day, count) {
  const [year, month, inMonth] = day.split("-").map(Number);
  const first = new Date(Date.UTC(year, month - 1 + count, 1));
  const last = new Date(Date.UTC(first.getUTCFullYear(), first.getUTCMonth() + 1, 0)).getUTCDate();
  first.setUTCDate(Math.min(inMonth, last));
  return first.toISOString().slice(0, 10);
}

/**
 * A day plus so many days, weeks, months or years.
 * @param {string} day
 * @param {string} unit
 * @param {number} count
 */
export function addInterval(day, unit, count) {
  if (unit === "months" || unit === "years") return addMonths(day, count * (unit === "years" ? 12 : 1));
  return addDays(day, count * (unit === "weeks" ? 7 : 1));
}

/**
 * A date that reads the same on both sides of an ocean: 4 Jan 2027.
 * @param {string} day
 */
export function sayDate(day) {
  const [year, month, inMonth] = day.split("-").map(Number);
  return `${inMonth} ${MONTHS[month - 1]} ${year}`;
}

/**
 * A number of days in words: 1 day, 12 days.
 * @param {number} count
 */
export const sayDays = (count) => (count === 1 ? "1 day" : `${count} days`);

/** @type {Map<string, Intl.DateTimeFormat>} Making a formatter is slow, so one is kept for each zone. */
const formatters = new Map();

/**
 * The calendar date of an instant on the shop's wall.
 * @param {number} ms since 1970-01-01T00:00:00Z
 * @param {string} zone IANA name
 */
export function shopDate(ms, zone) {
  let formatter = formatters.get(zone);
  if (!formatter) {
    formatter = new Intl.DateTimeFormat("en-US", {
      timeZone: zone, calendar: "gregory", numberingSystem: "latn",
      year: "numeric", month: "2-digit", day: "2-digit",
    });
    formatters.set(zone, formatter);
  }
  /** @type {Record<string, string>} */
  const parts = {};
  for (const { type, value } of formatter.formatToParts(ms)) parts[type] = value;
  return `${parts.year}-${parts.month}-${parts.day}`;
}
