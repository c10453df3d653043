// Typed samples of a measurement as the record wants them, with what is wrong with each. Pure.
import { readNumber } from "../../../kit/numbers.js";

export const NOISE = "noise";
export const BLANK_SAMPLE = { value: "", minutes: "", below: false };
export const FRACTIONS = [{ value: "total", text: "Total dust" }, { value: "inhalable", text: "Inhalable dust" }, { value: "respirable", text: "Respirable dust" }, { value: "thoracic", text: "Thoracic dust" }, { value: "not stated", text: "Not stated" }];

/** @typedef {{ value: string, minutes: string, below: boolean }} Typed */

/** @param {Typed} typed @param {string} agent @param {string} unit @returns {{ sample: any, error: string | null }} */
function readSample(typed, agent, unit) {
  const noise = agent === NOISE;
  const value = readNumber(typed.value, noise ? { name: "Level", min: 20, max: 160 } : { name: "Found", min: 0, max: 1e6 });
  const minutes = readNumber(typed.minutes, { name: "Minutes", above: 0, max: 1440 });
  const error = value.error ?? minutes.error;
  if (error) return { sample: null, error };
  return { error: null, sample: { minutes: minutes.value, value: value.value, unit: noise ? "dBA" : unit, ...(typed.below && !noise ? { below_detection: true } : {}) } };
}

/**
 * The body of `exposure.measured` without what is told beside, or null while something is wrong.
 * @param {Record<string, any>} values @returns {{ body: any, errors: Record<string, string | null> }}
 */
export function readExposure(values) {
  const read = values.samples.map((/** @type {Typed} */ one) => readSample(one, values.agent, values.unit));
  const shift = readNumber(values.shift_hours, { name: "Hours of the shift", above: 0, max: 24 });
  /** @type {Record<string, string | null>} */
  const errors = Object.fromEntries(read.map((/** @type {any} */ one, /** @type {number} */ at) => [`sample ${at}`, one.error]));
  errors.agent = values.agent ? null : "Nothing is chosen. Choose what was measured.";
  errors.place = values.person || values.place.trim() ? null : "Place is empty, and nobody wore it. Name the person, or where it stood.";
  errors.shift_hours = shift.error;
  const minutes = read.reduce((/** @type {number} */ sum, /** @type {any} */ one) => sum + (one.sample?.minutes ?? 0), 0);
  if (shift.value !== null && minutes > shift.value * 60 + 0.5) errors.shift_hours = "Hours of the shift are fewer than the samples together. Samples side by side are measurements of their own.";
  if (Object.values(errors).some(Boolean)) return { body: null, errors };
  const of = values.agent === NOISE ? {} : { form: values.form, fraction: values.fraction };
  return { errors, body: { agent: values.agent, ...of, ...(values.person ? { person: values.person } : { place: values.place.trim() }), samples: read.map((/** @type {any} */ one) => one.sample), shift_hours: shift.value } };
}
