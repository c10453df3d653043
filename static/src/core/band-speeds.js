// Band speed by metal, size, coolant and blade: what each published table gives, with its source.
// Twin of webapp/core/band_speeds.py, held to tests/vectors/sawing.json.
import { aboveZero, isUs } from "./figures.js";
import { tidy } from "./numbers.js";
import { Problem } from "./problems.js";
import { MANUAL, MH31 } from "./sawing.js";

/** @typedef {{low: number, high: number, printed: string, changes: string[], unit: string, source: string}} Speed */

const CHART_6_IN = "a band-saw maker's chart for 6 in round, with coolant (manualshive.com, H-550A, p. 28)";
const CHART_DRY = "a band-saw maker's chart for dry cutting (manualsdump.com, SB1021, p. 27)";
const FPM_M_MIN = 0.3048;

/** @type {[string, number, string][]} Copper alloys by the digits of their UNS number (1751 is C17510), steels by AISI. */
const FOUR_INCH = [
  ["173 932", 314, MANUAL],
  ["330 365", 284, MANUAL],
  ["623 624", 264, MANUAL],
  ["230 260 272 280 264 632 655", 244, MANUAL],
  ["101 102 110 122 172 1751 182 220 510 625 706 715 934", 234, MANUAL],
  ["630", 229, MANUAL],
  ["811", 214, MANUAL],
  ["1117", 339, MANUAL],
  ["1137", 289, MANUAL],
  ["1141 1144", 279, MANUAL],
  ["304", 120, MH31],
];
/** @type {[string, number, number][]} */
const SIX_INCH = [
  ["302 304", 80, 90],
  ["303", 90, 100],
  ["316 420", 70, 80],
  ["321 347", 90, 100],
  ["410", 100, 110],
  ["416", 140, 150],
];
/** @type {Record<string, [number, number, number]>} Speeds for stock up to 1/2 in, up to 1 in, and above. */
const DRY = {
  aluminium: [185, 250, 315],
  "hard brass": [150, 200, 250],
  "soft brass": [375, 500, 625],
  bronze: [150, 200, 250],
  copper: [185, 250, 315],
  "cast iron": [90, 125, 160],
  "low carbon steel": [90, 125, 160],
  "medium carbon steel": [75, 100, 125],
  "alloy steel": [90, 125, 160],
};
/** @type {Record<string, [number, number][]>} Stock (in) and what it changes the 4 in figure by, in per cent. */
const SIZE = {
  [MH31]: [[0.25, 15], [0.75, 12], [1.25, 10], [4, 0], [8, -12]],
  [MANUAL]: [[0.25, 15], [0.75, 12], [1.25, 10], [2.5, 5], [4, 0], [8, -12]],
};
const DRY_LOW = 0.5;
const DRY_HIGH = 0.7;
const CARBON = 0.5;
const PLACES = ["up to 1/2 in", "1/2 to 1 in", "over 1 in"];

/** @param {string} names @param {string} key */
const names = (names, key) => names.split(" ").includes(key);

/** Every metal that a table here names. @returns {string[]} */
export function metals() {
  const listed = [...FOUR_INCH, ...SIX_INCH].flatMap(([row]) => row.split(" "));
  return [...new Set([...listed, ...Object.keys(DRY)])];
}

/**
 * What each source gives for a metal in stock of `size` (in or mm; the length of the cut).
 * @param {string} metal
 * @param {number} size
 * @param {string} units
 * @param {boolean} [dry] without coolant
 * @param {boolean} [carbon] a carbon steel blade instead of bimetal
 * @returns {Speed[]}
 */
export function bandSpeed(metal, size, units, dry = false, carbon = false) {
  const us = isUs(units);
  const inches = aboveZero(size, "size", us ? 100 : 2540) / (us ? 1 : 25.4);
  const key = keyOf(metal);
  const rows = FOUR_INCH.filter(([row]) => names(row, key)).map(([, fpm, source]) => fourInch(fpm, source, inches, dry, carbon));
  rows.push(...SIX_INCH.filter(([row]) => names(row, key)).map(([, low, high]) => sixInch(low, high, dry, carbon)));
  if (Object.hasOwn(DRY, key)) rows.push(dryCut(DRY[key], inches, carbon));
  if (!rows.length) {
    const mend = "Use the blade maker's figure, or ask for a metal in general, such as copper or bronze.";
    throw new Problem("metal", `"${metal}" stands in no band-speed table here.`, mend);
  }
  return us ? rows : rows.map(metric);
}

/** A metal as the tables write it: C17200 is 172, C17510 is 1751. @param {unknown} metal */
function keyOf(metal) {
  const text = typeof metal === "string" ? metal.trim().toLowerCase() : "";
  const uns = /^c(\d{3})(?:00|(\d)0)$/.exec(text);
  return uns ? uns[1] + (uns[2] ?? "") : text;
}

/** @type {(fpm: number, source: string, inches: number, dry: boolean, carbon: boolean) => Speed} */
function fourInch(fpm, source, inches, dry, carbon) {
  const perCent = sizeChange(SIZE[source], inches);
  const changes = perCent ? [`${perCent > 0 ? "+" : ""}${tidy(perCent, 1)} % for the size`] : [];
  const sized = fpm * (1 + perCent / 100);
  return changed(sized, sized, dry, carbon ? MH31 : "", changes, `${fpm} ft/min at 4 in`, source);
}

/** @type {(low: number, high: number, dry: boolean, carbon: boolean) => Speed} */
function sixInch(low, high, dry, carbon) {
  const printed = `${low} to ${high} ft/min at 6 in; smaller stock faster, larger slower, by how much is not given`;
  return changed(low, high, dry, carbon ? CHART_6_IN : "", [], printed, CHART_6_IN);
}

/** @type {(speeds: [number, number, number], inches: number, carbon: boolean) => Speed} */
function dryCut(speeds, inches, carbon) {
  const place = inches <= 0.5 ? 0 : inches <= 1 ? 1 : 2;
  const printed = `${speeds[place]} ft/min dry, ${PLACES[place]}`;
  return changed(speeds[place], speeds[place], false, carbon ? MH31 : "", [], printed, CHART_DRY);
}

/** @type {(low: number, high: number, dry: boolean, carbon: string, changes: string[], printed: string, source: string) => Speed} */
function changed(low, high, dry, carbon, changes, printed, source) {
  let [least, most] = [low, high];
  if (dry) {
    changes.push(`-30 to -50 % without coolant (${MH31})`);
    [least, most] = [least * DRY_LOW, most * DRY_HIGH];
  }
  if (carbon) {
    changes.push(`-50 % for a carbon blade (${carbon})`);
    [least, most] = [least * CARBON, most * CARBON];
  }
  return { low: tidy(least, 1), high: tidy(most, 1), printed, changes, unit: "ft/min", source };
}

/** Straight lines between the printed sizes, level beyond them. @type {(points: [number, number][], inches: number) => number} */
function sizeChange(points, inches) {
  if (inches <= points[0][0]) return points[0][1];
  for (let at = 1; at < points.length; at += 1) {
    const [[size, change], [further, next]] = [points[at - 1], points[at]];
    if (inches <= further) return change + ((next - change) * (inches - size)) / (further - size);
  }
  return points[points.length - 1][1];
}

/** @param {Speed} speed @returns {Speed} */
function metric(speed) {
  return { ...speed, low: tidy(speed.low * FPM_M_MIN, 1), high: tidy(speed.high * FPM_M_MIN, 1), unit: "m/min" };
}
