// Due rules in words: what is written is read back, so that a slip is seen before it is kept.
import { METERS } from "../../core/due.js";
import { sayDate } from "../../core/dates.js";
import { capital } from "../../kit/dates.js";
import { figure } from "../../kit/numbers.js";
import { readPattern, WEEKDAYS } from "./rule-dates.js";

/** @typedef {import("../../core/due.js").Rule} Rule */
/** @typedef {Record<string, string>} Units  by kind of meter, or by what is read; what a part or fluid is called, by its id */

export const DAY_NAMES = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"];
export const MONTH_NAMES = ["January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December"];
const NTH = /** @type {Record<string, string>} */ ({ 1: "first", 2: "second", 3: "third", 4: "fourth", "-1": "last" });

/** What is measured, in words: "Coolant strength". @param {string} quantity */
export const sayQuantity = (quantity) => capital(words(quantity)).replace(/ ph$/, " pH");

/** @param {string} name */
const words = (name) => name.replace(/[_.-]/g, " ");

/** "Monday and Thursday". @param {string[]} list */
export const together = (list) => (list.length < 2 ? list.join("") : `${list.slice(0, -1).join(", ")} and ${list[list.length - 1]}`);

/** "1st", "22nd". @param {number} number */
export function ordinal(number) {
  const tail = number % 100 >= 11 && number % 100 <= 13 ? "th" : { 1: "st", 2: "nd", 3: "rd" }[number % 10] ?? "th";
  return `${number}${tail}`;
}

/** "every month", "every 3 months". @param {number} count @param {string} unit plural */
const every = (count, unit) => (count === 1 ? `every ${unit.slice(0, -1)}` : `every ${figure(count, 0)} ${unit}`);

/** "250 spindle hours", "400 sq in of cut area". @param {number} amount @param {string} kind @param {Units} units */
export function sayAmount(amount, kind, units) {
  const [name, usual] = METERS[kind] ?? [words(kind), ""];
  const unit = units[kind] ?? usual;
  const counts = ["h", "min", "cuts"].includes(unit) && unit === usual;
  return counts ? `${figure(amount)} ${name}` : `${figure(amount)} ${unit} of ${name}`;
}

/** @param {{ rrule: string, anchor: string }} rule */
function sayFixed({ rrule, anchor }) {
  const pattern = readPattern(rrule);
  if (!pattern) return `on fixed dates (${rrule}), from ${sayDate(anchor.slice(0, 10))}`;
  const { freq, interval, days, nth, monthday, month } = pattern;
  const own = Number(anchor.slice(8, 10));
  if (freq === "DAILY") return `${every(interval, "days")}, counted from ${sayDate(anchor.slice(0, 10))}`;
  if (freq === "WEEKLY") {
    const named = WEEKDAYS.flatMap((day, index) => (days.includes(day) ? [DAY_NAMES[index]] : []));
    return `${every(interval, "weeks")} on ${named.length ? together(named) : "the weekday it began on"}`;
  }
  if (freq === "YEARLY") return `${every(interval, "years")} on ${monthday ?? own} ${MONTH_NAMES[(month ?? Number(anchor.slice(5, 7))) - 1]}`;
  if (nth) return `on the ${NTH[nth.nth]} ${DAY_NAMES[WEEKDAYS.indexOf(nth.day)]}, ${every(interval, "months")}`;
  return `on the ${ordinal(monthday ?? own)}, ${every(interval, "months")}`;
}

/** @param {Rule} rule @param {Units} units */
function sayAfter(rule, units) {
  const subject = rule.part ?? rule.fluid;
  const event = subject === undefined ? "a tag is taken off" : `the ${units[rule.only] ?? words(subject)} is changed`;
  if (rule.days !== undefined) return rule.days === 0 ? `at once after ${event}` : `${rule.days === 1 ? "1 day" : `${rule.days} days`} after ${event}`;
  const amounts = rule.at.slice(0, -1).map((/** @type {number} */ one) => figure(one));
  return `${together([...amounts, sayAmount(rule.at[rule.at.length - 1], rule.meter, units)])} after ${event}`;
}

/** @param {{ reading: string, below?: number | null, above?: number | null }} rule @param {Units} units */
function sayWhen({ reading, below, above }, units) {
  const unit = units[reading] ? ` ${units[reading]}` : "";
  const limits = [below !== undefined && below !== null && `below ${figure(below)}${unit}`, above !== undefined && above !== null && `above ${figure(above)}${unit}`].filter(Boolean);
  return `while ${words(reading)} is ${limits.join(" or ")}`;
}

/** @param {Rule} rule @param {Units} units @returns {string} */
function sayPart(rule, units) {
  if ("first_of" in rule) return `whichever comes first: ${rule.first_of.map((/** @type {Rule} */ one) => sayPart(one, units)).join("; or ")}`;
  if ("rrule" in rule) return sayFixed(/** @type {any} */ (rule));
  if ("after" in rule) return sayAfter(rule, units);
  if ("meter" in rule) return `every ${sayAmount(rule.every, rule.meter, units)}`;
  if ("each" in rule) return "before the first use of each day";
  if ("when" in rule) return sayWhen(rule.when, units);
  const [[unit, count]] = Object.entries(rule.every);
  return `${every(Number(count), unit)} after it was last done`;
}

/**
 * A due rule as a sentence without its full stop: "Every 250 spindle hours".
 * @param {Rule} rule @param {Units} [units] of what the machine's rounds read, and of its meters where they are not the usual ones
 */
export function sayRule(rule, units = {}) {
  try {
    return capital(sayPart(rule, units));
  } catch {
    return "A rule that this version cannot put in words";
  }
}

/**
 * The units of a machine's meters, and of what its rounds read; the names of its parts and fluids.
 * @param {{ [key: string]: any } | null | undefined} machine @param {{ [key: string]: any }[]} checklists of the shop @returns {Units}
 */
export function unitsOf(machine, checklists) {
  const read = checklists.filter((list) => machine && list.machine === machine.id).flatMap((list) => list.checks.filter((/** @type {any} */ check) => check.quantity && check.unit));
  const named = [...(machine?.parts ?? []), ...(machine?.fluids ?? [])].map(({ id, name }) => [id, name]);
  return Object.fromEntries([...named, ...read.map(({ quantity, unit }) => [quantity, unit]), ...(machine?.meters ?? []).map((/** @type {any} */ { kind, unit }) => [kind, unit])]);
}
