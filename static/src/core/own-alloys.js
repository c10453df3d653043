// A shop's own alloys among the library's cards, from the certificates that their definitions hold; twin of
// webapp/library/own.py, held to tests/vectors/own_alloys.json. Everything that reads the cards then works with them.
import { mattering, share } from "./alloys.js";
import { tidy } from "./numbers.js";

/**
 * @typedef {import("./alloys.js").Constituent} Constituent
 * @typedef {{ element: string, percent?: number, at_most?: number }} Line one line of a certificate, in weight %
 * @typedef {{ id: string, revision: number, retired: boolean, [key: string]: any }} Definition
 */

/** The family of an alloy that is like none of the library. */
const FAMILY = "other metal";
/** What may be without a density in a sum of densities, in weight %. */
const WITHOUT_DENSITY = 1;

/** What a certificate says, as a composition; its main metal, where left out, is the remainder. @param {string} base @param {Line[]} lines @returns {Constituent[]} */
export function own(base, lines) {
  const parts = lines.map(({ element, percent, at_most: high }) => (percent === undefined ? { element, high } : { element, low: percent, high: percent }));
  return lines.some(({ element }) => element === base) ? parts : [{ element: base, rest: true }, ...parts];
}

/** What matters in the alloy it is like and the certificate does not name: as much as that permits. @param {any} row @param {any} like @param {any} elements @returns {Constituent[]} */
function assumed({ base, composition }, like, elements) {
  const named = [base, ...composition.map((/** @type {Line} */ { element }) => element)];
  const cited = (/** @type {string} */ symbol) => like.composition.find((/** @type {Constituent} */ one) => one.element === symbol).source ?? like.source;
  return mattering(like.composition, elements).filter(({ symbol }) => !named.includes(symbol))
    .map(({ symbol, high }) => ({ element: symbol, source: cited(symbol), high }));
}

/**
 * g/cm3 by the reciprocal rule, 100 / density = sum of (weight % / density); null where more than 1 % has no density.
 * @param {Constituent[]} composition @param {Record<string, number>} densities
 */
export function densityByParts(composition, densities) {
  const weights = composition.map((one) => {
    const part = share(composition, one.element);
    return { element: one.element, weight: (one.rest ? part?.high : part?.low) ?? 0 };
  });
  const known = weights.filter(({ element }) => element in densities);
  const sum = (/** @type {{ weight: number }[]} */ list) => list.reduce((total, { weight }) => total + weight, 0);
  if (sum(known) <= 0 || sum(weights) - sum(known) > WITHOUT_DENSITY) return null;
  return tidy(sum(known) / known.reduce((total, { element, weight }) => total + weight / densities[element], 0), 2);
}

/** @param {any} row @param {any} like @param {Constituent[]} found @param {any} library */
function densityOf(row, like, found, { densities = {} }) {
  if (row.density) return { ...row.density, source: row.id, origin: "from the certificate" };
  if (like?.density) return { ...like.density, origin: `of ${row.like}, the nearest in the library` };
  const value = densityByParts(found, densities);
  return value ? { value, unit: "g/cm3", source: densities.source, origin: "worked out from its elements, to a few per cent" } : null;
}

/** The card of an own alloy, of the shape of the library's. @param {Definition} row @param {any} library the cards @returns {any} */
export function ownCard(row, library) {
  const like = row.like ? library.alloys[row.like] ?? null : null;
  const found = own(row.base, row.composition);
  const added = like ? assumed(/** @type {any} */ (row), like, library.elements) : [];
  const several = added.some(({ source }) => source !== row.id);
  const composition = [...found.map((one) => (several ? { ...one, source: row.id } : one)), ...added];
  const known = like ? mattering(like.composition, library.elements).map(({ symbol }) => symbol) : [];
  const beyond = like ? mattering(composition, library.elements).map(({ symbol }) => symbol).filter((symbol) => !known.includes(symbol)) : [];
  // What matters beyond the card must not end in the bin of that card's alloy.
  const scrap = row.scrap ?? (beyond.length ? null : like?.scrap) ?? "own";
  const density = densityOf(row, like, found, library);
  return {
    name: row.name, base: row.base, family: like?.family ?? FAMILY, chips: like?.chips ?? "unknown", dust: like?.dust ?? "unknown", scrap,
    composition, source: row.id, certificate: row.certificate.number,
    ...(row.uns ? { uns: row.uns } : {}), ...(density ? { density } : {}), ...(row.notes ? { notes: row.notes } : {}), ...(like ? { like: row.like } : {}),
    ...(beyond.length ? { beyond } : {}), ...(added.length ? { assumed: added.map(({ element }) => element) } : {}), ...(row.retired ? { retired: true } : {}),
  };
}

/** @param {Definition} row */
const sourceOf = ({ certificate: { number, source, dated } }) => ({ text: `Mill certificate ${number}: ${source}`, where: "kept by the shop", dated, mark: "seen" });

/**
 * The library's cards with the shop's own alloys before its own.
 * @param {any} library the cards, or null while this phone has none @param {Definition[]} rows definitions of alloys
 */
export function withOwn(library, rows) {
  if (!library || !rows.length) return library;
  return {
    ...library, alloys: { ...Object.fromEntries(rows.map((row) => [row.id, ownCard(row, library)])), ...library.alloys },
    sources: { ...library.sources, ...Object.fromEntries(rows.map((row) => [row.id, sourceOf(/** @type {any} */ (row))])) },
  };
}
