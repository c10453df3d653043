// Coolant arithmetic: what a refractometer shows, how much concentrate and water to add.
// Twin of webapp/core/mix.py, where the formulas have their sources; held to tests/vectors/mix.json.
// Volumes are in one unit throughout (L or gal), strengths in per cent by volume.
import { isNumber, say, tidy } from "./numbers.js";
import { Problem } from "./problems.js";

/**
 * @typedef {{drain: number, concentrate: number, water: number, exact_drain: number, exact_concentrate: number,
 *   exact_water: number, makeup: number|null, volume: number, strength: number, undrained: number|null,
 *   reachable: boolean}} TopUp drain first, then add; `makeup` is the strength of what is added, mixed beforehand;
 *   `undrained` the strength that filling up without the draining would give
 */

const GALLON_CUBIC_INCHES = 231;
// Below this share of a step two volumes count as the same: binary leaves a residue of about 1e-13.
const RESIDUE = 1e-9;

/**
 * Strength in % from a refractometer reading (Brix) and the factor on the coolant's data sheet.
 * @param {number} reading
 * @param {number} factor
 */
export function strength(reading, factor) {
  aboveZero(factor, "factor");
  notBelow(reading, "reading", 0);
  const made = reading * factor;
  if (made > 100) {
    throw new Problem("reading", `${say(made)} % is more than pure concentrate.`, "Check reading and factor.");
  }
  return tidy(made);
}

/**
 * The refractometer reading (Brix) to aim at for a strength in %.
 * @param {number} percent
 * @param {number} factor
 */
export function readingFor(percent, factor) {
  checkPercent(percent, "percent");
  aboveZero(factor, "factor");
  return tidy(percent / factor);
}

/**
 * How to bring a sump from `level` at `percent` % to `fill_to` (its capacity when left out) at `target` %.
 * `step` is the smallest amount that can be measured: concentrate is rounded to the nearest step, water down,
 * drainage up, so that the sump never runs over.
 * @param {{capacity: number, level: number, percent: number, target: number, fill_to?: number|null, step?: number}} sump
 * @returns {TopUp}
 */
export function topUp({ capacity, level, percent, target, fill_to: fillTo, step = 0 }) {
  aboveZero(capacity, "capacity");
  const full = fillTo ?? capacity;
  checkLevels(capacity, level, full);
  const now = checkPercent(percent, "percent") / 100;
  const aim = checkPercent(target, "target") / 100;
  if (!(aim > 0 && aim < 1)) {
    throw new Problem("target", `${say(target)} % is no mix.`, "Give a strength between 0 and 100 %.");
  }
  notBelow(step, "step", 0);
  let keep = kept(level, full, now, aim);
  const needed = full * aim - keep * now;
  const exact = { drain: level - keep, concentrate: needed, water: full - keep - needed };
  if (step && keep < level) keep = Math.max(level - stepsUp(level - keep, step), 0);
  const [concentrate, water] = pour(keep, full, now, aim, step);
  return mixed({ level, keep, full, now, aim }, exact, concentrate, water);
}

/**
 * The strengths in % that filling from `level` to `fill_to` (its capacity when left out) can give without draining:
 * with water alone and with concentrate alone.
 * @param {{capacity: number, level: number, percent: number, fill_to?: number|null}} sump
 * @returns {{room: number, low: number, high: number}}
 */
export function reach({ capacity, level, percent, fill_to: fillTo }) {
  aboveZero(capacity, "capacity");
  const full = fillTo ?? capacity;
  checkLevels(capacity, level, full);
  const now = checkPercent(percent, "percent") / 100;
  const room = Math.max(full - level, 0);
  const held = level + room;
  return { room: tidy(room), low: tidy(((level * now) / held) * 100), high: tidy(((level * now + room) / held) * 100) };
}

/**
 * How much of the old mix can stay: all, unless it is too strong, too weak or too much.
 * @type {(level: number, full: number, now: number, aim: number) => number}
 */
function kept(level, full, now, aim) {
  let keep = Math.min(level, full);
  if (now > aim) keep = Math.min(keep, (full * aim) / now);
  else if (now < aim) keep = Math.min(keep, (full * (1 - aim)) / (1 - now));
  return tidy(level - keep) <= RESIDUE * full ? level : keep;
}

/**
 * Concentrate and water to add to what was kept, in whole steps.
 * @type {(keep: number, full: number, now: number, aim: number, step: number) => [number, number]}
 */
function pour(keep, full, now, aim, step) {
  const room = Math.max(full - keep, 0);
  let concentrate = Math.min(Math.max(full * aim - keep * now, 0), room);
  if (step) {
    concentrate = Math.min(Math.floor(concentrate / step + 0.5), Math.floor(room / step + RESIDUE)) * step;
  }
  const water = Math.max(room - concentrate, 0);
  return [concentrate, step ? Math.floor(water / step + RESIDUE) * step : water];
}

/**
 * @param {{level: number, keep: number, full: number, now: number, aim: number}} figures
 * @param {{drain: number, concentrate: number, water: number}} exact
 * @param {number} concentrate
 * @param {number} water
 * @returns {TopUp}
 */
