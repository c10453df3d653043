// What the coolant desk draws: strength over time, the control chart with its signals, oil by stretch. Pure.
import { sayDay } from "../../kit/dates.js";
import { figure } from "../../kit/numbers.js";
import { percentIn } from "./begin.js";

/** @typedef {import("../../kit/chart.js").ChartProps} ChartProps @typedef {import("../../kit/chart.js").Axis} Axis */
/** @typedef {{ at: string, percent: number, doubtful?: boolean }} Row */
/** @typedef {{ zone: string, sayAt: (at: string) => string }} Calendar */

/** A time axis over instants, each later than the one before. @param {{ at: string }[]} rows @param {(at: string) => string} sayAt @returns {Axis} */
function timeAxis(rows, sayAt) {
  const values = rows.map(({ at }) => Date.parse(at) / 1000);
  const said = new Map(rows.map(({ at }) => [Date.parse(at) / 1000, sayAt(at)]));
  return { name: "When", kind: "time", values, say: (value) => said.get(value) ?? "" };
}

/** In order of time, the later of two of one instant. @template {{ at: string }} T @param {T[]} rows @returns {T[]} */
const inTime = (rows) => [...new Map([...rows].sort((a, b) => Date.parse(a.at) - Date.parse(b.at)).map((row) => [Date.parse(row.at), row])).values()];

/**
 * The strengths that the server had, and those this phone knows beyond them, oldest first.
 * @param {any} fluid @param {Row[]} series @param {{ at: string, value: any, unit?: string | null }[]} own newest first
 * @returns {Row[]}
 */
export function strengthsOf(fluid, series, own) {
  const last = series.length ? Date.parse(series[series.length - 1].at) : -Infinity;
  const since = own.filter(({ at, value }) => typeof value === "number" && Date.parse(at) > last);
  return inTime([...series, ...since.map(({ at, value, unit }) => ({ at, percent: percentIn(fluid, { value, unit: unit ?? "%" }), doubtful: false }))]);
}

/** @param {any} band @returns {{ name: string, value: number }[]} */
function limitsOf(band) {
  const named = /** @type {const} */ ([["stop_high", "stop above"], ["act_high", "act above"], ["target", "target"], ["act_low", "act below"], ["stop_low", "stop below"]]);
  return named.flatMap(([key, word]) => (typeof band?.[key] === "number" ? [{ name: `${word} ${figure(band[key])}`, value: band[key] }] : []));
}

/** Strength over time, the band shaded; doubtful readings (the instrument was off on water) apart. @param {Row[]} rows @param {any} band @param {Calendar} calendar @returns {ChartProps} */
export function trendOf(rows, band, { zone, sayAt }) {
  const [low, high] = [band?.act_low ?? band?.stop_low, band?.act_high ?? band?.stop_high];
  const doubts = rows.some((row) => row.doubtful);
  return {
    title: "Strength", zone, x: timeAxis(rows, sayAt), limits: limitsOf(band),
    ...(typeof low === "number" && typeof high === "number" ? { good: /** @type {[number, number]} */ ([low, high]) } : {}),
    series: [{ name: "Strength", unit: "%", values: rows.map((row) => (row.doubtful ? null : row.percent)) },
      ...(doubts ? [{ name: "Doubtful: instrument off on water", unit: "%", draw: /** @type {const} */ ("marks"), values: rows.map((row) => (row.doubtful ? row.percent : null)) }] : [])],
  };
}

/** pH over time: what the server had, and what this phone knows beyond it. @param {{ band: any, series: { at: string, value: number }[] }} found @param {{ at: string, value: any }[]} own newest first @param {Calendar} calendar @returns {ChartProps | null} null while fewer than two */
export function acidityOf({ band, series }, own, { zone, sayAt }) {
  const last = series.length ? Date.parse(series[series.length - 1].at) : -Infinity;
  const rows = inTime([...series, ...own.filter(({ at, value }) => typeof value === "number" && Date.parse(at) > last)]);
  const [low, high] = [band?.act_low ?? band?.stop_low, band?.act_high ?? band?.stop_high];
  return rows.length < 2 ? null : {
    title: "pH", zone, x: timeAxis(rows, sayAt), limits: limitsOf(band), series: [{ name: "pH", unit: "", values: rows.map(({ value }) => value) }],
    ...(typeof low === "number" && typeof high === "number" ? { good: /** @type {[number, number]} */ ([low, high]) } : {}),
  };
}

