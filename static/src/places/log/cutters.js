// How long each numbered cutter cuts in a load: remembered from the last batch, so that a usual day types nothing.
import { html } from "htm/preact";
import { NumberField, counted, figure, readNumber } from "../../kit/index.js";
import { recent } from "../../store/index.js";

/** @typedef {import("../../store/types.js").Definition} Definition */
/** @typedef {{ id: string, name: string, kind: string }} Part */

const CUTTERS = new Set(["cutter"]);

/** The machine's numbered cutters. @param {Definition} machine @returns {Part[]} */
export const cuttersOf = (machine) => machine.parts.filter((/** @type {Part} */ part) => CUTTERS.has(part.kind));

/** The name of a cutter's field in the form. @param {string} id */
export const fieldOf = (id) => `cutter ${id}`;

/** What each cutter cut in a load of the last batch that said so, as typed. @param {Definition} machine @returns {Record<string, string>} */
export function remembered(machine) {
  const last = recent.peek().find((entry) => entry.kind === "batch.run" && entry.machine === machine.id && !entry.voided
    && Object.keys((entry.amended ?? entry.body).cutters ?? {}).length > 0);
  const minutes = last ? (last.amended ?? last.body).cutters : {};
  return Object.fromEntries(cuttersOf(machine).map(({ id }) => [fieldOf(id), minutes[id] === undefined ? "" : String(minutes[id])]));
}

/**
 * The minutes a load of the cutters that cut in it, by part; with their errors by field.
 * @param {Part[]} cutters @param {Record<string, string>} typed
 */
export function readCutters(cutters, typed) {
  /** @type {Record<string, number>} */
  const minutes = {};
  /** @type {Record<string, string | null>} */
  const errors = {};
  for (const { id, name } of cutters) {
    const { value, error } = readNumber(typed[fieldOf(id)] ?? "", { name, min: 0, max: 10_000, optional: true });
    errors[fieldOf(id)] = error;
    if (value) minutes[id] = value;
  }
  return { minutes, errors, sum: Object.values(minutes).reduce((all, one) => all + one, 0) };
}

/** @param {{ cutters: Part[], form: any, sum: number }} props */
export function CutterFields({ cutters, form, sum }) {
  if (!cutters.length) return null;
  const named = cutters.filter(({ id }) => (form.values[fieldOf(id)] ?? "").trim()).length;
  const wrong = cutters.some(({ id }) => form.errors[fieldOf(id)]);
  return html`<details class="more" open=${wrong || undefined}><summary><b>Cutters</b><span class="soft">${named
    ? `${counted(named, "cutter")}, ${figure(sum, 1)} min a load, as in the last batch unless changed` : "minutes a load, if you like: then their lives count in minutes cut"}</span></summary>
    <div class="cutters">${cutters.map(({ id, name }) => html`<${NumberField} key=${id} label=${name} unit="min a load" ...${form.field(fieldOf(id))} />`)}</div></details>`;
}
