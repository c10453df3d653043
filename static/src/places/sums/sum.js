// A bench sum worked out: what was typed becomes figures, or says beside each field what is wrong. Pure.
import { convert } from "../../core/units.js";
import { capital } from "../../kit/dates.js";
import { figure, readNumber } from "../../kit/numbers.js";

/**
 * @typedef {object} Field
 * @property {string} name the field's name in the core, so that its refusals find their way back
 * @property {string} label
 * @property {"number" | "seconds" | "choice" | "select" | "text"} [kind] a number when left out; "seconds" has a stopwatch
 * @property {string | [string, string]} [unit] the unit, or [US, metric]
 * @property {string} [hint]
 * @property {boolean} [optional]
 * @property {boolean} [whole]
 * @property {{ value: string, text: string, note?: string }[]} [options]
 * @property {string} [start] what stands there at first
 */
/** @typedef {"within" | "look" | "stop"} Verdict  told by shape and word, never by colour */
/** @typedef {{ name: string, value: number | string | null, unit?: string, places?: number, verdict?: Verdict, word?: string }} Figure */
/** @typedef {{ lead: string, mark?: Verdict, word?: string, notes: string[], source: string }} Printed */
/**
 * @typedef {object} Answer
 * @property {Figure[]} figures the first stands large
 * @property {string[]} [said] what follows from it
 * @property {{ name: string, rows: Printed[] }[]} [lists] what is in print, each with its own source
 * @property {string} sure how sure it is
 * @property {string[]} sources
 * @property {string[]} [cautions] those that only this answer asks for
 */
/** @typedef {Record<string, string>} Typed */
/** @typedef {Record<string, any>} Given numbers by field (null: left out), words of choices and texts */
/**
 * @typedef {object} Sum
 * @property {string} title
 * @property {string} group
 * @property {string} short one line on the tile
 * @property {string} meant how it is meant: what is measured, and where
 * @property {string[]} cautions
 * @property {(typed: Typed, us: boolean) => Field[]} fields those that this case needs
 * @property {(given: Given, units: "us" | "metric") => Answer} work throws the core's Problem
 */
/** @typedef {{ answer: Answer | null, errors: Record<string, string | null>, problem: string | null, missing: string[] }} Worked */

/** The unit of a field. @param {Field} field @param {boolean} us */
export const unitOf = ({ unit }, us) => (Array.isArray(unit) ? unit[us ? 0 : 1] : unit ?? "");

const isNumeric = (/** @type {Field} */ { kind = "number" }) => kind === "number" || kind === "seconds";

/** What stands in a field: what was typed, else what it starts with. @param {Field} field @param {Typed} typed */
export const valueOf = ({ name, start = "" }, typed) => typed[name] ?? start;

/** One field read. @param {Field} field @param {Typed} typed @returns {{ value: any, error: string | null, missing: boolean }} */
function take(field, typed) {
  const text = valueOf(field, typed);
  if (!isNumeric(field)) return { value: text, error: null, missing: field.kind === "text" && !field.optional && !text.trim() };
  const { value, error } = readNumber(text, { name: field.label, whole: field.whole, optional: field.optional });
  const empty = text.trim() === "";
  return { value, error: empty ? null : error, missing: empty && !field.optional };
}

/**
 * The sum, or what keeps it from being done: errors by field, and the names of fields that are empty yet.
 * @param {Sum} sum @param {Typed} typed @param {"us" | "metric"} units @returns {Worked}
 */
export function evaluate(sum, typed, units) {
  const fields = sum.fields(typed, units === "us");
  const read = fields.map((field) => ({ field, ...take(field, typed) }));
  const errors = Object.fromEntries(read.map(({ field, error }) => [field.name, error]));
  const missing = read.filter((one) => one.missing).map(({ field }) => field.label);
  if (missing.length || read.some(({ error }) => error)) return { answer: null, errors, problem: null, missing };
  try {
    return { answer: sum.work(Object.fromEntries(read.map(({ field, value }) => [field.name, value])), units), errors, problem: null, missing };
  } catch (error) {
    const fault = /** @type {any} */ (error);
    if (!(error instanceof Error) || typeof fault.field !== "string") throw error;
    const known = fields.find(({ name }) => name === fault.field);
    const said = `${known?.label ?? capital(fault.field)}: ${fault.problem} ${fault.mend}`;
    return { answer: null, errors: known ? { ...errors, [known.name]: said } : errors, problem: known ? null : said, missing };
  }
}

/** Pairs that the core's units lack, as factors from the first to the second. @type {[string, string, number][]} */
const FURTHER = [["cfm", "L/min", 28.316846592], ["psi", "MPa", 0.006894757293168]];

/** @param {number} value @param {string} from @param {string} to */
function changeUnit(value, from, to) {
  for (const [one, other, factor] of FURTHER) {
    if (from === one && to === other) return value * factor;
    if (from === other && to === one) return value / factor;
  }
  return convert(value, from, to);
}

/**
 * What was typed, in the other units: the same length or pressure to four figures. What is no number stays as it is.
 * @param {Sum} sum @param {Typed} typed @param {boolean} us the units to go to @returns {Typed}
 */
export function inOtherUnits(sum, typed, us) {
  const out = { ...typed };
  for (const field of sum.fields(typed, us)) {
    const [from, to] = [unitOf(field, !us), unitOf(field, us)];
    const { value } = readNumber(typed[field.name] ?? "", { name: field.label });
    if (from !== to && value !== null && isNumeric(field)) out[field.name] = String(Number(changeUnit(value, from, to).toPrecision(4)));
  }
  return out;
}

/** What the answer was worked out from, in one line. @param {Sum} sum @param {Typed} typed @param {boolean} us */
export function sayInputs(sum, typed, us) {
  const told = sum.fields(typed, us).flatMap((field) => {
    const text = valueOf(field, typed).trim();
    if (!text) return [];
    const chosen = field.options?.find(({ value }) => value === text)?.text;
    const { value } = readNumber(text, { name: field.label });
    return [`${field.label.toLowerCase()} ${chosen?.toLowerCase() ?? (isNumeric(field) ? figure(value, 4) : text)} ${unitOf(field, us)}`.trim()];
  });
  return `From ${told.join(", ")}.`;
}
