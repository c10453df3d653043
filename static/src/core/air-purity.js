// Purity classes of compressed air, ISO 8573-1:2010. Twin of webapp/core/air_purity.py, held to tests/vectors/air.json.
import { known } from "./figures.js";
import { isNumber } from "./numbers.js";
import { Problem } from "./problems.js";

/** @typedef {{designation: string, particles: string, water: string, oil: string, source: string}} Purity */

const SOURCE = "ISO 8573-1:2010, as printed in a dryer maker's manual (easymanua.ls, p. 17)";
/** @type {Record<string, (number|null)[]>} Particles a cubic metre at most, by size (null: no limit given). */
const PARTICLES = {
  1: [20000, 400, 10],
  2: [400000, 6000, 100],
  3: [null, 90000, 1000],
  4: [null, null, 10000],
  5: [null, null, 100000],
};
const SIZES = ["0.1 to 0.5 um", "0.5 to 1 um", "1 to 5 um"];
/** @type {Record<string, string>} */
const PARTICLE_MASS = { 6: "over 0 to 5 mg/m3", 7: "over 5 to 10 mg/m3" };
/** @type {Record<string, number>} */
const DEW_POINT = { 1: -70, 2: -40, 3: -20, 4: 3, 5: 7, 6: 10 };
/** @type {Record<string, string>} */
const LIQUID_WATER = { 7: "at most 0.5 g/m3", 8: "over 0.5 to 5 g/m3", 9: "over 5 to 10 g/m3" };
/** @type {Record<string, number>} */
const OIL = { 1: 0.01, 2: 0.1, 3: 1, 4: 5 };
/** @type {Record<string, string>} What the classes without figures mean. */
const PLAIN = { "-": "not specified", 0: "stricter than class 1, as agreed", X: "worse than the last class" };

/**
 * The limits of a designation "[particles:water:oil]", such as "[2:4:2]" or "2:-:1".
 * @param {string} designation
 * @returns {Purity}
 */
export function purity(designation) {
  const text = typeof designation === "string" ? designation.toUpperCase() : "";
  const found = /^\s*\[?\s*([0-7X-])\s*:\s*([0-9X-])\s*:\s*([0-4X-])\s*\]?\s*$/.exec(text);
  if (!found) throw new Problem("designation", `"${designation}" is no purity.`, "Write particles, water, oil: [2:4:2].");
  const [, particles, water, oil] = found;
  return {
    designation: `[${particles}:${water}:${oil}]`,
    particles: particlesOf(particles),
    water: LIQUID_WATER[water] ?? (water in DEW_POINT ? `dew point at pressure ${DEW_POINT[water]} C or lower` : PLAIN[water]),
    oil: oil in OIL ? `at most ${OIL[oil]} mg/m3` : PLAIN[oil],
    source: SOURCE,
  };
}

/**
 * The class of a measured "dew point" (C, at pressure) or "oil" (mg/m3); "X" when it is worse than all of them.
 * @param {string} quantity
 * @param {number} value
 */
export function purityClass(quantity, value) {
  const limits = known(quantity, "quantity", ["dew point", "oil"]) === "oil" ? OIL : DEW_POINT;
  if (!isNumber(value) || (quantity === "oil" && value < 0) || value < -150 || value > 100) {
    throw new Problem("value", "It is no dew point or oil content.", "Give degrees C, or mg of oil in a m3.");
  }
  return Object.keys(limits).find((name) => value <= limits[name]) ?? "X";
}

/** @param {string} name */
function particlesOf(name) {
  if (name in PARTICLE_MASS) return PARTICLE_MASS[name];
  if (!(name in PARTICLES)) return PLAIN[name];
  const told = PARTICLES[name].flatMap((limit, at) => (limit === null ? [] : [`${limit} of ${SIZES[at]}`]));
  return `at most ${told.join(", ")} in a m3`;
}