/** @typedef {{ rule: string, side: string, says: string, readings: number, from: string, to: string }} Signal */

/** Individuals and smoothed values with their limits; readings that signal have a mark of their own. @param {any} chart @param {Calendar} calendar @returns {ChartProps} */
export function controlOf(chart, { zone, sayAt }) {
  const rows = inTime(/** @type {{ at: string, percent: number, ewma: number }[]} */ (chart.points));
  const within = (/** @type {string} */ at) => chart.signals.some((/** @type {Signal} */ { from, to }) => at >= from && at <= to);
  const { centre, lower, upper } = chart.limits;
  return {
    title: "Control chart of this charge", zone, x: timeAxis(rows, sayAt), height: 260,
    limits: [["upper limit", upper], ["smoothed, upper", chart.ewma.upper], ["centre", centre], ["smoothed, lower", chart.ewma.lower], ["lower limit", lower]]
      .map(([name, value]) => ({ name: `${name} ${figure(Number(value))}`, value: Number(value) })),
    series: [{ name: "Each reading", unit: "%", values: rows.map(({ percent }) => percent) }, { name: "Smoothed", unit: "%", draw: "curve", places: 2, values: rows.map(({ ewma }) => ewma) },
      ...(chart.signals.length ? [{ name: "Signals", unit: "%", draw: /** @type {const} */ ("marks"), values: rows.map(({ at, percent }) => (within(at) ? percent : null)) }] : [])],
  };
}

/** The rules without the statistician's words. @type {Record<string, string>} */
const RULES = {
  we1: "Beyond a limit", we2: "2 of 3 readings in a row near a limit", we3: "4 of 5 readings in a row well off the centre", we4: "8 readings in a row on one side of the centre",
  ewma: "The smoothed line beyond its limit", cusum: "Readings crept away from the centre",
};

/** "Beyond a limit, on the low side: 3 readings, Mon to yesterday." @param {Signal} signal @param {string} today @param {(at: string) => string} dayOf */
export function saySignal({ rule, side, says, readings, from, to }, today, dayOf) {
  const [first, last] = [sayDay(dayOf(from), today), sayDay(dayOf(to), today)];
  const days = first === last ? last : `${first} to ${last}`;
  return `${RULES[rule] ?? `${says.charAt(0).toUpperCase()}${says.slice(1)}`}${side ? `, on the ${side} side` : ""}: ${readings > 1 ? `${figure(readings)} readings, ` : ""}${days}.`;
}

/** @typedef {{ from: string, to: string, hours: number, used: number, expected: number | null, low: number | null, high: number | null, state: string, sure: number | null }} Stretch */

/** Oil used per hour in each stretch, with what was to be expected. @param {Stretch[]} stretches @param {{ unit: string, per: string, zone: string, sayAt: (at: string) => string }} told @returns {ChartProps} */
export function useOf(stretches, { unit, per, zone, sayAt }) {
  const rows = inTime(stretches.filter(({ hours }) => hours > 0).map((one) => ({ ...one, at: one.to })));
  const rate = (/** @type {"used" | "expected" | "low" | "high"} */ name) => rows.map((one) => (one[name] === null ? null : Number((Number(one[name]) / one.hours).toPrecision(4))));
  const u = `${unit} per ${per}`;
  const odd = rows.map((one, index) => (["little", "much"].includes(one.state) ? rate("used")[index] : null));
  return {
    title: "Oil used per hour between fills", zone, x: { ...timeAxis(rows, sayAt), name: "Up to" },
    series: [{ name: "Used", unit: u, places: 4, values: rate("used") }, { name: "Expected, at least", unit: u, places: 4, draw: "dashes", values: rate("low") },
      { name: "Expected, at most", unit: u, places: 4, draw: "dashes", values: rate("high") },
      ...(odd.some((value) => value !== null) ? [{ name: "Out of the ordinary", unit: u, places: 4, draw: /** @type {const} */ ("marks"), values: odd }] : [])],
  };
}
