// An entry's body as a person reads and mends it: which fields it has, what they are called, what may be changed.
import { readNumber } from "../../kit/numbers.js";
import { judgeReading } from "../readings.js";

/** @typedef {"number" | "text" | "tick" | "date"} FieldType */
/** @typedef {{ path: string[], label: string, type: FieldType, value: any }} BodyField */

/** @type {Record<string, string>} */
const LABELS = {
  text: "Text", why: "Why", done: "What was done", note: "Note", reason: "Reason", title: "What is to be done", what: "What was made", alloy: "Alloy",
  instrument: "Instrument", value: "Reading", amount: "Amount", count: "Count", minutes: "Minutes", used: "How many were used", water: "Water",
  concentrate: "Concentrate", strength: "Strength", loads: "Loads", minutes_per_load: "Minutes a load", cuts: "Cuts", area_per_cut: "Area of a cut",
  stop: "Stops the machine", replaced: "New counter", to: "To", seconds: "Seconds it took", unit: "Unit", quantity: "Quantity", form: "Form",
  outcome: "Outcome", started_at: "Begun", revision: "Revision of the list", meter: "Meter", part: "Part", fluid: "Fluid", item: "From the drawer",
  task: "Task", finding: "Finding", tag: "Tag", checklist: "Checklist", check: "Check", round: "Round", photo: "Photo", kind: "Kind", entry: "Entry", type: "Type",
  seen: "What was seen", exposed: "Who was exposed", shift_hours: "Hours of the shift", on: "Measured on", samples: "Samples",
  typed_in: "Typed in from paper", needed: "Seconds it needs", hours: "Hours of use", change_after: "Change after, hours", change_by: "Change by",
  expires: "Valid until", factor: "Fit factor", make_note: "Make and model", outside: "Trainer from outside",
};

/** Texts that a person wrote; the others are words of the app. */
const WRITTEN = new Set(["text", "why", "done", "note", "reason", "title", "what", "alloy", "instrument", "place", "laboratory", "container",
  "respirator", "make_note", "topic", "outside", "grade", "material", "tool"]);
const DAY = /^\d{4}-\d{2}-\d{2}$/;
/** @type {Record<string, string>} */
const SAMPLE_LABELS = { value: "reading", minutes: "minutes", below_detection: "below detection" };
const FIXED = new Set(["seconds", "revision"]);
export const isId = (/** @type {unknown} */ value) => typeof value === "string" && /^[0-9a-f]{8}-[0-9a-f]{4}-/.test(value);

/** Whether a field holds what a person wrote. @param {string} key */
export const isWritten = (key) => WRITTEN.has(key);

/** @param {unknown} value */
export const isDay = (value) => typeof value === "string" && DAY.test(value);

/** A word of the app's own, such as dry_sand, as people write it. @param {string} word */
export const sayCode = (word) => (/^[a-z]+(_[a-z]+)+$/.test(word) ? word.replaceAll("_", " ") : word);

/** @param {string} key */
export const labelOf = (key) => LABELS[key] ?? key.replace(/_/g, " ");

/** @param {string} key @param {any} value @returns {FieldType | null} */
function typeOf(key, value) {
  if (FIXED.has(key)) return null;
  if (typeof value === "number") return "number";
  if (typeof value === "boolean") return "tick";
  if (typeof value !== "string" || isId(value)) return null;
  if (WRITTEN.has(key)) return "text";
  return isDay(value) ? "date" : null;
}

/**
 * What of a body may be changed.
 * @param {any} body @param {(id: string) => string} nameOf @param {(id: string) => string} unitOf a meter's unit
 * @returns {BodyField[]}
 */
export function fieldsOf(body, nameOf, unitOf) {
  const own = Object.entries(body).flatMap(([key, value]) => {
    const type = typeOf(key, value);
    return type ? [{ path: [key], label: labelOf(key), type, value }] : [];
  });
  const counted = ["adds", "cutters"].flatMap((part) => Object.entries(body[part] ?? {}).map(([id, value]) => {
    const unit = part === "adds" ? unitOf(id) : "min a load";
    return { path: [part, id], label: [nameOf(id), unit].filter(Boolean).join(", "), type: /** @type {const} */ ("number"), value };
  }));
  const samples = (body.samples ?? []).flatMap((/** @type {any} */ sample, /** @type {number} */ index) => ["value", "minutes", "below_detection"].flatMap((key) => {
    const type = typeOf(key, sample[key]);
    return type ? [{ path: ["samples", String(index), key], label: `Sample ${index + 1}: ${SAMPLE_LABELS[key]}`, type, value: sample[key] }] : [];
  }));
  const checks = (body.checks ?? []).flatMap((/** @type {any} */ check, /** @type {number} */ index) =>
    (typeof check.value === "number" ? [{ path: ["checks", String(index), "value"], label: nameOf(check.check), type: "number", value: check.value }] : []));
  return [...own, ...counted, ...samples, ...checks];
}

/** What a field holds when its form opens. @param {BodyField} field */
export const typedOf = ({ type, value }) => (type === "number" ? String(value) : value);

/**
 * The body with what was typed, or the errors by field.
 * @param {any} body @param {BodyField[]} fields @param {Record<string, any>} typed by path, joined with a full stop
 * @returns {{ body: any, errors: Record<string, string | null>, changed: boolean }}
 */
export function mendedBody(body, fields, typed) {
  const next = structuredClone(body);
  /** @type {Record<string, string | null>} */
  const errors = {};
  let changed = false;
  for (const field of fields) {
    const key = field.path.join(".");
    const { value, error } = read(field, typed[key]);
    if (error) errors[key] = error;
    else if (value !== field.value) {
      put(next, field.path, value);
      changed = true;
    }
  }
  return { body: next, errors, changed };
}

/** @param {BodyField} field @param {any} typed */
function read({ type, label }, typed) {
  if (type === "number") return readNumber(String(typed), { name: label });
  if (type === "tick") return { value: Boolean(typed), error: null };
  const text = String(typed).trim();
  return text ? { value: text, error: null } : { value: null, error: `${label} is empty. Write at least a word.` };
}

/** @param {any} into @param {string[]} path @param {any} value */
function put(into, path, value) {
  const last = path[path.length - 1] ?? "";
  const holder = path.slice(0, -1).reduce((at, key) => at[key], into);
  holder[last] = value;
}

/**
 * A round whose readings were mended: verdicts, answers and the outcome follow from them.
 * @param {any} body @param {{ id: string, stop?: boolean, band?: import("../../kit/band.js").Band | null }[]} defined the checklist's checks
 */
export function remadeRound(body, defined) {
  const checks = body.checks.map((/** @type {any} */ check) => {
    const definition = defined.find(({ id }) => id === check.check);
    if (typeof check.value !== "number" || !definition?.band) return check;
    const judged = judgeReading(definition.band, check.value);
    const was = String(check.verdict ?? "").startsWith("stop");
    const answer = judged.stop ? "not ok" : was ? "ok" : check.answer;
    return { ...check, verdict: judged.verdict, answer, stop: Boolean(definition.stop) || judged.stop };
  });
  const stopped = checks.some((/** @type {any} */ check) => check.stop && check.answer === "not ok");
  return { ...body, checks, outcome: body.outcome === "fit" && stopped ? "not fit" : body.outcome };
}
