// Coolant in its sump: what a reading is worth, how much stands in the sump at a depth.
// Twin of the phone's part of webapp/core/coolant.py; held to tests/vectors/coolant.json.
import { strength, sumpVolume } from "./mix.js";
import { isNumber, say, tidy } from "./numbers.js";
import { Problem } from "./problems.js";
import { convert } from "./units.js";

/**
 * @typedef {{shape: "flat", length: number, width: number, unit: string}|{table: [number, number][], unit: string}} Sump
 *   `unit` is that of length, width and depth: in, cm or mm; a table's rows are depth and volume, rising
 */

/** A capacity or a depth that was rounded when it was written down is not called too much for that. */
const SLACK = 1.001;

/** How far from 0 a refractometer may show on water, in Brix (common practice, no source). */
export const ZERO_TOLERANCE = 0.2;

/**
 * Whether the instrument may be used: on water it shows 0 within `tolerance` (Brix).
 * @param {number} shown
 * @param {number} [tolerance]
 */
export function zeroCheck(shown, tolerance = ZERO_TOLERANCE) {
  if (!isNumber(shown)) throw new Problem("zero", "It is not a number.", "Read it again.");
  // A print of 0.2 may come as 0.20000000000000001.
  return Math.abs(shown) <= tolerance + 1e-9;
}

/**
 * Strength from a refractometer reading; `zero` is what the instrument showed on water just before. Refused when
 * that is off by more than `tolerance`; without a zero check the strength is given and marked so.
 * @param {number} reading
 * @param {number} factor
 * @param {number|null} [zero]
 * @param {number} [tolerance]
 */
export function readStrength(reading, factor, zero = null, tolerance = ZERO_TOLERANCE) {
  if (zero !== null && !zeroCheck(zero, tolerance)) {
    throw new Problem(
      "zero",
      `On water the instrument shows ${say(zero)}, more than ${say(tolerance)} off.`,
      "Set it to 0 on water, then read the coolant again.",
    );
  }
  return { percent: strength(reading, factor), zeroed: zero !== null };
}

/**
 * What stands in the sump at a depth (in the sump's unit), in `unit` (L or gal).
 * @param {Sump} sump
 * @param {number} depth
 * @param {number} capacity
 * @param {string} unit
 */
export function volumeAt(sump, depth, capacity, unit) {
  notBelowZero(depth, "depth");
  if ("table" in sump) return tidy(between(rowsOf(sump.table), depth, "depth", sump.unit));
  const held = flat(sump, depth, unit);
  if (held > capacity * SLACK) {
    throw new Problem(
      "depth",
      `${say(depth)} ${sump.unit} makes ${say(held)} ${unit}, more than the sump holds (${say(capacity)}).`,
      "Measure again, or mend the sump's length and width.",
    );
  }
  return tidy(Math.min(held, capacity));
}

/**
 * How deep a volume stands: the mark to fill to, in the sump's unit. The inverse of `volumeAt`.
 * @param {Sump} sump
 * @param {number} volume
 * @param {number} capacity
 * @param {string} unit
 */
export function depthAt(sump, volume, capacity, unit) {
  notBelowZero(volume, "volume");
  if (volume > capacity * SLACK) {
    throw new Problem("volume", `${say(volume)} is more than the sump holds (${say(capacity)}).`, "Give less.");
  }
  if ("table" in sump) {
    const rows = rowsOf(sump.table).map(([depth, held]) => /** @type {[number, number]} */ ([held, depth]));
    return tidy(between(rows, volume, "volume", unit));
  }
  return tidy(volume / flat(sump, 1, unit));
}

/** @type {(sump: {length: number, width: number, unit: string}, depth: number, unit: string) => number} */
function flat({ length, width, unit: measure }, depth, unit) {
  if (depth === 0) return 0;
  if (measure === "in") return convert(sumpVolume(length, width, depth, "us"), "gal", unit);
  const [long, wide, deep] = [length, width, depth].map((value) => convert(value, measure, "cm"));
  return convert(sumpVolume(long, wide, deep, "metric"), "L", unit);
}

/** @type {(table: [number, number][]) => [number, number][]} */
const rowsOf = (table) => (table[0][0] === 0 ? table : [[0, 0], ...table]);

/**
 * Straight between two rows, both columns rising; below the first (a rest no dipstick reaches) that row holds.
 * @type {(rows: [number, number][], at: number, field: string, unit: string) => number}
 */
function between(rows, at, field, unit) {
  if (at < rows[0][0]) return rows[0][1];
  for (let next = 1; next < rows.length; next += 1) {
    const [low, from] = rows[next - 1];
    const [high, to] = rows[next];
    if (at <= high) return from + ((to - from) * (at - low)) / (high - low);
  }
  const [top, most] = rows[rows.length - 1];
  if (at <= top * SLACK) return most;
  throw new Problem(field, `${say(at)} ${unit} is beyond the sump's table (${say(top)}).`, "Measure again, or extend it.");
}

/** @type {(value: unknown, field: string) => void} */
function notBelowZero(value, field) {
  if (!isNumber(value) || value < 0) throw new Problem(field, "It is not a number of 0 or more.", "Measure it again.");
}
