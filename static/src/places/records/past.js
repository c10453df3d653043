// What the document of the past says, counted and put in order for the screens. Pure.
import { addDays, dayNumber } from "../../core/dates.js";

/** @typedef {{ done: number, late: number, missed: number }} Rounds */
/** @typedef {{ rounds_min: number, tasks_min: number, set_up_min: number, out_h: number, out_shop_h: number, shop_h: number }} Month */
/** @typedef {{ letter: string, counts: Rounds }} ShopDay */

const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

/** A day's letter in words. @type {Record<string, string>} */
export const SAID = {
  d: "round done", l: "late: the round came after the first use", m: "missed: used without a round", ".": "not used",
  c: "shop closed", o: "out of service", "-": "no round asked for",
};

/** How often each letter stands there. @param {string} letters @returns {Rounds} */
export function countOf(letters) {
  const counts = { done: 0, late: 0, missed: 0 };
  for (const letter of letters) {
    if (letter === "d") counts.done += 1;
    else if (letter === "l") counts.late += 1;
    else if (letter === "m") counts.missed += 1;
  }
  return counts;
}

/** The share of rounds that came in time, in %, or null without any. @param {Rounds} counts */
export const shareOf = ({ done, late, missed }) => (done + late + missed ? (100 * done) / (done + late + missed) : null);

/** The whole shop day by day: the worst of its machines counts. @param {string[]} machines letters of each @returns {ShopDay[]} */
export function shopDays(machines) {
  const length = Math.max(0, ...machines.map((letters) => letters.length));
  return Array.from({ length }, (_, day) => {
    const letters = machines.map((one) => one[day] ?? "-");
    const letter = ["m", "l", "d"].find((one) => letters.includes(one));
    return { letter: letter ?? [".", "c", "o", "-"].find((one) => letters.includes(one)) ?? "-", counts: countOf(letters.join("")) };
  });
}

/** "Mar 2026". @param {string} month YYYY-MM */
export const sayMonth = (month) => `${MONTHS[Number(month.slice(5)) - 1]} ${month.slice(0, 4)}`;

/** The middle of a month, in seconds since 1970: its place on a chart. @param {string} month */
export const middleOf = (month) => Date.parse(`${month}-15T12:00Z`) / 1000;

/** The days from one on, cut into months. @param {string} first YYYY-MM-DD @param {number} count @returns {{ month: string, days: { day: string, at: number }[] }[]} */
export function byMonth(first, count) {
  /** @type {{ month: string, days: { day: string, at: number }[] }[]} */
  const months = [];
  for (let at = 0; at < count; at += 1) {
    const day = addDays(first, at);
    if (months[months.length - 1]?.month !== day.slice(0, 7)) months.push({ month: day.slice(0, 7), days: [] });
    months[months.length - 1]?.days.push({ day, at });
  }
  return months;
}

/** Tasks on time by month, of one machine ("" all). @param {Record<string, any>} tasks @param {string[]} months @param {string} machine @returns {{ share: (number | null)[], onTime: number[], late: number[], putOff: number[] }} */
export function onTimeBy(tasks, months, machine) {
  const chosen = Object.values(tasks).filter((task) => !machine || (task.machine ?? "shop") === machine);
  const sums = months.map((month) => [0, 1, 2].map((place) => chosen.reduce((sum, task) => sum + (task.months[month]?.[place] ?? 0), 0)));
  return {
    share: sums.map(([on, late]) => (on + late ? (100 * on) / (on + late) : null)),
    onTime: sums.map(([on]) => on), late: sums.map(([, late]) => late), putOff: sums.map(([, , put]) => put),
  };
}

/** Each task with its sums, the least often on time first. @param {Record<string, any>} tasks @param {string} machine */
export function tasksOf(tasks, machine) {
  return Object.entries(tasks).filter(([, task]) => !machine || (task.machine ?? "shop") === machine).map(([id, task]) => {
    const [on, late, put] = [0, 1, 2].map((place) => Object.values(task.months).reduce((sum, /** @type {any} */ row) => sum + row[place], 0));
    return { id, name: task.name, machine: task.machine, lateSince: task.late_since, on, late, put, share: (100 * on) / (on + late) };
  }).sort((a, b) => a.share - b.share || b.late - a.late || (a.name < b.name ? -1 : 1));
}

/** @type {Month} */
const NOTHING = { rounds_min: 0, tasks_min: 0, set_up_min: 0, out_h: 0, out_shop_h: 0, shop_h: 0 };

/** A month of one subject, or the sum of several. @param {any[]} subjects @param {string} month @returns {Month} */
export function monthOf(subjects, month) {
  const sum = { ...NOTHING };
  for (const { months } of subjects) for (const key of /** @type {(keyof Month)[]} */ (Object.keys(NOTHING))) sum[key] += months[month]?.[key] ?? 0;
  return sum;
}

/** @typedef {{ id: string, machine: string | null, text: string, stop: boolean, at: string, by: string, days: number }} Open */

/** Every open finding, the oldest first. @param {{ machines: Record<string, any>, shop: any }} state @param {Date} now @returns {Open[]} */
export function openFindings({ machines, shop }, now) {
  const all = [...Object.entries(machines), /** @type {[string | null, any]} */ ([null, shop])];
  return all.flatMap(([machine, doc]) => Object.entries(doc.findings).map(([id, { text, stop, at, by }]) => (
    { id, machine, text, stop, at, by, days: Math.max(0, (now.getTime() - Date.parse(at)) / 86_400_000) })))
    .sort((a, b) => (a.at < b.at ? -1 : 1));
}

/** @typedef {{ day: string, lane: string, entry: string, text: string }} Happened */

/** What happened on the days shown, in the order of the days. @param {any} subject @param {string} first the document's first day @param {string} from @param {string} to @returns {Happened[]} */
export function happened(subject, first, from, to) {
  return subject.events.map((/** @type {any[]} */ [number, lane, entry, text]) => ({ day: addDays(first, number), lane, entry, text }))
    .filter((/** @type {Happened} */ { day }) => day >= from && day <= to);
}

/** Where a stretch of days lies on the strip, in % of it; null when it does not reach in. @param {string} begin @param {string} end both included @param {string} from @param {number} days */
export function placeOf(begin, end, from, days) {
  const left = Math.max(0, dayNumber(begin) - dayNumber(from));
  const right = Math.min(days, dayNumber(end) - dayNumber(from) + 1);
  return right > left ? { left: (100 * left) / days, width: (100 * (right - left)) / days } : null;
}
