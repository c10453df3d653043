// A reading against its band, in words for the screen.
import { verdict } from "../core/bands.js";
import { sayDay } from "../kit/dates.js";
import { figure } from "../kit/numbers.js";
import { dayOf } from "../core/facts.js";

/** @typedef {import("../kit/band.js").Band} Band */
/** @typedef {{ verdict: string, inside: boolean, stop: boolean, word: string }} Judged */

/** @type {Record<string, string>} */
const WORDS = {
  within: "within the band",
  "act low": "below the band",
  "act high": "above the band",
  "stop low": "below the stop limit",
  "stop high": "above the stop limit",
};

/** @param {Band} band @param {number} value @returns {Judged} */
export function judgeReading(band, value) {
  const found = verdict(value, band);
  return { verdict: found, inside: found === "within", stop: found.startsWith("stop"), word: WORDS[found] ?? found };
}

/**
 * The last readings as said beside the new one: "Yesterday 6.1, Fri 6.6".
 * @param {{ at: string, value: number | null, answer?: string }[]} rows newest first
 * @param {string} zone @param {string} today
 */
export function sayLast(rows, zone, today) {
  const said = rows.slice(0, 2).map((row) => `${sayDay(dayOf(row.at, zone), today)} ${row.value === null || row.value === undefined ? row.answer : figure(row.value)}`);
  const line = said.join(", ");
  return line.charAt(0).toUpperCase() + line.slice(1);
}
