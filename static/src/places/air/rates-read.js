// The typed counts and hours of a log as rates, with what is wrong beside each field. Pure.
import { rates } from "../../core/rates.js";
import { readNumber } from "../../kit/numbers.js";

/** @type {{ name: "recordable" | "away" | "restricted" | "hours", label: string, hint?: string, unit?: string, whole?: boolean }[]} */
export const FIELDS = [
  { name: "recordable", label: "Recordable cases, all of them", hint: "The lines of the log", whole: true },
  { name: "away", label: "Of them, with days away from work", whole: true },
  { name: "restricted", label: "Of them, with restricted work or another job only", hint: "A case that also has days away counts there", whole: true },
  { name: "hours", label: "Hours that all people worked", unit: "h", hint: "Without holidays, leave and sickness; one full year is about 2000" },
];
export const BLANK = { recordable: "", away: "0", restricted: "0", hours: "" };

/**
 * The rates of what was typed, with what is wrong beside each field; null while something is empty or wrong.
 * @param {Record<string, string>} values
 * @returns {{ found: ReturnType<typeof rates> | null, errors: Record<string, string | null> }}
 */
export function readRates(values) {
  const read = FIELDS.map(({ name, label, whole }) => ({ name, label, ...readNumber(values[name] ?? "", { name: label, whole }) }));
  const errors = Object.fromEntries(read.map(({ name, error }) => [name, (values[name] ?? "").trim() ? error : null]));
  if (read.some(({ value }) => value === null)) return { found: null, errors };
  const [recordable, away, restricted, hours] = read.map(({ value }) => /** @type {number} */ (value));
  try {
    return { found: rates(recordable, away, restricted, hours), errors };
  } catch (error) {
    const fault = /** @type {any} */ (error);
    if (typeof fault.field !== "string") throw error;
    const label = FIELDS.find(({ name }) => name === fault.field)?.label ?? fault.field;
    return { found: null, errors: { ...errors, [fault.field]: `${label}: ${fault.problem} ${fault.mend}` } };
  }
}
