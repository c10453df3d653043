// Process, alloy, medium and the conditions of the set-up: the fields by which the rules judge a piece of work.
import { html } from "htm/preact";
import { NumberField, SelectField, TickField, counted, readNumber } from "../../kit/index.js";
import { Stops } from "./demands.js";
import { alloyName, alloyOptions, askedAbout, demandsOf, mediumOptions, processOptions } from "./work.js";

/** @typedef {import("./work.js").Choice} Choice */

/** What the fields are called in a form; lists are held as keys with spaces between. */
export const BLANK = { process: "", alloy: "", medium: "", flags: "", surface: "", cleaned: "", air_psi: "" };

const listOf = (/** @type {string | undefined} */ text) => (text ?? "").split(" ").filter(Boolean);

/** @param {Record<string, any>} values @param {string[]} last alloys that ran here before @returns {Choice} */
export function choiceOf(values, last) {
  const psi = readNumber(String(values.air_psi ?? ""), { name: "Pressure", min: 0, max: 1000, optional: true }).value;
  return {
    process: values.process ?? "", alloy: values.alloy ?? "", medium: values.process === "blast" ? values.medium : "",
    flags: listOf(values.flags), surface: listOf(values.surface), last: values.cleaned ? [] : last,
    measures: psi === null ? {} : { air_psi: psi },
  };
}

/** @param {{ cards: any, form: any, name: "flags" | "surface", of: string, text: string }} props */
function Condition({ form, name, of, text }) {
  const on = listOf(form.values[name]);
  const press = (/** @type {boolean} */ ticked) => form.set({ [name]: [...on.filter((one) => one !== of), ...(ticked ? [of] : [])].join(" ") });
  return html`<${TickField} label=${text} on=${on.includes(of)} onValue=${press} />`;
}

/** What else is to be said, where it changes what is asked. @param {{ cards: any, form: any, last: string[] }} props */
function Conditions({ cards, form, last }) {
  const choice = choiceOf(form.values, last);
  const asked = askedAbout(cards, choice);
  const rules = (/** @type {string[]} */ before) => demandsOf(cards, { ...choice, last: before })?.rules.join();
  const dusty = last.length > 0 && rules(last) !== rules([]);
  if (!asked.flags.length && !asked.surfaces.length && !asked.measures.length && !dusty) return null;
  const ticked = choice.flags?.length || choice.surface?.length || form.values.cleaned;
  return html`<details class="more" open=${ticked || undefined}><summary><b>This set-up: tick what is so</b><span class="soft">${counted(asked.flags.length + asked.surfaces.length + asked.measures.length + (dusty ? 1 : 0), "condition")} would change what is asked</span></summary>
    <fieldset class="conditions"><legend class="away">Tick what is so</legend>
    ${asked.flags.map((key) => html`<${Condition} key=${key} cards=${cards} form=${form} name="flags" of=${key} text=${cards.flags[key]} />`)}
    ${asked.surfaces.map((key) => html`<${Condition} key=${key} cards=${cards} form=${form} name="surface" of=${key} text=${`On the surface: ${cards.surfaces[key]}`} />`)}
    ${dusty && html`<${TickField} label="Cleaned out to bare metal since" hint=${`Ran here before: ${last.map((key) => alloyName(cards, key)).join(", ")}`}
      on=${Boolean(form.values.cleaned)} onValue=${(/** @type {boolean} */ on) => form.set({ cleaned: on ? "yes" : "" })} />`}
    ${asked.measures.includes("air_psi") && html`<${NumberField} label=${cards.measures.air_psi} unit="psi" optional ...${form.field("air_psi")} />`}</fieldset></details>`;
}

/**
 * A stop stands right below the choice that brings it.
 * @param {{ cards: any, form: any, machine: { [key: string]: any } | null, lately: string[], last: string[], optional?: boolean }} props
 *   `lately`: alloys used lately, offered first; `last`: those that ran at this machine before
 */
export function WorkFields({ cards, form, machine, lately, last, optional }) {
  return html`<${SelectField} label="Alloy" blank="Choose the alloy" optional=${optional} options=${alloyOptions(cards, lately, { unknown: true })} ...${form.field("alloy")} />
    <${SelectField} label="Work" blank="Choose the work" optional=${optional} options=${processOptions(cards, machine)} ...${form.field("process")} />
    ${form.values.process === "blast" && html`<${SelectField} label="Medium" blank="Choose the medium" options=${mediumOptions(cards)} ...${form.field("medium")} />`}
    <${Stops} stops=${demandsOf(cards, choiceOf(form.values, last))?.stops ?? []} />
    <${Conditions} cards=${cards} form=${form} last=${last} />`;
}