function mixed({ level, keep, full, now, aim }, exact, concentrate, water) {
  const added = concentrate + water;
  const volume = keep + concentrate + water;
  const room = Math.max(full - level, 0);
  const undrained = level * now + (now < aim ? room : 0);
  const drained = tidy(Math.max(exact.drain, 0));
  return {
    drain: tidy(level - keep),
    concentrate: tidy(concentrate),
    water: tidy(water),
    exact_drain: drained,
    exact_concentrate: tidy(Math.max(exact.concentrate, 0)),
    exact_water: tidy(Math.max(exact.water, 0)),
    makeup: added > 0 ? tidy((concentrate / added) * 100) : null,
    volume: tidy(volume),
    strength: volume > 0 ? tidy(((keep * now + concentrate) / volume) * 100) : 0,
    undrained: exact.drain > 0 ? tidy((undrained / (level + room)) * 100) : null,
    reachable: drained === 0,
  };
}

/**
 * Concentrate that raises a volume's strength when its level may rise: V (c2 - c1) / (1 - c2).
 * @param {number} volume
 * @param {number} percent
 * @param {number} target
 */
export function neat(volume, percent, target) {
  notBelow(volume, "volume", 0);
  const now = checkPercent(percent, "percent") / 100;
  const aim = checkPercent(target, "target") / 100;
  if (aim >= 1) throw new Problem("target", "100 % is not reached by adding.", "Give a strength below 100 %.");
  if (aim < now) {
    throw new Problem("target", "It lies below the strength now.", "Add water instead, or raise the target.");
  }
  return tidy((volume * (aim - now)) / (1 - aim));
}

/**
 * Both meanings of "1:20": 1 part to 20 of water (1/21) and 1 part in 20 (1/20); sources use either.
 * @param {string} text
 */
export function ratio(text) {
  const match = /^\s*1\s*[:/]\s*(\d+(?:\.\d+)?)\s*$/.exec(text);
  if (!match || Number(match[1]) < 1) {
    throw new Problem("ratio", `"${text}" is not a ratio.`, "Write it as 1:20, or give per cent.");
  }
  const parts = Number(match[1]);
  return { one_to: tidy(100 / (1 + parts)), one_in: tidy(100 / parts) };
}

/**
 * A strength as people write it, in %: "8", "8 %", or "1:20" with `meaning` "to" (1/21) or "in" (1/20).
 * A ratio without its meaning is refused: the sources use both, and nobody should guess.
 * @param {string} text
 * @param {string|null} [meaning]
 */
export function percentOf(text, meaning = null) {
  const match = /^\s*(\d+(?:[.,]\d+)?)\s*%?\s*$/.exec(text);
  if (match) return tidy(checkPercent(Number(match[1].replace(",", ".")), "target"));
  const both = ratio(text);
  if (meaning === "to") return both.one_to;
  if (meaning === "in") return both.one_in;
  throw new Problem(
    "meaning",
    `${text.trim()} can be ${say(both.one_to)} % (1 part to the water) or ${say(both.one_in)} % (1 part in the whole).`,
    "Say which of the two is meant.",
  );
}

/**
 * What a rectangular sump holds: inches give US gallons ("us"), centimetres give litres ("metric").
 * @param {number} length
 * @param {number} width
 * @param {number} depth
 * @param {string} units
 */
export function sumpVolume(length, width, depth, units) {
  aboveZero(length, "length");
  aboveZero(width, "width");
  aboveZero(depth, "depth");
  if (units !== "us" && units !== "metric") {
    throw new Problem("units", `"${units}" is not known.`, "Give us or metric.");
  }
  return tidy((length * width * depth) / (units === "us" ? GALLON_CUBIC_INCHES : 1000));
}

/** @type {(amount: number, step: number) => number} */
const stepsUp = (amount, step) => Math.ceil(amount / step - RESIDUE) * step;

/** @type {(capacity: number, level: number, full: number) => void} */
function checkLevels(capacity, level, full) {
  notBelow(level, "level", 0);
  aboveZero(full, "fill_to");
  for (const [value, field] of /** @type {[number, string][]} */ ([[level, "level"], [full, "fill_to"]])) {
    if (value > capacity) {
      throw new Problem(field, `${say(value)} is more than the sump holds (${say(capacity)}).`, "Measure again.");
    }
  }
}

/** @type {(value: number, field: string) => number} */
function checkPercent(value, field) {
  notBelow(value, field, 0);
  if (value > 100) throw new Problem(field, `${say(value)} % is more than pure concentrate.`, "Give 0 to 100 %.");
  return value;
}

/** @type {(value: unknown, field: string) => void} */
function aboveZero(value, field) {
  if (!isNumber(value) || value <= 0) {
    throw new Problem(field, "It is not a number above zero.", "Measure it, or look on the data sheet.");
  }
}

/** @type {(value: unknown, field: string, least: number) => void} */
function notBelow(value, field, least) {
  if (!isNumber(value) || value < least) {
    throw new Problem(field, `It is not a number of ${say(least)} or more.`, "Measure it again.");
  }
}
