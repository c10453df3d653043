// What the fields of definitions are called, and how their values are said, where two edits or revisions are compared.
import { capital } from "../../kit/dates.js";
import { figure } from "../../kit/numbers.js";
import { limitsSaid } from "../../kit/band.js";
import { sayDate } from "../../core/dates.js";
import { nameOf } from "../names.js";
import { sayRule } from "./rule-words.js";

/** @typedef {import("./clash.js").Difference} Difference */

/** @type {Record<string, string>} */
const NAMES = {
  time_zone: "Time zone", hours_a_week: "Hours a week", reorder_at: "Order at", rule: "Falls due", start: "Counts from", meter_start: "Meters it counts from",
  how: "How to look", text: "What to check", stop: "Stop check", answer: "Answered by", quantity: "Reading", factor: "Factor", pin: "PIN", item: "Spare in the drawer",
  meters: "Meter", parts: "Wearing part", fluids: "Fluid", checks: "Check", photo: "Photo asked for", form: "Kind of round",
};

/** @param {string} field */
export const fieldName = (field) => NAMES[field] ?? capital(field.replaceAll("_", " "));

/** What a member of a list is called. @param {any} one */
const memberName = (one) => String(one?.text ?? one?.name ?? "");

/** @param {Difference} difference */
export function labelOf({ path: [name, id, field], owner }) {
  if (id === undefined) return fieldName(name);
  if (id === "order") return `Order of the ${name}`;
  return `${fieldName(name)} "${memberName(owner)}"${field ? `: ${fieldName(field).toLowerCase()}` : ""}`;
}

/** A choice of a check. @param {any} one */
const sayChoice = (one) => (one && typeof one === "object" && "ok" in one ? `${one.text} (${one.ok ? "ok" : "not ok"})` : sayAny(one));

/** @param {any} value @returns {string} */
function sayAny(value) {
  if (value === null || value === undefined || value === "") return "nothing";
  if (typeof value === "number") return figure(value, 6);
  if (typeof value === "boolean") return value ? "yes" : "no";
  if (Array.isArray(value)) return value.length ? value.map(sayChoice).join("; ") : "nothing";
  if (typeof value === "object") return memberName(value) || Object.entries(value).map(([key, one]) => `${fieldName(key)} ${sayAny(one)}`).join(", ") || "nothing";
  return String(value);
}

/** Fields that name something else by its id. */
const REFERENCES = new Set(["machine", "bay", "checklist", "item"]);

/** A value in words. @param {string[]} path @param {any} value */
export function sayValue(path, value) {
  const field = path[path.length - 1];
  if (value === null || value === undefined) return path.length === 2 && field !== "order" ? "not there" : "nothing";
  if (REFERENCES.has(field)) return nameOf(value);
  if (field === "rule") return sayRule(value);
  if (field === "band") return limitsSaid(value, "") || "nothing";
  if (field === "pin") return "set";
  if (field === "order") return value.map((/** @type {string} */ id) => nameOf(id)).join("; ");
  if (field === "holidays") return value.map(sayDate).join(", ") || "nothing";
  if (field === "start") return sayDate(value);
  return sayAny(value);
}
