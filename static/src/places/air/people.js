// How each person's equipment, fit tests, training and sign-offs stand today, from this phone's own state: pure.
// Says the same as webapp/upkeep/crew.py, unsent entries included.
import { signOff, standing } from "../../core/ppe.js";
import { cartridge } from "../../core/respirators.js";
import { sayDate } from "../../core/dates.js";
import { capital } from "../../kit/dates.js";

/** @typedef {{ word: string, until?: string | null, why: string }} Line what stands beside a name */
/** @typedef {{ kind: "ppe" | "fit" | "machine" | "topic", key: string, name: string, word: string, until: string | null, why: string }} Row */
/** @typedef {{ today: string, dayOf: (at: string) => string }} Calendar */

/** Words of what is to be settled before the work. */
const OPEN = new Set(["never", "not yet", "lapsed", "failed", "change now", "refused"]);

/** Whether a row is to be settled, or will be soon. @param {Row} row */
export const speaks = ({ word }) => OPEN.has(word) || word === "near its end";

/** The mark that goes with a word. @param {string} word @returns {import("../../kit/state.js").Mark} */
export const markOf = (word) => (OPEN.has(word) ? "late" : word === "near its end" ? "near" : "resting");

/** An end before the day it was done holds for no day at all. @param {any} row @param {Calendar} calendar @returns {[string, string | null]} */
function datesOf(row, { dayOf }) {
  const done = dayOf(row.at);
  const until = row.expires ?? null;
  return until !== null && until < done ? [until, until] : [done, until];
}

/** @param {string} key @param {any} row @param {Calendar} calendar @returns {Row} */
function equipmentRow(key, row, calendar) {
  const [part, ...rest] = key.split("/");
  const what = rest.join("/");
  const made = { kind: /** @type {const} */ ("ppe"), key, name: capital(what || `${part} protection`), until: row.change_by ?? null };
  const day = sayDate(calendar.dayOf(row.at));
  if (row.result === "refused") return { ...made, word: "refused", why: `Out of use since ${day}: ${row.note ?? "no reason given"}` };
  if (part !== "lung" && !row.change_by) return { ...made, word: "current", why: `Looked at ${day}.` };
  if (part !== "lung") {
    const since = calendar.dayOf(row.since ?? row.at);
    const found = standing(row.change_by < since ? row.change_by : since, row.change_by, calendar.today);
    return { ...made, word: found.word === "lapsed" ? "change now" : found.word, why: found.why };
  }
  const opened = row.since ? calendar.dayOf(row.since) : null;
  const found = cartridge([Math.min(row.hours, 10_000)], { maker_hours: row.change_after, until: row.change_by, today: calendar.today,
    opened: opened !== null && row.change_by && row.change_by < opened ? null : opened });
  return { ...made, word: found.word === "change now" ? "change now" : "current", why: found.why };
}

/** @param {string} name @param {any} row @param {Calendar} calendar @returns {Row} */
function fitRow(name, row, calendar) {
  const made = { kind: /** @type {const} */ ("fit"), key: name, name: capital(name), until: row.expires ?? null };
  if (row.result === "fail") return { ...made, word: "failed", why: `The fit test of ${sayDate(calendar.dayOf(row.at))} failed: this respirator is not for this face.` };
  const [done, until] = datesOf(row, calendar);
  const { word, why } = standing(done, until, calendar.today);
  return { ...made, word, why };
}

/** Every sign-off for a machine, of anybody. @param {Record<string, any>} people the shop document's @param {string} machine @param {Calendar} calendar */
function signedFor(people, machine, calendar) {
  return Object.entries(people).flatMap(([person, { machines }]) => {
    const row = machines?.[machine];
    if (!row) return [];
    const [on, until] = datesOf(row, calendar);
    return [{ person, machine, on, until, by: row.outside || row.trainer }];
  });
}

/**
 * How a person stands with a machine. `asked`: whether anybody was ever signed off for it, so that a shop that does not sign
 * off is not told daily.
 * @param {Record<string, any> | undefined} people @param {string} person @param {string} machine @param {Calendar} calendar
 */
export function signOffOf(people, person, machine, calendar) {
  const signed = signedFor(people ?? {}, machine, calendar);
  const found = signOff(signed, person, machine, calendar.today);
  return { asked: signed.length > 0, current: found.word === "current" || found.word === "near its end", word: found.word, why: found.why };
}

/** One person's rows, what is to be settled first. @param {any} kept the shop document's `people` of them @param {string} person @param {(machine: string) => string} nameOf @param {Calendar} calendar @returns {Row[]} */
export function rowsOf(kept, person, nameOf, calendar) {
  if (!kept) return [];
  const rows = [
    ...Object.entries(kept.ppe ?? {}).map(([key, row]) => equipmentRow(key, row, calendar)),
    ...Object.entries(kept.fits ?? {}).map(([key, row]) => fitRow(key, row, calendar)),
    ...Object.keys(kept.machines ?? {}).map((key) => {
      const { word, why } = signOffOf({ [person]: kept }, person, key, calendar);
      return { kind: /** @type {const} */ ("machine"), key, name: nameOf(key), word, why, until: kept.machines[key].expires ?? null };
    }),
    ...Object.entries(kept.topics ?? {}).map(([key, row]) => {
      const [done, until] = datesOf(row, calendar);
      const { word, why } = standing(done, until, calendar.today);
      return { kind: /** @type {const} */ ("topic"), key, name: capital(key), word, why, until };
    }),
  ];
  const rank = (/** @type {Row} */ row) => (OPEN.has(row.word) ? 0 : row.word === "near its end" ? 1 : 2);
  return rows.sort((a, b) => rank(a) - rank(b) || (a.name < b.name ? -1 : 1));
}

/**
 * Rounds that were walked lately by somebody without a current sign-off for that machine: what the lead is told.
 * @param {import("../../store/types.js").ListedEntry[]} entries newest first @param {Record<string, any> | undefined} people @param {Calendar} calendar
 * @returns {{ person: string, machine: string, at: string, why: string }[]} the newest of each person and machine
 */
export function walkedWithout(entries, people, calendar) {
  /** @type {Map<string, { person: string, machine: string, at: string, why: string }>} */
  const found = new Map();
  for (const { kind, voided, machine, by, at } of entries) {
    if (kind !== "round.done" || voided || !machine || found.has(`${by} ${machine}`)) continue;
    const { asked, current, why } = signOffOf(people, by, machine, calendar);
    if (asked && !current) found.set(`${by} ${machine}`, { person: by, machine, at, why });
  }
  return [...found.values()];
}
