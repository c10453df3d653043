// The frame of every form of Air & dust: heading, fields, what it will do, and what was kept.
import { html } from "htm/preact";
import { Button, Form, Page, SelectField, capital, useForm } from "../../../kit/index.js";
import { definitions } from "../../../store/index.js";
import { KeptPage, WillDo, useBegun, useKeeping } from "../../keeping.js";
import { inUse } from "../../standing.js";

/** @typedef {import("preact").ComponentChildren} Children */
/** @typedef {{ query: URLSearchParams }} LogProps */

/**
 * A form's values, held over a reload, and how it is kept.
 * @template {Record<string, any>} T
 * @param {T} start
 */
export function useAirForm(start) {
  const form = useForm(start);
  const keeping = useKeeping();
  useBegun(form, { kept: keeping.kept });
  return { form, ...keeping };
}

/**
 * @param {{ title: string, button: string, kept: string | null, problem: string | null, onSend: () => unknown, will?: (string | false | null | undefined)[],
 *   also?: { href: string, text: string }, side?: Children, children?: Children }} props
 */
export function AirForm({ title, button, kept, problem, onSend, will = [], also, side, children }) {
  if (kept) return html`<${KeptPage} title=${title} said=${kept} to=${{ href: "#/air", text: "Air & dust" }} also=${also ?? { href: "#/air/log", text: "Log more" }} />`;
  return html`<${Page} title=${title} back="#/air/log"><${Form} onSend=${onSend} problem=${problem}><div class="form-grid"><div class="form">${children}</div>
    <div class="side">${side}<${WillDo} lines=${will} /><${Button} big>${button}<//></div></div><//><//>`;
}

/** People of the shop, to choose from. */
export const peopleOptions = () => inUse(definitions.value.people).map(({ id, name }) => ({ value: id, text: name }));

/** Machines of the shop, to choose from. */
export const machineOptions = () => inUse(definitions.value.machines).map(({ id, name }) => ({ value: id, text: name }));

/** @param {{ form: any, name?: string, label?: string, blank?: string, optional?: boolean }} props */
export function PersonField({ form, name = "person", label = "Person", blank = "Choose a person", optional }) {
  return html`<${SelectField} label=${label} blank=${blank} optional=${optional} options=${peopleOptions()} ...${form.field(name)} />`;
}

/** @param {{ form: any, label?: string, blank?: string, optional?: boolean }} props */
export function MachineField({ form, label = "Machine", blank = "Choose a machine", optional }) {
  return html`<${SelectField} label=${label} blank=${blank} optional=${optional} options=${machineOptions()} ...${form.field("machine")} />`;
}

/** Only what was filled in, trimmed. @param {Record<string, any>} values */
export function filled(values) {
  return Object.fromEntries(Object.entries(values).map(([key, value]) => [key, typeof value === "string" ? value.trim() : value])
    .filter(([, value]) => value !== "" && value !== null && value !== undefined && value !== false));
}

/** @param {string} value @param {string} name @param {string} mend */
export const needed = (value, name, mend) => (value.trim() ? null : `${capital(name)} is empty. ${mend}`);

/** Whether any error stands; sets them all. @param {any} form @param {Record<string, string | null>} errors */
export function refuse(form, errors) {
  form.setErrors(errors);
  return Object.values(errors).some(Boolean);
}
