// What a saw cuts: section areas, the cuts that part a bar, what a batch adds to the meters.
// Twin of webapp/core/sections.py, held to tests/vectors/sections.json. Lengths are in one unit, areas in its square.
import { isNumber, tidy } from "./numbers.js";
import { Problem } from "./problems.js";

/** @type {Record<string, string[]>} The measures that each shape needs, as the form asks for them. */
export const SHAPES = {
  round: ["diameter"],
  square: ["side"],
  plate: ["width", "thickness"],
  tube: ["outside", "wall"],
  hex: ["flats"],
};
// A bar that is short of a whole blank by less than this, in its own unit, counts as whole.
const SLACK = 1e-6;

/**
 * The area of one straight cut; a plate is cut across its width or ripped along its length (`width` either way).
 * @param {string} shape
 * @param {Record<string, number>} measures
 */
export function area(shape, measures) {
  const names = Object.hasOwn(SHAPES, shape) ? SHAPES[shape] : null;
  if (!names) {
    throw new Problem("shape", `"${shape}" is not known.`, `Give one of: ${Object.keys(SHAPES).join(", ")}.`);
  }
  const [one, two] = names.map((name) => checkLength(measures[name], name));
  if (shape === "round") return tidy((Math.PI * one * one) / 4);
  if (shape === "square") return tidy(one * one);
  if (shape === "plate") return tidy(one * two);
  if (shape === "hex") return tidy((Math.sqrt(3) / 2) * one * one);
  if (two * 2 > one) {
    throw new Problem("wall", "It is more than half the outside diameter.", "Measure wall and diameter.");
  }
  return tidy(Math.PI * two * (one - two));
}

/**
 * How many blanks a bar gives, and the cuts for them; the last blank needs no cut when it comes out even.
 * @param {number} bar
 * @param {number} blank
 * @param {number} [kerf]
 * @returns {{blanks: number, cuts: number, left_over: number}}
 */
export function part(bar, blank, kerf = 0) {
  checkLength(bar, "bar");
  checkLength(blank, "blank");
  if (!isNumber(kerf) || kerf < 0) {
    throw new Problem("kerf", "It is not a number of 0 or more.", "Give the width of the cut, or 0.");
  }
  if (blank > bar + SLACK) throw new Problem("blank", "It is longer than the bar.", "Check both lengths.");
  const blanks = Math.floor((bar + kerf + SLACK) / (blank + kerf));
  const rest = bar - blanks * blank - (blanks - 1) * kerf;
  if (rest <= SLACK) return { blanks, cuts: blanks - 1, left_over: 0 };
  return { blanks, cuts: blanks, left_over: tidy(Math.max(rest - kerf, 0)) };
}

/**
 * What so many cuts add to the cut-area meter.
 * @param {number} cuts
 * @param {number} areaPerCut
 */
export const cutArea = (cuts, areaPerCut) => tidy(checkCount(cuts, "cuts") * checkCount(areaPerCut, "area_per_cut"));

/**
 * What so many loads of a cycle add to the spindle-hour meter.
 * @param {number} loads
 * @param {number} minutesPerLoad
 */
export function spindleHours(loads, minutesPerLoad) {
  return tidy((checkCount(loads, "loads") * checkCount(minutesPerLoad, "minutes_per_load")) / 60);
}

/**
 * Holes that the drill makes in one load.
 * @param {number} pieces
 * @param {number} holesEach
 */
export const holes = (pieces, holesEach) => checkCount(pieces, "pieces") * checkCount(holesEach, "holes_each");

/** @type {(value: unknown, field: string) => number} */
function checkLength(value, field) {
  if (!isNumber(value) || value <= 0) throw new Problem(field, "It is not a length above zero.", "Measure it.");
  return value;
}

/** @type {(value: unknown, field: string) => number} */
function checkCount(value, field) {
  if (!isNumber(value) || value < 0) {
    throw new Problem(field, "It is not a number of 0 or more.", "Count it again.");
  }
  return value;
}
