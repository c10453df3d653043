// What may be noted with a change beyond its reason: it tells lives apart by grade, material and edge later on.
import { readNumber } from "../../kit/numbers.js";

/** @typedef {{ material: string, grade: string, edge: string, tool: string, stickOut: string }} Notes as typed */

export const NO_NOTES = { material: "", grade: "", edge: "", tool: "", stickOut: "" };

/** Which notes make sense for a kind of part: an edge on what cuts, a stick-out on what stands in a holder. @param {string} kind */
export function notedOf(kind) {
  const held = /cutter|drill|tap|reamer|tool/.test(kind);
  return { held, edged: held || /blade|knife|insert/.test(kind) };
}

/** The unit in which a shop measures how far a cutter stands out. @param {string | undefined} units */
export const stickOutUnit = (units) => (units === "metric" ? "mm" : "in");

/**
 * The typed notes as fields of the entry, empty ones left out, and their errors.
 * @param {Notes} typed @param {string} kind @param {string} unit of the stick-out
 * @returns {{ body: Record<string, any>, errors: Record<string, string | null> }}
 */
export function readNotes(typed, kind, unit) {
  const { held, edged } = notedOf(kind);
  const stick = readNumber(held ? typed.stickOut : "", { name: "The stick-out", above: 0, max: 10_000, optional: true });
  const words = { material: typed.material.trim(), grade: typed.grade.trim(), edge: edged ? typed.edge : "", tool: held ? typed.tool.trim() : "" };
  const body = {
    ...Object.fromEntries(Object.entries(words).filter(([, text]) => text)),
    ...(stick.value === null ? {} : { stick_out: { value: stick.value, unit } }),
  };
  return { body, errors: { stickOut: stick.error } };
}
