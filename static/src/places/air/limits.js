// Exposure limits as they are read on a card: which the shop goes by, the strictest beside them, what each is an average of.
import { lookUp, milligrams } from "../../core/limits.js";
import { figure } from "../../kit/numbers.js";
import { sourceOf } from "./work.js";

/** @typedef {import("../../core/limits.js").Limit} Limit */
/**
 * @typedef {{ limit: Limit, who: string, word: string, law: boolean, said: string, time: string, fraction: string, chosen: boolean,
 *   strictest: boolean, coming: boolean, source: string, caveat: string, note: string }} LimitRow
 * @typedef {{ substance: string, form: string, name: string, what: string, rows: LimitRow[], silent: string[] }} LimitGroup
 */

/** Whose limits bind where a shop chose nothing, as webapp/upkeep/exposures.py has it. @type {Record<string, string[]>} */
const HOUSE = { US: ["us_osha"], "US-CA": ["us_calosha"], GB: ["uk_hse"], UK: ["uk_hse"], DE: ["de_trgs900"], NL: ["nl"], AU: ["au_wes"], EU: ["eu"] };

/** The authorities whose limits a shop goes by. @param {{ [key: string]: any } | null} shop @returns {string[]} */
export function authoritiesOf(shop) {
  if (shop?.authorities?.length) return shop.authorities;
  const place = String(shop?.jurisdiction ?? "US").trim().toUpperCase();
  return HOUSE[place] ?? HOUSE[place.split("-")[0]] ?? [];
}

/** "0.2 µg/m³": no figure is lost to rounding. @param {number} value @param {string} unit */
export const sayAmount = (value, unit) => `${figure(value, 6)} ${unit.replace("ug", "µg").replace("m3", "m³")}`;

/** An amount of mg/m³ in the unit that is easily read. @param {number} value mg/m³ */
export const sayMilligrams = (value) => (value < 0.01 ? sayAmount(value * 1000, "ug/m3") : sayAmount(value, "mg/m3"));

/** Over what time a limit is an average. @param {Limit} limit */
export function sayTime({ kind, minutes }) {
  if (kind === "ceiling" && minutes === 0) return "ceiling: never over it, not for a moment";
  const long = minutes >= 60 ? `${figure(minutes / 60)}-hour` : `${figure(minutes)}-minute`;
  const average = minutes > 480 ? `average of up to ${figure(minutes / 60)} hours` : `${long} average`;
  return kind === "action" ? `action level, ${average}` : kind === "ceiling" ? `ceiling, ${average}` : average;
}

/** @param {string} fraction */
const sayFraction = (fraction) => (fraction === "not stated" ? "fraction not stated" : `${fraction} dust`);

/** @param {any} cards @param {Limit} limit @param {{ chosen: boolean, strictest: boolean, coming?: boolean }} how @returns {LimitRow} */
function rowOf(cards, limit, { chosen, strictest, coming = false }) {
  const who = cards.authorities[limit.authority];
  const { text, caveat } = sourceOf(cards, limit.source);
  const counted = limit.counted_as ? `counted as ${limit.counted_as}` : "";
  return {
    limit, who: who ? `${who.name} (${who.place})` : limit.authority, word: who?.word ?? "limit", law: Boolean(who?.law), said: sayAmount(limit.value, limit.unit),
    time: sayTime(limit), fraction: sayFraction(limit.fraction), chosen, strictest, coming, source: text, caveat,
    note: [counted, limit.note, coming ? `from ${limit.since}` : ""].filter(Boolean).join("; "),
  };
}

/**
 * One substance in one form: the shop's own limits, then the strictest that are not among them, then what is coming for the shop.
 * @param {any} cards @param {string} substance @param {string} form @param {string[]} authorities @param {string} today @returns {LimitGroup}
 */
export function groupOf(cards, substance, form, authorities, today) {
  const found = lookUp(cards.limits, substance, form, authorities, today);
  const one = cards.substances[substance];
  const own = found.chosen.map((limit) => rowOf(cards, limit, { chosen: true, strictest: found.strictest.includes(limit) }));
  const beside = found.strictest.filter((limit) => !found.chosen.includes(limit)).map((limit) => rowOf(cards, limit, { chosen: false, strictest: true }));
  const coming = found.coming.filter((limit) => authorities.includes(limit.authority)).map((limit) => rowOf(cards, limit, { chosen: true, strictest: false, coming: true }));
  return { substance, form, name: one.name, what: one.forms[form] ?? form, rows: [...own, ...beside, ...coming],
    silent: found.silent.map((key) => cards.authorities[key]?.name ?? key) };
}

/**
 * Every limit that speaks to what an alloy's constituents make, cold and hot.
 * @param {any} cards @param {string[]} symbols the elements that matter in it @param {string[]} authorities @param {string} today @returns {LimitGroup[]}
 */
export function groupsFor(cards, symbols, authorities, today) {
  const wanted = symbols.flatMap((symbol) => [cards.elements[symbol]?.substance, cards.elements[symbol]?.hot_substance]);
  return [...new Set(wanted.filter(Boolean))].flatMap((substance) => formsOf(cards, substance).map((form) => groupOf(cards, substance, form, authorities, today)));
}

/** The forms of which the library has a limit. @param {any} cards @param {string} substance @returns {string[]} */
export function formsOf(cards, substance) {
  const known = new Set(cards.limits.filter((/** @type {Limit} */ one) => one.substance === substance).map((/** @type {Limit} */ one) => one.form));
  return Object.keys(cards.substances[substance]?.forms ?? {}).filter((form) => known.has(form));
}

/** The lowest 8-hour or longer average among the shop's own, mg/m³; null where they name none. @param {LimitGroup} group */
export function ownAverage({ rows }) {
  const own = rows.filter(({ limit, chosen, coming }) => chosen && !coming && limit.kind === "twa").map(({ limit }) => milligrams(limit));
  return own.length ? Math.min(...own) : null;
}
