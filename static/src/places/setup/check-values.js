// A checklist as the values of a form, and those values as a definition or errors that say the mend.
import { readNumber } from "../../kit/numbers.js";
import { bandValues, readBand } from "./bands.js";
import { memberErrors } from "./member-keys.js";
import { named } from "./naming.js";

/** @typedef {import("./member-keys.js").Member} Member */
/** @typedef {Record<string, string | null>} Errors */
/** @typedef {{ text: string, ok: boolean }} Choice */

/** What a check's source reads when the shop made it up itself. */
export const OWN_SOURCE = "the shop's own";

/** @param {any} value */
const text = (value) => (value === null || value === undefined ? "" : String(value));

/** @param {any} check @returns {Member} */
export const checkValues = (check) => ({
  id: check.id, text: text(check.text), how: text(check.how), why: text(check.why), source: text(check.source), answer: check.answer ?? "ok", stop: check.stop === true,
  caution: text(check.caution), quantity: text(check.quantity), unit: text(check.unit), factor: text(check.factor), photo: check.photo === true,
  choices: (check.choices ?? []).map((/** @type {Choice} */ one) => ({ ...one })), ...bandValues(check.band),
});

/** @param {string} id */
export const newCheck = (id) => checkValues({ id, source: OWN_SOURCE });

/** @param {any} list a definition, or nothing for a new one @param {string} [machine] */
export const checklistValues = (list, machine = "") => ({
  machine: text(list?.machine ?? machine), name: text(list?.name), form: text(list?.form ?? "start-up"), checks: /** @type {Member[]} */ ((list?.checks ?? []).map(checkValues)),
});

/** @param {Choice[]} choices @returns {string | null} */
function choicesError(choices) {
  const named = choices.filter((one) => one.text.trim());
  if (named.length < 2) return "There are not two choices. Write at least two.";
  if (new Set(named.map((one) => one.text.trim().toLowerCase())).size < named.length) return "Two choices read the same. Write each differently.";
  if (named.some((one) => one.text.trim().length > 80)) return "A choice is longer than 80 letters. Shorten it.";
  return named.some((one) => one.ok) ? null : "No choice is ok. Tick the one that is as it should be.";
}

/** What the kind of answer asks for beyond the words. @param {Member} one @returns {{ errors: Errors, body: Record<string, any> }} */
function readAnswer(one) {
  const quantity = one.quantity.trim() ? { quantity: one.quantity.trim() } : {};
  if (one.answer === "choice") {
    const choices = one.choices.filter((/** @type {Choice} */ choice) => choice.text.trim()).map((/** @type {Choice} */ choice) => ({ text: choice.text.trim(), ok: choice.ok }));
    return { errors: { choices: choicesError(one.choices) }, body: { ...quantity, choices } };
  }
  if (one.answer !== "reading") return { errors: {}, body: {} };
  const factor = readNumber(one.factor, { name: "The factor", optional: true, above: 0, max: 100 });
  const { band, errors } = readBand(/** @type {any} */ (one));
  return {
    errors: { ...errors, factor: factor.error, unit: named(one.unit, "The unit", 20), quantity: one.quantity.trim().length > 60 ? "The name of the reading is longer than 60 letters. Shorten it." : null },
    body: { ...quantity, unit: one.unit.trim(), ...(band ? { band } : {}), ...(factor.value === null ? {} : { factor: factor.value }) },
  };
}

/** @param {Member} one @returns {{ errors: Errors, body: Record<string, any> }} */
export function readCheck(one) {
  const answer = readAnswer(one);
  return {
    errors: {
      text: named(one.text, "What to check", 120), why: named(one.why, "Why it is there", 500), source: named(one.source, "Where it comes from", 300),
      how: one.how.trim().length > 500 ? "How to look is longer than 500 letters. Shorten it." : null, ...answer.errors,
    },
    body: {
      id: one.id, text: one.text.trim(), how: one.how.trim(), why: one.why.trim(), source: one.source.trim(), answer: one.answer, stop: one.stop,
      ...(one.caution ? { caution: one.caution } : {}), ...(one.photo ? { photo: true } : {}), ...answer.body,
    },
  };
}

/** @param {ReturnType<typeof checklistValues>} values @returns {{ errors: Errors, body: Record<string, any> }} */
export function readChecklist({ machine, name, form, checks }) {
  const read = checks.map((one) => ({ id: one.id, ...readCheck(one) }));
  return {
    errors: {
      machine: machine ? null : "No machine is chosen. Choose the one the round is walked at.", name: named(name, "The name", 80),
      checks: checks.length ? null : "There is no check yet. Add one at least.", ...Object.assign({}, ...read.map(({ id, errors }) => memberErrors("checks", id, errors))),
    },
    body: { machine, name: name.trim(), form, checks: read.map(({ body }) => body) },
  };
}
