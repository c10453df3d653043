// How a fluid is looked after, as the values of a form and back: its sump or dip table, the jug it is filled with, the
// water it is made with, what it is mixed to, the oil's grade.
import { readNumber } from "../../kit/numbers.js";

/** @typedef {import("./member-keys.js").Member} Member */
/** @typedef {Record<string, string | null>} Errors */

/** @param {any} value */
const text = (value) => (value === null || value === undefined ? "" : String(value));

/** A dip table as it is typed: a line a depth. @param {[number, number][] | undefined} table */
const tableText = (table) => (table ?? []).map((row) => row.join("  ")).join("\n");

/** @param {any} fluid a definition's */
export function careValues({ unit, sump, jug, hardness, grade, target }) {
  const table = sump?.table;
  return {
    sump_by: table ? "table" : "flat", sump_table: tableText(table), sump_length: text(table ? "" : sump?.length), sump_width: text(table ? "" : sump?.width),
    sump_unit: text(sump?.unit ?? (unit === "L" ? "cm" : "in")), jug: text(jug), aim: text(target),
    water: text(hardness?.value), water_unit: text(hardness?.unit ?? "ppm"), grade: text(grade),
  };
}

/**
 * A dip table: a depth and what the sump then holds on each line, both rising.
 * @param {string} typed
 * @returns {{ table: [number, number][] | null, error: string | null }} null for nothing typed
 */
export function readTable(typed) {
  const lines = typed.split("\n").map((line) => line.trim()).filter(Boolean);
  if (!lines.length) return { table: null, error: null };
  /** @type {[number, number][]} */
  const table = [];
  for (const line of lines) {
    const words = line.split(/[\s;:=]+/);
    const read = words.map((word) => readNumber(word, { name: `"${line}"`, min: 0, max: 1e6 }));
    const [depth, held] = read.map(({ value }) => value);
    if (words.length !== 2 || typeof depth !== "number" || typeof held !== "number") return { table: null, error: `"${line}" is no depth and volume. Write two figures on each line, such as 2 8.5.` };
    const before = table.at(-1);
    if (before && (depth <= before[0] || held <= before[1])) return { table: null, error: `"${line}" does not rise above the line before it. Begin at the bottom; depth and volume both grow.` };
    table.push([depth, held]);
  }
  return table.length < 2 ? { table: null, error: "One line makes no table. Write two depths at least." } : { table, error: null };
}

/** A sump with a flat bottom, by its length and width. @param {Member} one */
function readFlat(one) {
  const length = readNumber(one.sump_length ?? "", { name: "The sump's length", optional: true, above: 0, max: 1e5 });
  const width = readNumber(one.sump_width ?? "", { name: "The sump's width", optional: true, above: 0, max: 1e5 });
  const half = (length.value === null) !== (width.value === null) && !length.error && !width.error;
  const missing = "A flat sump needs its length and its width. Measure both inside, or leave both empty.";
  return {
    sump: length.value === null || width.value === null ? null : { shape: "flat", length: length.value, width: width.value },
    errors: { sump_length: length.error ?? (half && length.value === null ? missing : null), sump_width: width.error ?? (half && width.value === null ? missing : null) },
  };
}

/** @param {Member} one @returns {{ sump: Record<string, any> | null, errors: Errors }} */
function readSump(one) {
  if (one.sump_table?.table) return { sump: one.sump_table, errors: {} }; // in a draft of an older app
  if (one.sump_by !== "table") return readFlat(one);
  const { table, error } = readTable(text(one.sump_table));
  return { sump: table && { table }, errors: { sump_table: error } };
}

/** A draft of an older app has none of these. @param {Member} one @returns {{ errors: Errors, body: any }} */
export function readCare(one) {
  const { sump, errors } = readSump(one);
  const jug = readNumber(one.jug ?? "", { name: "The jug's mark", optional: true, above: 0, max: 1000 });
  const aim = readNumber(one.aim ?? text(one.kept?.target), { name: "The strength to mix to", optional: true, above: 0, max: 99 });
  const water = readNumber(one.water ?? "", { name: "The water's hardness", optional: true, min: 0, max: 1e5 });
  return {
    errors: { ...errors, jug: jug.error, aim: aim.error, water: water.error },
    body: {
      ...(sump ? { sump: { ...sump, unit: one.sump_unit || "in" } } : {}), ...(jug.value === null ? {} : { jug: jug.value }), ...(aim.value === null ? {} : { target: aim.value }),
      ...(one.grade ? { grade: Number(one.grade) } : {}), ...(water.value === null ? {} : { hardness: { value: water.value, unit: one.water_unit } }),
    },
  };
}

/** The values of a fluid not made yet. @param {string} unit of its volume */
export const noCare = (unit) => careValues({ unit });
