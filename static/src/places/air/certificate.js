// A mill certificate beside an alloy's card: what lies outside of it, and what the card does not name at all. Pure.
import { differences } from "../../core/alloys.js";

/**
 * What was typed: symbols with weight %, such as "Pb 3.1, Cu 61.5".
 * @param {string} text
 * @returns {{ found: Record<string, number>, error: string | null }}
 */
export function readCertificate(text) {
  /** @type {Record<string, number>} */
  const found = {};
  for (const piece of text.split(/[;\n]|,\s+|,(?=[A-Za-z])/).map((one) => one.trim()).filter(Boolean)) {
    const read = /^([A-Za-z]{1,2})\s*[:=]?\s*(\d+(?:[.,]\d+)?)\s*%?$/.exec(piece);
    const percent = read ? Number(read[2].replace(",", ".")) : NaN;
    if (!read || !(percent <= 100)) return { found: {}, error: `"${piece}" cannot be read. Type the symbol and its weight %, such as Pb 3.1, with commas between.` };
    found[read[1].charAt(0).toUpperCase() + read[1].slice(1).toLowerCase()] = percent;
  }
  return { found, error: null };
}

/**
 * What the certificate says against the card, the elements that matter for health first.
 * @param {any} cards @param {string} key of the alloy @param {Record<string, number>} found
 * @returns {{ said: string, matters: boolean }[]}
 */
export function besideCard(cards, key, found) {
  const { composition } = cards.alloys[key];
  const named = new Set(composition.map((/** @type {any} */ one) => one.element));
  const weighs = (/** @type {string} */ symbol) => symbol in cards.elements && found[symbol] >= cards.elements[symbol].from_percent;
  const outside = differences(composition, found).map(({ element, said }) => ({ said, matters: weighs(element) }));
  const beyond = Object.keys(found).filter((symbol) => !named.has(symbol) && found[symbol] > 0)
    .map((symbol) => ({ said: `${cards.elements[symbol]?.name ?? symbol}: ${found[symbol]} % found, and the card does not name it.`, matters: weighs(symbol) }));
  return [...outside, ...beyond].sort((one, other) => Number(other.matters) - Number(one.matters));
}
