// What the server foresaw, in words: dates with their range, what they rest on, and how old all of it is.
import { daysFrom, sayLong, sayWhen } from "../../kit/dates.js";
import { counted, figure, shortFigure } from "../../kit/numbers.js";

/**
 * @typedef {object} Ahead a task in the /upkeep document
 * @property {string} state
 * @property {string | null} due_on
 * @property {string | null} earliest
 * @property {string | null} likely
 * @property {string | null} latest
 * @property {"meter" | "calendar" | "condition" | null} by
 * @property {number | null} left
 * @property {number | null} every
 * @property {string | null} unit
 * @property {number | null} a_week
 * @property {"measured" | "mixed" | "declared" | null} basis
 * @property {number | null} days
 * @property {number | null} reached
 * @property {string | null} deferred_to
 * @property {boolean} resting
 * @property {(number | null)[] | null} after_return
 * @property {string} why
 */
/** @typedef {{ early: string | null, likely: string | null, late: string | null }} Dates */
/** @typedef {{ said: string, rests: string, dates: Dates | null, silent?: boolean }} Told `rests`: what it rests on; `dates`: null when no date can be given; `silent`: nothing is known that is worth the place */
/** @typedef {{ deferred?: { to: string, at: string } | null, at?: string | null } | null | undefined} Since what this phone knows of the task */

const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
const FAR_DAYS = 270;
const HALF = 0.5;

/** "3 Dec", with its year when it is far off. @param {string} day YYYY-MM-DD @param {string} today */
export function plainDay(day, today) {
  const said = `${Number(day.slice(8))} ${MONTHS[Number(day.slice(5, 7)) - 1]}`;
  return Math.abs(daysFrom(today, day)) > FAR_DAYS ? `${said} ${day.slice(0, 4)}` : said;
}

/** "likely 3 Dec (28 Nov to 9 Dec)". @param {Dates} dates @param {string} today */
export function sayDates({ early, likely, late }, today) {
  if (!likely) return early ? `not before ${plainDay(early, today)}, most likely beyond three years` : "beyond three years";
  if (!early || (early === likely && late === likely)) return `likely ${plainDay(likely, today)}`;
  return `likely ${plainDay(likely, today)} (${saySpan(early, late, today)})`;
}

/** "8 to 15 Dec", "28 Nov to 9 Dec". @param {string} from @param {string | null} to @param {string} today */
function saySpan(from, to, today) {
  const first = to && from.slice(0, 7) === to.slice(0, 7) ? String(Number(from.slice(8))) : plainDay(from, today);
  return `${first} to ${to ? plainDay(to, today) : "beyond three years"}`;
}

/** What a rate rests on: measured, mixed, or the shop's hours alone. @param {string | null} basis @param {number | null} days */
export function sayBasis(basis, days) {
  if (basis === "measured") return `measured over ${counted(days ?? 0, "day")}`;
  if (basis === "mixed") return `mixed: only ${counted(days ?? 0, "day")} measured yet`;
  return basis === "declared" ? "the shop's hours alone, nothing measured yet" : "";
}

/** "842 sq in left at about 432 sq in a week, measured over 246 days". @param {Ahead} ahead */
function sayRests({ left, unit, a_week, basis, days }) {
  if (left === null) return "";
  const stands = left > 0 ? `${figure(left, 1)} ${unit} left` : `${figure(-left, 1)} ${unit} over`;
  return a_week ? `${stands} at about ${figure(a_week, 1)} ${unit} a week, ${sayBasis(basis, days)}` : `${stands}; no use recorded yet on this meter`;
}

/** @param {(number | null)[] | null} days */
function sayReturn(days) {
  const [early, likely, late] = days ?? [];
  if (likely === null || likely === undefined) return "rests while it is out of service";
  return `rests: due ${counted(likely, "day")} after its return (${early ?? 0} to ${late ?? "more than a thousand"})`;
}

/** @param {string} day @returns {Dates} */
const only = (day) => ({ early: day, likely: day, late: day });

/**
 * What is foreseen of a task. What this phone knows to have happened since goes before it.
 * @param {Ahead | undefined} ahead @param {string} today @param {{ asOf: string, since?: Since }} kept
 * @returns {Told}
 */
