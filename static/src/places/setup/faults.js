// What the server found wrong, as sentences under the fields they belong to.
import { capital } from "../../kit/dates.js";

/** @typedef {import("../../store/types.js").Fault} Fault */

/** "is empty" and "write at least a word" as a sentence about a field; one that stands by itself is kept. @param {string} label @param {Fault} fault */
export function sentence(label, { problem, mend }) {
  const said = problem.replace(/^It /, "").replace(/\.$/, "");
  return `${label}${/^[A-Z']/.test(said) ? ": " : " "}${said}. ${capital(mend.replace(/\.$/, ""))}.`;
}

/** What is known of a path or, failing that, of what it lies in. @template T @param {Record<string, T>} fields @param {string} path @returns {T | undefined} */
function nearest(fields, path) {
  for (let at = path; at; at = at.replace(/(^|\.|\[)[^.[]*$/, "")) if (at in fields) return fields[at];
  return undefined;
}

/**
 * Faults by the form's own field names.
 * @param {Fault[]} faults
 * @param {Record<string, [string, string]>} fields the server's path -> [the form's field, its label]
 * @returns {{ errors: Record<string, string>, rest: string[] }} `rest`: what belongs to no field of the form
 */
export function byField(faults, fields) {
  /** @type {Record<string, string>} */
  const errors = {};
  const rest = [];
  for (const fault of faults) {
    const found = nearest(fields, fault.field);
    if (found) errors[found[0]] ??= sentence(found[1], fault);
    else rest.push(sentence(capital(fault.field.replaceAll("_", " ")), fault));
  }
  return { errors, rest };
}

/** Seconds to wait, as a refusal after too many tries says it; 0 when it says none. @param {{ status: number, errors: Fault[] }} problem */
export function secondsToWait({ status, errors }) {
  if (status !== 429) return 0;
  const found = /(\d+) s\b/.exec(errors[0]?.mend ?? "");
  return found ? Number(found[1]) : 30;
}
