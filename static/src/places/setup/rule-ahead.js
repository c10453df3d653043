// What a due rule will do: its next dates or counts, as it stands today and if it is done each time on its day.
import { addDays, addInterval } from "../../core/dates.js";
import { METERS } from "../../core/due.js";
import { tidy } from "../../core/numbers.js";
import { datesOf } from "./rule-dates.js";

/** @typedef {import("../../core/due.js").Rule} Rule */
/** @typedef {import("../../core/due.js").Facts} Facts */
/** @typedef {{ rule: Rule, dates?: string[], counts?: number[], unit?: string, now?: number | null, none?: string }} Ahead
 *   of one plain rule: the dates, or the counts of a meter and where it stands, or why there is nothing to show */

const SHOWN = 4;
const LOOK_DAYS = 5 * 366;

/** Fixed dates from today on. @param {any} rule @param {Facts} facts @returns {string[]} */
function fixed(rule, facts) {
  const own = datesOf(rule, facts.today, addDays(facts.today, LOOK_DAYS));
  return (own ?? (facts.dates ?? []).filter((day) => day >= facts.today)).slice(0, SHOWN);
}

/** @param {Rule} rule @param {Facts} facts @returns {Ahead} */
function floating(rule, facts) {
  const [[unit, count]] = /** @type {[string, number][]} */ (Object.entries(rule.every));
  const base = facts.done?.date ?? facts.start;
  return { rule, dates: Array.from({ length: SHOWN }, (_, index) => addInterval(base, unit, count * (index + 1))) };
}

/** @param {Rule} rule @param {string} kind @param {number} base @param {number[]} steps @param {Facts} facts @returns {Ahead} */
function counted(rule, kind, base, steps, facts) {
  const unit = facts.units?.[kind] ?? METERS[kind]?.[1] ?? "";
  if (facts.meters[kind] === undefined && !(kind in (facts.units ?? {}))) return { rule, none: `This machine has no meter for ${METERS[kind]?.[0] ?? kind}: add one, or the rule never falls due.` };
  return { rule, counts: steps.map((step) => tidy(base + step)), unit, now: facts.meters[kind] ?? 0 };
}

/** @param {Rule} rule @param {Facts} facts @returns {Ahead} */
function afterEvent(rule, facts) {
  const subject = rule.part ?? rule.fluid;
  const event = facts.events?.[subject === undefined ? rule.after : `${rule.after}/${rule.only ?? subject}`];
  if (!event) return { rule, none: "It has not happened yet; the rule waits for it." };
  if (rule.days !== undefined) return { rule, dates: [addDays(event.date, rule.days)] };
  return counted(rule, rule.meter, event.meters[rule.meter] ?? 0, rule.at, facts);
}

/** @param {Rule} rule @param {Facts} facts @returns {Ahead} */
function reading(rule, facts) {
  const last = facts.readings?.[rule.when.reading];
  return { rule, none: last === undefined ? "It has not been measured yet; the rule waits for a reading." : "It falls due with the first reading beyond the limit." };
}

/** @param {Rule} rule @param {Facts} facts @returns {Ahead} */
function plain(rule, facts) {
  if ("rrule" in rule) {
    const dates = fixed(rule, facts);
    return dates.length ? { rule, dates } : { rule, none: "The server works its dates out when it is saved." };
  }
  if ("after" in rule) return afterEvent(rule, facts);
  if ("meter" in rule) {
    const base = (facts.done ? facts.done.meters : facts.meter_start ?? {})[rule.meter] ?? 0;
    return counted(rule, rule.meter, base, Array.from({ length: SHOWN }, (_, index) => rule.every * (index + 1)), facts);
  }
  if ("each" in rule) return { rule, none: "Every day that the machine is used." };
  return "when" in rule ? reading(rule, facts) : floating(rule, facts);
}

/**
 * What comes of each part of a rule.
 * @param {Rule} rule @param {Facts} facts @returns {Ahead[]}
 */
export const aheadOf = (rule, facts) => ("first_of" in rule ? rule.first_of : [rule]).map((/** @type {Rule} */ one) => plain(one, facts));
