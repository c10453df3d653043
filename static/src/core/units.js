// Inch and metric; twin of webapp/core/units.py. Factors are exact by definition, those of water hardness to five figures.
import { Problem } from "./problems.js";

/** @type {Record<string, number>[]} Each unit as a multiple of the first of its kind. */
const KINDS = [
  { mm: 1, cm: 10, in: 25.4, m: 1000, ft: 304.8 },
  { mm2: 1, cm2: 100, "sq in": 645.16 },
  { L: 1, mL: 0.001, gal: 3.785411784, "fl oz": 0.0295735295625 },
  { kPa: 1, bar: 100, psi: 6.894757293168 },
  { "m/s": 1, "m/min": 1 / 60, "ft/min": 0.00508 },
  { ppm: 1, dGH: 17.848, gpg: 17.118, clark: 14.254, fH: 10, "mmol/L": 100.0869 },
];

/**
 * A value in another unit of the same kind, unrounded.
 * @param {number} value
 * @param {string} unit
 * @param {string} to
 */
export function convert(value, unit, to) {
  const kind = KINDS.find((one) => unit in one && to in one);
  if (!kind) throw new Problem("unit", `${unit} cannot be turned into ${to}.`, "Use two units of the same kind.");
  return (value * kind[unit]) / kind[to];
}

/** @param {number} fahrenheit */
export const celsius = (fahrenheit) => (fahrenheit - 32) / 1.8;

/** @param {number} degrees Celsius */
export const fahrenheit = (degrees) => degrees * 1.8 + 32;
