// An alloy of the shop's own as the values of a form, and those values as a definition or errors that say the mend.
import { composed } from "../../core/certificates.js";
import { Problem } from "../../core/problems.js";
import { readNumber } from "../../kit/numbers.js";
import { readCertificate, typedLines } from "../air/certificate.js";
import { named } from "./naming.js";

/** @typedef {Record<string, string | null>} Errors */

/** @param {any} value */
const text = (value) => (value === null || value === undefined ? "" : String(value));

/** @param {any} row a definition, or nothing for a new one @param {{ like?: string, base?: string, says?: string, unit?: string }} [begun] */
export const alloyValues = (row, { like = "", base = "", says = "", unit = "g/cm3" } = {}) => ({
  name: text(row?.name), uns: text(row?.uns), like: row ? text(row.like) : like, base: row ? row.base : base, says: row ? typedLines(row.composition) : says,
  number: text(row?.certificate.number), source: text(row?.certificate.source), dated: text(row?.certificate.dated),
  density: text(row?.density?.value), density_unit: text(row?.density?.unit ?? unit), scrap: text(row?.scrap), notes: text(row?.notes),
});

/** What is wrong with the figures, and under which field it stands. @param {string} base @param {string} says @returns {{ lines: import("../../core/own-alloys.js").Line[], errors: Errors }} */
function readFigures(base, says) {
  const { lines, error } = readCertificate(says);
  if (error) return { lines, errors: { says: error } };
  try {
    composed(base, lines);
    return { lines, errors: {} };
  } catch (problem) {
    if (!(problem instanceof Problem)) throw problem;
    return { lines, errors: { [problem.field === "base" ? "base" : "says"]: `${problem.problem} ${problem.mend}` } };
  }
}

/** @param {Record<string, string>} values @param {any} cards the library's, or null @returns {{ errors: Errors, body: Record<string, any> }} */
export function readAlloy(values, cards) {
  const { name, uns, like, base, says, number, source, dated, scrap, notes } = values;
  const density = readNumber(values.density, { name: "The density", optional: true, above: 0, max: 100 });
  const figures = says.trim() ? readFigures(base, says) : { lines: [], errors: { says: "The analysis is empty. Copy it from the certificate, such as Cu 61.5, Zn 35.8, Pb 2.7." } };
  const other = like && cards?.alloys[like] && cards.alloys[like].base !== base ? `Its main metal is ${cards.alloys[like].base}. Choose one of the same main metal, or none.` : null;
  const errors = {
    ...figures.errors, name: named(name, "The name", 80), number: named(number, "The number", 60), source: named(source, "Whose it is", 200), like: other, density: density.error,
    base: base ? figures.errors.base ?? null : "No main metal is chosen. Choose the one that there is most of.", dated: dated ? null : "The date is empty. Give the one on the certificate.",
    uns: !uns.trim() || /^[A-Z]\d{5}$/.test(uns.trim().toUpperCase()) ? null : "It is no UNS number. Write a letter and five digits, such as C36000, or leave it empty.",
  };
  const more = { uns: uns.trim().toUpperCase(), like, scrap, notes: notes.trim(), density: density.value === null ? null : { value: density.value, unit: values.density_unit } };
  return {
    errors,
    body: {
      name: name.trim(), base, composition: figures.lines, certificate: { number: number.trim(), source: source.trim(), dated },
      ...Object.fromEntries(Object.entries(more).filter(([, value]) => value)),
    },
  };
}
