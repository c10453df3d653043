// Where dates lie on an axis of days, and minutes on a bar of a week: percentages, for the drawing.
import { daysFrom } from "../../kit/dates.js";
import { plainDay } from "./words.js";

export const DAYS_SHOWN = 56;
const DAY_MS = 86_400_000;

/** @typedef {import("./words.js").Dates} Dates */
/** @typedef {{ start: number, width: number, mark: number | null, beyond: boolean, single: boolean }} Bar in % of the axis; `beyond`: it goes on past the end; `single`: one day, no range */
/** @typedef {{ person: string | null, minutes: number, width: number }} Piece `width` in % of the fullest week */
/** @typedef {{ week: string, minutes: number, people: { person: string | null, minutes: number }[], tasks: any[] }} Week */

/** @param {number} value */
const round = (value) => Math.round(value * 100) / 100;
/** @param {number} days */
const percent = (days) => round((days / DAYS_SHOWN) * 100);

/**
 * The bar of a range of days and its mark, or null when none of it lies in the weeks shown. What is past stands today.
 * @param {Dates} dates @param {string} today @returns {Bar | null}
 */
export function barOf({ early, likely, late }, today) {
  if (!early && !likely) return null;
  const from = Math.max(0, daysFrom(today, /** @type {string} */ (early ?? likely)));
  const at = likely ? Math.max(0, daysFrom(today, likely)) : null;
  const to = late ? Math.max(from, daysFrom(today, late)) : DAYS_SHOWN;
  if (from >= DAYS_SHOWN) return null;
  const end = Math.min(to + 1, DAYS_SHOWN);
  return {
    start: percent(from), width: percent(end - from),
    mark: at !== null && at < DAYS_SHOWN ? percent(at + 0.5) : null, beyond: to >= DAYS_SHOWN, single: from === to,
  };
}

/** The Mondays on the axis, every second one named. @param {string} today @returns {{ at: number, text: string }[]} */
export function mondays(today) {
  const first = new Date(`${today}T12:00Z`);
  const ahead = (8 - first.getUTCDay()) % 7;
  const ticks = [];
  for (let day = ahead; day < DAYS_SHOWN; day += 7) {
    const monday = new Date(first.getTime() + day * DAY_MS).toISOString().slice(0, 10);
    ticks.push({ at: percent(day), text: ticks.length % 2 === 0 ? plainDay(monday, today) : "" });
  }
  return ticks;
}

/** Who works in the weeks ahead, most minutes first, nobody's last: one order for every week. @param {Week[]} weeks @returns {(string | null)[]} */
export function peopleOf(weeks) {
  /** @type {Map<string | null, number>} */
  const sums = new Map();
  for (const { people } of weeks) for (const { person, minutes } of people) sums.set(person, (sums.get(person) ?? 0) + minutes);
  return [...sums].sort((a, b) => Number(a[0] === null) - Number(b[0] === null) || b[1] - a[1]).map(([person]) => person);
}

/** Each week's bar, in pieces by person. @param {Week[]} weeks @returns {Piece[][]} */
export function piecesOf(weeks) {
  const most = Math.max(...weeks.map(({ minutes }) => minutes), 1);
  const order = peopleOf(weeks);
  return weeks.map(({ people }) => order.flatMap((person) => {
    const minutes = people.find((one) => one.person === person)?.minutes ?? 0;
    return minutes > 0 ? [{ person, minutes, width: round((minutes / most) * 100) }] : [];
  }));
}

/**
 * Where the hand will stand on the likely date, eight times in ten, in shares of the interval: a narrow arc is a sure
 * date. Null when there is no range. @param {import("./words.js").Ahead} ahead @param {string} asOf YYYY-MM-DD on which it was worked out
 * @returns {[number, number] | null}
 */
export function arcOf({ left, every, earliest, likely, latest, by }, asOf) {
  if (by !== "meter" || !left || left <= 0 || !every || !earliest || !likely || earliest === latest) return null;
  const days = (/** @type {string} */ day) => Math.max(1, daysFrom(asOf, day) + 1);
  const share = left / every;
  const standing = (/** @type {number} */ whole) => 1 - share + (share * days(likely)) / whole;
  return [latest ? standing(days(latest)) : 1 - share, standing(days(earliest))];
}

/** Heights of the little bars in % of the fullest day. @param {import("./words.js").Weekday[]} days */
export function heightsOf(days) {
  const most = Math.max(...days.map(({ mean }) => mean), 0);
  return days.map(({ mean }) => (most > 0 ? Math.round((mean / most) * 100) : 0));
}
