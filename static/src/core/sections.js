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
  rectangle: ["width", "height"],
  box: ["width", "height", "wall"],
};
// Longer than any bar in any unit that a shop types: a slip of the finger.
const LONGEST = 1000000;
const MOST_COUNTED = 1000000000;
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
  const values = names.map((name) => checkLength(measures[name], name));
  const [one, two] = values;
  if (shape === "round") return tidy((Math.PI * one * one) / 4);
  if (shape === "square") return tidy(one * one);
  if (shape === "plate") return tidy(one * two);
  if (shape === "hex") return tidy((Math.sqrt(3) / 2) * one * one);
  if (shape === "rectangle") return tidy(one * two);
  return hollow(shape, values);
}

/**
 * The area of a tube (outside, wall), or of a square-cornered box (width, height, wall).
 * @param {string} shape
 * @param {number[]} values
 */
function hollow(shape, values) {
  const wall = values[values.length - 1];
  const least = Math.min(...values.slice(0, -1));
  if (wall * 2 > least) {
    const [words, mend] = shape === "tube" ? ["outside diameter", "diameter"] : ["narrower side", "sides"];
    throw new Problem("wall", `It is more than half the ${words}.`, `Measure wall and ${mend}.`);
  }
  if (shape === "tube") return tidy(Math.PI * wall * (least - wall));
  return tidy(2 * wall * (values[0] + values[1] - 2 * wall));
}

/**
 * The area of one cut through so many equal pieces clamped together.
 * @param {string} shape
 * @param {Record<string, number>} measures
 * @param {number} pieces
 */
export function bundle(shape, measures, pieces) {
  const each = area(shape, measures);
  if (checkCount(pieces, "pieces") < 1 || pieces !== Math.floor(pieces)) {
    throw new Problem("pieces", "It is not a whole number of 1 or more.", "Count the pieces in the vice.");
  }
  return tidy(each * pieces);
}

/**
 * How many blanks a bar gives, and the cuts for them; the last blank needs no cut when it comes out even.
 * `endLoss` is trimmed off the raw end by a cut of its own; `grip` is the shortest rest that the vice still holds,
 * so that with one the last blank is cut off too. What is left over includes the grip.
 * @param {number} bar
 * @param {number} blank
 * @param {number} [kerf]
 * @param {number} [endLoss]
 * @param {number} [grip]
 * @returns {{blanks: number, cuts: number, left_over: number}}
 */
export function part(bar, blank, kerf = 0, endLoss = 0, grip = 0) {
  checkParting(bar, blank, kerf, endLoss, grip);
  const trims = endLoss > 0 ? 1 : 0;
  const usable = bar - endLoss - trims * kerf;
  if (blank + (grip > 0 ? kerf + grip : 0) > usable + SLACK) {
    throw new Problem("bar", "No blank is left after end loss and grip.", "Give a longer bar, or less loss.");
  }
  if (grip > 0) {
    const held = Math.floor((usable - grip + SLACK) / (blank + kerf));
    return { blanks: held, cuts: held + trims, left_over: tidy(usable - held * (blank + kerf)) };
  }
  const blanks = Math.floor((usable + kerf + SLACK) / (blank + kerf));
  const rest = usable - blanks * blank - (blanks - 1) * kerf;
  if (rest <= SLACK) return { blanks, cuts: blanks - 1 + trims, left_over: 0 };
  return { blanks, cuts: blanks + trims, left_over: tidy(Math.max(rest - kerf, 0)) };
}

/** @type {(bar: number, blank: number, kerf: number, endLoss: number, grip: number) => void} */
function checkParting(bar, blank, kerf, endLoss, grip) {
  checkLength(bar, "bar");
  checkLength(blank, "blank");
  checkLoss(kerf, "kerf", "Give the width of the cut, or 0.");
  checkLoss(endLoss, "end_loss", "Give the length trimmed off the raw end, or 0.");
  checkLoss(grip, "grip", "Give the shortest rest that the vice holds, or 0.");
  if (kerf > blank) throw new Problem("kerf", "It is wider than the blank.", "Check both figures and their unit.");
  if (blank > bar + SLACK) throw new Problem("blank", "It is longer than the bar.", "Check both lengths.");
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
  return notAbsurd(value, field, LONGEST);
}

/** @type {(value: unknown, field: string, mend: string) => void} */
function checkLoss(value, field, mend) {
  if (!isNumber(value) || value < 0) throw new Problem(field, "It is not a number of 0 or more.", mend);
  notAbsurd(value, field, LONGEST);
}

/** @type {(value: number, field: string, most: number) => number} */
function notAbsurd(value, field, most) {
  if (value > most) throw new Problem(field, `It is more than ${most}.`, "Check the figure and its unit.");
  return value;
}

/** @type {(value: unknown, field: string) => number} */
function checkCount(value, field) {
  if (!isNumber(value) || value < 0) {
    throw new Problem(field, "It is not a number of 0 or more.", "Count it again.");
  }
  return notAbsurd(value, field, MOST_COUNTED);
}
