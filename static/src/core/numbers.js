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
 * How many decimals a figure is said with: two, but three figures of what is below a tenth. A gauge's 0.0015 in must not
 * read as 0, nor a feeler's 0.015 in as 0.02.
 * @param {number} value
 */
export function placesOf(value) {
  const size = Math.abs(value);
  return size >= 0.1 ? 2 : size >= 0.01 ? 4 : size >= 0.001 ? 5 : 6;
}

/**
 * A number for a sentence: at most two decimals, but three figures of what is below a tenth.
 * @param {number} value
 */
export const say = (value) => String(tidy(value, placesOf(value)));

/**
 * True for a finite number.
 * @param {unknown} value
 * @returns {value is number}
 */
export const isNumber = (value) => typeof value === "number" && Number.isFinite(value);
