// A task as the values of a form, and those values as a definition or errors that say the mend.
import { readNumber } from "../../kit/numbers.js";
import { OWN_SOURCE } from "./check-values.js";
import { named } from "./naming.js";
import { fromRule, newValues, toRule } from "./rule-values.js";

/** @typedef {Record<string, string | null>} Errors */
/** @typedef {import("./rule-values.js").RuleValues} RuleValues */

/** What belongs to no machine, in the list to choose from. */
export const SHOP = "shop";

/** @param {any} value */
const text = (value) => (value === null || value === undefined ? "" : String(value));

/** The key of a rule part's error in the form. @param {number} index @param {string} field */
export const ruleKey = (index, field) => `rule.${index}.${field}`;

/**
 * @param {any} task a definition, or nothing for a new one
 * @param {string} today @param {{ machine?: string, checklist?: string }} [asked] by the address
 */
export const taskValues = (task, today, { machine = "", checklist = "" } = {}) => ({
  machine: text(task ? task.machine ?? SHOP : machine), name: text(task?.name), rules: /** @type {RuleValues[]} */ (task ? fromRule(task.rule, today) : [newValues(today)]),
  checklist: text(task ? task.checklist : checklist), steps: (task?.steps ?? []).join("\n"), minutes: text(task?.minutes ?? 5), cautions: /** @type {string[]} */ (task?.cautions ?? []),
  why: text(task?.why), source: text(task?.source ?? OWN_SOURCE), start: text(task?.start ?? today),
  meterStart: /** @type {Record<string, string>} */ (Object.fromEntries(Object.entries(task?.meter_start ?? {}).map(([id, total]) => [id, String(total)]))),
});

/** @typedef {ReturnType<typeof taskValues>} TaskValues */

/** Steps, one a line. @param {string} steps */
export const readSteps = (steps) => steps.split("\n").map((line) => line.trim()).filter(Boolean);

/** Totals that the meter rules count from; those of meters that no rule counts by now stay as they are. @param {Record<string, string>} typed @param {{ id: string, name: string }[]} shown */
function readStarts(typed, shown) {
  const names = new Map(shown.map(({ id, name }) => [id, name]));
  const read = Object.keys(typed).filter((id) => typed[id].trim()).map((id) => ({ id, ...readNumber(typed[id], { name: names.get(id) ?? "", min: 0, max: 1e9 }) }));
  return {
    errors: Object.fromEntries(read.filter(({ id }) => names.has(id)).map(({ id, error }) => [`meterStart.${id}`, error])),
    body: Object.fromEntries(read.filter(({ value }) => value !== null).map(({ id, value }) => [id, value])),
  };
}

/** The machine's meters that a rule counts by from the beginning. @param {RuleValues[]} rules @param {any} machine @returns {{ id: string, kind: string, name: string, unit: string }[]} */
export const countedBy = (rules, machine) => (machine?.meters ?? []).filter((/** @type {any} */ one) => rules.some(({ kind, meter }) => kind === "meter" && meter === one.kind));

/**
 * @param {TaskValues} values @param {any} machine the one that is chosen, null for the shop
 * @returns {{ errors: Errors, body: Record<string, any> }}
 */
export function readTask(values, machine) {
  const { rule, errors } = toRule(values.rules);
  const minutes = readNumber(values.minutes, { name: "Minutes", min: 0, max: 10_000 });
  const starts = readStarts(values.meterStart, countedBy(values.rules, machine));
  const steps = readSteps(values.steps);
  const long = steps.findIndex((step) => step.length > 500);
  return {
    errors: {
      machine: values.machine ? null : "Nothing is chosen. Choose a machine, or the shop itself.", name: named(values.name, "The name", 120),
      ...Object.fromEntries(errors.flatMap((one, index) => Object.entries(one).map(([field, error]) => [ruleKey(index, field), error]))),
      steps: long < 0 ? null : `Step ${long + 1} is longer than 500 letters. Make two of it.`, minutes: minutes.error,
      why: named(values.why, "Why it is done", 500), source: named(values.source, "Where it comes from", 300),
      start: values.start ? null : "The date is empty. Choose the day it counts from.", ...starts.errors,
    },
    body: {
      machine: values.machine === SHOP ? null : values.machine, name: values.name.trim(), rule, checklist: values.checklist || null, steps, minutes: minutes.value,
      cautions: values.cautions, why: values.why.trim(), source: values.source.trim(), start: values.start, meter_start: starts.body,
    },
  };
}
