// What the gauges of an exhaust show: the newest reading with its word, and the line for a chart. Pure.
import { staticPressure } from "../../core/filters.js";
import { figure } from "../../kit/numbers.js";
import { judgeReading } from "../readings.js";

/** @typedef {import("../../kit/chart.js").ChartProps} ChartProps */
/** @typedef {{ at: string, value: any, unit?: string | null }} Reading */
/** @typedef {{ quantity: string, name: string, value: number, unit: string, at: string, word: string, mark: import("../../kit/state.js").Mark, say: string, band: any, series: [number, number][], commissioned: number | null, static: boolean }} Gauge */

/** By which quantity a check of the air is kept; the same table as webapp/records/kinds/hazards.py. */
export const QUANTITIES = /** @type {Record<string, string>} */ ({
  "face velocity": "air.face_velocity", "capture velocity": "hood.velocity", "duct velocity": "duct.velocity",
  "static pressure": "duct.static_pressure", "filter drop": "filter.pressure_drop", flow: "air.flow",
});
const NAMES = new Map(Object.entries(QUANTITIES).map(([name, quantity]) => [quantity, name]));
const STATIC = QUANTITIES["static pressure"];

/** "Filter drop, booth 2". @param {string} quantity */
export function gaugeName(quantity) {
  const [base, ...place] = quantity.split("/");
  const name = NAMES.get(base) ?? base;
  return `${name.charAt(0).toUpperCase()}${name.slice(1)}${place.length ? `, ${place.join("/")}` : ""}`;
}

/** Quantities of the air among a machine's readings. @param {Record<string, any[]>} readings */
export const airQuantities = (readings) => Object.keys(readings).filter((key) => NAMES.has(key.split("/")[0])).sort();

/** "7 % under commissioning". @param {number} value @param {number} then */
function sayBeside(value, then) {
  const percent = Math.round((value / then - 1) * 100);
  return percent === 0 ? "as at commissioning" : `${Math.abs(percent)} % ${percent < 0 ? "under" : "over"} commissioning`;
}

/** How a reading stands: by its band, for static pressure by its commissioning figure. @param {number} value @param {string} unit @param {any} band @param {number | null} then @param {boolean} isStatic @returns {{ word: string, mark: Gauge["mark"], say: string }} */
function standing(value, unit, band, then, isStatic) {
  if (isStatic && then) {
    const found = staticPressure(Math.abs(value), Math.abs(then));
    return { word: found.word, mark: found.stop ? "stop" : "resting", say: `${found.why} ${found.todo}` };
  }
  const judged = band && Object.keys(band).length ? judgeReading(band, value) : null;
  if (judged) return { word: judged.word, mark: judged.inside ? "resting" : judged.stop ? "stop" : "due", say: "" };
  if (then) return { word: sayBeside(value, then), mark: "resting", say: `${figure(value, 3)} ${unit} beside ${figure(then, 3)} ${unit} at commissioning: ${figure((value / then - 1) * 100, 0)} %.` };
  return { word: "nothing to hold it to", mark: "near", say: "No commissioning figure yet: measure it with the exhaust as it should be, and log it as such." };
}

/**
 * One gauge from the phone's own readings (newest first) and what the server had.
 * @param {string} quantity @param {Reading[]} own @param {any} found the gauge in the upkeep document, or undefined @param {any} commissioned the state's figure, or undefined
 * @param {any} band of the check that reads it, in the reading's unit @returns {Gauge | null}
 */
export function gaugeOf(quantity, own, found, commissioned, band) {
  const newest = own[0];
  if (!newest || typeof newest.value !== "number") return null;
  const unit = newest.unit ?? "";
  const then = commissioned && (commissioned.unit ?? "") === unit ? commissioned.value : found?.unit === unit ? found?.commissioned?.in_unit ?? null : null;
  const had = /** @type {[number, number][]} */ (found?.unit === unit ? found.series : []);
  const last = had.length ? had[had.length - 1][0] : -Infinity;
  const since = own.filter((one) => typeof one.value === "number" && (one.unit ?? "") === unit && Date.parse(one.at) > last).map((one) => /** @type {[number, number]} */ ([Date.parse(one.at), one.value])).reverse();
  const isStatic = quantity.split("/")[0] === STATIC;
  return { quantity, name: gaugeName(quantity), value: newest.value, unit, at: newest.at, band, series: [...had, ...since], commissioned: then, static: isStatic,
    ...standing(newest.value, unit, band, then, isStatic) };
}

/** The line of a gauge, with its commissioning figure and, for static pressure, a fifth to either side. @param {Gauge} gauge @param {{ zone: string, sayAt: (at: string) => string }} calendar @returns {ChartProps} */
export function chartOf(gauge, { zone, sayAt }) {
  const { commissioned, band } = gauge;
  const rows = [...new Map(gauge.series).entries()];
  const around = commissioned !== null && gauge.static ? [[1.2, "20 % more"], [0.8, "20 % less"]].map(([factor, name]) => ({ name: String(name), value: commissioned * Number(factor) })) : [];
  const limits = [
    ...(commissioned === null ? [] : [{ name: `commissioning ${figure(commissioned, 3)}`, value: commissioned }]), ...around,
    ...(band?.stop_high === undefined ? [] : [{ name: `stop above ${figure(band.stop_high)}`, value: band.stop_high }]),
    ...(band?.act_high === undefined ? [] : [{ name: `act above ${figure(band.act_high)}`, value: band.act_high }]),
    ...(band?.stop_low === undefined ? [] : [{ name: `stop below ${figure(band.stop_low)}`, value: band.stop_low }]),
  ];
  return { title: gauge.name, zone, limits, series: [{ name: gauge.name, unit: gauge.unit, values: rows.map(([, value]) => value), places: 2 }],
    x: { name: "When", kind: "time", values: rows.map(([ms]) => ms / 1000), say: (value) => sayAt(new Date(value * 1000).toISOString()) } };
}