export function foretell(ahead, today, { asOf, since }) {
  if (!ahead) return { said: "no date worked out yet", rests: "It is worked out when this phone next has signal.", dates: null, silent: true };
  if (isAfter(since?.at, asOf)) return { said: "done since: a new date comes with signal", rests: "", dates: null };
  const put = isAfter(since?.deferred?.at, asOf) ? since?.deferred?.to : ahead.deferred_to;
  if (put) return { said: `put off to ${plainDay(put, today)}`, rests: sayRests(ahead), dates: only(put) };
  if (ahead.state === "due" || ahead.state === "late") return { said: ahead.state === "late" ? "late" : "due now", rests: sayRests(ahead), dates: only(today) };
  if (ahead.resting && !ahead.likely) return { said: sayReturn(ahead.after_return), rests: sayRests(ahead), dates: null };
  if (ahead.by === "calendar" && ahead.likely) return { said: plainDay(ahead.likely, today), rests: sayCalendar(ahead), dates: only(ahead.likely) };
  if (ahead.left === null) return { said: "no date", rests: ahead.why, dates: null, silent: true };
  if (!ahead.a_week) return { said: "no date yet", rests: sayRests(ahead), dates: null };
  const dates = { early: ahead.earliest, likely: ahead.likely, late: ahead.latest };
  if ((ahead.reached ?? 0) >= HALF) return { said: "probably reached: read the counter", rests: sayRests(ahead), dates };
  return { said: sayDates(dates, today), rests: sayRests(ahead), dates };
}

/** What a date ahead rests on, in a few words; nothing where a reading, not a date, makes it due. @param {Ahead} ahead @param {Dates} dates */
export function sayBy({ by, basis, days, deferred_to }, { early, late }) {
  if (by === "condition" && !deferred_to) return "";
  return by === "meter" && early !== late ? sayBasis(basis, days) : "by the calendar";
}

/** @param {Ahead} ahead */
function sayCalendar(ahead) {
  const { after_return, resting } = ahead;
  if (resting && after_return) return `by the calendar; its meter ${sayReturn(after_return)}`;
  return ahead.left === null || !ahead.a_week ? "by the calendar" : `by the calendar, before the meter: ${sayRests(ahead)}`;
}

/** @param {string | null | undefined} at @param {string} than */
function isAfter(at, than) {
  return Boolean(at) && Date.parse(String(at)) > Date.parse(than);
}

/**
 * How old it is, and whether this phone has more: "as worked out today 06:58, from the record up to entry 7512".
 * @param {{ as_of: string, head: number }} kept @param {{ head: number, unsent: number, zone: string, now: Date }} phone
 * @returns {{ said: string, older: boolean }}
 */
export function sayAge({ as_of, head }, { head: here, unsent, zone, now }) {
  return {
    said: `As worked out ${sayWhen(as_of, { zone, now })}, from the record up to entry ${figure(head)}.`,
    older: here > head || unsent > 0,
  };
}

/** "11 h 30 min", "25 min". @param {number} minutes */
export const sayMinutes = (minutes) => (minutes > 0 && minutes < 1 ? "under 1 min" : minutes === 0 ? "0 min" : sayLong(Math.round(minutes) * 60));

/** @typedef {{ task: string, minutes: number, days_early: number, interval_given_up: number, lock_out: boolean }} Early */
/** @typedef {{ because: string[], stopped: boolean, with: Early[], minutes: number, saved: number, lock_out: boolean }} Bundle */

/** "10 min, 4 days early: 3 % of its interval given up". @param {Early} row */
export function sayEarly({ minutes, days_early, interval_given_up }) {
  if (days_early < 1) return `${sayMinutes(minutes)}, due about now`;
  return `${sayMinutes(minutes)}, ${counted(days_early, "day")} early: ${figure(interval_given_up * 100, 0)} % of its interval given up`;
}

/** "40 min together. One lock-out serves them all: about 5 min less than one by one." @param {Bundle} bundle */
export function sayTogether({ minutes, saved, lock_out }) {
  const all = `${sayMinutes(minutes)} together.`;
  return lock_out && saved > 0 ? `${all} One lock-out serves them all: about ${sayMinutes(saved)} less than one by one.` : all;
}

/** @typedef {{ day: string, mean: number }} Weekday */

/** "a day: Mon 5.2, Tue 5.4 …, in h". @param {Weekday[]} days @param {string} unit */
export const sayWeek = (days, unit) => `In ${unit} a day: ${days.map(({ day, mean }) => `${day} ${shortFigure(mean)}`).join(", ")}.`;
