// Exposure bars: how far a measured figure reaches toward each limit. Pure.
import { figure } from "../../kit/numbers.js";
import { sayMilligrams, sayTime } from "./limits.js";

/** @typedef {{ share: number, width: number, mark: number, beyond: boolean, said: string, who: string, word: string, own: boolean, source: string }} Bar widths and marks in % of the track */

/** The track ends at this many % of the limit; what lies beyond is cut off with a point. */
const TRACK = 150;

/** The words of the core with their marks. @param {string} word @returns {import("../../kit/state.js").Mark} */
export function markOfWord(word) {
  if (word === "at or over the limit") return "late";
  if (word === "over the action level") return "due";
  return word === "below the limit" ? "resting" : "near";
}

/** @param {number} share % of the limit */
const shapeOf = (share) => ({ share, width: Math.min(share, TRACK) / TRACK * 100, mark: 100 / TRACK * 100, beyond: share > TRACK });

/** What a share of the limit is called when it was measured whole. @param {any} row */
const nameOf = (row) => (row.kind === "action" ? "action level" : row.kind === "twa" ? "limit" : row.kind === "stel" ? "short-term limit" : "ceiling");

/** "Health and Safety Executive (Great Britain)". @param {any} cards @param {string} key */
function whoOf(cards, key) {
  const one = cards?.authorities[key];
  return one ? `${one.name} (${one.place})` : key;
}

/** Bars of a measurement, those it can be compared with. @param {any} exposure beside limits, by core/measured.js @param {any} cards @returns {Bar[]} */
export function barsOf(exposure, cards) {
  if (exposure.agent === "noise") return noiseBars(exposure, cards);
  return exposure.limits.filter((/** @type {any} */ row) => row.word && row.share !== null).map((/** @type {any} */ row) => ({
    ...shapeOf(row.share), who: whoOf(cards, row.authority), word: row.word, own: row.chosen, source: row.source,
    said: `${exposure.at_most ? "at most " : ""}${figure(row.share, 0)} % of the ${nameOf(row)}, ${sayMilligrams(Number(row.limit.toPrecision(3)))}, ${sayTime(row)}${row.strictest && !row.chosen ? "; the strictest in the library" : ""}`,
  }));
}

/** Of noise the share is that of the exposure which makes the value; a dose of OSHA's or NIOSH's is told too. @param {any} exposure @param {any} cards @returns {Bar[]} */
function noiseBars(exposure, cards) {
  return exposure.limits.filter((/** @type {any} */ row) => Number.isFinite(row.share)).map((/** @type {any} */ row) => {
    const value = `the ${row.name} of ${figure(row.level)} ${row.by === "energy" ? "dB(A)" : "dBA"}`;
    const level = row.twa === null ? "nothing loud enough to count" : `${figure(row.twa, 1)} ${row.by === "energy" ? "dB(A) as daily exposure" : "dBA over 8 hours"}`;
    const dose = row.dose === null ? `${figure(row.share, 0)} % of what makes ${value}` : `dose ${figure(row.dose, 0)} %, beside ${value}`;
    const beside = row.strictest && !row.chosen ? "; the strictest in the library" : "";
    return { ...shapeOf(row.share), who: whoOf(cards, row.authority), word: row.word, own: row.chosen, source: row.source, said: `${level}: ${dose}${beside}` };
  });
}

/** Fractions of "never measured": what the alloys of late make that nobody measured yet. @param {any} cards @param {{ symbol: string }[][]} inside what matters in each alloy @param {Record<string, any[]> | undefined} measured the shop's, by "agent/form" @returns {{ substance: string, name: string }[]} */
export function notMeasured(cards, inside, measured) {
  const had = new Set(Object.keys(measured ?? {}).map((key) => key.split("/")[0]));
  const wanted = new Set(inside.flat().map(({ symbol }) => cards.elements[symbol]?.substance).filter(Boolean));
  const found = [...wanted].filter((substance) => !had.has(substance)).map((substance) => ({ substance, name: cards.substances[substance].name }));
  return had.has("noise") ? found : [...found, { substance: "noise", name: "Noise" }];
}
