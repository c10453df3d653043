// Measurements of the phone's own state beside limits, unsent ones too, as the server's document has them. Pure.
import { beside, worstFirst } from "../../core/measured.js";

/** The newest of each person or place and work; they come newest first. @param {any[]} rows */
function newest(rows) {
  const seen = new Set();
  return rows.filter(({ person, place, process, alloy, fraction }) => {
    const of = JSON.stringify([person, place, process, alloy, fraction]);
    return !seen.has(of) && seen.add(of);
  });
}

/** What a measurement is held against. @param {any} cards @param {string[]} chosen authorities @returns {import("../../core/measured.js").Library} */
export const libraryOf = (cards, chosen) => ({
  limits: cards.limits, noises: cards.noise ?? [], chosen,
  names: Object.fromEntries(Object.entries(cards.substances).map(([key, one]) => [key, /** @type {any} */ (one).name])),
});

/**
 * A row for the newest measurement of each agent at each place or person and work, the worst first.
 * @param {any} cards
 * @param {Record<string, any[]> | undefined} kept the shop's state, by "agent/form"
 * @param {string[]} chosen authorities
 * @param {string} today
 * @param {(at: string) => string} dayAt the shop's date of an instant
 */
export function rowsOf(cards, kept, chosen, today, dayAt) {
  const library = libraryOf(cards, chosen);
  return Object.entries(kept ?? {}).flatMap(([key, rows]) => newest(rows).map((row) => beside(key, row, library, row.on ?? dayAt(row.at), today))).sort(worstFirst);
}

/** A body that is about to be kept, as the state will have it. @param {any} body @param {string} on */
export function rowOfBody(body, on) {
  const blank = { entry: "", machine: null, person: null, place: null, process: null, alloy: null, fraction: null, method: null, laboratory: null };
  const samples = body.samples.map((/** @type {any} */ one) => ({ below_detection: false, ...one }));
  return { key: body.form ? `${body.agent}/${body.form}` : body.agent, row: { ...blank, ...body, samples, on } };
}
