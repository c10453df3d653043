// A due rule as the values of a form, and those values as a rule or as errors that say the mend.
import { METERS } from "../../core/due.js";
import { readNumber } from "../../kit/numbers.js";
import { readPattern, writePattern } from "./rule-dates.js";

/**
 * @typedef {import("../../core/due.js").Rule} Rule
 * @typedef {"every" | "dates" | "meter" | "each" | "after" | "when"} RuleKind
 * @typedef {"weekly" | "nth" | "monthday" | "yearly" | "daily" | "own"} DateForm
 * @typedef {object} RuleValues  one plain rule, every field as it is typed
 * @property {RuleKind} kind
 * @property {string} count @property {string} unit
 * @property {DateForm} pattern @property {string} interval @property {string[]} days @property {string} nth
 * @property {string} weekday @property {string} monthday @property {string} month @property {string} own @property {string} anchor
 * @property {string} meter @property {string} amount
 * @property {string} event `part.changed/blade`, `part.changed/cutter/` and its id, `tag.off` @property {"meter" | "days"} by @property {string} at @property {string} wait
 * @property {string} reading @property {string} below @property {string} above
 * @typedef {Record<string, string | null>} Errors
 */

export const LONGEST = /** @type {Record<string, number>} */ ({ days: 36_500, weeks: 5_200, months: 1_200, years: 100 });

/** What a new rule begins as. @param {string} today @param {Partial<RuleValues>} [some] @returns {RuleValues} */
export const newValues = (today, some = {}) => ({
  kind: "every", count: "1", unit: "months", pattern: "weekly", interval: "1", days: ["MO"], nth: "1", weekday: "MO",
  monthday: String(Number(today.slice(8))), month: String(Number(today.slice(5, 7))), own: "", anchor: today, meter: "", amount: "",
  event: "", by: "meter", at: "", wait: "7", reading: "", below: "", above: "", ...some,
});

/** @param {number | null | undefined} value */
const typed = (value) => (value === null || value === undefined ? "" : String(value));

/** @param {{ rrule: string, anchor: string }} rule @returns {Partial<RuleValues>} */
function fromDates({ rrule, anchor }) {
  const pattern = readPattern(rrule);
  const day = anchor.slice(0, 10);
  if (!pattern) return { kind: "dates", pattern: "own", own: rrule, anchor };
  const form = pattern.freq === "MONTHLY" ? (pattern.nth ? "nth" : "monthday") : /** @type {DateForm} */ (pattern.freq.toLowerCase());
  return {
    kind: "dates", pattern: form, interval: String(pattern.interval), anchor, own: rrule,
    ...(pattern.days.length ? { days: pattern.days } : {}),
    ...(pattern.nth ? { nth: String(pattern.nth.nth), weekday: pattern.nth.day } : {}),
    monthday: String(pattern.monthday ?? Number(day.slice(8))), month: String(pattern.month ?? Number(day.slice(5, 7))),
  };
}

/** @param {Rule} rule @returns {Partial<RuleValues>} */
function fromAfter({ after, part, fluid, only, meter, at, days }) {
  const event = [after, part ?? fluid, only].filter(Boolean).join("/");
  return days === undefined ? { kind: "after", event, by: "meter", meter, at: at.join(", ") } : { kind: "after", event, by: "days", wait: String(days) };
}

/** The values of one plain rule. @param {Rule} rule @param {string} today @returns {RuleValues} */
function fromPlain(rule, today) {
  if ("rrule" in rule) return newValues(today, fromDates(/** @type {any} */ (rule)));
  if ("after" in rule) return newValues(today, fromAfter(rule));
  if ("meter" in rule) return newValues(today, { kind: "meter", meter: rule.meter, amount: String(rule.every) });
  if ("each" in rule) return newValues(today, { kind: "each" });
  if ("when" in rule) return newValues(today, { kind: "when", reading: rule.when.reading, below: typed(rule.when.below), above: typed(rule.when.above) });
  const [[unit, count]] = Object.entries(rule.every);
  return newValues(today, { kind: "every", unit, count: String(count) });
}

/** The values of a rule: one for a plain rule, several for the first of several. @param {Rule} rule @param {string} today @returns {RuleValues[]} */
export const fromRule = (rule, today) => ("first_of" in rule ? rule.first_of : [rule]).map((/** @type {Rule} */ one) => fromPlain(one, today));

/** @typedef {{ rule: Rule | null, errors: Errors }} Read */

/** @param {Errors} errors @param {() => Rule} make @returns {Read} */
const read = (errors, make) => (Object.values(errors).some(Boolean) ? { rule: null, errors } : { rule: make(), errors });

/** @param {RuleValues} values @returns {Read} */
function readEvery({ count, unit }) {
  const number = readNumber(count, { name: "The interval", whole: true, min: 1, max: LONGEST[unit] });
  return read({ count: number.error }, () => ({ every: { [unit]: number.value } }));
}

