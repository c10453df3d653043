// Dates and times as people say them, in the shop's zone.

/** @typedef {{ zone?: string, now?: Date }} Clock zone: IANA name; the phone's own when left out */

/** @param {Date} date @param {string | undefined} zone @returns {string} YYYY-MM-DD there */
export function dayIn(date, zone) {
  return new Intl.DateTimeFormat("en-CA", { timeZone: zone, year: "numeric", month: "2-digit", day: "2-digit" }).format(date);
}

/** Whole days from one YYYY-MM-DD to another. @param {string} from @param {string} to */
export function daysFrom(from, to) {
  return Math.round((Date.parse(`${to}T00:00Z`) - Date.parse(`${from}T00:00Z`)) / 86_400_000);
}

const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
const WEEKDAYS = ["Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"];

/** "2 Mar". @param {string} day YYYY-MM-DD */
const dayAndMonth = (day) => `${Number(day.slice(8))} ${MONTHS[Number(day.slice(5, 7)) - 1]}`;

/** "Tue". @param {string} day YYYY-MM-DD */
const weekday = (day) => WEEKDAYS[new Date(`${day}T12:00Z`).getUTCDay()];

/**
 * A day as said today: "today", "yesterday", "Fri", "tomorrow", "11 May", "11 May 2026".
 * @param {string} day YYYY-MM-DD
 * @param {string} today YYYY-MM-DD
 */
export function sayDay(day, today) {
  const ahead = daysFrom(today, day);
  if (ahead === 0) return "today";
  if (ahead === -1) return "yesterday";
  if (ahead === 1) return "tomorrow";
  if (ahead > -7 && ahead < 7) return weekday(day);
  return day.slice(0, 4) === today.slice(0, 4) ? dayAndMonth(day) : `${dayAndMonth(day)} ${day.slice(0, 4)}`;
}

/** "Tue 2 Mar". @param {string} day YYYY-MM-DD */
export function longDay(day) {
  return `${weekday(day)} ${dayAndMonth(day)}`;
}

/**
 * A moment: "today 06:58", "Mon 16:40", "2 Mar 06:58".
 * @param {string} at RFC 3339
 * @param {Clock} [clock]
 */
export function sayWhen(at, { zone, now = new Date() } = {}) {
  const date = new Date(at);
  if (Number.isNaN(date.getTime())) return at;
  return `${sayDay(dayIn(date, zone), dayIn(now, zone))} ${timeIn(date, zone)}`;
}

/** "06:58". @param {Date} date @param {string} [zone] */
export function timeIn(date, zone) {
  return new Intl.DateTimeFormat("en-GB", { timeZone: zone, hour: "2-digit", minute: "2-digit" }).format(date);
}

/** "48 s", "1 min 5 s", "2 h 10 min". @param {number} seconds */
export function sayLong(seconds) {
  const whole = Math.round(seconds);
  if (whole < 60) return `${whole} s`;
  const minutes = Math.floor(whole / 60);
  if (minutes < 60) return whole % 60 ? `${minutes} min ${whole % 60} s` : `${minutes} min`;
  return minutes % 60 ? `${Math.floor(minutes / 60)} h ${minutes % 60} min` : `${minutes / 60} h`;
}

/** First letter upper case. @param {string} text */
export function capital(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
