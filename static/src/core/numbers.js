// Numbers so rounded that JavaScript and Python agree to the last digit; twin of webapp/core/numbers.py.

/**
 * Round half up to so many places.
 * @param {number} value
 * @param {number} [places]
 */
export function tidy(value, places = 6) {
  const scale = 10 ** places;
  // Adding 0 turns a negative zero into a plain one.
  return Math.floor(value * scale + 0.5) / scale + 0;
}

/**
 * A number for a sentence: at most two decimals.
 * @param {number} value
 */
export const say = (value) => String(tidy(value, 2));

/**
 * True for a finite number.
 * @param {unknown} value
 * @returns {value is number}
 */
export const isNumber = (value) => typeof value === "number" && Number.isFinite(value);
