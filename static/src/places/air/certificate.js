// A mill certificate beside an alloy's card: what lies outside of it, and what the card does not name at all. Pure.
import { differences } from "../../core/alloys.js";

/** "Pb 3.1", "Cu: 61.5 %", "Be <0.01", "Be 0.01 max". */
const LINE = /^([A-Za-z]{1,2})\s*[:=]?\s*(<=?|≤|max\.?|at most)?\s*(\d+(?:[.,]\d+)?)\s*%?\s*(max\.?)?$/i;

/**
 * What was typed: symbols with weight %, such as "Pb 3.1, Cu 61.5, Be <0.01".
 * @param {string} text
 * @returns {{ lines: import("../../core/own-alloys.js").Line[], error: string | null }}
 */
export function readCertificate(text) {
  /** @type {import("../../core/own-alloys.js").Line[]} */
  const lines = [];
  for (const piece of text.split(/[;\n]|,\s+|,(?=[A-Za-z])/).map((one) => one.trim()).filter(Boolean)) {
    const read = LINE.exec(piece);
    const percent = read ? Number(read[3].replace(",", ".")) : NaN;
    if (!read || !(percent <= 100)) return { lines: [], error: `"${piece}" cannot be read. Type the symbol and its weight %, such as Pb 3.1 or Be <0.01, with commas between.` };
    const element = read[1].charAt(0).toUpperCase() + read[1].slice(1).toLowerCase();
    lines.push(read[2] || read[4] ? { element, at_most: percent } : { element, percent });
  }
  return { lines, error: null };
}

/** Such lines as they are typed. @param {import("../../core/own-alloys.js").Line[]} lines */
export const typedLines = (lines) => lines.map(({ element, percent, at_most: bound }) => (percent === undefined ? `${element} <${bound}` : `${element} ${percent}`)).join(", ");

/**
 * What the certificate says against the card, the elements that matter for health first.
 * @param {any} cards @param {string} key of the alloy @param {import("../../core/own-alloys.js").Line[]} lines
 * @returns {{ said: string, matters: boolean }[]}
 */
export function besideCard(cards, key, lines) {
  // A bound is held against the card by its upper end; below the card's least it says nothing.
  const found = Object.fromEntries(lines.map(({ element, percent, at_most: bound }) => [element, percent ?? bound ?? 0]));
  const bounded = new Set(lines.filter(({ percent }) => percent === undefined).map(({ element }) => element));
  const { composition } = cards.alloys[key];
  const named = new Set(composition.map((/** @type {any} */ one) => one.element));
  const weighs = (/** @type {string} */ symbol) => symbol in cards.elements && found[symbol] >= cards.elements[symbol].from_percent;
  const outside = differences(composition, found).filter(({ element, found: high, low }) => !bounded.has(element) || high >= low).map(({ element, said }) => ({ said, matters: weighs(element) }));
  const beyond = Object.keys(found).filter((symbol) => !named.has(symbol) && found[symbol] > 0)
    .map((symbol) => ({ said: `${cards.elements[symbol]?.name ?? symbol}: ${bounded.has(symbol) ? `up to ${found[symbol]} %` : `${found[symbol]} % found`}, and the card does not name it.`, matters: weighs(symbol) }));
  return [...outside, ...beyond].sort((one, other) => Number(other.matters) - Number(one.matters));
}