/** @param {RuleValues} values @returns {Read} */
function readDates(values) {
  const { pattern, days, nth, weekday, month, own, anchor } = values;
  const day = anchor ? null : "The first date is empty. Choose the day it counts from.";
  if (pattern === "own") return read({ anchor: day, own: own.trim() ? null : "The rule is empty. Write it like FREQ=MONTHLY;BYDAY=1MO (RFC 5545)." }, () => ({ rrule: own.trim(), anchor }));
  const interval = readNumber(values.interval, { name: "The interval", whole: true, min: 1, max: 999 });
  const byDay = pattern === "monthday" || pattern === "yearly";
  const monthday = byDay ? readNumber(values.monthday, { name: "The day of the month", whole: true, min: 1, max: 31 }) : { value: null, error: null };
  const errors = { anchor: day, interval: interval.error, monthday: monthday.error, days: pattern === "weekly" && !days.length ? "No weekday is ticked. Tick one at least." : null };
  const freq = pattern === "nth" || pattern === "monthday" ? "MONTHLY" : /** @type {any} */ (pattern.toUpperCase());
  return read(errors, () => ({
    rrule: writePattern({
      freq, interval: interval.value ?? 1, days: pattern === "weekly" ? days : [], monthday: monthday.value, month: pattern === "yearly" ? Number(month) : null,
      nth: pattern === "nth" ? { nth: Number(nth), day: weekday } : null,
    }), anchor,
  }));
}

/** @param {string} meter */
const meterError = (meter) => (meter in METERS ? null : "No meter is chosen. Choose the one that it counts by.");

/** @param {RuleValues} values @returns {Read} */
function readMeter({ meter, amount }) {
  const number = readNumber(amount, { name: "The amount", above: 0, max: 1e9 });
  return read({ meter: meterError(meter), amount: number.error }, () => ({ meter, every: number.value }));
}

/** "50, 200" as rising amounts; a comma parts them, so decimals are written with a point. @param {string} text */
export function readAmounts(text) {
  const amounts = text.split(/[,;]|\s+and\s+|\s+/).filter(Boolean).map(Number);
  if (!amounts.length) return { amounts, error: "The amounts are empty. Write them like 50, 200." };
  if (!amounts.every((one) => Number.isFinite(one) && one > 0)) return { amounts, error: `"${text.trim()}" is no list of numbers above zero. Write them like 50, 200.` };
  const rises = amounts.every((one, index) => index === 0 || one > amounts[index - 1]);
  return { amounts, error: rises ? null : "The amounts do not rise. Write the smallest first." };
}

/** @param {RuleValues} values @returns {Read} */
function readAfter({ event, by, meter, at, wait }) {
  const [name, subject, only] = event.split("/");
  const what = { after: name, ...(subject ? { [name === "fluid.changed" ? "fluid" : "part"]: subject } : {}), ...(only ? { only } : {}) };
  const unnamed = event ? null : "Nothing is chosen. Choose what it comes after.";
  if (by === "days") {
    const days = readNumber(wait, { name: "The days", whole: true, min: 0, max: LONGEST.days });
    return read({ event: unnamed, wait: days.error }, () => ({ ...what, days: days.value }));
  }
  const { amounts, error } = readAmounts(at);
  return read({ event: unnamed, meter: meterError(meter), at: error }, () => ({ ...what, meter, at: amounts }));
}

/** @param {RuleValues} values @returns {Read} */
function readWhen({ reading, below, above }) {
  const low = readNumber(below, { name: "Below", optional: true });
  const high = readNumber(above, { name: "Above", optional: true });
  const none = low.value === null && high.value === null && !low.error && !high.error;
  const crossed = low.value !== null && high.value !== null && low.value >= high.value;
  const errors = {
    reading: reading.trim() ? null : "No reading is named. Choose what is measured.",
    below: low.error ?? (none ? "There is no limit. Give below, above, or both." : crossed ? "Below is not smaller than above: every reading would be beyond. Swap them." : null),
    above: high.error,
  };
  return read(errors, () => ({ when: { reading: reading.trim(), ...(low.value === null ? {} : { below: low.value }), ...(high.value === null ? {} : { above: high.value }) } }));
}

/** @type {Record<RuleKind, (values: RuleValues) => Read>} */
const READERS = { every: readEvery, dates: readDates, meter: readMeter, each: () => ({ rule: { each: "start-up" }, errors: {} }), after: readAfter, when: readWhen };

/**
 * The rule that was typed, null while something is wrong.
 * @param {RuleValues[]} parts @returns {{ rule: Rule | null, errors: Errors[] }} errors by part
 */
export function toRule(parts) {
  const all = parts.map((values) => READERS[values.kind](values));
  const second = parts.findIndex(({ kind }, index) => kind === "dates" && parts.findIndex((one) => one.kind === "dates") < index);
  const errors = all.map((one, index) => (index === second ? { ...one.errors, kind: "There are two rules of fixed dates. Keep one of them." } : one.errors));
  if (second >= 0 || all.some(({ rule }) => rule === null)) return { rule: null, errors };
  const rules = all.map(({ rule }) => rule);
  return { rule: rules.length === 1 ? rules[0] : { first_of: rules }, errors };
}
