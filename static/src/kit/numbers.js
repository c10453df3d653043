// Figures in and out: what people type becomes a number or an error that names the mend.
import { placesOf } from "../core/numbers.js";

/**
 * @typedef {{ name: string, min?: number, above?: number, max?: number, whole?: boolean, optional?: boolean }} NumberRule
 */

/**
 * Read a typed figure. Spaces between digits are let pass. A comma counts as the decimal point, but not before three
 * digits: one shop writes a thousand so, another one and a quarter.
 * @param {string} text as typed
 * @param {NumberRule} rule `name` is what the field is called in the message
 * @returns {{ value: number | null, error: string | null }} value null when empty or bad
 */
export function readNumber(text, rule) {
  const plain = text.trim().replace(/[\s\u2009\u00a0]/g, "").replace(",", ".");
  if (/^[1-9]\d{0,2}(,\d{3})+$/.test(text.trim())) {
    return { value: null, error: `${rule.name} is "${text.trim()}", which can be read two ways. Type it without the comma.` };
  }
  if (plain === "") {
    return { value: null, error: rule.optional ? null : `${rule.name} is empty. Type a number.` };
  }
  if (!/^[-+]?(\d+\.?\d*|\.\d+)$/.test(plain)) {
    return { value: null, error: `${rule.name} is "${text.trim()}". Type digits only, such as 5.8.` };
  }
  const value = Number(plain);
  const error = outOfRange(value, rule);
  return { value: error ? null : value, error };
}

/** @param {number} value @param {NumberRule} rule @returns {string | null} */
function outOfRange(value, rule) {
  const { name, min, above, max, whole } = rule;
  if (whole && !Number.isInteger(value)) return `${name} is ${figure(value)}. Type a whole number.`;
  if (above !== undefined && value <= above) return `${name} is ${figure(value)}. It must be more than ${figure(above)}.`;
  if (min !== undefined && value < min) return `${name} is ${figure(value)}. It must be at least ${figure(min)}.`;
  if (max !== undefined && value > max) return `${name} is ${figure(value)}. It must be at most ${figure(max)}.`;
  return null;
}

/**
 * A figure for reading: thin spaces between thousands, at most `places` decimals, no trailing noughts.
 * @param {number | null | undefined} value
 * @param {number} [places] without it two, or three figures of what is below a tenth
 */
export function figure(value, places = placesOf(value ?? 0)) {
  if (value === null || value === undefined || !Number.isFinite(value)) return "–";
  const fixed = Math.abs(value).toFixed(places);
  const [whole = "0", part = ""] = fixed.split(".");
  const spaced = whole.length > 4 ? whole.replace(/\B(?=(\d{3})+$)/g, "\u2009") : whole;
  const tail = part.replace(/0+$/, "");
  const sign = value < 0 && Number(fixed) !== 0 ? "−" : "";
  return sign + spaced + (tail ? `.${tail}` : "");
}

/**
 * A figure short enough for a dial's face.
 * @param {number | null} value
 */
export function shortFigure(value) {
  if (value === null) return "–";
  const size = Math.abs(value);
  return figure(value, size >= 100 ? 0 : 1);
}

/** "1 entry", "3 entries". @param {number} count @param {string} one @param {string} [many] */
export function counted(count, one, many = `${one}s`) {
  return `${figure(count, 0)} ${count === 1 ? one : many}`;
}
